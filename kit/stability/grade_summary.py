"""Grades summed up as what they are, steps in an order: counts, medians and ranges, never a mean."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.stability.check import limits_of
from kit.stability.grade_trend import GradeTrend, grade_trend
from kit.stability.start import start_of
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.attribute import Attribute
    from kit.stability.study import Observation, Study


@dataclass(frozen=True, slots=True)
class GradesAt:
    """The grades of one condition at one time point.

    Attributes
    ----------
    counts
        How many bottles have each grade of the scale.
    median
        The middle grade, or the two middle ones where they differ.
    lowest, highest
        The range.
    beyond
        How many are beyond a limit.
    """

    condition: str
    time_point: str
    counts: tuple[int, ...]
    median: tuple[int, int]
    lowest: int
    highest: int
    beyond: int

    @property
    def bottles(self) -> int:
        """How many were graded."""
        return sum(self.counts)

    @property
    def shares(self) -> tuple[float, ...]:
        """What part of the bottles has each grade. [%]"""
        return tuple(100 * count / self.bottles for count in self.counts)

    @property
    def median_words(self) -> str:
        """The median as it is said: "1", or "1 to 2"."""
        low, high = self.median
        return f"{low}" if low == high else f"{low} to {high}"


@dataclass(frozen=True, slots=True)
class BottleGrades:
    """One bottle: its last day with a reading, the first day beyond a limit (None: never), and the trend. [days]"""

    batch: str
    condition: str
    last_day: int
    passed_on: int | None
    passed_at: str
    trend: GradeTrend


@dataclass(frozen=True, slots=True)
class Within:
    """How many bottles of a condition had stayed within the limits until a day.

    ``share`` is the estimate of Kaplan and Meier [%]: a bottle that was not read to the end counts for as long as it
    was read. ``watched`` were still read on that day, ``passed`` went beyond a limit on it.
    """

    condition: str
    day: int
    watched: int
    passed: int
    share: float


@dataclass(frozen=True, slots=True)
class GradeSummary:
    """The grades of one attribute: by condition and time point, by bottle, and how long bottles stayed within."""

    attribute: Attribute
    at: tuple[GradesAt, ...]
    bottles: tuple[BottleGrades, ...]
    within: tuple[Within, ...]
    sentence: str


def grade_summary(study: Study, observations: Iterable[Observation], attribute: str) -> GradeSummary:
    """Count the current grades of an attribute.

    Raises
    ------
    EntryError
        The attribute is no grade.

    References
    ----------
    .. [1] S. S. Stevens, "On the theory of scales of measurement", Science 103 (1946) 677-680 (from memory).
    .. [2] E. L. Kaplan, P. Meier, "Nonparametric estimation from incomplete observations", Journal of the American
       Statistical Association 53 (1958) 457-481 (from memory).
    """
    wanted = study.plan.attribute(attribute)
    if wanted.kind != "grade":
        msg = (
            f"{wanted.label} is no grade, so there are no grades to count. Choose an attribute with a scale of grades."
        )
        raise EntryError(msg)
    rows = [row for row in current(observations) if row.attribute == wanted.key and row.number is not None]
    rows.sort(key=lambda row: (row.observed_on, row.id))
    beyond = _beyond(study, wanted, rows)
    places = [(condition.key, point.label) for condition in study.plan.conditions for point in study.plan.time_points]
    at = tuple(
        _at(wanted, mine, beyond)
        for condition, label in places
        if (mine := [row for row in rows if (row.condition, row.time_point) == (condition, label)])
    )
    bottles = tuple(
        _bottle(study, mine, beyond)
        for condition in study.plan.conditions
        for batch in study.batches
        if (mine := [row for row in rows if (row.batch, row.condition) == (batch, condition.key)])
    )
    within = tuple(step for condition in study.plan.conditions for step in _within(condition.key, bottles))
    return GradeSummary(wanted, at, bottles, within, _sentence(wanted, len(rows), bottles))


def _grade(row: Observation) -> int:
    return int(row.number or 0)


def _beyond(study: Study, attribute: Attribute, rows: Sequence[Observation]) -> frozenset[int]:
    """The ids of the readings beyond a limit, or farther from the start of their bottle than the plan allows."""
    bottles: dict[tuple[str, str], list[Observation]] = defaultdict(list)
    for row in rows:
        bottles[row.batch, row.condition].append(row)
    starts = {bottle: start_of(study, mine) for bottle, mine in bottles.items()}
    found = set()
    for row in rows:
        started, grade = starts[row.batch, row.condition], _grade(row)
        start = None if started is None else started.number
        lower, upper = limits_of(attribute, start)
        if (lower is not None and grade < lower) or (upper is not None and grade > upper):
            found.add(row.id)
    return frozenset(found)


def _at(attribute: Attribute, rows: Sequence[Observation], beyond: frozenset[int]) -> GradesAt:
    ordered = sorted(_grade(row) for row in rows)
    middle = (len(ordered) - 1) // 2
    return GradesAt(
        condition=rows[0].condition,
        time_point=rows[0].time_point,
        counts=tuple(ordered.count(grade) for grade in range(len(attribute.scale))),
        median=(ordered[middle], ordered[len(ordered) // 2]),
        lowest=ordered[0],
        highest=ordered[-1],
        beyond=sum(row.id in beyond for row in rows),
    )


def _bottle(study: Study, rows: Sequence[Observation], beyond: frozenset[int]) -> BottleGrades:
    days = [(row.observed_on - study.started_on).days for row in rows]
    grades = [_grade(row) for row in rows]
    passed = next((place for place, row in enumerate(rows) if row.id in beyond), None)
    return BottleGrades(
        batch=rows[0].batch,
        condition=rows[0].condition,
        last_day=days[-1],
        passed_on=None if passed is None else days[passed],
        passed_at="" if passed is None else rows[passed].time_point,
        trend=grade_trend(days, grades),
    )


def _within(condition: str, bottles: Sequence[BottleGrades]) -> list[Within]:
    mine = [bottle for bottle in bottles if bottle.condition == condition]
    share, steps = 100.0, []
    for day in sorted({bottle.passed_on for bottle in mine if bottle.passed_on is not None}):
        watched = sum((bottle.last_day if bottle.passed_on is None else bottle.passed_on) >= day for bottle in mine)
        passed = sum(bottle.passed_on == day for bottle in mine)
        share *= 1 - passed / watched
        steps.append(Within(condition, day, watched, passed, share))
    return steps


def _sentence(attribute: Attribute, readings: int, bottles: Sequence[BottleGrades]) -> str:
    begin = f"Counted from {readings} grade{'s' if readings != 1 else ''} of {len(bottles)} bottle"
    begin += "s" if len(bottles) != 1 else ""
    if (attribute.lower, attribute.upper, attribute.change, attribute.change_percent) == (None,) * 4:
        return f"{begin}: {attribute.label} has no limit grade."
    passed = [bottle for bottle in bottles if bottle.passed_on is not None]
    if not passed:
        return f"{begin}: none has passed the limit of {attribute.label} so far."
    first = min(passed, key=lambda bottle: bottle.passed_on or 0)
    whose = f"batch {first.batch}, {first.condition}"
    return f"{begin}: {len(passed)} passed the limit of {attribute.label}, first on day {first.passed_on} ({whose})."
