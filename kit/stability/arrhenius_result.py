"""What a fit of Arrhenius' equation tells: an activation energy, rates at other temperatures, Q10, with intervals."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from kit.errors import RangeError
from kit.findings import Finding
from kit.stability.kinetics import Order, time_to_share

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
