"""A bottle over its life: how the ratio and the levels drift, for many people, and how the layers then stand."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from kit.figures.bottle_drawing import DrawnLayer, bottle_svg
from kit.figures.theme import INK, LAYER_COLOURS, STYLES, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.life import LayerLife, Life
    from kit.layers.bottle import Bottle

#: People between which a band is drawn. [percentiles]
BAND = (5.0, 95.0)
#: The band ends where fewer people still have something in the bottle. [part of them]
STILL_USING = 0.2
#: How levels are drawn, one style for each that finds room: unbroken lines are the layers', in the same legend.
LEVEL_STYLES = tuple(one for one in STYLES if one[1] != "solid")


def life_figure(life: Life, levels: Sequence[tuple[LayerLife, str]], week: float) -> go.Figure:
    """Upper chart: each layer's part of what is left; lower: each level against what it was when filled."""
    rows = 2 if levels else 1
    titles = ["parts of what is left", "levels in their layer, against the day of filling"][:rows]
    figure = make_subplots(rows=rows, cols=1, shared_xaxes=True, vertical_spacing=0.14, subplot_titles=titles)
    weeks = [day / 7 for day in life.days]
    for layer in life.layers:
        kind = layer.liquid.kind
        _curve(figure, weeks, life.share(kind), escape(layer.liquid.name), LAYER_COLOURS[kind], "solid", "%", 1)
    for (layer, name), (colour, dash, _) in zip(levels, LEVEL_STYLES, strict=False):
        level = layer.percent(name)
        start = float(level[0, 0])
        title = f"{escape(name)} in {escape(layer.liquid.name)}"
        _curve(figure, weeks, 100 * level / start if start else level, title, colour, dash, "% of the start", 2)
    for row in range(1, rows + 1):
        figure.add_vline(x=week, line={"color": INK, "width": 1.5, "dash": "dot"}, row=row, col=1)
    figure.update_annotations(font_size=None)
    lay_on_paper(figure)
    figure.update_layout(
        height=240 * rows + 80, margin={"l": 60, "r": 16, "t": 40, "b": 48},
        legend={"orientation": "h", "y": -0.16 if rows == 2 else -0.3},
    )  # fmt: skip
    figure.update_xaxes(title_text="weeks in use", row=rows, col=1)
    # at the least so far apart: a layer that stays as it is is no mountain of rounding
    figure.update_yaxes(title_text="% w/w", autorangeoptions_include=_around(life), row=1, col=1)
    if rows == 2:
        figure.update_yaxes(title_text="% of the start", autorangeoptions_include=[99.0, 101.0], row=2, col=1)
    return figure


def _around(life: Life) -> list[float]:
    """A per cent below and above what the first layer is of the whole when the bottle is filled. [% w/w]"""
    start = float(life.share(life.layers[0].liquid.kind)[0, 0]) if life.layers else 0.0
    return [start - 1.0, start + 1.0]


def _curve(
    figure: go.Figure, weeks: list[float], values: object, name: str, colour: str, dash: str, unit: str, row: int
) -> None:
    """The usual person's line, and a band for nine people in ten."""
    table = np.asarray(values)
    enough = (~np.isnan(table)).mean(axis=1) >= STILL_USING
    x = np.asarray(weeks)
    low, high = np.nanpercentile(table[enough], BAND, axis=1)
    figure.add_trace(
        go.Scatter(
            x=[*x[enough], *x[enough][::-1]], y=[*high, *low[::-1]], fill="toself", fillcolor=_faint(colour),
            line={"width": 0}, hoverinfo="skip", showlegend=False, legendgroup=name,
        ),
        row=row, col=1,
    )  # fmt: skip
    figure.add_trace(
        go.Scatter(
            x=x, y=table[:, 0], name=name, legendgroup=name, mode="lines",
            line={"color": colour, "dash": dash, "width": 2},
            hovertemplate=f"week %{{x:.0f}}: %{{y:.3g}} {unit}<extra>{name}</extra>",
        ),
        row=row, col=1,
    )  # fmt: skip


def _faint(colour: str) -> str:
    red, green, blue = (int(colour[n : n + 2], 16) for n in (1, 3, 5))
    return f"rgba({red},{green},{blue},0.18)"


def standing_bottle_svg(standing: Sequence[tuple[LayerLife, float, float, float]], bottle: Bottle, said: str) -> str:
    """The layers as they stand: layer, volume, bottom and top, from below. [mL, mm, mm]"""
    drawn = [
        DrawnLayer(layer.liquid.kind, f"{layer.liquid.name}: {top - bottom:.1f} mm, {volume:.1f} mL", bottom, top)
        for layer, volume, bottom, top in standing
    ]
    return bottle_svg(drawn, bottle, said)
