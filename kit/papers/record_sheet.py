"""A blank record sheet: one row for each bottle and attribute of a pull, with room to write by hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from kit.inputs import Day, asked
from kit.papers.paper import PaperSpec
from kit.stability.plan import limits_in_brief, what_to_type
from kit.stability.study import current, read_date

if TYPE_CHECKING:
    from kit.papers.paper import StudyRecord
    from kit.stability.plan import Attribute, TimePoint


@dataclass(frozen=True, slots=True)
class RecordSheetOptions:
    """What is asked for record sheets: the pull, by its name in the plan; one bottle only, by batch and condition."""

    pull: str = asked("Pull", example="4 weeks", help="By its name in the plan. Empty: the next one due.")
    batch: str = asked("Only this batch")
    condition: str = asked("Only this condition")
    today: str = asked("Written on", Day(), help="The day by which a pull is due. Empty: today.")


def pull_of(record: StudyRecord, options: RecordSheetOptions) -> TimePoint:
    """The pull that was named, or the next one due."""
    study = record.study
    if options.pull:
        return study.plan.time_point(options.pull)
    today = read_date(options.today or date.today(), "today")
    return next((one for one in study.plan.time_points if study.due_on(one) >= today), study.plan.time_points[-1])


def context(record: StudyRecord, options: RecordSheetOptions) -> dict[str, Any]:
    """What the sheets print: beside each row the limits, the reading at the start and the last one before this pull.

    Raises
    ------
    EntryError
        The study has no such pull, batch or condition.
    """
    study, point = record.study, pull_of(record, options)
    batches = (study.batch(options.batch),) if options.batch else study.batches
    conditions = (study.plan.condition(options.condition),) if options.condition else study.plan.conditions
    read: dict[tuple[str, str, str], dict[str, str]] = {}
    for row in current(record.observations):
        read.setdefault((row.batch, row.condition, row.attribute), {})[row.time_point] = row.value
    earlier = [one.label for one in study.plan.time_points if one.days < point.days]
    return {
        "study": study,
        "point": point,
        "due_on": study.due_on(point),
        "bottles": [
            {
                "title": f"{one} · {place.label}",
                "rows": [
                    _row(attribute, read.get((one, place.key, attribute.key), {}), earlier)
                    for attribute in study.plan.attributes
                ],
            }
            for place in conditions
            for one in batches
        ],
        "attributes": [{"title": one.title, "how": one.how} for one in study.plan.attributes],
    }


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


SPEC = PaperSpec(
    "record_sheet",
    "Record sheet",
    "to note the readings of a pull by hand, with the limits and what was read before",
    "study",
    RecordSheetOptions,
    context,
    ("study", "point", "due_on", "bottles", "attributes"),
    lambda record, options: (record.study.title, pull_of(record, options).label),
    command="record",
    example='stability_log.db --pull "4 weeks" --pdf',
)
