"""Propylene glycol and water: density."""

from __future__ import annotations

from functools import lru_cache

from kit.errors import RangeError
from kit.liquids.water import water_density_at
from kit.resources import load_table

#: Where the equation holds. [°C]
COLDEST, WARMEST = 0.0, 80.0

#: From here to here the share is that of the equation; below the apparent volume stays, above it goes straight to
#: that of the pure glycol. [0 to 1]
LEAST_SHARE, MOST_SHARE = 0.10, 0.60

# What share and temperature are counted from, in the equation. [% w/w, °C]
_CENTRE, _MIDDLE = 30.7031, 32.7083


def propylene_glycol_density(percent: float, celsius: float = 20.0) -> float:
    """Density of propylene glycol and water. [g/mL]

    Parameters
    ----------
    percent
        Propylene glycol. [% w/w]
    celsius
        0 to 80 °C. [°C]

    Raises
    ------
    RangeError
        Outside 0 to 100 % or 0 to 80 °C.

    Notes
    -----
    The equation covers 10 to 60 %. Below 10 % the apparent volume of the glycol is taken to stay; from 60 % it goes in
    a straight line to that of the pure glycol (1.0361 g/mL at 20 °C, CRC Handbook; 0.00076 less for each °C).

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, International Institute of
       Refrigeration (2010). Coefficients in ``data/propylene-glycol-water``.

    Examples
    --------
    >>> round(propylene_glycol_density(50), 4)
    1.0391
    """
    if not 0 <= percent <= 100:
        msg = f"Propylene glycol must lie between 0 and 100 % w/w, got {percent:g} %."
        raise RangeError(msg)
    if not COLDEST <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside {COLDEST:g} to {WARMEST:g} °C, where water with propylene glycol is known."
        raise RangeError(msg)
    share = percent / 100
    room = apparent_volume_of_propylene_glycol(share, celsius)
    return 1 / ((1 - share) / water_density_at(celsius) + share * room)


def apparent_volume_of_propylene_glycol(share: float, celsius: float) -> float:
    """Room that 1 g of the glycol takes beside water, of which ``share`` of the mass is glycol. [0 to 1, °C → mL/g]"""
    if share <= MOST_SHARE:
        return _room(max(share, LEAST_SHARE), celsius)
    pure = 1 / (1.0361 - 0.00076 * (celsius - 20))
    part = (share - MOST_SHARE) / (1 - MOST_SHARE)
    return (1 - part) * _room(MOST_SHARE, celsius) + part * pure


def _room(share: float, celsius: float) -> float:
    total = 0.0
    for coefficient in reversed(_powers_of_percent(celsius)):
        total = total * (100 * share - _CENTRE) + coefficient
    return (1000 / total - (1 - share) / water_density_at(celsius)) / share


@lru_cache(maxsize=64)
def _powers_of_percent(celsius: float) -> tuple[float, ...]:
    """What stands before each power of the share at that temperature. [kg/m³]"""
    found = [0.0] * 6
    for row in load_table("propylene-glycol-water").rows:
        degrees = (celsius - _MIDDLE) ** int(row["power_of_degrees"])
        found[int(row["power_of_percent"])] += float(row["coefficient"]) * degrees
    return tuple(found)
