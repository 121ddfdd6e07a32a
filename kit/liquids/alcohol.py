"""Ethanol and water: density, strength by mass and by volume, and how much they shrink when mixed."""

from __future__ import annotations

from functools import lru_cache

from kit.errors import RangeError
from kit.resources import load_table

#: Where the formula holds. [°C]
COLDEST, WARMEST = -20.0, 40.0


def ethanol_density(percent: float, celsius: float = 20.0) -> float:
    """Density of ethanol and water. [g/mL]

    Parameters
    ----------
    percent
        Ethanol. [% w/w]
    celsius
        -20 to 40 °C, as long as it is liquid. [°C]

    Raises
    ------
    RangeError
        Outside 0 to 100 % or -20 to 40 °C.

    References
    ----------
    .. [1] OIML R 22 (1975), International Alcoholometric Tables: general formula of H. Wagenbreth and W. Blanke,
       PTB-Mitteilungen 81 (1971) 412-415. Coefficients in ``data/ethanol-water``.

    Examples
    --------
    >>> round(ethanol_density(50), 5)
    0.91377
    """
    if not 0 <= percent <= 100:
        msg = f"Ethanol must lie between 0 and 100 % w/w, got {percent:g} %."
        raise RangeError(msg)
    if not COLDEST <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside {COLDEST:g} to {WARMEST:g} °C, the range of the alcoholometric tables."
        raise RangeError(msg)
    return _density(percent / 100, celsius)


def _density(share: float, celsius: float) -> float:
    total = 0.0
    for coefficient in reversed(_powers_of_share(celsius)):
        total = total * share + coefficient
    return total / 1000


@lru_cache(maxsize=64)
def _powers_of_share(celsius: float) -> tuple[float, ...]:
    """What stands before each power of the share of ethanol at that temperature. [kg/m³]"""
    found = [0.0] * 12
    for power, degrees, coefficient in _coefficients():
        found[power] += coefficient * (celsius - 20.0) ** degrees
    return tuple(found)


@lru_cache(maxsize=1)
def _coefficients() -> tuple[tuple[int, int, float], ...]:
    return tuple(
        (int(row["power_of_share"]), int(row["power_of_degrees"]), float(row["coefficient"]))
        for row in load_table("ethanol-water").rows
    )


def apparent_volume_of_ethanol(share: float, celsius: float) -> float:
    """Room that 1 g of ethanol takes beside water, of which ``share`` of the mass is ethanol. [0 to 1, °C → mL/g]

    Water and mixture are both taken from the same formula, so that the volume stays finite for a trace of ethanol.
    """
    water = _density(0.0, celsius)
    if share < 1e-6:
        return 1 / water - _powers_of_share(celsius)[1] / 1000 / water**2
    return (1 / _density(share, celsius) - (1 - share) / water) / share
