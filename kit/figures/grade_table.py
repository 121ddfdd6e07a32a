"""Grades counted, as an HTML table: the middle grade of each condition at each pull, its range, how many are beyond."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.chart import as_markup
from kit.figures.overview_table import INKS, SIGNS

if TYPE_CHECKING:
    from kit.stability.grades import GradesAt, GradeSummary
    from kit.stability.study import Study

LEGEND = "middle grade of the batches, in brackets the lowest and highest; ✕ how many are beyond the limit"


def grade_table(study: Study, summary: GradeSummary) -> str:
    """Conditions down, pulls across, the sentence above, and the trends that could be tested below."""
    found = {(one.condition, one.time_point): one for one in summary.at}
    points = [point.label for point in study.plan.time_points]
    head = "".join(f'<th scope="col">{as_markup(point)}</th>' for point in points)
    body = "".join(
        f'<tr><th scope="row">{as_markup(condition.label)}</th>'
        + "".join(_cell(found.get((condition.key, point))) for point in points)
        + "</tr>"
        for condition in study.plan.conditions
    )
    trends = "".join(
        f"<li><b>{as_markup(one.batch)}</b>, {as_markup(study.plan.condition(one.condition).label)}: "
        f"{as_markup(one.trend.words)}</li>"
        for one in summary.bottles
        if one.trend.tau is not None
    )
    return (
        f'<p>{as_markup(summary.sentence)}</p><div class="sw-subtitle sub">{as_markup(LEGEND)}</div>'
        '<div class="sw-scroll"><table class="sw-sheet grid grades">'
        f'<thead><tr><th scope="col">Kept in</th>{head}</tr></thead><tbody>{body}</tbody></table></div>'
        + (f'<ul class="trends">{trends}</ul>' if trends else "")
    )


def _cell(one: GradesAt | None) -> str:
    if one is None:
        return "<td>–</td>"
    spread = f" ({one.lowest} to {one.highest})" if one.highest > one.lowest else ""
    beyond = f' <b style="color:{INKS["fail"]}">{SIGNS["fail"]} {one.beyond}</b>' if one.beyond else ""
    return f"<td>{one.median_words}{spread}{beyond}</td>"
