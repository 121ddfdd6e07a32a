"""Rates of loss and the time until a share is left, in zero or first order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.series import Series

Order = Literal["zero", "first"]
DEFINITION = "definition of the order of a reaction"


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast something is lost at one temperature.

    Attributes
    ----------
    temperature
        [°C]
    k, error
        The rate constant and its standard error. [unit/day in zero order, 1/day in first]
    df
        Degrees of freedom of the error.
    start
        The line at day 0. [unit of the attribute]
    order, readings
        "zero" or "first"; how many readings it was computed from.
    """

    temperature: float
    k: float
    error: float
    df: int
    start: float
    order: Order
    readings: int

    def interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Two-sided t interval of the rate constant. [as ``k``]"""
        from scipy.special import stdtrit

        reach = float(stdtrit(self.df, (1 + confidence) / 2)) * self.error
        return self.k - reach, self.k + reach

    @property
    def t90(self) -> float:
        """Days until 90 % of the start is left, infinity where nothing is lost. [days]"""
        return time_to_share(90, self.k, order=self.order, start=self.start) if self.k > 0 else math.inf


def rate(series: Series | Iterable[Series], temperature: float, order: Order = "first") -> Rate:
    """The rate constant of loss at one temperature, by least squares on the readings or their logarithms.

    Several batches share a slope, each with its own start; ``start`` is then their mean, weighted by readings.

    Parameters
    ----------
    temperature
        Of the storage. [°C]
    order
        "zero": the readings fall on a line; "first": their natural logarithms do.

    Raises
    ------
    EntryError
        Fewer than three readings on different days, or a reading of 0 or less in first order.

    Examples
    --------
    >>> from kit.stability.series import Series
    >>> found = rate(Series("A", (0, 6, 12, 18, 24), (1.0, 0.5, 0.25, 0.125, 0.0625)), 40)
    >>> print(f"{found.k:.6f}")
    0.115525
    """
    import numpy as np

    from kit.stability.pooling import compare
    from kit.stability.series import Series

    many = [series] if isinstance(series, Series) else list(series)
    _enough(many, temperature, order)
    most = max(len(one.days) for one in many)
    days, values = np.full((1, len(many), most), np.nan), np.full((1, len(many), most), np.nan)
    for place, one in enumerate(many):
        days[0, place, : len(one.days)] = one.days
        values[0, place, : len(one.values)] = np.log(one.values) if order == "first" else one.values
    lines = compare(days, values).lines([2 if len(many) > 1 else 0]).pick(0)
    level = float(np.average(lines.intercept, weights=lines.count))
    return Rate(
        temperature=temperature,
        k=-float(lines.slope[0]),
        error=float(lines.slope_error[0]),
        df=int(lines.df[0]),
        start=math.exp(level) if order == "first" else level,
        order=order,
        readings=int(lines.count.sum()),
    )


def _enough(many: Sequence[Series], temperature: float, order: Order) -> None:
    where = f"At {temperature:g} °C"
    if not many or any(len(set(one.days)) < 3 for one in many):
        msg = f"{where} a batch has readings on fewer than three days: too few for a rate. Leave it out or read on."
        raise EntryError(msg)
    lowest = min(min(one.values) for one in many)
    if order == "first" and lowest <= 0:
        msg = f"{where} there is a reading of {lowest:g}: first order takes logarithms, which need readings above 0."
        raise EntryError(msg)


def time_to_share(left: float, k: float, *, order: Order = "first", start: float = 1.0) -> float:
    """The time until so many percent of the start are left. [days, or as ``k``]

    Parameters
    ----------
    left
        What is left. [% of the start]
    k
        Rate constant, above 0. [unit/day in zero order, 1/day in first]
    start
        Only in zero order. [unit of the attribute]

    Examples
    --------
    >>> print(f"{time_to_share(90, 0.01):.4f} {time_to_share(90, 0.01, order='zero'):.1f}")
    10.5361 10.0
    """
    if not 0 < left < 100:
        msg = f"What is left must lie between 0 and 100 % of the start, got {left:g} %."
        raise RangeError(msg)
    if not k > 0 or not start > 0:
        what = "rate constant" if not k > 0 else "start"
        msg = f"The {what} must be above 0, got {k if not k > 0 else start:g}: where nothing is lost there is no time."
        raise RangeError(msg)
    return -math.log(left / 100) / k if order == "first" else (1 - left / 100) * start / k


def share_left(time: float, k: float, *, order: Order = "first", start: float = 1.0) -> float:
    """What is left after a time, never below 0. [% of the start]

    Examples
    --------
    >>> print(f"{share_left(10.5361, 0.01):.2f}")
    90.00
    """
    return 100 * math.exp(-k * time) if order == "first" else max(100 * (1 - k * time / start), 0.0)


def rate_from_loss(lost: float, time: float) -> float:
    """First-order rate constant from one loss. [1/day, or one over the unit of ``time``]

    Parameters
    ----------
    lost
        [% of the start]
    time
        [days, or another unit]

    Examples
    --------
    >>> print(f"{1000 * rate_from_loss(52.0, 300):.2f}")
    2.45
    """
    if not 0 < lost < 100 or not time > 0:
        msg = f"A loss of {lost:g} % in {time:g} gives no rate: both must be above 0, and the loss below 100 %."
        raise RangeError(msg)
    return -math.log1p(-lost / 100) / time
