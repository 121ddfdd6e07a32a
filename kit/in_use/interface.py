"""Interfacial tension that a maker has measured: what it says of drop sizes and of the line, and what it does not.

The kit has no tension of its own: a trace of anything that likes the line changes it. Nothing else in the kit uses it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from kit.errors import RangeError
from kit.layers.velocity import GRAVITY
from kit.soundness import sound

#: Hinze's constant, from emulsions made between turning cylinders. [-]
HINZE = 0.725
SOURCE = "J. O. Hinze, AIChE J. 1 (1955) 289-295 (from memory)"


@sound()
def largest_drop(tension: float, density: float, dissipation: float) -> float:
    """The largest drop that shaking leaves whole, after Hinze: 0.725 (σ/ρ)^(3/5) ε^(-2/5). [µm]

    Holds for few drops, thinner than ten times their surround, in turbulence, and while nothing merges; the power that
    a hand puts in is hardly known, so it is for comparing rather than for foretelling.

    Parameters
    ----------
    tension
        Between the two liquids. [mN/m]
    density
        Of the liquid around the drops. [g/mL]
    dissipation
        Power per mass of liquid. [W/kg]

    Raises
    ------
    RangeError
        One of them is not above 0.

    References
    ----------
    .. [1] J. O. Hinze, "Fundamentals of the hydrodynamic mechanism of splitting in dispersion processes", AIChE J. 1
       (1955) 289-295 (from memory). As a critical Weber number ρ ε^(2/3) d^(5/3) / σ his constant is 0.59, as M. Sevik
       and S. H. Park, J. Fluids Eng. 95 (1973) 53 print it (read).

    Examples
    --------
    >>> round(largest_drop(30.0, 1.0, 10.0))
    558
    """
    _above_0(tension=tension, density=density, dissipation=dissipation)
    metres = HINZE * (tension * 1e-3 / (density * 1000)) ** 0.6 * dissipation**-0.4
    return float(metres * 1e6)


@sound()
def critical_weber(diameter: float, tension: float, density: float, dissipation: float) -> float:
    """The Weber number of a drop in turbulence, ρ ε^(2/3) d^(5/3) / σ. [µm, mN/m, g/mL, W/kg → -]

    Raises
    ------
    RangeError
        One of them is not above 0.
    """
    _above_0(diameter=diameter, tension=tension, density=density, dissipation=dissipation)
    weber = density * 1000 * dissipation ** (2 / 3) * (diameter * 1e-6) ** (5 / 3) / (tension * 1e-3)
    return float(weber)


@sound()
def capillary_length(tension: float, gap: float) -> float:
    """How far from the wall the line between two layers is bent, √(σ / (Δρ g)). [mm]

    Read the line's height farther from the wall than this, or it is the bend that is read.

    Parameters
    ----------
    tension
        [mN/m]
    gap
        Between the densities of the layers. [g/mL]

    Raises
    ------
    RangeError
        One of them is not above 0.

    References
    ----------
    .. [1] G. K. Batchelor, An Introduction to Fluid Dynamics (1967), section 1.9 (from memory).

    Examples
    --------
    >>> round(capillary_length(72.8, 0.998), 1)  # water against air
    2.7
    """
    _above_0(tension=tension, gap=gap)
    return math.sqrt(tension * 1e-3 / (gap * 1000 * GRAVITY)) * 1000


@dataclass(frozen=True, slots=True)
class TensionEffect:
    """What one tension against another does at the same shaking. [times, mN/m]"""

    tension: float
    base: float
    drops: float
    settling: float

    def sentence(self) -> str:
        """In words, with what they leave out."""
        return (
            f"At the same shaking, drops at {self.tension:g} mN/m are {self.drops:.2g} times as large as at "
            f"{self.base:g} mN/m (Hinze), and by Stokes such drops settle in {self.settling:.2g} times the time. That "
            "is for drops that do not merge. What lowers the tension mostly also keeps drops from merging, and that "
            "no tension tells: time it."
        )


@sound()
def tension_effect(tension: float, base: float) -> TensionEffect:
    """What a tension against another one does to drop size and settling time, all else alike. [mN/m]

    Size goes with σ^(3/5) (Hinze); the time to settle goes with one over the size squared (Stokes).

    Raises
    ------
    RangeError
        A tension that is not above 0.

    Examples
    --------
    >>> found = tension_effect(5.0, 40.0)
    >>> print(f"{found.drops:.2f} {found.settling:.1f}")
    0.29 12.1
    """
    _above_0(tension=tension, base=base)
    drops = (tension / base) ** 0.6
    return TensionEffect(tension, base, drops, drops**-2)


def _above_0(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0 and math.isfinite(value)):
            msg = f"The {name} must be a number above 0, got {value:g}."
            raise RangeError(msg)
