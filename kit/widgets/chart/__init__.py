"""A live chart: plotly's own figure widget, whose script goes to a page once."""

from kit.widgets.chart.chart import Chart

__all__ = ["Chart"]
