"""The one look of all figures: ink on warm paper, the same in a light and a dark notebook and in print."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import plotly.graph_objects as go


PAPER = "#fbf9f3"

INK = "#1f2a33"

SOFT = "#55626c"

RULE = "#e5dece"

#: The layers' colours, as in the panels' style sheet.
LAYER_COLOURS = {"water": "#4f8fb0", "oil": "#d3a144", "other": "#998eae"}


def lay_on_paper(figure: go.Figure) -> None:
    """Give a figure the kit's paper, ink and grid."""
    figure.update_layout(
        template="none", paper_bgcolor=PAPER, plot_bgcolor=PAPER, font={"color": INK, "size": 13}, title_font_size=16
    )
    figure.update_xaxes(gridcolor=RULE, linecolor=SOFT, zeroline=False)
    figure.update_yaxes(gridcolor=RULE, linecolor=SOFT, zeroline=False)


#: One condition: colour, dash of the line, symbol of the point. Each colour has a contrast of at least 3:1 on
#: the paper (WCAG 2.2, success criterion 1.4.11), and no two conditions share a dash or a symbol.
STYLES = (
    ("#2f80c8", "solid", "circle"),
    ("#c2591b", "dash", "square"),
    ("#1f9070", "dot", "diamond"),
    ("#a86ab5", "dashdot", "triangle-up"),
    ("#8c7a3c", "longdash", "pentagon"),
    ("#c8508a", "longdashdot", "star"),
)
