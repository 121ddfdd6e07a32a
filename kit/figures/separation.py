"""A shaken product: the clear layers as they grow, the bottle as it looks at one time, and what each dose holds."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from kit.figures.theme import INK, LAYER_COLOURS, SOFT, STYLES, blank, lay_on_paper
from kit.layers.separation import clearing, drops_by_height, time_until
from kit.layers.shaken_product import time_unit, time_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.dosing import Doses
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
HEIGHT = 400


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
        margin={"l": 60, "r": 15, "t": 40, "b": 110},
        legend={"orientation": "h", "y": -0.28, "x": 0, "traceorder": "normal"},
        showlegend=True,
        hovermode="x",
    )
    figure.update_annotations(font_size=None)
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


#: The drawing is this high without its words. [px]
BOTTLE_HEIGHT = 250

WORDS = 122

MOST_DOTS = 260

#: The golden angle's share of a turn spreads the drops evenly without a pattern.
GOLDEN = (math.sqrt(5) - 1) / 2


def shaken_bottle_svg(shaken: Shaken, second: float, tip: float | None = None) -> str:
    """The bottle at one time after shaking.

    Parameters
    ----------
    second
        [s]
    tip
        Height of a dip tube's tip, to draw it. [mm]
    """
    bottle = shaken.bottle
    scale = BOTTLE_HEIGHT / bottle.height
    widest = max(radius for _, radius in bottle.half_widths())
    half = widest * scale
    width = 2 * half + WORDS + 16
    middle = half + 6
    outline = _outline(shaken, scale, middle)
    state = clearing(shaken, [second])
    lower, upper = float(state.lower[0]), float(state.upper[0])
    name = f"sw-bottle-{abs(hash((bottle, second, shaken.drops.kind))) % 10**8}"
    head = (
        f'<svg role="img" aria-label="{escape(_said(shaken, second, lower, upper, state.surface), quote=True)}" '
        f'viewBox="0 0 {width:.0f} {BOTTLE_HEIGHT + 14}" width="{width:.0f}" height="{BOTTLE_HEIGHT + 14}" '
        'style="font: 12px system-ui, sans-serif">'
    )
    parts = [
        head,
        f'<clipPath id="{name}"><path d="{outline}"/></clipPath>',
        f'<g clip-path="url(#{name})">{_liquid(shaken, second, scale, middle, half)}</g>',
        f'<path d="{outline}" fill="none" stroke="var(--sw-soft)" stroke-width="1.5"/>',
    ]
    if tip is not None:
        parts.append(
            f'<path d="M{middle:.1f} 4V{_y(tip, scale):.1f}" stroke="var(--sw-ink)" stroke-width="2.5" fill="none"/>'
        )
    parts += _words(shaken, (lower, upper, state.surface), scale, 2 * half + 14)
    return "".join([*parts, "</svg>"])


def _y(height: float, scale: float) -> float:
    return BOTTLE_HEIGHT + 8 - height * scale


def _outline(shaken: Shaken, scale: float, middle: float) -> str:
    half_widths = shaken.bottle.half_widths()
    points = [(0.0, half_widths[0][1]), *half_widths, (shaken.bottle.height, half_widths[-1][1])]
    right = [f"{middle + r * scale:.1f} {_y(h, scale):.1f}" for h, r in points]
    left = [f"{middle - r * scale:.1f} {_y(h, scale):.1f}" for h, r in reversed(points)]
    return f"M{'L'.join([*right, *left])}Z"


def _liquid(shaken: Shaken, second: float, scale: float, middle: float, half: float) -> str:
    """The surround everywhere, the drops' own layer over it, and drops as dots where it is mixed."""
    slices = drops_by_height(shaken, second)
    surface = slices[-1][1]
    x = middle - half
    under = (
        f'<rect x="{x:.1f}" y="{_y(surface, scale):.1f}" width="{2 * half:.1f}" height="{surface * scale:.1f}" '
        f'fill="var(--sw-{shaken.surround.kind})"/>'
    )
    drawn = [under]
    turn, colour = 0.0, f"var(--sw-{shaken.drops.kind})"
    dense = max((share for _, _, share in slices if share < 1), default=1.0) or 1.0
    for bottom, top, share in slices:
        if share >= 1:
            drawn.append(
                f'<rect x="{x:.1f}" y="{_y(top, scale):.1f}" width="{2 * half:.1f}" '
                f'height="{(top - bottom) * scale:.1f}" fill="{colour}"/>'
            )
            continue
        count = round(MOST_DOTS * (top - bottom) / surface * share / dense)
        for n in range(count):
            turn = (turn + GOLDEN) % 1
            up = bottom + (top - bottom) * (n + 0.5) / count
            drawn.append(
                f'<circle cx="{x + 2 * half * turn:.1f}" cy="{_y(up, scale):.1f}" r="2.6" fill="{colour}" '
                f'stroke="var(--sw-{shaken.drops.kind}-ink)" stroke-width="0.7"/>'
            )
    return "".join(drawn)


