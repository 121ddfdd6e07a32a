"""Glycerol and water: density and viscosity."""

from __future__ import annotations

import math

from kit.errors import RangeError
from kit.liquids.water import water_density_at
from kit.units import magnitude

#: Where the density was compared with other tables; the paper itself fitted 15 to 30 °C. [°C]
COLDEST, WARMEST = 0.0, 40.0

#: Below this share of glycerol the equation has no slope to speak of, and the apparent volume stays what it is here.
LEAST_SHARE = 0.005


def glycerol_water_density(glycerol: float, celsius: float = 20.0) -> float:
    """Density of glycerol with water. [g/mL]

    Parameters
    ----------
    glycerol
        Share of glycerol. [% w/w]
    celsius
        0 to 40 °C. [°C]

    Raises
    ------
    RangeError
        A share outside 0 to 100 %, or a temperature outside 0 to 40 °C.

    Notes
    -----
    The equation of the paper for the mixture and for pure glycerol, with the water of :mod:`kit.liquids.water`. It was
    fitted to tables from 15 to 30 °C; from 0 to 40 °C it stays within 0.0009 g/mL of those of Melinder (2010).

    References
    ----------
    .. [1] A. Volk, C. J. Kähler, "Density model for aqueous glycerol solutions", Exp. Fluids 59 (2018) 75,
       doi:10.1007/s00348-018-2527-y.

    Examples
    --------
    >>> round(glycerol_water_density(50), 4)
    1.1263
    """
    _in_range(glycerol, celsius, WARMEST, "compared with other tables")
    share = glycerol / 100
    room = apparent_volume_of_glycerol(share, celsius)
    return 1 / ((1 - share) / water_density_at(celsius) + share * room)


def apparent_volume_of_glycerol(share: float, celsius: float) -> float:
    """Room that 1 g of glycerol takes beside water, of which ``share`` of the mass is glycerol. [0 to 1, °C → mL/g]"""
    share = max(share, LEAST_SHARE)
    water, pure = water_density_at(celsius), (1273.3 - 0.6121 * celsius) / 1000
    most = 1.78e-6 * celsius**2 - 1.82e-4 * celsius + 1.41e-2
    shrinking = 1 + most * math.pow(max(math.sin(math.pi * share**1.31), 0.0), 0.81)
    volume = ((1 - share) / water + share / pure) / shrinking
    return (volume - (1 - share) / water) / share


def glycerol_water_viscosity(glycerol: float, temperature: object) -> float:
    """Viscosity of glycerol with water. [mPa·s]

    Parameters
    ----------
    glycerol
        Share of glycerol. [% w/w]
    temperature
        "20 degC" or a pint quantity; 0 to 100 °C.

    Raises
    ------
    RangeError
        A share outside 0 to 100 %, or a temperature outside 0 to 100 °C.

    Notes
    -----
    At 20 °C within 4 % of the tables of the CRC Handbook.

    References
    ----------
    .. [1] N.-S. Cheng, "Formula for the viscosity of a glycerol-water mixture", Ind. Eng. Chem. Res. 47 (2008)
       3285-3288, doi:10.1021/ie071349z.

    Examples
    --------
    >>> round(glycerol_water_viscosity(50, "20 degC"), 3)
    6.002
    """
    return glycerol_water_viscosity_at(glycerol, magnitude(temperature, "degC", name="temperature"))


def glycerol_water_viscosity_at(glycerol: float, celsius: float) -> float:
    """:func:`glycerol_water_viscosity` of a plain number of degrees. [% w/w, °C → mPa·s]"""
    _in_range(glycerol, celsius, 100, "the range of Cheng (2008)")
    c, t = glycerol / 100, celsius
    water = 1.790 * math.exp((-1230 - t) * t / (36100 + 360 * t))
    pure = 12100 * math.exp((-1233 + t) * t / (9900 + 70 * t))
    a = 0.705 - 0.0017 * t
    b = (4.9 + 0.036 * t) * a**2.5
    alpha = 1 - c + a * b * c * (1 - c) / (a * c + b * (1 - c))
    return float(water**alpha * pure ** (1 - alpha))


def _in_range(glycerol: float, celsius: float, warmest: float, why: str) -> None:
    if not 0 <= celsius <= warmest:
        msg = f"Temperature {celsius:g} °C is outside 0 to {warmest:g} °C, {why}."
        raise RangeError(msg)
    if not 0 <= glycerol <= 100:
        msg = f"The share of glycerol must lie between 0 and 100 % w/w, got {glycerol:g} %."
        raise RangeError(msg)
