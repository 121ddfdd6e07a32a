"""How far off each line of a batch may be, against the tolerance; and where a batch stands among its sizes."""

from __future__ import annotations

from html import escape
from math import log10
from typing import TYPE_CHECKING, Any

import plotly.graph_objects as go

from kit.figures.theme import INK, LAYER_COLOURS, PAPER, SOFT, blank, lay_on_paper

if TYPE_CHECKING:
    from kit.bench.uncertainty import LineUncertainty, Simulated, WeighingUncertainty

#: The axis, always the same, so that the bars are seen to grow; what lies beyond is drawn at its end. [% of the line]
LEAST_SHOWN, MOST_SHOWN = 0.001, 100.0
#: A name longer than this is cut beside the axis; the hover has it whole. [letters]
LONGEST_NAME = 25
HEIGHT_PER_LINE, HEIGHT_BESIDES = 25, 150

Trace = dict[str, Any]


def uncertainty_figure(result: WeighingUncertainty, simulated: Simulated | None = None) -> go.Figure:
    """Each line as a bar that ends at how far off it may be, on a logarithmic axis, with the tolerance across.

    Lines beyond the tolerance have a square in place of a dot. A diamond marks what rounding is known to change, a
    small bar what the Monte Carlo draws gave.
    """
    figure = blank([go.Scatter(trace) for trace in uncertainty_traces(result, simulated)])
    figure.update_layout(
        height=HEIGHT_BESIDES + HEIGHT_PER_LINE * len(result.lines),
        dragmode=False,
        modebar={"remove": ["zoom", "pan", "select", "lasso", "zoomIn", "zoomOut", "autoScale", "resetScale"]},
        margin={"l": 20, "r": 20, "t": 62, "b": 62},
        legend={
            "orientation": "h",
            "x": 0,
            "y": 1.0,
            "yanchor": "bottom",
            "itemclick": False,
            "itemdoubleclick": False,
        },
        hoverlabel={"align": "left"},
    )
    figure.update_xaxes(
        type="log",
        range=[log10(LEAST_SHOWN), log10(MOST_SHOWN) + 0.05],
        tickvals=[0.001, 0.01, 0.1, 1, 10, 100],
        ticktext=["0.001", "0.01", "0.1", "1", "10", "100"],
        title_text="How far off a line may be [% of the line]",
        fixedrange=True,
    )
    figure.update_yaxes(**name_axis(result))
    lay_on_paper(figure)
    return figure


