"""How rates depend on temperature: Arrhenius' equation and Q10, with intervals and with what they cannot tell.

The equation is written about a middle temperature, ln k = ln k_mid - (E/R)(1/T - 1/T_mid): the factor before the
exponential, which lies far outside all readings, is never needed.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from kit.errors import EntryError
from kit.findings import Finding
from kit.stability.kinetics import (
    GAS,
    ZERO,
    Arrhenius,
    Method,
    Rate,
    kelvin,
    rate,
)
from kit.stability.regression import straight_lines
from kit.stability.series import series_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from kit.stability.kinetics import Order
    from kit.stability.plan import Attribute
    from kit.stability.series import Series
    from kit.stability.study import Observation, Study

FEWEST_TEMPERATURES = 3
#: A search for the best curve may try exponents that no computer can hold; it is kept below this one.
MOST = 50.0
BACKWARDS = (
    "The warmer it was, the slower it went: that is not what Arrhenius' equation describes. Look for another cause, "
    "such as water that dried up, a phase that changed or readings that were swapped, and do not foretell from it."
)
NOT_FOR = (
    "An emulsion that breaks, a layer that settles, wax that melts or crystallises do not follow Arrhenius' equation: "
    "use it for a substance that decomposes."
)


def arrhenius(rates: Sequence[Rate] | Mapping[float, float], *, curve: bool = False) -> Arrhenius:
    """Arrhenius' equation through rate constants.

    Parameters
    ----------
    rates
        From :func:`kit.stability.kinetics.rate`, or temperature [°C] -> rate constant.
    curve
        False: least squares of ln k against 1/T, every constant with the same weight. True: least squares of k
        itself, which lets the largest constants decide.

    Raises
    ------
    EntryError
        Fewer than two temperatures with a loss.

    References
    ----------
    .. [1] P. Flowers et al., Chemistry 2e (OpenStax, 2019), 12.5.

    Examples
    --------
    >>> found = arrhenius({40: 0.0040, 50: 0.0105, 60: 0.0260})
    >>> print(f"{found.energy:.1f} kJ/mol")
    81.2 kJ/mol
    """
    pairs = list(rates.items()) if hasattr(rates, "items") else [(one.temperature, one.k) for one in rates]
    kept = [(temperature, k) for temperature, k in pairs if k > 0]
    degrees = np.array([kelvin(temperature) for temperature, _ in kept])
    findings = [*(_no_loss(temperature) for temperature, k in pairs if not k > 0), *_cautions(degrees)]
    ks = np.array([k for _, k in kept])
    middle = 1 / float((1 / degrees).mean())
    x = -(1 / degrees - 1 / middle) / GAS
    line = straight_lines(x, np.log(ks))
    energy, ln_k, df = float(line.slope), float(line.intercept), int(line.df)
    if curve and df > 0:
        ln_k, energy, covariance = _curve_through(x, ks, (ln_k, energy))
    else:
        errors = (float(line.intercept_error), float(line.slope_error)) if df > 0 else (math.inf, math.inf)
        covariance = np.diag(np.square(errors))
    if energy <= 0:
        findings.insert(0, Finding("caution", BACKWARDS))
    return _fitted(
        (ln_k, energy), covariance, middle, df, degrees, "curve through k" if curve else "line through ln k", findings
    )


def _curve_through(
    x: NDArray[np.float64], ks: NDArray[np.float64], first: tuple[float, float]
) -> tuple[float, float, NDArray[np.float64]]:
    size = float(ks.max())

    def curve(at: NDArray[np.float64], ln_k: float, energy: float) -> NDArray[np.float64]:
        return np.asarray(np.exp(np.minimum(ln_k + energy * at, MOST)))

    sorry = "No curve could be laid through these rates. Fit a line through their logarithms instead."
    best, covariance = _laid(curve, x, ks / size, (first[0] - math.log(size), first[1]), sorry)
    return float(best[0]) + math.log(size), float(best[1]), covariance


def _laid(
    curve: Callable[..., NDArray[np.float64]],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    first: tuple[float, ...],
    sorry: str,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The parameters of a curve by least squares, from a first guess, and their covariance."""
    from scipy.optimize import OptimizeWarning, curve_fit

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", OptimizeWarning)
            best, covariance = curve_fit(curve, x, y, first, maxfev=5000)
    except RuntimeError as error:
        raise EntryError(sorry) from error
    return best, covariance


def _no_loss(temperature: float) -> Finding:
    return Finding("caution", f"At {temperature:g} °C nothing was lost, so that temperature was left out.")


def _cautions(degrees: NDArray[np.float64]) -> list[Finding]:
    known = len(set(degrees.tolist()))
    if known < 2:
        msg = (
            f"Arrhenius' equation needs rates at two temperatures or more, better at three; there is a loss at {known}."
        )
        raise EntryError(msg)
    found = [Finding("note", NOT_FOR, source="common practice")]
    if known < FEWEST_TEMPERATURES:
        words = "Two temperatures fix the line exactly: nothing shows whether the rates follow it. Study a third."
        found.insert(0, Finding("caution", words))
    return found


