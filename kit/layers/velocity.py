"""How fast one drop rises or sinks: Stokes, Hadamard and Rybczyński, Richardson and Zaki, and their limits."""

from __future__ import annotations

from kit.errors import RangeError
from kit.soundness import sound

#: Standard acceleration of gravity (3rd General Conference on Weights and Measures, 1901). [m/s²]
GRAVITY = 9.80665

#: Above this Reynolds number Stokes's law begins to err: about 2 % at 0.1, about 14 % at 1.
CREEPING, STOKES_END = 0.1, 1.0

#: The exponent of Richardson and Zaki for slow drops, for a velocity seen from the vessel.
RICHARDSON_ZAKI = 4.65


@sound()
def stokes_velocity(diameter: float, drop_density: float, surround_density: float, viscosity: float) -> float:
    """Terminal velocity of one small drop; above 0 it rises, below 0 it sinks. [mm/s]

    v = g (ρ_surround - ρ_drop) d² / (18 μ): buoyancy is part of it, and 1/18 goes with the diameter
    (with the radius it would be 2/9).

    Parameters
    ----------
    diameter
        Of the drop. [µm]
    drop_density, surround_density
        [g/mL]
    viscosity
        Of the surround. [mPa·s]

    Raises
    ------
    RangeError
        A diameter or viscosity of 0 or less.

    Notes
    -----
    Holds for Reynolds numbers below about 0.1; see :func:`reynolds_number` and :func:`slowdown`.

    References
    ----------
    .. [1] G. G. Stokes, Trans. Camb. Phil. Soc. 9 (1851) 8-106.
    .. [2] D. J. McClements, Food Emulsions, the section on creaming: radius 1 µm, 910 in 1000 kg/m³ and 1 mPa·s
       give about 17 mm a day.

    Examples
    --------
    >>> round(86400 * stokes_velocity(2, 0.910, 1.000, 1.0), 2)
    16.95
    """
    for value, name, unit in ((diameter, "drop diameter", "µm"), (viscosity, "viscosity", "mPa·s")):
        if not value > 0:
            msg = f"The {name} must be more than 0 {unit}, got {value:g} {unit}."
            raise RangeError(msg)
    return GRAVITY * (surround_density - drop_density) * diameter**2 / (18 * viscosity) / 1000


@sound()
def mobile_surface_factor(drop_viscosity: float, surround_viscosity: float) -> float:
    """How many times faster than Stokes a drop with a perfectly clean surface moves: 3 (μo + μi) / (2 μo + 3 μi).

    From 1.5 for a bubble to 1 for a drop as stiff as a ball. The least surfactant stiffens the surface, and the
    drop moves as Stokes has it: in products with any surfactant use 1.

    Parameters
    ----------
    drop_viscosity, surround_viscosity
        Inside (μi) and outside (μo). [mPa·s]

    Raises
    ------
    RangeError
        A viscosity below 0, or a surround of 0.

    References
    ----------
    .. [1] J. Hadamard, C. R. Acad. Sci. 152 (1911) 1735-1738; W. Rybczyński, Bull. Acad. Sci. Cracovie A (1911)
       40-46; R. Clift, J. R. Grace, M. E. Weber, Bubbles, Drops, and Particles (1978), chapter 3 (from memory).

    Examples
    --------
    >>> mobile_surface_factor(1.0, 1.0)
    1.2
    """
    if not (drop_viscosity >= 0 and surround_viscosity > 0):
        msg = (
            f"Viscosities must be above 0 mPa·s, got {drop_viscosity:g} for the drops "
            f"and {surround_viscosity:g} for the surround."
        )
        raise RangeError(msg)
    return 3 * (surround_viscosity + drop_viscosity) / (2 * surround_viscosity + 3 * drop_viscosity)


@sound()
def hindrance(share: float, exponent: float = RICHARDSON_ZAKI) -> float:
    """How much slower than alone a drop moves in a crowd: (1 - φ)^n, seen from the vessel.

    Parameters
    ----------
    share
        φ, the part of the volume that is drops: 0 to 1.
    exponent
        n for a velocity relative to the vessel: 4.65 for slow drops, and see :func:`richardson_zaki_exponent`. Authors
        who give 5.65, or one less, count from another frame.

    Raises
    ------
    RangeError
        A share outside 0 to 1.

    References
    ----------
    .. [1] J. F. Richardson, W. N. Zaki, "Sedimentation and fluidisation: Part I", Trans. Inst. Chem. Eng. 32
       (1954) 35-53.

    Examples
    --------
    >>> round(hindrance(0.1), 6)
    0.612671
    """
    if not 0 <= share <= 1:
        msg = f"The share of drops must lie between 0 and 1 of the volume, got {share:g}."
        raise RangeError(msg)
    return float((1 - share) ** exponent)


def richardson_zaki_exponent(reynolds: float) -> float:
    """The exponent n of :func:`hindrance` for a velocity seen from the vessel, by how fast one drop moves alone.

    Parameters
    ----------
    reynolds
        Of one drop alone, at its real speed. [-]

    Raises
    ------
    RangeError
        Below 0.

    Notes
    -----
    Their pieces 4.65, 4.35 Re^-0.03, 4.45 Re^-0.1 and 2.39 meet without a step where the smallest of the first three
    and no less than the last is taken; from their own limits at 0.2, 1 and 500 that differs by less than 0.1. A
    narrow vessel raises n further by up to 20 times drop over vessel, which is left out.

    References
    ----------
    .. [1] J. F. Richardson, W. N. Zaki, "Sedimentation and fluidisation: Part I", Trans. Inst. Chem. Eng. 32
       (1954) 35-53 (the pieces as open source programs quote them).

    Examples
    --------
    >>> [round(richardson_zaki_exponent(re), 2) for re in (0.01, 0.5, 10, 100, 1000)]
    [4.65, 4.44, 3.53, 2.81, 2.39]
    """
    if not reynolds >= 0:
        msg = f"A Reynolds number cannot be below 0, got {reynolds:g}."
        raise RangeError(msg)
    if reynolds == 0:
        return RICHARDSON_ZAKI
    return float(max(2.39, min(RICHARDSON_ZAKI, 4.35 * reynolds**-0.03, 4.45 * reynolds**-0.1)))


@sound(least=("diameter", "density"), above=("viscosity",))
def reynolds_number(diameter: float, velocity: float, density: float, viscosity: float) -> float:
    """Re = ρ v d / μ of a drop in its surround: how far from creeping its motion is. [-]

    Parameters
    ----------
    diameter, velocity
        [µm, mm/s]
    density, viscosity
        Of the surround. [g/mL, mPa·s]

    Examples
    --------
    >>> round(reynolds_number(100, 1.0, 1.0, 1.0), 3)
    0.1
    """
    return density * abs(velocity) * diameter / viscosity / 1000


@sound(least=("reynolds",))
def slowdown(reynolds: float) -> float:
    """What part of Stokes's velocity a ball really reaches. [0 to 1]

    Parameters
    ----------
    reynolds
        The Reynolds number that Stokes's own velocity would give.

    Notes
    -----
    Solves f (1 + 0.15 (f Re)^0.687) = 1, the drag of Schiller and Naumann, valid to a true Reynolds number of 800.

    References
    ----------
    .. [1] L. Schiller, A. Naumann, Z. Ver. Dtsch. Ing. 77 (1933) 318-320.

    Examples
    --------
    >>> round(slowdown(0.1), 2), round(slowdown(10), 2)
    (0.97, 0.65)
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if middle * (1 + 0.15 * (middle * reynolds) ** 0.687) < 1:
            low = middle
        else:
            high = middle
    return (low + high) / 2
