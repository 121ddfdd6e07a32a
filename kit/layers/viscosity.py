"""Viscosities of liquids: salt in water, and what a blend of miscible liquids has.

Viscosity does not blend linearly: half and half of 32 and 220 mm²/s is 76, not 126 (see :func:`blend_kinematic`).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Iterable

#: How much thicker than water a solution of sodium chloride is at 20 °C: (% w/w, times). See :func:`brine_factor`.
BRINE = ((0.0, 1.0), (5.0, 1.080 / 1.0016), (20.0, 1.561 / 1.0016))

#: Blending numbers exist only above this. [mm²/s]
LEAST_KINEMATIC = 0.2


def brine_factor(salt: float) -> float:
    """How many times thicker than water a solution of sodium chloride is at 20 °C.

    Parameters
    ----------
    salt
        Sodium chloride in salt and water together. [% w/w]

    Raises
    ------
    RangeError
        Outside 0 to 20 %.

    Notes
    -----
    Between the figures of the source (0, 5 and 20 %) the logarithm is taken as straight.

    References
    ----------
    .. [1] M. Laliberté, "A model for calculating the viscosity of aqueous solutions", J. Chem. Eng. Data 52 (2007)
       321-335, and its update of 2009; 1.080 and 1.561 mPa·s recomputed with the library thermo 0.6.1.

    Examples
    --------
    >>> round(brine_factor(5), 3)
    1.078
    """
    if not 0 <= salt <= BRINE[-1][0]:
        msg = f"The effect of salt is known from 0 to {BRINE[-1][0]:g} % w/w in water, not at {salt:g} %."
        raise RangeError(msg)
    (x0, y0), (x1, y1) = (BRINE[0], BRINE[1]) if salt <= BRINE[1][0] else (BRINE[1], BRINE[2])
    part = (salt - x0) / (x1 - x0)
    return math.exp((1 - part) * math.log(y0) + part * math.log(y1))


def blend_index(kinematic: float) -> float:
    """The blending number of a liquid: VBN = 14.534 ln ln(ν + 0.8) + 10.975.

    Parameters
    ----------
    kinematic
        ν, the viscosity divided by the density; more than 0.2. [mm²/s]

    Raises
    ------
    RangeError
        ν is 0.2 mm²/s or less, where the number does not exist.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000): the Refutas index, weighted by mass.

    Examples
    --------
    >>> round(blend_index(32), 4)
    29.1429
    """
    if not kinematic > LEAST_KINEMATIC:
        msg = (
            f"The blending number needs a kinematic viscosity above {LEAST_KINEMATIC:g} mm²/s, got {kinematic:g}. "
            "It is mPa·s divided by g/mL."
        )
        raise RangeError(msg)
    return 14.534 * math.log(math.log(kinematic + 0.8)) + 10.975


def kinematic_from_index(index: float) -> float:
    """The kinematic viscosity that has this blending number; the inverse of :func:`blend_index`. [mm²/s]

    Examples
    --------
    >>> round(kinematic_from_index(29.142856), 4)
    32.0
    """
    return math.exp(math.exp((index - 10.975) / 14.534)) - 0.8


def blend_kinematic(parts: Iterable[tuple[float, float]]) -> float | None:
    """Kinematic viscosity of a blend of miscible liquids, by blending numbers weighted by mass. [mm²/s]

    Parameters
    ----------
    parts
        (mass, kinematic viscosity) of each liquid. [any, mm²/s]

    Returns
    -------
    None where there is no mass.

    Notes
    -----
    Made for oils. It cannot foretell a blend that is thicker than each of its parts, such as alcohol with water.
    Sources disagree whether the number is weighted by mass, as here after Maples, or by volume.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000).

    Examples
    --------
    >>> round(blend_kinematic([(50, 32), (50, 220)]), 2)
    75.94
    """
    total = weighted = 0.0
    for mass, kinematic in parts:
        total += mass
        weighted += mass * blend_index(kinematic)
    return kinematic_from_index(weighted / total) if total > 0 else None
