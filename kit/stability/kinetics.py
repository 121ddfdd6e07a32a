"""Rates of loss in zero or first order, the time until a share is left, and how rates depend on temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError
from kit.findings import Finding
from kit.soundness import sound

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
        reach = _t(confidence, self.df) * self.error
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

    from kit.stability.pooling import as_arrays, compare
    from kit.stability.series import Series

    many = [series] if isinstance(series, Series) else sorted(series, key=lambda one: one.batch)
    _enough(many, temperature, order)
    days, values = as_arrays(many, order)
    lines = compare(days[None], values[None]).lines([2 if len(many) > 1 else 0]).pick(0)
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


@sound()
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


@sound(least=("time", "k"), above=("start",))
def share_left(time: float, k: float, *, order: Order = "first", start: float = 1.0) -> float:
    """What is left after a time, never below 0. [% of the start]

    Examples
    --------
    >>> print(f"{share_left(10.5361, 0.01):.2f}")
    90.00
    """
    return 100 * math.exp(-k * time) if order == "first" else max(100 * (1 - k * time / start), 0.0)


@sound()
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


#: Gas constant. [kJ/(mol K)] (SI, exact since 2019: 8.314 462 618 153 24 J/(mol K))
GAS = 8.31446261815324e-3
ZERO = 273.15  # 0 °C [K]
Method = Literal["line through ln k", "curve through k", "curve through all readings"]


@dataclass(frozen=True, slots=True)
class Prediction:
    """A rate constant at one temperature with its interval, and cautions. [as the rates]"""

    temperature: float
    k: float
    lower: float
    upper: float
    findings: tuple[Finding, ...]

    def time_to_share(self, left: float, *, order: Order = "first", start: float = 1.0) -> tuple[float, float, float]:
        """Days until so many percent are left: by the rate, and by the ends of its interval (shortest, longest)."""
        best, shortest, longest = (
            time_to_share(left, k, order=order, start=start) if 0 < k < math.inf else (0.0 if k else math.inf)
            for k in (self.k, self.upper, self.lower)
        )
        return best, shortest, longest


@dataclass(frozen=True, slots=True)
class Arrhenius:
    """A fit of Arrhenius' equation.

    Attributes
    ----------
    energy, energy_error
        Activation energy and its standard error. [kJ/mol]
    middle, ln_k, ln_k_error, covariance
        The middle temperature [K], ln k there, its standard error, and the covariance of ln k and energy.
    df
        Degrees of freedom; 0 with two temperatures, when there is no interval.
    temperatures
        Those studied. [°C]
    method
        "line through ln k", "curve through k" or "curve through all readings". The intervals of the curves are
        asymptotic: right for many readings, too close for few.
    """

    energy: float
    energy_error: float
    middle: float
    ln_k: float
    ln_k_error: float
    covariance: float
    df: int
    temperatures: tuple[float, ...]
    method: Method
    findings: tuple[Finding, ...] = ()

    def energy_interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Two-sided t interval of the activation energy, infinite with two temperatures. [kJ/mol]"""
        reach = _t(confidence, self.df) * self.energy_error
        return self.energy - reach, self.energy + reach

    def q10(self, temperature: float, confidence: float = 0.95) -> tuple[float, float, float]:
        """Factor from this temperature [°C] to 10 K above it, with its interval: (q10, lower, upper)."""
        low, high = self.energy_interval(confidence)
        middle, lower, upper = (_safe_exp(q10_exponent(energy, temperature)) for energy in (self.energy, low, high))
        return middle, lower, upper

    def at(self, temperature: float, confidence: float = 0.95) -> Prediction:
        """The rate constant at a temperature [°C], with a two-sided interval of its mean."""
        x = -(1 / kelvin(temperature) - 1 / self.middle) / GAS
        mean = self.ln_k + self.energy * x
        variance = self.ln_k_error**2 + 2 * x * self.covariance + x**2 * self.energy_error**2
        known = self.df > 0 and math.isfinite(variance)
        reach = _t(confidence, self.df) * math.sqrt(max(variance, 0.0)) if known else math.inf
        low, high = min(self.temperatures), max(self.temperatures)
        found = list(self.findings)
        if not low <= temperature <= high:
            words = f"{temperature:g} °C lies outside the temperatures studied, {low:g} to {high:g} °C: extrapolated."
            found.append(Finding("caution", words))
        return Prediction(temperature, _safe_exp(mean), _safe_exp(mean - reach), _safe_exp(mean + reach), tuple(found))


@sound()
def kelvin(temperature: float) -> float:
    """A temperature in kelvin. [K]"""
    if not temperature > -ZERO:
        msg = f"{temperature:g} °C is not possible: nothing is colder than -273.15 °C."
        raise RangeError(msg)
    return temperature + ZERO


def _safe_exp(power: float) -> float:
    return math.exp(power) if power < 700 else math.inf


def _t(confidence: float, df: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, (1 + confidence) / 2)) if df > 0 else math.inf


def q10_exponent(energy: float, temperature: float) -> float:
    """Natural logarithm of the factor from ``temperature`` [°C] to 10 K above it, for an activation energy [kJ/mol]."""
    cold = kelvin(temperature)
    return energy / GAS * 10 / (cold * (cold + 10))


@sound()
def q10_factor(q10: float, warm: float, cold: float) -> float:
    """How many times faster at ``warm`` than at ``cold`` [°C] where every 10 K multiply the rate by ``q10``.

    A rule of thumb with an assumed factor; 83 kJ/mol, for one, makes it 2.97 between 25 and 35 °C.

    Examples
    --------
    >>> q10_factor(2, 45, 25), q10_factor(2, 95, 25)
    (4.0, 128.0)
    """
    if not q10 > 0:
        msg = f"Q10 must be above 0, got {q10:g}."
        raise RangeError(msg)
    return float(q10 ** ((warm - cold) / 10))


@sound()
def energy_from_two(factor: float, cold: float, warm: float) -> float:
    """Activation energy [kJ/mol] from how many times faster it goes at ``warm`` than at ``cold`` [°C].

    Examples
    --------
    >>> print(f"{energy_from_two(1.47, 30, 37):.2f}")
    43.02
    """
    if not factor > 0 or warm == cold:
        msg = f"A factor of {factor:g} between {cold:g} and {warm:g} °C gives no activation energy."
        raise RangeError(msg)
    return GAS * math.log(factor) / (1 / kelvin(cold) - 1 / kelvin(warm))
