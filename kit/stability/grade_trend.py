"""Do grades rise or fall with time? Kendall's rank correlation, which asks only which of two grades is the higher."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
