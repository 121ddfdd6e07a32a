"""Pure water from 0 to 100 °C: its density and its viscosity at room pressure."""

from __future__ import annotations

from functools import lru_cache

from kit.errors import RangeError
from kit.units import magnitude

#: Where the equations hold, and nothing is carried beyond it. [°C]
COLDEST, WARMEST = 0.0, 100.0

#: Up to here the density is that of Tanaka et al. (2001); above, that of Pátek et al. (2009). [°C]
SEAM = 40.0

# Tanaka et al. (2001). [°C, °C, °C², °C, kg/m³]
_A1, _A2, _A3, _A4, _A5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950

# Pátek et al. (2009), specific volume at 0.1 MPa: coefficient and power, in 10 K/(593 K - T) and in 10 K/(T - 232 K).
_VOLUME = 1.93763157e-2
_VOLUME_HOT = (
    (6.74458446e3, 4), (-2.22521604e5, 5), (1.00231247e8, 7), (-1.63552118e9, 8), (8.32299658e9, 9),
)  # fmt: skip
_VOLUME_COLD = (
    (5.78545292e-3, 1), (-1.53195665e-2, 2), (3.11337859e-2, 3), (-4.23546241e-2, 4), (3.38713507e-2, 5),
    (-1.19946761e-2, 6),
)  # fmt: skip
_GAS_CONSTANT = 461.51805  # [J/(kg K)]

# Pátek et al. (2009), viscosity at 0.1 MPa: coefficient [µPa·s] and power, in T / 300 K.
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


def water_density(temperature: object) -> float:
    """Density of air-free pure water at room pressure. [g/mL]

    Parameters
    ----------
    temperature
        "20 degC" or a pint quantity; 0 to 100 °C, not extrapolated.

    Raises
    ------
    RangeError
        Outside 0 to 100 °C.

    Notes
    -----
    Up to 40 °C after Tanaka [1]_ (at 101.325 kPa), above after Pátek [2]_ (at 100 kPa). Where they meet, they differ
    by less than 0.000 001 g/mL.

    References
    ----------
    .. [1] M. Tanaka et al., "Recommended table for the density of water between 0 °C and 40 °C",
       Metrologia 38 (2001) 301-309, doi:10.1088/0026-1394/38/4/3.
    .. [2] J. Pátek, J. Hrubý, J. Klomfar, M. Součková, A. H. Harvey, "Reference correlations for thermophysical
       properties of liquid water at 0.1 MPa", J. Phys. Chem. Ref. Data 38 (2009) 21-29, doi:10.1063/1.3043575.

    Examples
    --------
    >>> print(f"{water_density('20 degC'):.5f}")
    0.99821
    >>> print(f"{water_density('75 degC'):.5f}")
    0.97484
    """
    return water_density_at(magnitude(temperature, "degC", name="temperature"))


@lru_cache(maxsize=256)
def water_density_at(celsius: float) -> float:
    """:func:`water_density` of a plain number of degrees. [°C → g/mL]

    Examples
    --------
    >>> round(water_density_at(60.0), 5)
    0.98320
    """
    _in_range(celsius)
    if celsius <= SEAM:
        return _A5 * (1 - (celsius + _A1) ** 2 * (celsius + _A2) / (_A3 * (celsius + _A4))) / 1000
    kelvin = celsius + 273.15
    hot, cold = 10 / (593 - kelvin), 10 / (kelvin - 232)
    terms = _VOLUME + sum(a * hot**n for a, n in _VOLUME_HOT) + sum(b * cold**n for b, n in _VOLUME_COLD)
    return 0.1e3 / (_GAS_CONSTANT * 10 * terms)


def water_viscosity(temperature: object) -> float:
    """Viscosity of pure liquid water at 0.1 MPa. [mPa·s]

    Parameters
    ----------
    temperature
        "20 degC" or a pint quantity; 0 to 100 °C, not extrapolated.

    Raises
    ------
    RangeError
        Outside 0 to 100 °C.

    References
    ----------
    .. [1] J. Pátek, J. Hrubý, J. Klomfar, M. Součková, A. H. Harvey, "Reference correlations for thermophysical
       properties of liquid water at 0.1 MPa", J. Phys. Chem. Ref. Data 38 (2009) 21-29, doi:10.1063/1.3043575.
       It follows the IAPWS release R12-08 on viscosity within 0.01 % here.

    Examples
    --------
    >>> print(f"{water_viscosity('20 degC'):.4f}")
    1.0016
    """
    return water_viscosity_at(magnitude(temperature, "degC", name="temperature"))


@lru_cache(maxsize=256)
def water_viscosity_at(celsius: float) -> float:
    """:func:`water_viscosity` of a plain number of degrees. [°C → mPa·s]

    Examples
    --------
    >>> round(water_viscosity_at(75.0), 4)
    0.3774
    """
    _in_range(celsius)
    reduced = (celsius + 273.15) / 300
    return float(sum(a * reduced**b for a, b in _VISCOSITY)) / 1000


def _in_range(celsius: float) -> None:
    if not COLDEST <= celsius <= WARMEST:
        msg = f"Temperature {celsius:g} °C is outside 0 to 100 °C, where water at room pressure is liquid."
        raise RangeError(msg)
