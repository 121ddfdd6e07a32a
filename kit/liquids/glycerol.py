"""Glycerol and water: viscosity."""

from __future__ import annotations

import math

from kit.errors import RangeError
from kit.units import magnitude


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

    References
    ----------
    .. [1] N.-S. Cheng, "Formula for the viscosity of a glycerol-water mixture", Ind. Eng. Chem. Res. 47 (2008)
       3285-3288, doi:10.1021/ie071349z.

    Examples
    --------
    >>> round(glycerol_water_viscosity(50, "20 degC"), 3)
    6.002
    """
    t = magnitude(temperature, "degC", name="temperature")
    if not 0 <= t <= 100:
        msg = f"Temperature {t:g} °C is outside 0 to 100 °C, the range of Cheng (2008)."
        raise RangeError(msg)
    if not 0 <= glycerol <= 100:
        msg = f"The share of glycerol must lie between 0 and 100 % w/w, got {glycerol:g} %."
        raise RangeError(msg)
    c = glycerol / 100
    water = 1.790 * math.exp((-1230 - t) * t / (36100 + 360 * t))
    pure = 12100 * math.exp((-1233 + t) * t / (9900 + 70 * t))
    a = 0.705 - 0.0017 * t
    b = (4.9 + 0.036 * t) * a**2.5
    alpha = 1 - c + a * b * c * (1 - c) / (a * c + b * (1 - c))
    return float(water**alpha * pure ** (1 - alpha))
