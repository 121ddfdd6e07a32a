"""Ways to dispense one bottle: what each dose holds, the bottles as they then stand, and weighed doses beside them."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING, Any

from kit.figures.theme import INK, LAYER_COLOURS, STYLES, blank, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from kit.in_use.dispensing import Dispensed
    from kit.in_use.weighed_doses import Agreement
    from kit.layers.bottle import Bottle
    from kit.layers.window import Window

HEIGHT, RESIDUALS = 370, 330
#: A drawn bottle is so high, and stands in a field so wide with its words below it. [px]
HIGH, FIELD = 180, 132
#: A dose is drawn where it differs from its neighbours by more. [% points]
FLAT = 0.02


def dispensing_figure(runs: Sequence[Dispensed], used: float, window: Window | None = None) -> go.Figure:
    """The layer that is followed in each dose, against how much of the fill is used.

    Parameters
    ----------
    used
        Marked by a line. [% of the fill]
    window
        The allowed ratios, as a band.
    """
    figure = blank()
    if window is not None and window.is_open:
        figure.add_hrect(
            y0=window.low, y1=window.high, fillcolor=LAYER_COLOURS["other"], opacity=0.16, line_width=0, layer="below"
        )
    figure.add_traces(dispensing_traces(runs))
    figure.add_vline(x=used, line={"color": INK, "width": 1.5, "dash": "dot"})
    figure.update_layout(
        height=HEIGHT, margin={"l": 60, "r": 15, "t": 15, "b": 85}, showlegend=True,
        legend={"orientation": "h", "y": -0.25, "x": 0},
    )  # fmt: skip
    figure.update_xaxes(title_text="Used of the fill [% w/w]", range=[0, 101], title_standoff=8)
    name = escape(runs[0].name) if runs else ""
    figure.update_yaxes(title_text=f"{name} in the dose [% w/w]", range=[-3, 103])
    lay_on_paper(figure)
    return figure


def dispensing_traces(runs: Sequence[Dispensed]) -> list[dict[str, Any]]:
    """All lines of that figure, to be put in the place of older ones; plain, for plotly makes them twice as fast."""
    if not runs:
        return []
    styled = list(zip(runs, STYLES, strict=False))
    ends = {
        "type": "scatter", "mode": "markers", "showlegend": False,
        "x": [run.used[-1] for run, _ in styled], "y": [run.percents[-1] for run, _ in styled],
        "marker": {"color": [style[0] for _, style in styled], "symbol": [style[2] for _, style in styled], "size": 10},
        "text": [f"{run.dispenser.kind} ends: {100 - run.used[-1]:.1f} % stays" for run, _ in styled],
        "hovertemplate": "%{text}<extra></extra>",
    }  # fmt: skip
    label = {
        "type": "scatter", "x": [0, 100], "y": [runs[0].label] * 2, "mode": "lines", "hoverinfo": "skip",
        "line": {"color": INK, "width": 1.2}, "name": f"as filled, {runs[0].label:.1f} %",
    }  # fmt: skip
    return [*(_course(run, colour, dash) for run, (colour, dash, _) in styled), ends, label]


def _course(run: Dispensed, colour: str, dash: str) -> dict[str, Any]:
    """The doses of one dispenser, each in the middle of what it uses."""
    name = run.dispenser.kind
    percents, places, used = run.percents, _telling(run.percents), (0.0, *run.used)
    return {
        "type": "scatter", "mode": "lines", "name": name, "line": {"color": colour, "dash": dash, "width": 2.5},
        "x": [(used[n] + used[n + 1]) / 2 for n in places], "y": [percents[n] for n in places],
        "customdata": [n + 1 for n in places],
        "hovertemplate": "dose %{customdata}: %{y:.1f} %<extra>" + name + "</extra>",
    }  # fmt: skip


def _telling(percents: Sequence[float]) -> list[int]:
    """The doses that a line needs: the first, the last, and those that differ from a neighbour."""
    last = len(percents) - 1
    return [
        n
        for n, percent in enumerate(percents)
        if n in (0, last) or abs(percent - percents[n - 1]) > FLAT or abs(percent - percents[n + 1]) > FLAT
    ]


# ---- the bottles ------------------------------------------------------------------------------------------------


def dispensed_bottles_html(runs: Sequence[Dispensed], bottle: Bottle, used: float) -> str:
    """Each bottle as it stands at rest once so much of it is used, with its tube, and words below it.

    Parameters
    ----------
    used
        [% of the fill]
    """
    drawn = "".join(_bottle(run, bottle, used, n) for n, run in enumerate(runs))
    return f'<div style="display: flex; flex-wrap: wrap; gap: 6px 8px">{drawn}</div>'


def _bottle(run: Dispensed, bottle: Bottle, used: float, number: int) -> str:
    taken = run.doses_by(used)
    held = run.after(taken)
    scale = HIGH / bottle.height
    widest = max(radius for _, radius in bottle.half_widths()) * scale
    middle = FIELD / 2
    zones, below = [], 0.0
    for standing, mass in zip(run.standing, held, strict=True):
        top = min(below + mass / standing.layer.density, bottle.brimful)
        zones.append((standing.layer, bottle.level(below), bottle.level(top), mass))
        below = top
    told = [f"{layer.name} {mass:.1f} g" for layer, _, _, mass in reversed(zones) if mass >= 0.05]
    lines = [f"{run.dispenser.kind}, {taken} of {len(run.doses)}", *(told or ["empty"])]
    said = escape(f"{lines[0]} doses: {', '.join(lines[1:])}", quote=True)
    outline, clip = _outline(bottle, scale, middle), f"sw-dispensed-{number}-{abs(hash((bottle, number))) % 10**6}"
    liquid = "".join(
        f'<rect x="{middle - widest:.1f}" y="{_y(top, scale):.1f}" width="{2 * widest:.1f}" '
        f'height="{(top - bottom) * scale:.1f}" fill="var(--sw-{layer.kind})"/>'
        for layer, bottom, top, _ in zones
        if top > bottom
    )
    words = "".join(f"<div>{escape(line)}</div>" for line in lines[1:])
    high = HIGH + 20
    return (
        f'<div style="width: {FIELD}px; text-align: center">'
        f'<svg role="img" aria-label="{said}" viewBox="0 0 {FIELD} {high}" width="{FIELD}" height="{high}" '
        'style="font: 12px system-ui, sans-serif">'
        f'<clipPath id="{clip}"><path d="{outline}"/></clipPath><g clip-path="url(#{clip})">{liquid}</g>'
        f'<path d="{outline}" fill="none" stroke="var(--sw-soft)" stroke-width="1.5"/>'
        f"{_head(run, scale, middle)}</svg><div><b>{escape(lines[0])}</b></div>{words}</div>"
    )


def _head(run: Dispensed, scale: float, middle: float) -> str:
    """The tube with its end, or an arrow out of the mouth or the floor."""
    if run.dispenser.way == "tube":
        end = _y(run.dispenser.tip, scale)
        return (
            f'<path d="M{middle:.1f} 2V{end:.1f}" stroke="var(--sw-ink)" stroke-width="2.5" fill="none"/>'
            f'<circle cx="{middle:.1f}" cy="{end:.1f}" r="3" fill="var(--sw-ink)"/>'
        )
    words = "tilted" if run.dispenser.way == "tilted" else "turned over"
    return f'<text x="{middle:.0f}" y="11" text-anchor="middle" fill="var(--sw-soft)">{words}</text>'


def _y(height: float, scale: float) -> float:
    return HIGH + 14 - height * scale


def _outline(bottle: Bottle, scale: float, middle: float) -> str:
    half = bottle.half_widths()
    points = [(0.0, half[0][1]), *half, (bottle.height, half[-1][1])]
    left = [f"{middle - radius * scale:.1f},{_y(height, scale):.1f}" for height, radius in points]
    right = [f"{middle + radius * scale:.1f},{_y(height, scale):.1f}" for height, radius in reversed(points)]
    return f"M{' L'.join([*left, *right])} Z"


# ---- weighed doses ----------------------------------------------------------------------------------------------


def agreement_figure(run: Dispensed, found: Agreement) -> go.Figure:
    """The mass of each dose as computed, and the doses as weighed; or the share of the layer that is followed."""
    values = _values(run, found)
    figure = blank(agreement_traces(run, found))
    what = "Mass of the dose [g]" if found.unit == "g" else f"{escape(run.name)} in the dose [% w/w]"
    seen = [*found.seen, *(values[int(n) - 1] for n in found.doses)]
    room = max(3 * found.tolerance, 0.15 * (max(seen) - min(seen)))
    last = min(len(values), math.ceil(max(found.doses) * 1.1) + 1)
    figure.update_layout(
        height=RESIDUALS, margin={"l": 60, "r": 15, "t": 15, "b": 90}, showlegend=True,
        legend={"orientation": "h", "y": -0.28, "x": 0},
    )  # fmt: skip
    figure.update_xaxes(title_text="Dose number", range=[0.5, last + 0.5], title_standoff=8)
    figure.update_yaxes(title_text=what, range=[max(min(seen) - room, -3), max(seen) + room])
    lay_on_paper(figure)
    return figure


def agreement_traces(run: Dispensed, found: Agreement) -> list[dict[str, Any]]:
    """What is drawn of it, to be put in the place of older lines."""
    values = _values(run, found)
    numbers = list(range(1, len(values) + 1))
    low, high = ([value + side * found.tolerance for value in values] for side in (-1, 1))
    colour, _, symbol = STYLES[0]
    return [
        {
            "type": "scatter", "x": [*numbers, *reversed(numbers)], "y": [*high, *reversed(low)], "fill": "toself",
            "line": {"width": 0}, "fillcolor": "rgba(153, 142, 174, 0.22)", "name": "no matter", "hoverinfo": "skip",
            "mode": "lines",
        },
        {
            "type": "scatter", "x": numbers, "y": list(values), "name": "computed", "mode": "lines",
            "line": {"color": INK, "width": 2},
        },
        {
            "type": "scatter", "x": list(found.doses), "y": list(found.seen), "name": "measured", "mode": "markers",
            "marker": {"color": colour, "symbol": symbol, "size": 9, "line": {"color": "#ffffff", "width": 1}},
            "hovertemplate": "dose %{x}: %{y:.4g} " + found.unit + "<extra>measured</extra>",
        },
    ]  # fmt: skip


def _values(run: Dispensed, found: Agreement) -> tuple[float, ...]:
    return run.masses if found.unit == "g" else run.percents
