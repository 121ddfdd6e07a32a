"""Trials of parting: the readings with the fitted law and its band, and the parting times of variants side by side."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from kit.figures.theme import INK, LAYER_COLOURS, SOFT, STYLES, blank, lay_on_paper
from kit.in_use.parting_trial import of_variant, variants_of
from kit.layers.shaken_product import time_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.parting_fit import PartingFit
    from kit.in_use.parting_trial import Trial
    from kit.layers.separation import Clearing

HEIGHT = 380
#: How long the axis is, as a part of the time at which all has parted.
BEYOND = 1.25
#: Points along the axis.
POINTS = 121
#: Each variant has this much room, and a live figure is never lower than this. [px]
ROW, LEAST = 46, 360


def parting_figure(fit: PartingFit, trials: Sequence[Trial], drops: Clearing | None = None) -> go.Figure:
    """The readings of each trial, the fitted law and the band of all laws that explain them about as well.

    Parameters
    ----------
    trials
        Those whose readings were fitted.
    drops
        The clear layers by hindered settling alone, with the drop size that explains the readings best.
    """
    figure = blank()
    span = shown_time(fit)
    unit, size = time_unit(span)
    seconds = np.linspace(0, span, POINTS)
    low, high = fit.band(seconds)
    edge = {"width": 0, "color": LAYER_COLOURS["water"]}
    figure.add_trace(go.Scatter(x=seconds / size, y=high, mode="lines", line=edge, showlegend=False, hoverinfo="skip"))
    figure.add_trace(
        go.Scatter(
            x=seconds / size, y=low, mode="lines", line=edge, fill="tonexty", fillcolor=LAYER_COLOURS["water"],
            opacity=0.35, name="95 % region of the law", hoverinfo="skip",
        )
    )  # fmt: skip
    law = [fit.law.height(float(t)) for t in seconds]
    figure.add_trace(
        go.Scatter(x=seconds / size, y=law, mode="lines", line={"color": INK, "width": 2}, name="fitted law")
    )
    if drops is not None:
        heights = drops.clear(trials[0].seen)
        figure.add_trace(
            go.Scatter(
                x=drops.seconds / size, y=heights, mode="lines", name="settling alone, one drop size",
                line={"color": SOFT, "width": 1.5, "dash": "dash"},
            )
        )  # fmt: skip
    for number, trial in enumerate(trials):
        colour, _, symbol = STYLES[number % len(STYLES)]
        figure.add_trace(
            go.Scatter(
                x=[one.seconds / size for one in trial.readings], y=[one.millimetres for one in trial.readings],
                mode="markers", name=f"{trial.day}, {trial.shakes} shakes",
                marker={"color": colour, "symbol": symbol, "size": 9, "line": {"color": "#ffffff", "width": 1}},
            )
        )  # fmt: skip
    figure.update_layout(
        height=HEIGHT, margin={"l": 60, "r": 15, "t": 20, "b": 100}, hovermode="closest",
        legend={"orientation": "h", "y": -0.26, "x": 0, "traceorder": "normal"}, showlegend=True,
    )  # fmt: skip
    figure.update_xaxes(title_text=f"Time after shaking [{unit}]", range=[0, span / size], title_standoff=8)
    figure.update_yaxes(title_text="Clear layer [mm]", rangemode="tozero")
    lay_on_paper(figure)
    return figure


def shown_time(fit: PartingFit) -> float:
    """How much time a chart of a fit shows. [s]"""
    return max(BEYOND * fit.parted, 1.05 * fit.readings[-1].seconds)


def variants_figure(trials: Sequence[Trial]) -> go.Figure:
    """The parting time of each trial, a row for each variant; one that had not parted yet points onwards.

    Each step of the axis is a factor, for times differ by factors.
    """
    ended = [trial for trial in trials if trial.time]
    names = variants_of(ended)
    times = [trial.time or 1.0 for trial in ended] or [1.0]
    unit, size = time_unit(max(times))
    low, high = min(times) / size / 1.3, max(times) / size * 1.3
    figure = blank()
    for parted, name, symbol in ((True, "parted", "circle"), (False, "not parted yet", "triangle-right-open")):
        points = [
            ((trial.time or 1.0) / size, len(names) - row)
            for row, variant in enumerate(names, start=1)
            for trial in of_variant(ended, variant)
            if trial.has_parted == parted
        ]
        if points:
            figure.add_trace(
                go.Scatter(
                    x=[math.log10(x) for x, _ in points], y=[y for _, y in points], mode="markers", name=name,
                    marker={"color": INK, "symbol": symbol, "size": 11}, customdata=[x for x, _ in points],
                    hovertemplate="%{customdata:.3g} " + unit + "<extra>" + name + "</extra>",
                )
            )  # fmt: skip
    figure.update_layout(
        height=max(LEAST, 130 + ROW * len(names)), margin={"l": 90, "r": 15, "t": 15, "b": 85}, showlegend=True,
        legend={"orientation": "h", "y": -0.24, "x": 0, "yanchor": "top"},
    )  # fmt: skip
    ticks = _ticks(low, high)
    figure.update_xaxes(
        title_text=f"Parted after [{unit}], each step a factor", title_standoff=8,
        range=[math.log10(low), math.log10(high)],
        tickvals=[math.log10(tick) for tick in ticks], ticktext=[f"{tick:g}" for tick in ticks],
    )  # fmt: skip
    figure.update_yaxes(
        tickvals=list(range(len(names))), ticktext=[escape(name) for name in reversed(names)],
        range=[-0.6, len(names) - 0.4],
    )  # fmt: skip
    lay_on_paper(figure)
    return figure


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers along a logarithmic axis."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    wide = high / low > 30
    steps = (1, 3) if wide else (1, 1.5, 2, 3, 5, 7)
    return [round(step * 10.0**power, 6) for power in powers for step in steps if low <= step * 10.0**power <= high]
