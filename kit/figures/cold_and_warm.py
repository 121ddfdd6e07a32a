"""The densities of two layers over temperature with their bands; where they cannot be told apart; the bottle drawn."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from kit.figures.bottle_drawing import DrawnLayer, bottle_svg
from kit.figures.theme import INK, LAYER_COLOURS, SOFT, blank, lay_on_paper
from kit.layers.density_words import COVERAGE

if TYPE_CHECKING:
    from kit.in_use.cold_and_warm import BottleThen
    from kit.in_use.density_bands import DensityBands
    from kit.layers.bottle import Bottle
    from kit.layers.density import LayerDensity
    from kit.library.ingredient import PhaseKind

HEIGHT = 380
#: The name of the line that marks the temperature looked at.
NOW = "now"
#: How dark the stretches are in which the order cannot be told, or is not known. [0 to 1]
UNTOLD, UNKNOWN = 0.28, 0.1


def density_bands_figure(bands: DensityBands, celsius: float, low: float, high: float) -> go.Figure:
    """Each layer's density ± twice its uncertainty, dashed where its expansion is not known.

    The paper is darker where it cannot be told which layer lies below, and a little where that is not known.

    Parameters
    ----------
    celsius
        What is marked. [°C]
    low, high
        Ends of the axis. [°C]
    """
    figure = blank()
    for kind, name, found in (("water", bands.water_name, bands.water), ("oil", bands.oil_name, bands.oil)):
        _curve(figure, LAYER_COLOURS[kind], escape(name), bands.celsius, found)
    _stretches(figure, bands)
    figure.add_vline(x=celsius, line={"color": INK, "width": 1.5, "dash": "dot"}, name=NOW)
    lay_on_paper(figure)
    figure.update_layout(
        height=HEIGHT, margin={"l": 60, "r": 16, "t": 20, "b": 90}, hovermode="closest",
        legend={"orientation": "h", "y": -0.24, "x": 0, "traceorder": "normal"},
    )  # fmt: skip
    figure.update_xaxes(title_text="temperature [°C]", range=[low, high], title_standoff=8)
    figure.update_yaxes(title_text="density [g/mL]")
    return figure


def _curve(
    figure: go.Figure, colour: str, name: str, celsius: tuple[float, ...], found: tuple[LayerDensity, ...]
) -> None:
    """One layer: drawn out where its density is known, dashed where a usual expansion stands in for what is missing."""
    if found[0].mixed is None:
        return
    figure.add_trace(
        go.Scatter(
            x=celsius, y=[each.value for each in found], mode="lines", showlegend=False, legendgroup=name,
            line={"color": colour, "width": 1.5, "dash": "dash"}, hoverinfo="skip",
        )
    )  # fmt: skip
    known = [each.is_known for each in found]
    last = len(known) - 1
    joined = [known[n] and ((n > 0 and known[n - 1]) or (n < last and known[n + 1])) for n in range(last + 1)]
    there = [
        (t, each.value, COVERAGE * each.uncertainty)
        for t, each, is_shown in zip(celsius, found, joined, strict=True)
        if is_shown
    ]
    if len(there) < 2:
        return
    x = [t for t, _, _ in there]
    figure.add_trace(
        go.Scatter(
            x=[*x, *x[::-1]], y=[*(v + u for _, v, u in there), *(v - u for _, v, u in there[::-1])], fill="toself",
            fillcolor=colour, opacity=0.35, line={"width": 0}, hoverinfo="skip", showlegend=False, legendgroup=name,
        )
    )  # fmt: skip
    figure.add_trace(
        go.Scatter(
            x=x, y=[v for _, v, _ in there], name=f"{name}, ± twice its uncertainty", legendgroup=name, mode="lines",
            line={"color": colour, "width": 2.5}, customdata=[u for *_, u in there],
            hovertemplate=f"%{{x:.0f}} °C: %{{y:.4f}} ± %{{customdata:.4f}} g/mL<extra>{name}</extra>",
        )
    )  # fmt: skip


def _stretches(figure: go.Figure, bands: DensityBands) -> None:
    for start, end in bands.untold:
        figure.add_vrect(x0=start, x1=end, fillcolor=SOFT, opacity=UNTOLD, line_width=0, layer="below")
    blank = [(start, end) for start, end, _ in bands.likely]
    for start, end in blank:
        figure.add_vrect(x0=start, x1=end, fillcolor=SOFT, opacity=UNKNOWN, line_width=0, layer="below")
    for shown, opacity, words in (
        (bands.untold, UNTOLD, "cannot be told"),
        (blank, UNKNOWN, "not known; dashed: as usual liquids"),
    ):
        if shown:
            marker = {"color": SOFT, "symbol": "square", "size": 14, "opacity": opacity + 0.1}
            figure.add_trace(go.Scatter(x=[None], y=[None], mode="markers", marker=marker, name=f"order {words}"))


def bottle_then_svg(then: BottleThen, bottle: Bottle) -> str:
    """The bottle as it stands at a temperature, with the ice that may be in it and the air that is left."""
    air: PhaseKind = "other"
    drawn = []
    for layer in then.standing:
        words = f"{layer.name}: {layer.top - layer.bottom:.1f} mm, {layer.volume:.1f} mL"
        drawn.append(DrawnLayer(layer.kind, words, layer.bottom, layer.top, layer.ice))
        if layer.ice > 0:
            drawn.append(
                DrawnLayer(layer.kind, f"up to {100 * layer.ice:.0f} % of its water ice", layer.top, layer.top)
            )
    top = then.standing[-1].top if then.standing else 0.0
    room = f"air: {then.room:.1f} mL" if then.room > 0 else "no air left"
    drawn.append(DrawnLayer(air, room, top, top))
    from_above = ", ".join(each.words for each in reversed(drawn))
    return bottle_svg(drawn, bottle, f"{then.celsius:g} °C, from the top: {from_above}")
