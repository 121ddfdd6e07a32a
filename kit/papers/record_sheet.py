"""A blank record sheet: one row for each bottle and attribute of a pull, with room to write by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.papers.layout import templates
from kit.stability.plan import limits_in_brief, what_to_type

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study


def record_sheet_html(
    study: Study,
    time_point: str,
    observations: Iterable[Observation] = (),
    *,
    batch: str | None = None,
    condition: str | None = None,
) -> str:
    """The sheet of a pull as one HTML document; with a batch and a condition, that of one bottle only.

    Beside each row stand the limits, the reading at the start and the last one before this pull.

    Raises
    ------
    EntryError
        The study has no such pull, batch or condition.
    """
    point = study.plan.time_point(time_point)
    batches = study.batches if batch is None else (study.batch(batch),)
    conditions = study.plan.conditions if condition is None else (study.plan.condition(condition),)
    read: dict[tuple[str, str, str], dict[str, str]] = {}
    for row in observations:
        read.setdefault((row.batch, row.condition, row.attribute), {})[row.time_point] = row.value
    earlier = [one.label for one in study.plan.time_points if one.days < point.days]
    bottles = [
        {
            "title": f"{one} · {place.label}",
            "rows": [
                _row(attribute, read.get((one, place.key, attribute.key), {}), earlier)
                for attribute in study.plan.attributes
            ],
        }
        for place in conditions
        for one in batches
    ]
    return (
        templates()
        .get_template("record_sheet.html")
        .render(
            study=study,
            point=point,
            due_on=study.due_on(point),
            bottles=bottles,
            attributes=[{"title": one.title, "how": one.how} for one in study.plan.attributes],
        )
    )


def _row(attribute: Attribute, read: dict[str, str], earlier: list[str]) -> dict[str, str]:
    known = [label for label in earlier if label in read]
    last = known[-1] if known else ""
    start = earlier[0] if earlier and earlier[0] in read else ""
    return {
        "title": attribute.title,
        "type": what_to_type(attribute) if attribute.kind in ("grade", "yes/no") else "",
        "limits": limits_in_brief(attribute),
        "start": read[start] if start else "",
        "before": f"{read[last]} ({last})" if last and last != start else "",
    }