def _fitted(
    best: tuple[float, float],
    covariance: NDArray[np.float64],
    middle: float,
    df: int,
    degrees: NDArray[np.float64],
    method: Method,
    findings: Sequence[Finding],
) -> Arrhenius:
    return Arrhenius(
        energy=best[1],
        energy_error=math.sqrt(float(covariance[1, 1])),
        middle=middle,
        ln_k=best[0],
        ln_k_error=math.sqrt(float(covariance[0, 0])),
        covariance=float(covariance[0, 1]),
        df=df,
        temperatures=tuple(round(float(one) - ZERO, 9) for one in degrees),
        method=method,
        findings=tuple(findings),
    )


def arrhenius_of_readings(series: Mapping[float, Sequence[Series]], order: Order = "first") -> Arrhenius:
    """Arrhenius' equation through all readings at once: every batch its start, one energy, one rate at the middle.

    Each reading counts alike, so temperatures with few readings cannot mislead as they do in a line through ln k. The
    readings themselves are fitted, not their logarithms; the intervals are asymptotic.

    Parameters
    ----------
    series
        Temperature [°C] -> the series of the batches kept there.

    Raises
    ------
    EntryError
        Fewer than two temperatures with a loss, or no fit is found.
    """
    rates = [rate(many, temperature, order) for temperature, many in series.items()]
    start = arrhenius(rates)
    flat = [(kelvin(temperature), one) for temperature, many in series.items() for one in many]
    names = list(dict.fromkeys(one.batch for _, one in flat))
    x = np.concatenate([np.full(len(one.days), -(1 / degrees - 1 / start.middle) / GAS) for degrees, one in flat])
    batch = np.concatenate([np.full(len(one.days), names.index(one.batch)) for _, one in flat])
    days = np.concatenate([np.asarray(one.days, dtype=float) for _, one in flat])
    values = np.concatenate([np.asarray(one.values, dtype=float) for _, one in flat])

    def model(_: object, ln_k: float, energy: float, *starts: float) -> NDArray[np.float64]:
        lost = np.exp(np.minimum(ln_k + energy * x, MOST)) * days
        begun = np.asarray(starts)[batch]
        return np.asarray(begun * np.exp(-lost) if order == "first" else begun - lost)

    firsts = [float(np.mean([one.start for one in rates]))] * len(names)
    degrees = np.array([kelvin(temperature) for temperature in series])
    sorry = "No curve could be laid through all readings at once. Fit the rates of each temperature instead."
    best, covariance = _laid(model, days, values, (start.ln_k, start.energy, *firsts), sorry)
    return _fitted(
        (float(best[0]), float(best[1])),
        covariance[:2, :2],
        start.middle,
        values.size - 2 - len(names),
        degrees,
        "curve through all readings",
        _cautions(degrees),
    )


@dataclass(frozen=True, slots=True)
class Rates:
    """How fast one attribute changes at each temperature.

    Attributes
    ----------
    rates
        Coldest first; above 0 in the direction in which the warmest goes.
    rises
        True where that direction is up.
    unit
        Of the rates, in words.
    fit
        Arrhenius' equation through them, or None where ``findings`` say why not.
    """

    rates: tuple[Rate, ...]
    rises: bool
    unit: str
    fit: Arrhenius | None
    findings: tuple[Finding, ...]


def rates_of(
    study: Study, observations: Iterable[Observation], attribute: Attribute, order: Order = "zero"
) -> Rates | None:
    """The rates of an attribute, or None where fewer than three dark conditions have a temperature of their own.

    Light does what warmth does not, so bottles in light are left out.

    Parameters
    ----------
    order
        "zero", or "first" for what falls by a share of what is left. A colour difference is taken in zero order.

    Raises
    ------
    EntryError
        A temperature with too few readings, or one of 0 or less in first order.
    """
    rows = list(observations)
    order = "zero" if attribute.kind == "colour" else order
    kept = [(c.temperature, c.key) for c in study.plan.conditions if c.temperature is not None and c.light == "dark"]
    found = [(t, many) for t, key in sorted(kept) if (many := series_of(study, rows, key, attribute.key))]
    if len({t for t, _ in found}) < FEWEST_TEMPERATURES:
        return None
    rates = [rate(many, t, order) for t, many in found]
    rises = rates[-1].k < 0
    if rises:
        rates = [replace(one, k=-one.k) for one in rates]
    unit = "CIEDE2000 units" if attribute.kind == "colour" else attribute.unit or attribute.label
    words = f"{unit} per day" if order == "zero" else "share per day"
    try:
        fit = arrhenius(rates)
    except EntryError as error:
        return Rates(tuple(rates), rises, words, None, (Finding("caution", str(error)),))
    return Rates(tuple(rates), rises, words, fit, fit.findings)
