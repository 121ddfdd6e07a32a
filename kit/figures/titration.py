"""The pH of a product against the stock added: what was measured, the target between, a computed curve beside."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from kit.figures.theme import INK, SOFT, blank, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.titration import Dose, Titration

MEASURED, COMPUTED, TARGET = "#2f80c8", "#8c7a3c", "#c2591b"


def titration_traces(
    titration: Titration | None, target: float, dose: Dose | None, curve: Sequence[tuple[float, float]] = ()
) -> list[go.Scatter]:
    """The four traces of the figure, always in the same order; what there is none of is empty.

    Parameters
    ----------
    curve
        (stock added, computed pH). [g, -]
    """
    readings = titration.readings if titration else ()
    widest = max([one.grams for one in readings] + [grams for grams, _ in curve], default=1.0) or 1.0
    return [
        go.Scatter(
            x=[grams for grams, _ in curve],
            y=[ph for _, ph in curve],
            name="computed, an estimate",
            mode="lines",
            line={"color": COMPUTED, "dash": "dash", "width": 2},
            hovertemplate="%{x:.3g} g: pH %{y:.2f}, computed<extra></extra>",
        ),
        go.Scatter(
            x=[one.grams for one in readings],
            y=[one.ph for one in readings],
            name="measured, straight between",
            mode="lines+markers",
            line={"color": MEASURED, "width": 2},
            marker={"size": 9, "color": MEASURED},
            hovertemplate="%{x:.4g} g: pH %{y:.2f}, measured<extra></extra>",
        ),
        go.Scatter(
            x=[0.0, widest],
            y=[target, target],
            name=f"target, pH {target:g}",
            mode="lines",
            line={"color": TARGET, "dash": "dot", "width": 1.5},
            hoverinfo="skip",
        ),
        go.Scatter(
            x=[dose.grams, dose.grams] if dose else [],
            y=[dose.target, _floor(titration, curve, target)] if dose else [],
            name="stock for it",
            mode="lines+markers+text",
            line={"color": INK, "width": 1.5},
            marker={"symbol": ["diamond", "arrow-down"], "size": [12, 10], "color": INK},
            text=[f"{dose.grams:.3g} g", ""] if dose else [],
            textposition="top right",
            hoverinfo="skip",
        ),
    ]


def titration_figure(
    titration: Titration | None, target: float, dose: Dose | None = None, curve: Sequence[tuple[float, float]] = ()
) -> go.Figure:
    """The figure of a titration; it can be drawn before there is any reading, and without a computed curve."""
    figure = blank(titration_traces(titration, target, dose, curve))
    figure.update_layout(
        height=360,
        margin={"l": 60, "r": 20, "t": 50, "b": 55},
        legend={"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
        showlegend=True,
    )
    figure.update_xaxes(title_text=axis_title(titration), rangemode="tozero")
    figure.update_yaxes(title_text="pH", tickcolor=SOFT)
    lay_on_paper(figure)
    return figure


def axis_title(titration: Titration | None) -> str:
    """What stands under the figure."""
    stock = escape(titration.stock) if titration and titration.stock else "Stock"
    product = f" to {titration.product:g} g of product" if titration else ""
    return f"{stock} added in all{product} [g]"


def _floor(titration: Titration | None, curve: Sequence[tuple[float, float]], target: float) -> float:
    """The lowest pH drawn, where the arrow points at the axis."""
    measured = [one.ph for one in titration.readings] if titration else []
    return min([target, *measured, *(ph for _, ph in curve)])
