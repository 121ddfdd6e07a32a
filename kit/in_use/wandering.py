"""Dyes and actives that wander: how they share themselves out with the pH, and how fast, as observed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError
from kit.layers.partition import checked_ph, species_shares
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Sequence

Kind = Literal["acid", "base", "neutral"]

#: Rates that are tried, as parts of 1 over the longest time: from hardly begun to over at once.
SLOWEST, FASTEST, RATES = 0.02, 200.0, 600
#: Readings that a course needs: it has three figures, and one must be left to judge them.
FEWEST = 4


def neutral_share(ph: float, pka: Sequence[float], kind: Kind) -> float:
    """The part of an acid or base that bears no charge. [0 to 1]

    Parameters
    ----------
    ph
        Of the water layer, 0 to 14.
    pka
        Of the acid, or of the acid that the base makes; the first proton lost first. [-]

    Raises
    ------
    RangeError
        The pH lies outside 0 to 14.

    References
    ----------
    .. [1] As :func:`kit.layers.partition.undissociated_fraction`.

    Examples
    --------
    >>> round(neutral_share(8.0, (10.0,), "base"), 4)
    0.0099
    """
    if kind == "neutral" or not pka:
        return 1.0
    shares = species_shares(checked_ph(ph), sorted(pka))
    return shares[0] if kind == "acid" else shares[-1]


def log_d(log_p: float, ph: float, pka: Sequence[float] = (), kind: Kind = "neutral") -> float:
    """Decimal logarithm of the distribution ratio: log P and the part without charge, log D = log P + log(share). [-]

    Parameters
    ----------
    log_p
        Of the uncharged form between this oil, or octanol, and water. [-]

    Raises
    ------
    RangeError
        The pH lies outside 0 to 14.

    Notes
    -----
    What bears a charge is taken to stay in the water. Ion pairs pass over a little, so far from the pKa the true
    figure levels off, two to four below log P.

    References
    ----------
    .. [1] IUPAC Gold Book, distribution ratio; the form for one acid, log P - log(1 + 10^(pH - pKa)), stands in every
       text on partition.

    Examples
    --------
    Salicylic acid, log P 2.26 and pKa 2.985, at pH 4 and 7.4:

    >>> round(log_d(2.26, 4.0, (2.985,), "acid"), 2), round(log_d(2.26, 7.4, (2.985,), "acid"), 2)
    (1.2, -2.16)
    """
    share = neutral_share(ph, pka, kind)
    return log_p + (math.log10(share) if share > 0 else -math.inf)


def share_in_oil(distribution: float, oil_to_water: float) -> float:
    """How much of a substance stands in the oil at rest: D φ / (1 + D φ). [0 to 1]

    Parameters
    ----------
    distribution
        D, concentration in the oil over that in the water, all forms together, 0 or more. [-]
    oil_to_water
        φ, volume of the oil over that of the water, 0 or more. [mL/mL]

    Raises
    ------
    RangeError
        One of them below 0.

    References
    ----------
    .. [1] A balance of mass, as in :func:`kit.layers.partition.water_level`.

    Examples
    --------
    >>> share_in_oil(3.0, 1.0)
    0.75
    """
    if not distribution >= 0 or not oil_to_water >= 0:
        msg = (
            f"A distribution ratio of {distribution:g} at a ratio of volumes of {oil_to_water:g} cannot be: give 0 or "
            "more."
        )
        raise RangeError(msg)
    passed = distribution * oil_to_water
    return passed / (1.0 + passed) if passed < math.inf else 1.0


@dataclass(frozen=True, slots=True)
class Course:
    """How a reading runs toward its end: end + (start - end) exp(-rate t).

    Attributes
    ----------
    rate
        [1/day]
    slowest, fastest
        The interval of 95 % of the rate; None where the readings set no bound on that side. [1/day]
    start, end
        Of the reading, as fitted.
    spread
        Standard deviation of the readings about the curve.
    readings
        How many.
    """

    rate: float
    slowest: float | None
    fastest: float | None
    start: float
    end: float
    spread: float
    readings: int

    @property
    def half_time(self) -> float:
        """When half of the way is gone. [days]"""
        return math.log(2.0) / self.rate

    @property
    def is_determined(self) -> bool:
        """Whether the readings bound the rate on both sides."""
        return self.slowest is not None and self.fastest is not None

    def at(self, day: float) -> float:
        """The reading on a day after the start."""
        return self.end + (self.start - self.end) * math.exp(-self.rate * day)


@sound(unbounded=True)
def course(days: Sequence[float], readings: Sequence[float]) -> Course:
    """Fit a first-order course to readings of one layer.

    Parameters
    ----------
    days
        Since the start, 0 or more. [days]
    readings
        Such as how much of a dye is left in its layer. Any unit.

    Raises
    ------
    EntryError
        Too few readings, on too few days, or one that is no number.

    Notes
    -----
    For each rate the best start and end follow by least squares; the rate with the least sum of squares is taken. The
    interval holds every rate whose sum is no more than (1 + F / (n - 3)) times the least, F of 1 and n - 3 degrees at
    95 %.

    References
    ----------
    .. [1] D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications (1988), profile likelihood
       (from memory).
    """
    if len(days) != len(readings) or len(set(days)) < FEWEST:
        msg = (
            f"A course takes at least {FEWEST} readings on as many days, each with its day; there are {len(readings)}. "
            "Read on."
        )
        raise EntryError(msg)
    if not all(map(math.isfinite, (*days, *readings))) or min(days) < 0:
        msg = "Days are 0 or more after the start, and readings are numbers. One of these is neither."
        raise EntryError(msg)
    longest = max(days)
    rates = [SLOWEST / longest * (FASTEST / SLOWEST) ** (n / (RATES - 1)) for n in range(RATES)]
    sums = [_fitted(rate, days, readings)[2] for rate in rates]
    best = min(range(RATES), key=sums.__getitem__)
    rate = _finest(rates[max(0, best - 1)], rates[min(RATES - 1, best + 1)], days, readings)
    start, end, least = _fitted(rate, days, readings)
    free = len(days) - 3
    bound = least * (1.0 + _f95(free) / free) + 1e-12 * _size(readings)
    inside = [n for n in range(RATES) if sums[n] <= bound]
    low, high = (inside[0], inside[-1]) if inside else (best, best)
    return Course(
        rate,
        rates[low - 1] if low > 0 else None,
        rates[high + 1] if high < RATES - 1 else None,
        start,
        end,
        math.sqrt(max(0.0, least) / free),
        len(readings),
    )


def _fitted(rate: float, days: Sequence[float], readings: Sequence[float]) -> tuple[float, float, float]:
    """Start, end and sum of squares at a rate: a straight line over what is left of the way."""
    n = len(days)
    left = [math.exp(-rate * day) for day in days]
    mean_x, mean_y = math.fsum(left) / n, math.fsum(readings) / n
    across = math.fsum((x - mean_x) ** 2 for x in left)
    both = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(left, readings, strict=True))
    slope = both / across if across > 0 else 0.0
    end = mean_y - slope * mean_x
    rest = math.fsum((y - end - slope * x) ** 2 for x, y in zip(left, readings, strict=True))
    return end + slope, end, rest


def _finest(low: float, high: float, days: Sequence[float], readings: Sequence[float]) -> float:
    """The rate with the least sum of squares between two, by thirds."""
    for _ in range(80):
        one, other = low + (high - low) / 3, high - (high - low) / 3
        if _fitted(one, days, readings)[2] <= _fitted(other, days, readings)[2]:
            high = other
        else:
            low = one
    return (low + high) / 2


def _f95(free: int) -> float:
    """The square of Student's t for 95 %, both sides: F of 1 and so many degrees."""
    from scipy.special import stdtrit

    return float(stdtrit(free, 0.975)) ** 2


def _size(readings: Sequence[float]) -> float:
    return math.fsum(reading * reading for reading in readings)
