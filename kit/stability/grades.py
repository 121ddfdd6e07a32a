"""Grades summed up as what they are, steps in an order: counts, medians, ranges and rank correlation, never a mean."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.stability.check import limits_of
from kit.stability.study import current, starts_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study

#: With no more orders than this to look at, the p-value is exact.
MOST_ORDERS = 5_100
#: With fewer readings hardly any order is unlikely.
FEWEST = 4
SOURCE = "M. G. Kendall, Biometrika 30 (1938) 81-93 (from memory); ties as tau-b"


@dataclass(frozen=True, slots=True)
class GradeTrend:
    """Kendall's tau-b from -1 to 1, its two-sided p-value, whether that is exact, and a sentence.

    ``tau`` and ``p`` are None where there is nothing to rank: too few readings, or all the same.
    """

    tau: float | None
    p: float | None
    exact: bool
    readings: int
    words: str


def grade_trend(days: Sequence[float], grades: Sequence[float]) -> GradeTrend:
    """Whether the grades of one bottle go up or down with the days.

    With few readings every order of the grades is looked at, ties and all, so the p-value is exact; else it comes
    from the normal approximation. Bottles read together are no independent readings: do not throw them together.

    Examples
    --------
    >>> print(grade_trend((0, 7, 14, 28, 56), (0, 0, 1, 1, 2)).words)
    The grades go up with time (Kendall's tau 0.89, exact p = 0.067, 5 readings); so few readings rarely prove a trend.
    """
    count = len(grades)
    if len(days) != count:
        msg = f"There are {len(days)} days and {count} grades. Give a day for each grade."
        raise EntryError(msg)
    if count < FEWEST:
        return GradeTrend(None, None, False, count, f"{count} readings are too few to see a trend.")
    if len(set(grades)) < 2 or len(set(days)) < 2:
        return GradeTrend(None, None, False, count, f"All {count} grades are the same: there is no trend to test.")
    tau = _tau(days, grades)
    exact = _orders(grades) <= MOST_ORDERS
    p = _exact_p(days, grades) if exact else _approximate_p(days, grades)
    way = "up" if tau > 0 else "down" if tau < 0 else "neither up nor down"
    kind = "exact" if exact else "approximate"
    words = f"The grades go {way} with time (Kendall's tau {tau:.2f}, {kind} p = {p:.2g}, {count} readings)"
    words += "; so few readings rarely prove a trend." if count < 10 else "."
    return GradeTrend(tau, p, exact, count, words)


def _score(days: Sequence[float], grades: Sequence[float]) -> int:
    """Pairs in which the later grade is the higher, less those in which it is the lower."""
    total = 0
    for one, other in combinations(range(len(days)), 2):
        total += _sign(days[other] - days[one]) * _sign(grades[other] - grades[one])
    return total


def _sign(number: float) -> int:
    return (number > 0) - (number < 0)


def _tau(days: Sequence[float], grades: Sequence[float]) -> float:
    pairs = math.comb(len(days), 2)
    untied = [
        pairs - sum(math.comb(values.count(one), 2) for one in set(values)) for values in (list(days), list(grades))
    ]
    return _score(days, grades) / math.sqrt(untied[0] * untied[1])


def _orders(grades: Sequence[float]) -> int:
    """In how many orders these grades can stand."""
    ways = math.factorial(len(grades))
    for one in set(grades):
        ways //= math.factorial(list(grades).count(one))
    return ways


def _exact_p(days: Sequence[float], grades: Sequence[float]) -> float:
    seen = abs(_score(days, grades))
    as_far = sum(abs(_score(days, order)) >= seen for order in _arranged(sorted(grades)))
    return as_far / _orders(grades)


def _arranged(grades: list[float]) -> Iterator[list[float]]:
    """Every different order of the grades."""
    if not grades:
        yield []
        return
    for first in sorted(set(grades)):
        rest = list(grades)
        rest.remove(first)
        yield from ([first, *order] for order in _arranged(rest))


def _approximate_p(days: Sequence[float], grades: Sequence[float]) -> float:
    from scipy.stats import kendalltau

    return float(kendalltau(days, grades, method="asymptotic").pvalue)


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
    starts = starts_of(study, rows)
    found = set()
    for row in rows:
        start, grade = starts.get((row.attribute, row.condition, row.batch)), _grade(row)
        lower, upper = limits_of(attribute, start.number if start else None)
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