def _words(shaken: Shaken, heights: tuple[float, float, float], scale: float, x: float) -> list[str]:
    lower, upper, surface = heights
    above, below = (shaken.drops, shaken.surround) if shaken.rises else (shaken.surround, shaken.drops)
    zones = (
        (0.0, lower, f"clear {below.kind}, {lower:.0f} mm"),
        (lower, upper, "mixed"),
        (upper, surface, f"clear {above.kind}, {surface - upper:.0f} mm"),
    )
    written, lowest = [], float("inf")
    for bottom, top, words in zones:
        if top - bottom >= 0.5:
            lowest = min(_y((bottom + top) / 2, scale) + 4, lowest - 15)
            written.append(f'<text x="{x:.0f}" y="{lowest:.1f}" fill="var(--sw-ink)">{escape(words)}</text>')
    return written


def _said(shaken: Shaken, second: float, lower: float, upper: float, surface: float) -> str:
    return (
        f"{shaken.drops.kind} drops in {shaken.surround.kind} {time_words(second)} after shaking: clear below to "
        f"{lower:.0f} mm, mixed to {upper:.0f} mm, clear above to {surface:.0f} mm"
    )


def dosing_figure(runs: Sequence[Doses]) -> go.Figure:
    """Oil layer in each dose against the number of the dose.

    Each user has a colour and dash of its own. Where a run follows many bottles, the line is their median and the
    band holds nine in ten.
    """
    figure = blank()
    for n, run in enumerate(runs):
        colour, dash, _ = STYLES[n % len(STYLES)]
        numbers = list(range(1, run.count + 1))
        low, middle, high = run.percentiles((5, 50, 95))
        name = escape(run.user.name)
        if run.oil.shape[1] > 1:
            figure.add_trace(
                go.Scatter(
                    x=[*numbers, *reversed(numbers)],
                    y=[*high, *reversed(low)],
                    fill="toself",
                    fillcolor=_faint(colour),
                    line={"width": 0},
                    mode="lines",
                    hoverinfo="skip",
                    showlegend=False,
                    legendgroup=name,
                )
            )
        figure.add_trace(
            go.Scatter(
                x=numbers,
                y=middle,
                name=name,
                legendgroup=name,
                mode="lines",
                line={"color": colour, "dash": dash, "width": 2.5},
                hovertemplate="dose %{x}: %{y:.1f} % oil layer<extra>" + name + "</extra>",
            )
        )
    if runs:
        label = runs[0].label
        figure.add_trace(
            go.Scatter(
                x=[1, max(run.count for run in runs)],
                y=[label, label],
                name=f"the label says {label:.1f} %",
                mode="lines",
                line={"color": INK, "width": 1.2},
                hoverinfo="skip",
            )
        )
    figure.update_layout(
        height=HEIGHT,
        margin={"l": 60, "r": 15, "t": 20, "b": 110},
        legend={"orientation": "h", "y": -0.28, "x": 0},
        showlegend=True,
    )
    figure.update_xaxes(title_text="Dose number", title_standoff=8)
    figure.update_yaxes(title_text="Oil layer in the dose [% w/w]", range=[-3, 103])
    lay_on_paper(figure)
    return figure


def _faint(colour: str) -> str:
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red}, {green}, {blue}, 0.18)"
