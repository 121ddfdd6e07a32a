"""A closed bottle weighed now and then: what leaves through its wall and closure, from the maker's own balance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.inputs import Rows
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

#: [d]
MONTH = 365.25 / 12


@dataclass(frozen=True, slots=True)
class Weighed:
    """A bottle on the balance, so many days after the first time. [d, g]"""

    day: float
    grams: float

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


#: How weighings are typed: a line each.
WEIGHINGS = Rows(Weighed, {"d": (0, 3660), "g": (0, 1e5)})


@dataclass(frozen=True, slots=True)
class MassLoss:
    """A straight line through weighings.

    Attributes
    ----------
    per_month, standard_error
        What is lost in a month, and how far that may be off. [g]
    low, high
        The 95 % interval; None with two weighings, through which any line goes. [g per month]
    residual
        How far a weighing lies from the line, as a rule. [g]
    """

    per_month: float
    standard_error: float | None
    low: float | None
    high: float | None
    residual: float | None
    count: int

    def sentence(self) -> str:
        """In words."""
        said = f"The closed bottle loses {self.per_month:.3g} g a month"
        if self.low is None or self.high is None:
            return f"{said}, from {self.count} weighings; a third would say how far that may be off."
        if self.low <= 0:
            return (
                f"{said} ({self.low:.2g} to {self.high:.2g} g, 95 %): that may be nothing, as far as "
                f"{self.count} weighings can tell."
            )
        return f"{said} ({self.low:.3g} to {self.high:.3g} g, 95 %, from {self.count} weighings)."


def mass_loss(weighings: Sequence[Weighed]) -> MassLoss:
    """Fit a straight line by least squares to the mass of a closed bottle that nobody used.

    Raises
    ------
    RangeError
        Fewer than two weighings on different days.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, section 4.1.4.1, linear least squares.
    """
    count = len(weighings)
    days, grams = [w.day for w in weighings], [w.grams for w in weighings]
    if len(set(days)) < 2:
        msg = "A loss needs the bottle weighed on two days at least: a line each, such as 0 131.42."
        raise RangeError(msg)
    middle, mean = math.fsum(days) / count, math.fsum(grams) / count
    spread = math.fsum((day - middle) ** 2 for day in days)
    slope = math.fsum((day - middle) * (mass - mean) for day, mass in zip(days, grams, strict=True)) / spread
    lost = -slope * MONTH
    if count == 2:
        return MassLoss(lost, None, None, None, None, count)
    from scipy.special import stdtrit

    off = math.fsum((m - mean - slope * (d - middle)) ** 2 for d, m in zip(days, grams, strict=True))
    residual = math.sqrt(off / (count - 2))
    error = residual / math.sqrt(spread) * MONTH
    reach = float(stdtrit(count - 2, 0.975)) * error
    return MassLoss(lost, error, lost - reach, lost + reach, residual, count)