def name_axis(result: WeighingUncertainty) -> dict[str, Any]:
    """The axis of names, from the first line at the top downwards."""
    names = [line.weighing.material for line in result.lines]
    return {
        "tickvals": list(range(len(names))),
        "ticktext": [escape(name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…") for name in names],
        "range": [len(names) - 0.4, -0.6],
        "showgrid": False,
        "fixedrange": True,
    }


def uncertainty_traces(result: WeighingUncertainty, simulated: Simulated | None = None) -> tuple[Trace, ...]:
    """What is drawn, always in the same five traces, so that a figure at hand can take it over."""
    lines = result.lines
    places = list(range(len(lines)))
    off = [_shown(line.relative) for line in lines]
    kinds = [result.batch.formula.phases[line.weighing.phase].kind for line in lines]
    beyond = [line.relative is not None and line.relative > result.batch.tolerance for line in lines]
    rounding = [_shown(off if off >= LEAST_SHOWN else None) for off in _roundings(lines)]
    drawn = [None] * len(lines) if simulated is None else _drawn(lines, simulated)
    stems = [x for end in off for x in (LEAST_SHOWN if end else None, end, None)]
    words = f"by propagation, {result.coverage:g} %"
    return (
        {
            "x": stems,
            "y": [y for place in places for y in (place, place, None)],
            "mode": "lines",
            "line": {"color": SOFT, "width": 4},
            "opacity": 0.45,
            "hoverinfo": "skip",
            "showlegend": False,
        },
        {
            "x": off,
            "y": places,
            "mode": "markers",
            "name": words,
            "marker": {
                "size": 13,
                "color": [LAYER_COLOURS[kind] for kind in kinds],
                "symbol": ["square" if far else "circle" for far in beyond],
                "line": {"color": INK, "width": 1.5},
            },
            "hovertext": [_hover(line) for line in lines],
            "hovertemplate": "%{hovertext}<extra></extra>",
        },
        {
            "x": rounding,
            "y": places,
            "mode": "markers",
            "name": "known from rounding",
            "marker": {"size": 9, "color": PAPER, "symbol": "diamond", "line": {"color": INK, "width": 1.5}},
            "hovertext": [f"rounding moves it by {line.weighing.rounding_error:+.3g} % of the line" for line in lines],
            "hovertemplate": "%{hovertext}<extra></extra>",
        },
        {
            "x": drawn,
            "y": places,
            "mode": "markers",
            "name": "by Monte Carlo" if simulated is None else f"by Monte Carlo, {simulated.draws:,} draws",
            "marker": {"size": 20, "symbol": "line-ns", "color": INK, "line": {"color": INK, "width": 2}},
            "hovertext": ["" if x is None else f"by Monte Carlo ± {x:.3g} % of the line" for x in drawn],
            "hovertemplate": "%{hovertext}<extra></extra>",
        },
        {
            "x": [result.batch.tolerance] * 2,
            "y": [-0.6, len(lines) - 0.4],
            "mode": "lines",
            "name": f"tolerance {result.batch.tolerance:g} %",
            "line": {"color": INK, "width": 1.5, "dash": "4px,3px"},
            "hoverinfo": "skip",
        },
    )


def _shown(percent: float | None) -> float | None:
    return None if not percent else min(max(percent, LEAST_SHOWN), MOST_SHOWN)


def _roundings(lines: tuple[LineUncertainty, ...]) -> list[float]:
    return [abs(line.weighing.rounding_error) for line in lines]


def _drawn(lines: tuple[LineUncertainty, ...], simulated: Simulated) -> list[float | None]:
    pairs = zip(lines, simulated.lines, strict=True)
    return [_shown(100.0 * row.half_width / line.made) if line.made else None for line, row in pairs]


def _hover(line: LineUncertainty) -> str:
    parts = ((line.repeatability, "repeatability"), (line.resolution, "two readings"), (line.linearity, "linearity"))
    return "<br>".join(
        [
            f"<b>{escape(line.weighing.material)}</b>: {line.made:.4g} ± {line.expanded:.2g} % of the whole",
            "" if line.relative is None else f"off by up to {line.relative:.3g} % of itself",
            "standard uncertainty from " + ", ".join(f"{name} {part:.2g} %" for part, name in parts if part),
        ]
    )


def batch_scale(mass: float, least: float, most: float) -> str:
    """A strip from 1 g to ``most`` with the batch and the smallest sound batch on it, as SVG text. [g]

    The strip is logarithmic. A smallest sound batch beyond it stands at its end with an arrow.
    """
    width, left, right, y = 790.0, 20.0, 770.0, 40.0

    def at(grams: float) -> float:
        return left + (right - left) * min(max(log10(max(grams, 1.0)) / log10(most), 0.0), 1.0)

    beyond = least > most
    sound = at(least)
    ticks = [float(digit * 10**n) for n in range(7) for digit in (1, 2, 5) if digit * 10**n <= most]
    smallest = f"{least:,.10g} g".replace(",", " ") if least <= 1e6 else "above a tonne"
    said = f"Batch {mass:.10g} g. Smallest sound batch {smallest}{', beyond this scale' if beyond else ''}."
    anchor = "end" if sound > width / 2 else "start"
    label = f"{'→ ' if beyond else ''}smallest sound batch {smallest}"
    now = at(mass)
    ink, soft = "var(--sw-ink,#1f2a33)", "var(--sw-soft,#55626c)"
    marks = "".join(
        f'<line x1="{at(t):.1f}" x2="{at(t):.1f}" y1="{y}" y2="{y + 6}" stroke="{soft}"/>'
        f'<text x="{at(t):.1f}" y="{y + 20}" text-anchor="middle" fill="{soft}">{t:g}</text>'
        for t in ticks
    )
    return (
        f'<svg viewBox="0 0 {width:g} 74" role="img" aria-label="{escape(said)}" xmlns="http://www.w3.org/2000/svg" '
        'style="width:100%;max-width:790px;height:auto;font:12.5px system-ui,sans-serif">'
        f'<line x1="{left:g}" x2="{right:g}" y1="{y}" y2="{y}" stroke="{soft}" stroke-width="1.5"/>'
        f'<line x1="{sound:.1f}" x2="{right:g}" y1="{y}" y2="{y}" stroke="var(--sw-water,#4f8fb0)" stroke-width="6"/>'
        f'{marks}<line x1="{sound:.1f}" x2="{sound:.1f}" y1="{y - 22}" y2="{y + 4}" stroke="{ink}" stroke-width="2"/>'
        f'<text x="{sound + (-6 if anchor == "end" else 6):.1f}" y="{y - 14}" text-anchor="{anchor}" fill="{ink}">'
        f'{escape(label)}</text><circle cx="{now:.1f}" cy="{y}" r="7" fill="var(--sw-paper,#fbf9f3)" '
        f'stroke="{ink}" stroke-width="2.5"/></svg>'
    )
