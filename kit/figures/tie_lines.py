"""A measured system of three liquids on a triangle: the curve around two layers, its tie lines, and a mixture."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

import plotly.graph_objects as go

from kit.figures.theme import INK, LAYER_COLOURS, PAPER, RULE, SOFT, blank, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.ternary_systems import Composition, TernarySystem
    from kit.in_use.tie_lines import Settled


def tie_line_traces(
    system: TernarySystem, settled: Settled | None = None, put_in: Sequence[Composition] = ()
) -> list[go.Scatterternary]:
    """The traces of the figure.

    Parameters
    ----------
    settled
        The mixture in hand; None for the system alone.
    put_in
        The two layers as they are weighed in: the ratio moves the mixture along the straight line between them.
    """
    traces = [*_measured(system)]
    if system.plait is not None:
        traces.append(
            _points([system.plait], "plait point, drawn on", system, symbol="diamond-open", colour=INK, size=13)
        )
    if len(put_in) == 2:
        traces.append(_line(put_in, "as the ratio moves it", dash="dot", colour=SOFT, width=1.5))
    return [*traces, *_mixture(system, settled)]


def move_mixture(figure: go.Figure, settled: Settled | None) -> None:
    """Let a figure that is drawn show another mixture of its system; only what moves is sent to the browser."""
    moving = _moving(settled)
    with figure.batch_update():
        for trace, points in zip(figure.data[-len(moving) :], moving, strict=True):
            trace.b, trace.a, trace.c = _columns(points)


def _moving(settled: Settled | None) -> list[list[Composition]]:
    """What a mixture moves: its tie line, the ends of that, and itself; empty where there is none."""
    if settled is None:
        return [[], [], [], []]
    line = settled.line
    ends = [] if line is None else [line.water_layer, line.oil_layer]
    return [ends, ends[:1], ends[1:], [settled.overall]]


def _measured(system: TernarySystem) -> list[go.Scatterternary]:
    curve = list(system.saturation)
    if system.plait is not None and not system.curve:
        last = system.lines[-1].water_layer
        curve.insert(curve.index(last) + 1, system.plait)
    apart: list[Composition | None] = []
    for line in system.lines:
        apart += [line.water_layer, line.oil_layer, None]
    return [
        _line(curve, "where two layers become one", colour=INK, width=2),
        _line(apart, "measured tie lines", colour=SOFT, width=1),
        _points([line.water_layer for line in system.lines], "water layer, measured", system, colour=_WATER, size=6),
        _points([line.oil_layer for line in system.lines], "oil layer, measured", system, colour=_OIL, size=6),
    ]


_WATER, _OIL = LAYER_COLOURS["water"], LAYER_COLOURS["oil"]


def _mixture(system: TernarySystem, settled: Settled | None) -> list[go.Scatterternary]:
    ends, water, oil, whole = _moving(settled)
    ring = _points(whole, "the whole", system, symbol="circle-open-dot", colour=INK, size=14)
    ring.update(mode="markers+text", text=["now"], textposition="top center", marker_line_width=3)
    return [
        _line(ends, "its tie line", colour=INK, width=3),
        _points(water, "water layer now", system, symbol="square", colour=_WATER, size=13),
        _points(oil, "oil layer now", system, symbol="square", colour=_OIL, size=13),
        ring,
    ]


def _line(points: Sequence[Composition | None], name: str, **line: Any) -> go.Scatterternary:
    water, shared, oil = _columns(points)
    line["color"] = line.pop("colour")
    return go.Scatterternary(a=shared, b=water, c=oil, mode="lines", name=name, line=line, hoverinfo="skip")


def _points(
    points: Sequence[Composition], name: str, system: TernarySystem, *, colour: str, size: int, symbol: str = "circle"
) -> go.Scatterternary:
    water, shared, oil = _columns(points)
    width = 2 if "open" in symbol else 1
    names = [escape(part) for part in system.names]
    return go.Scatterternary(
        a=shared, b=water, c=oil, mode="markers", name=name, cliponaxis=False,
        marker={"size": size, "color": colour, "symbol": symbol, "line": {"width": width, "color": INK}},
        hovertemplate=(
            f"{name}: {names[0]} %{{b:.1f}} %, {names[1]} %{{a:.1f}} %, {names[2]} %{{c:.1f}} %<extra></extra>"
        ),
    )  # fmt: skip


def _columns(points: Sequence[Composition | None]) -> list[list[float | None]]:
    rows = [(None, None, None) if point is None else point.parts for point in points]
    return [[row[n] for row in rows] for n in range(3)]


def tie_line_figure(
    system: TernarySystem, settled: Settled | None = None, put_in: Sequence[Composition] = ()
) -> go.Figure:
    """A measured system on a triangle: the shared liquid on top, water on the left, oil on the right.

    Parameters
    ----------
    settled, put_in
        As for :func:`tie_line_traces`.
    """
    figure = blank(tie_line_traces(system, settled, put_in))
    lay_on_paper(figure)
    axis = {"gridcolor": RULE, "linecolor": SOFT, "ticksuffix": " %"}
    figure.update_layout(
        ternary={
            "sum": 100, "bgcolor": PAPER,
            "aaxis": {**axis, "title": {"text": escape(system.shared)}},
            "baxis": {**axis, "title": {"text": escape(system.water)}},
            "caxis": {**axis, "title": {"text": escape(system.oil)}},
        },
        height=480, margin={"l": 84, "r": 84, "t": 60, "b": 50}, showlegend=False,
    )  # fmt: skip
    return figure
