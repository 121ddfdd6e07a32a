"""The clear layers as they grow after shaking, one chart for each way it may go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from kit.figures.theme import INK, LAYER_COLOURS, SOFT, lay_on_paper
from kit.layers.separation import clearing, time_until
from kit.layers.shaken_product import time_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.drop_fit import DropFit
    from kit.layers.separation import Seen
    from kit.layers.shaken import Shaken

#: Points along the time axis.
POINTS = 121
#: How long the axis is, as a part of the time until 95 % of the drops have left.
BEYOND = 1.25
#: Between the two liquids' colours.
MIXED_COLOUR = "#a8a48c"
#: Beside the drawn bottle, this still fits on a narrow page. [px]
HEIGHT, WIDTH = 400, 520


def time_span(ways: Sequence[Shaken]) -> float:
    """How much time to show: a little more than the slowest way needs. [s]"""
    return BEYOND * max(time_until(way, 95.0) for way in ways)


def separation_figure(
    ways: Sequence[Shaken], at: float = 0.0, fit: DropFit | None = None, seen: Seen = "lower"
) -> go.Figure:
    """Heights of the clear lower layer, the mixed middle and the clear upper layer against time.

    Parameters
    ----------
    at
        A time to mark. [s]
    fit
        Timed heights to show as points, in the first chart; ``seen`` says which layer they are of.
    """
    titles = [f"{way.drops.kind} drops in {way.surround.kind}" for way in ways]
    figure = make_subplots(rows=1, cols=len(ways), subplot_titles=titles, horizontal_spacing=0.12)
    for column, way in enumerate(ways, start=1):
        span = _shown(way, fit if column == 1 else None)
        unit, size = time_unit(span)
        _add_bands(figure, way, span, size, column)
        figure.update_xaxes(
            title_text=f"Time after shaking [{unit}]", range=[0, span / size], title_standoff=8, col=column
        )
        figure.update_yaxes(title_text="Height [mm]" if column == 1 else "", rangemode="tozero", col=column)
        mark = marked_times(ways, at, fit)[column - 1]
        figure.add_vline(x=mark, line={"color": INK, "width": 1.5, "dash": "dot"}, col=column, row=1)
    if fit is not None and ways:
        _add_timings(figure, ways[0], fit, seen)
    figure.update_layout(
        height=HEIGHT,
        width=WIDTH,
        margin={"l": 60, "r": 15, "t": 40, "b": 110},
        legend={"orientation": "h", "y": -0.28, "x": 0, "traceorder": "normal"},
        showlegend=True,
        hovermode="x",
    )
    lay_on_paper(figure)
    return figure


def marked_times(ways: Sequence[Shaken], at: float, fit: DropFit | None = None) -> list[float]:
    """Where the time marked stands on the axis of each chart, at most at its end. [unit of that axis]"""
    spans = [_shown(way, fit if n == 0 else None) for n, way in enumerate(ways)]
    return [min(max(at, 0.0), span) / time_unit(span)[1] for span in spans]


def _shown(way: Shaken, fit: DropFit | None) -> float:
    """The time that one chart shows: until the way is done, and the last reading with it. [s]"""
    return max(time_span([way]), 63 * fit.timings[-1].minutes if fit is not None else 0.0)


def _add_bands(figure: go.Figure, way: Shaken, span: float, size: float, column: int) -> None:
    state = clearing(way, np.linspace(0, span, POINTS))
    above, below = (way.drops, way.surround) if way.rises else (way.surround, way.drops)
    bands = (
        (f"clear {below.kind} layer, below", state.lower, state.lower, LAYER_COLOURS[below.kind]),
        ("still mixed", state.upper - state.lower, state.upper, MIXED_COLOUR),
        (f"clear {above.kind} layer, above", state.surface - state.upper, None, LAYER_COLOURS[above.kind]),
    )
    for name, thick, line, colour in bands:
        figure.add_trace(
            go.Scatter(
                x=state.seconds / size,
                y=thick,
                name=name,
                legendgroup=name,
                showlegend=column == 1 or name not in {trace.name for trace in figure.data},
                stackgroup=f"way {column}",
                mode="lines",
                line={"color": SOFT if line is not None else colour, "width": 1.5 if line is not None else 0},
                fillcolor=colour,
                hovertemplate="%{y:.1f} mm<extra>" + name + "</extra>",
            ),
            row=1,
            col=column,
        )


def _add_timings(figure: go.Figure, way: Shaken, fit: DropFit, seen: Seen) -> None:
    size = time_unit(_shown(way, fit))[1]
    surface = clearing(way, [0.0]).surface
    heights = [t.millimetres if seen == "lower" else surface - t.millimetres for t in fit.timings]
    figure.add_trace(
        go.Scatter(
            x=[60 * t.minutes / size for t in fit.timings],
            y=heights,
            name="as you timed it",
            mode="markers",
            marker={"color": INK, "size": 9, "symbol": "diamond", "line": {"color": "#ffffff", "width": 1}},
            customdata=[t.millimetres for t in fit.timings],
            hovertemplate="%{customdata:.1f} mm clear<extra>as you timed it</extra>",
        ),
        row=1,
        col=1,
    )
