"""One temperature that stands for a storage which swung: the mean kinetic temperature. Plain floats, no arrays."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Activation energy [kJ/mol] and gas constant [kJ/(mol K)] as USP <1160> takes them: their quotient is 10 000 K.
ENERGY, GAS = 83.144, 8.3144e-3
ZERO = 273.15  # 0 °C [K]


def mean_kinetic_temperature(
    temperatures: Sequence[float], weights: Sequence[float] | None = None, *, energy: float = ENERGY
) -> float:
    """The constant temperature at which as much would have decomposed as in this storage. [°C]

    Never below the arithmetic mean. It rests on an assumed activation energy, excuses no excursion, and means nothing
    for what freezes, melts or separates.

    Parameters
    ----------
    temperatures
        Logged. [°C]
    weights
        How long each lasted, in any unit of time; None where all lasted equally long.
    energy
        Activation energy. [kJ/mol]

    Raises
    ------
    RangeError
        No temperature, one below -273.15 °C, or a weight below 0.

    References
    ----------
    .. [1] United States Pharmacopeia, general chapter <1160>, Pharmaceutical calculations in prescription
       compounding (USP 29).

    Examples
    --------
    >>> print(f"{mean_kinetic_temperature([20, 30]):.4f}")
    26.2599
    """
    _refuse(temperatures, weights, energy)
    lasted = [1.0] * len(temperatures) if weights is None else list(weights)
    whole = math.fsum(lasted)
    hottest = max(t for t, weight in zip(temperatures, lasted, strict=True) if weight > 0) + ZERO
    steepness = energy / GAS
    mean = math.fsum(
        weight * math.exp(steepness * (1 / hottest - 1 / (t + ZERO)))
        for t, weight in zip(temperatures, lasted, strict=True)
        if weight > 0
    )
    return steepness / (steepness / hottest - math.log(mean / whole)) - ZERO


def _refuse(temperatures: Sequence[float], weights: Sequence[float] | None, energy: float) -> None:
    if not temperatures:
        msg = "There is no temperature to take the mean of."
        raise RangeError(msg)
    for temperature in temperatures:
        if not -ZERO < temperature < math.inf:
            msg = f"{temperature:g} °C is not possible: nothing is colder than -273.15 °C."
            raise RangeError(msg)
    if weights is not None and len(weights) != len(temperatures):
        msg = f"There are {len(temperatures)} temperatures and {len(weights)} weights. Give one weight for each."
        raise RangeError(msg)
    if weights is not None and not (min(weights) >= 0 and 0 < sum(weights) < math.inf):
        msg = "A weight is how long a temperature lasted: none may be below 0, and one at least must be above."
        raise RangeError(msg)
    if not 0 < energy < math.inf:
        msg = f"The activation energy must be above 0 kJ/mol, got {energy:g}."
        raise RangeError(msg)


def lasted(times: Sequence[float]) -> list[float]:
    """How long each reading of a log stands for: half of the gap before it and half of the gap after it.

    Parameters
    ----------
    times
        When each was read, rising. [any unit of time]

    Examples
    --------
    >>> lasted([0, 1, 2, 6])
    [0.5, 1.0, 2.5, 2.0]
    """
    if len(times) < 2:
        return [1.0] * len(times)
    gaps = [after - before for before, after in pairwise(times)]
    if min(gaps) <= 0:
        msg = "The times of a log must rise: each reading later than the one before."
        raise RangeError(msg)
    return [(before + after) / 2 for before, after in zip([0.0, *gaps], [*gaps, 0.0], strict=True)]
