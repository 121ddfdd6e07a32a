"""Pure plotly figures: data in, Figure out."""
