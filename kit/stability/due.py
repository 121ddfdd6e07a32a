"""What to look at next: each pull of a study with the day it is due and how it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.study import Observation, Study

Pull = tuple[str, str, str]
#: The attributes that were read at each pull (batch, condition, time point), and the day of the last of them.
Read = Mapping[Pull, tuple[frozenset[str], date]]

#: The attribute in which the reason of a missed pull is written, and how such a remark begins.
REMARK, MISSED = "remark", "missed: "

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
    once the next pull of the same bottle falls due and nothing was read, or as soon as the only thing recorded of
    it is a remark that says why it was missed. Optional attributes are not waited for.
    """
    remarks: dict[Pull, str] = {}
    firsts: dict[tuple[Pull, str, int], date] = {}
    for row in observations:
        pull = row.batch, row.condition, row.time_point
        key = pull, row.attribute, row.replicate
        firsts[key] = min(row.observed_on, firsts.get(key, row.observed_on))
        if row.attribute == REMARK:
            remarks[pull] = row.value
    read: dict[Pull, tuple[frozenset[str], date]] = {}
    for (pull, attribute, _), day in firsts.items():
        before, latest = read.get(pull, (frozenset[str](), day))
        read[pull] = before | {attribute}, max(latest, day)
    return due_of(study, read, remarks, today)


def due_of(study: Study, read: Read, remarks: Mapping[Pull, str], today: date) -> list[Due]:
    """As :func:`due`, from what has been read of each pull and its remark; a long log counts that itself."""
    needed = [(attribute.key, attribute.label) for attribute in study.plan.attributes if not attribute.optional]
    all_missing = tuple(label for _, label in needed)

    @cache
    def missing_from(keys: frozenset[str]) -> tuple[str, ...]:
        return tuple(label for key, label in needed if key not in keys)

    found = []
    points = study.plan.time_points
    for number, point in enumerate(points):
        due_on = study.due_on(point)
        last_day = due_on + timedelta(days=point.grace)
        next_due = study.due_on(points[number + 1]) if number + 1 < len(points) else None
        waiting = _waiting(due_on, last_day, next_due, today)
        for batch in study.batches:
            for condition in study.plan.conditions:
                pull = batch, condition.key, point.label
                keys, day = read.get(pull, (frozenset[str](), due_on))
                missing = missing_from(keys) if keys else all_missing
                state: State
                state, words = waiting
                remark = remarks.get(pull, "")
                if keys == {REMARK} and remark.startswith(MISSED):
                    state, words = "missed", remark
                elif keys and missing:
                    state, words = "partly done", f"partly done: {', '.join(missing)} still missing"
                elif keys:
                    state, words = "done", _done(day, due_on, last_day)
                found.append(Due(*pull, due_on, last_day, state, words, missing))
    return found


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
