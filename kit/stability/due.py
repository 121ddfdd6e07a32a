"""What to look at next: each pull of a study with the day it is due and how it stands."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.study import Observation, Study

State = Literal["to come", "due", "overdue", "missed", "partly done", "done"]


@dataclass(frozen=True, slots=True)
class Due:
    """One pull: a batch in a condition at a time point.

    ``due_on`` to ``last_day`` is the window in which a reading counts as in time; ``missing`` names the
    attributes that a pull still lacks; ``words`` is the state as a sentence says it.
    """

    batch: str
    condition: str
    time_point: str
    due_on: date
    last_day: date
    state: State
    words: str
    missing: tuple[str, ...] = ()


def due(study: Study, observations: Iterable[Observation], today: date) -> list[Due]:
    """Every pull of the study in order of its day.

    The window of grace is the plan's: a pull is overdue only after its days of grace have passed, and missed
    once the next pull of the same bottle falls due and nothing was read. Optional attributes are not waited for.
    """
    read: dict[tuple[str, str, str], dict[str, date]] = defaultdict(dict)
    for row in observations:
        days = read[row.batch, row.condition, row.time_point]
        days[row.attribute] = min(row.observed_on, days.get(row.attribute, row.observed_on))
    points = study.plan.time_points
    return [
        _one(study, batch, condition.key, number, read[batch, condition.key, point.label], today)
        for number, point in enumerate(points)
        for batch in study.batches
        for condition in study.plan.conditions
    ]


def _one(study: Study, batch: str, condition: str, number: int, read: dict[str, date], today: date) -> Due:
    points = study.plan.time_points
    point = points[number]
    due_on = study.due_on(point)
    last_day = due_on + timedelta(days=point.grace)
    next_due = study.due_on(points[number + 1]) if number + 1 < len(points) else None
    missing = tuple(
        attribute.label for attribute in study.plan.attributes if not attribute.optional and attribute.key not in read
    )
    state: State
    if not missing:
        state, words = "done", _done(max(read.values()), due_on, last_day)
    elif read:
        state, words = "partly done", f"partly done: {', '.join(missing)} still missing"
    else:
        state, words = _waiting(due_on, last_day, next_due, today)
    return Due(batch, condition, point.label, due_on, last_day, state, words, missing)


def _done(read_on: date, due_on: date, last_day: date) -> str:
    late = (read_on - due_on).days
    return f"done, {_days(late)} late" if read_on > last_day else "done"


def _waiting(due_on: date, last_day: date, next_due: date | None, today: date) -> tuple[State, str]:
    days = (today - due_on).days
    if days < 0:
        return "to come", f"in {_days(-days)}"
    if days == 0:
        return "due", "due today"
    if today <= last_day:
        return "due", f"due {_days(days)} ago, in time until {last_day}"
    if next_due is not None and today >= next_due:
        return "missed", f"missed: nothing was read before the next pull fell due on {next_due}"
    return "overdue", f"overdue by {_days(days)}"


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"
