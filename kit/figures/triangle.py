"""Three layers on a triangle: every mix of their sizes, and the part in which limits and own rules hold."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from kit.figures.theme import INK, PAPER, RULE, SOFT, blank, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.layers.ratio import Region
    from kit.library.ingredient import PhaseKind


def triangle_traces(region: Region, now: Mapping[PhaseKind, float]) -> list[go.Scatterternary]:
    """The two traces of the figure: the allowed region, named edge by edge, and the sizes in hand."""
    corners = [*region.corners, *region.corners[:1]]
    water, oil, other = ([corner[n] for corner in corners] for n in range(3))
    rules = [escape(name) for name in region.edges]
    sizes = "water %{a:.1f} %, oil %{b:.1f} %, third %{c:.1f} %"
    return [
        go.Scatterternary(
            a=water, b=oil, c=other, fill="toself", fillcolor="rgba(79,143,176,0.28)", mode="lines+markers",
            line={"color": INK, "width": 1.5}, marker={"size": 6, "color": INK}, name="limits and own rules hold",
            text=[f"from here: {rule}" for rule in (*rules, *rules[:1])],
            hovertemplate=f"{sizes}<br>%{{text}}<extra></extra>",
        ),
        go.Scatterternary(
            a=[now["water"]], b=[now["oil"]], c=[now["other"]], mode="markers+text", text=["now"],
            textposition="top center", name="now", hovertemplate=f"now: {sizes}<extra></extra>",
            marker={"size": 14, "symbol": "circle-open-dot", "color": INK, "line": {"width": 3}},
        ),
    ]  # fmt: skip


def triangle_figure(region: Region, now: Mapping[PhaseKind, float], names: Mapping[PhaseKind, str]) -> go.Figure:
    """The region of allowed mixes on a triangle.

    Parameters
    ----------
    region
        See :func:`kit.layers.ratio.three_layers`.
    now
        The sizes in hand: kind → % of the whole.
    names
        What the corners are called: kind → name of the layer.
    """
    figure = blank(triangle_traces(region, now))
    lay_on_paper(figure)
    axis = {"gridcolor": RULE, "linecolor": SOFT, "ticksuffix": " %"}
    figure.update_layout(
        ternary={
            "sum": 100, "bgcolor": PAPER,
            "aaxis": {**axis, "title": {"text": escape(names["water"])}},
            "baxis": {**axis, "title": {"text": escape(names["oil"])}},
            "caxis": {**axis, "title": {"text": escape(names["other"])}},
        },
        height=460, margin={"l": 60, "r": 60, "t": 50, "b": 50}, showlegend=False,
    )  # fmt: skip
    return figure
