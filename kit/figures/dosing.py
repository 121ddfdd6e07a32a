"""The oil layer in each dose through the life of a bottle, for several users, with the label's share as a line."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from kit.figures.theme import INK, STYLES, lay_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.dosing import Doses


def dosing_figure(runs: Sequence[Doses]) -> go.Figure:
    """Oil layer in each dose against the number of the dose.

    Each user has a colour and dash of its own. Where a run follows many bottles, the line is their median and the
    band holds nine in ten.
    """
    figure = go.Figure()
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
        height=400,
        width=520,
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
