"""How one attribute of a study moves with time: a line for each bottle, its limits, and what each point was."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from kit.errors import EntryError
from kit.figures.theme import SOFT, STYLES, blank, lay_on_paper
from kit.stability.check import allowed_change, beyond_limits, said
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study

#: One batch: how its symbol is filled, and its size. Beyond six they come round again; hover and legend tell.
MARKS = (("", 8), ("-open", 10), ("-open-dot", 14), ("", 14), ("-open", 17), ("-open-dot", 20))
#: A figure is at least this high, and higher where the legend needs it. [px]
LEAST_HEIGHT, HEIGHT_PER_NAME = 440, 24


def trend_figure(study: Study, observations: Iterable[Observation], attribute_key: str) -> go.Figure:
    """The readings of one number or grade against the weeks since the start.

    Each condition has its colour, dash and symbol; each batch fills the symbol in its own way. Readings that were
    corrected are left out. A point lies at the day on which it was read, also where that was late.

    Raises
    ------
    EntryError
        The attribute is not the plan's, or it is words and has no trend.
    """
    attribute = study.plan.attribute(attribute_key)
    if not attribute.numeric:
        choices = ", ".join(one.label for one in study.plan.attributes if one.numeric)
        msg = f"{attribute.label} is words, so it has no trend to draw. Choose one of: {choices}."
        raise EntryError(msg)
    rows = [row for row in current(observations) if row.attribute == attribute.key and row.number is not None]
    figure = blank()
    starts = []
    for batch_number, batch in enumerate(study.batches):
        for condition_number in range(len(study.plan.conditions)):
            key = study.plan.conditions[condition_number].key
            series = [row for row in rows if (row.batch, row.condition) == (batch, key)]
            series.sort(key=lambda row: (row.observed_on, row.id))
            start = _start(study, series)
            starts.append(start)
            if series:
                figure.add_trace(_line(study, attribute, series, start, (condition_number, batch_number)))
    _add_limits(figure, attribute, [start for start in starts if start is not None])
    _lay_out(figure, study, attribute, empty=not rows)
    return figure


def _start(study: Study, series: Sequence[Observation]) -> float | None:
    first = study.plan.time_points[0].label
    return next((row.number for row in series if row.time_point == first), None)


def _line(
    study: Study,
    attribute: Attribute,
    series: Sequence[Observation],
    start: float | None,
    numbers: tuple[int, int],
) -> go.Scatter:
    condition_number, batch_number = numbers
    condition = study.plan.conditions[condition_number]
    colour, dash, symbol = STYLES[condition_number % len(STYLES)]
    filling, size = MARKS[batch_number % len(MARKS)]
    return go.Scatter(
        x=[(row.observed_on - study.started_on).days / 7 for row in series],
        y=[row.number for row in series],
        name=f"batch {escape(series[0].batch)}",
        legendgroup=condition.key,
        legendgrouptitle={"text": escape(condition.label)},
        legendrank=1000 + condition_number,
        mode="lines+markers",
        line={"color": colour, "dash": dash, "width": 2},
        marker={"symbol": symbol + filling, "size": size, "color": colour},
        hovertext=[_hover(attribute, row, start, condition.label) for row in series],
        hovertemplate="%{hovertext}<extra></extra>",
    )


def _hover(attribute: Attribute, row: Observation, start: float | None, condition: str) -> str:
    number = row.number if row.number is not None else 0.0
    lines = [
        f"<b>{escape(attribute.label)}: {escape(said(attribute, number))}</b>",
        f"batch {escape(row.batch)}, {escape(condition)}",
        f"{escape(row.time_point)}, read on {row.observed_on}",
    ]
    lines += [f"corrected: {escape(row.reason)}"] if row.reason else []
    lines += [escape(row.note)] if row.note else []
    if beyond_limits(attribute, row.value, None if start is None else f"{start!r}"):
        lines.append("outside its limit")
    return "<br>".join(lines)


def _add_limits(figure: go.Figure, attribute: Attribute, starts: Sequence[float]) -> None:
    """Draw the limits of the plan, and those that an allowed change from the start sets for every bottle at once."""
    drawn = []
    if attribute.lower is not None:
        drawn.append((attribute.lower, f"lower limit {said(attribute, attribute.lower)}", "bottom"))
    if attribute.upper is not None:
        drawn.append((attribute.upper, f"upper limit {said(attribute, attribute.upper)}", "top"))
    if starts and allowed_change(attribute, starts[0]) is not None:
        drawn += _change_limits(attribute, starts)
    for level, words, side in drawn:
        figure.add_hline(
            y=level,
            line={"color": SOFT, "width": 1.5, "dash": "2px,3px"},
            annotation_text=escape(words),
            annotation_position=f"{side} left",
        )


def _change_limits(attribute: Attribute, starts: Sequence[float]) -> list[tuple[float, str, str]]:
    """The tightest limits: between them every bottle keeps the allowed change from its own start."""
    lowest = max(start - (allowed_change(attribute, start) or 0) for start in starts)
    highest = min(start + (allowed_change(attribute, start) or 0) for start in starts)
    if lowest >= highest:
        return []
    allowed = _allowed_words(attribute)
    which = "the start" if len(set(starts)) == 1 else "the {} start"
    return [
        (lowest, f"lower limit {lowest:.5g}: {allowed} below {which.format('highest')}", "bottom"),
        (highest, f"upper limit {highest:.5g}: {allowed} above {which.format('lowest')}", "top"),
    ]


def _allowed_words(attribute: Attribute) -> str:
    words = [] if attribute.change is None else [f"{attribute.change:g} {attribute.unit}".rstrip()]
    words += [] if attribute.change_percent is None else [f"{attribute.change_percent:g} %"]
    return " or ".join(words)


def _lay_out(figure: go.Figure, study: Study, attribute: Attribute, *, empty: bool) -> None:
    figure.update_layout(
        title={"text": f"{escape(attribute.label)}: {escape(study.title)}", "x": 0.01, "xanchor": "left"},
        height=max(LEAST_HEIGHT, HEIGHT_PER_NAME * (len(figure.data) + len(study.plan.conditions)) + 90),
        hoverlabel={"align": "left"},
        legend={"groupclick": "togglegroup"},
        showlegend=True,
        margin={"l": 70, "r": 20, "t": 60, "b": 60},
    )
    last = max(point.days for point in study.plan.time_points) / 7
    figure.update_xaxes(title_text="Time since the start [weeks]", range=[-0.03 * last, 1.03 * last])
    figure.update_yaxes(title_text=escape(attribute.title))
    if attribute.kind == "grade":
        top = len(attribute.scale) - 1
        figure.update_yaxes(tickvals=list(range(top + 1)), range=[-0.3, top + 0.3])
    lay_on_paper(figure)
    if empty:
        words = f"Nothing recorded yet for {escape(attribute.label)}."
        figure.add_annotation(text=words, showarrow=False, xref="paper", yref="paper", x=1, y=1, yanchor="bottom")
