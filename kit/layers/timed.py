"""Viscosity from a ball or a drop that is timed, and the share of drops from the speed of a crowd."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.inputs import REQUIRED, Choice, Number, asked
from kit.layers.velocity import (
    CREEPING,
    GRAVITY,
    RICHARDSON_ZAKI,
    STOKES_END,
    reynolds_number,
    stokes_velocity,
)
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.layers.density import Layer
    from kit.library.ingredient import PhaseKind

#: Where Schiller and Naumann's drag ends. [Reynolds number]
DRAG_END = 800.0
#: The widest ball for which Faxén's formula is taken. [part of the tube's width]
WALL_END = 0.32
#: Beyond creeping motion the wall's share may be no more than this: no formula here knows it there. [-]
WALL_WHEN_FAST = 0.05


@dataclass(frozen=True, slots=True)
class TimedViscosity:
    """A viscosity from a timed ball or drop.

    Attributes
    ----------
    value
        [mPa·s]
    reynolds
        Of the ball or drop as it moved. [-]
    simple
        What Stokes's law alone would give: no wall, no inertia, a stiff surface. [mPa·s]
    wall
        How many times as fast it would move in a wide vessel; 1 where no width was given.
    sentence
        The result in words, with what was corrected and by how much.
    """

    value: float
    reynolds: float
    simple: float
    wall: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedBall:
    """A ball that was timed in one layer of a product.

    Attributes
    ----------
    kind
        Of the layer.
    diameter, density
        Of the ball. [mm, g/mL]
    distance, seconds
        [mm, s]
    tube
        Inner width of the vessel; None for a very wide one. [mm]
    """

    kind: PhaseKind = asked("Layer", Choice({"water": "water", "oil": "oil"}), "water")
    diameter: float = asked(
        "Ball", Number(0, 100), REQUIRED, unit="mm", example="3",
        help="Let a small ball sink in the layer alone, in a straight glass.",
    )  # fmt: skip
    density: float = asked(
        "Ball's density", Number(0, 25), REQUIRED, unit="g/mL", example="7.8", help="Steel 7.8, glass 2.5."
    )
    distance: float = asked("Way", Number(0, 10_000), REQUIRED, unit="mm", example="100")
    seconds: float = asked(
        "Time", Number(0, 1e6), REQUIRED, unit="s", example="12.4",
        help="Start the watch once the ball moves evenly, a few widths of it below the surface, and stop it well "
        "above the floor.",
    )  # fmt: skip
    tube: float | None = asked(
        "Glass inside", Number(0, 10_000), None, unit="mm", help="Leave it empty for a very wide one."
    )

    def viscosity(self, layers: Iterable[Layer]) -> tuple[TimedViscosity, str]:
        """The viscosity of its layer, and in words.

        Raises
        ------
        RangeError
            None of the layers is of this kind, or as :func:`viscosity_from_ball`.
        """
        layer = next((each for each in layers if each.kind == self.kind), None)
        if layer is None:
            msg = f"This formula has no {self.kind} layer for a ball to fall through."
            raise RangeError(msg)
        found = viscosity_from_ball(
            self.diameter, self.density, layer.density, self.distance, self.seconds, tube=self.tube
        )
        return found, f"The {layer.kind} layer, {layer.density:.3f} g/mL: {found.sentence}"


@sound()
def viscosity_from_ball(
    diameter: float,
    ball_density: float,
    liquid_density: float,
    distance: float,
    seconds: float,
    *,
    tube: float | None = None,
) -> TimedViscosity:
    """Viscosity of a liquid from the time in which a ball falls or rises through it.

    Weight less buoyancy is balanced by the drag of Schiller and Naumann, which is Stokes's law where the ball is
    slow; the wall of a tube slows a ball as Faxén found.

    Parameters
    ----------
    diameter
        Of the ball. [mm]
    ball_density, liquid_density
        [g/mL]
    distance, seconds
        Timed once the ball moves evenly, a ball clear of surface and floor by the tube's width. [mm, s]
    tube
        Inner width of the vessel; None for one so wide that its wall does not matter. [mm]

    Returns
    -------
    The viscosity with its Reynolds number and what Stokes's law alone would have given.

    Raises
    ------
    RangeError
        A size, time or density that is not above 0, equal densities, a ball wider than 0.32 of the tube, one so fast
        that the drag is not known (Reynolds number above 800), or one beyond Stokes's law near a wall.

    Notes
    -----
    With other correlations of drag the answer is the same within 3 % up to a Reynolds number of 4, and within 10 %
    up to 60: choose a ball that falls slowly.

    References
    ----------
    .. [1] G. G. Stokes, Trans. Camb. Phil. Soc. 9 (1851) 8-106.
    .. [2] L. Schiller, A. Naumann, Z. Ver. Dtsch. Ing. 77 (1933) 318-320.
    .. [3] H. Faxén, Ark. Mat. Astron. Fys. 17 (1922/23) no. 27: 1 - 2.104 λ + 2.09 λ³ - 0.95 λ⁵, λ = ball over tube,
       for creeping motion (formula and range from memory).

    Examples
    --------
    A steel ball of 3 mm that takes 12 s for 600 mm of motor oil; without buoyancy the answer would be 764.

    >>> found = viscosity_from_ball(3.0, 7.8, 0.880, 600, 12)
    >>> print(f"{found.value:.0f} mPa·s, by Stokes's law alone {found.simple:.0f} mPa·s")
    646 mPa·s, by Stokes's law alone 679 mPa·s
    """
    velocity = _velocity(diameter, ball_density, liquid_density, distance, seconds)
    wall = 1.0 if tube is None else wall_factor(diameter / tube)
    simple = _stokes_viscosity(diameter, ball_density, liquid_density, velocity)
    free = velocity * wall
    reynolds = _reynolds_for_drag(diameter, ball_density, liquid_density, free)
    if reynolds > STOKES_END and wall > 1 + WALL_WHEN_FAST:
        msg = (
            f"At a Reynolds number of {reynolds:.2g} the ball is too fast for the wall's part to be known. Take a "
            f"smaller or lighter ball, or a vessel {1 / _widest_when_fast():.0f} times as wide as the ball."
        )
        raise RangeError(msg)
    value = liquid_density * free * diameter / reynolds
    said = [f"{value:.4g} mPa·s at a Reynolds number of {reynolds:.2g}"]
    inertia = simple / wall / value - 1
    if reynolds > CREEPING:
        said.append(f"Stokes's law alone would say {100 * inertia:.0f} % more, for the ball is not slow enough for it")
    if tube is not None:
        said.append(f"the wall slows the ball {wall:.3f} times (Faxén)")
    return TimedViscosity(value, reynolds, simple, wall, "; ".join(said) + ".")


@sound()
def viscosity_from_drop(
    diameter: float,
    drop_density: float,
    surround_density: float,
    distance: float,
    seconds: float,
    *,
    drop_viscosity: float | None = None,
) -> TimedViscosity:
    """Viscosity of a liquid from the time in which one drop of another rises or sinks in it.

    Parameters
    ----------
    diameter
        Of the drop, small enough to stay round. [mm]
    drop_density, surround_density
        [g/mL]
    distance, seconds
        [mm, s]
    drop_viscosity
        Of the liquid inside, for a perfectly clean surface (Hadamard and Rybczyński). None where anything stiffens
        the surface: with the least surfactant the drop moves as a ball. [mPa·s]

    Raises
    ------
    RangeError
        A size, time, density or viscosity that is not above 0, equal densities, or a Reynolds number above 1, where
        a drop is no longer slow and may not be round.

    References
    ----------
    .. [1] J. Hadamard, C. R. Acad. Sci. 152 (1911) 1735-1738; W. Rybczyński, Bull. Acad. Sci. Cracovie A (1911)
       40-46, solved for the viscosity of the surround.

    Examples
    --------
    >>> stiff = viscosity_from_drop(1.0, 0.90, 1.00, 100, 91.77)
    >>> print(f"{stiff.value:.1f}")
    50.0
    >>> clean = viscosity_from_drop(1.0, 0.90, 1.00, 100, 91.77 / 1.2, drop_viscosity=50)
    >>> print(f"{clean.value:.1f}")
    50.0
    """
    velocity = _velocity(diameter, drop_density, surround_density, distance, seconds)
    stiff = _stokes_viscosity(diameter, drop_density, surround_density, velocity)
    value, inside = stiff, drop_viscosity
    if inside is not None:
        if not inside > 0:
            msg = f"The viscosity inside the drop must be more than 0 mPa·s, got {inside:g}."
            raise RangeError(msg)
        # 2 μ² + 3 (μi - S) μ - 3 S μi = 0, where S is what a ball would give
        half = 3 * (stiff - inside)
        value = (half + math.sqrt(half**2 + 24 * stiff * inside)) / 4
    reynolds = reynolds_number(diameter * 1000, velocity, surround_density, value)
    if reynolds > STOKES_END:
        msg = (
            f"At a Reynolds number of {reynolds:.2g} the drop is too fast: above 1 it is no longer slow and may not be "
            "round. Take a smaller drop, or liquids closer in density."
        )
        raise RangeError(msg)
    how = "with a clean surface (Hadamard and Rybczyński)" if inside is not None else "with a stiff surface (Stokes)"
    return TimedViscosity(value, reynolds, stiff, 1.0, f"{value:.4g} mPa·s {how}, Reynolds number {reynolds:.2g}.")


def wall_factor(part: float) -> float:
    """How many times as fast a slow ball would move without the wall of its tube: Faxén (1922).

    Parameters
    ----------
    part
        The ball's diameter over the tube's inner width. [0 to 0.32]

    Raises
    ------
    RangeError
        Outside 0 to 0.32.

    Examples
    --------
    >>> round(wall_factor(0.1), 4)
    1.2630
    """
    if not 0 <= part <= WALL_END:
        msg = (
            f"The ball is {part:.2g} of the tube's width; Faxén's correction holds up to {WALL_END:g}. "
            "Take a smaller ball or a wider vessel."
        )
        raise RangeError(msg)
    return 1 / (1 - 2.104 * part + 2.09 * part**3 - 0.95 * part**5)


@sound()
def drop_share_from_speed(hindered: float, alone: float, exponent: float = RICHARDSON_ZAKI) -> float:
    """The part of the volume that is drops, from how fast their crowd moves: 1 - (v/v₀)^(1/n). [0 to 1]

    Parameters
    ----------
    hindered
        Speed of the edge of the crowd, seen from the vessel. Where it was measured against the liquid that streams
        past the drops, one less than ``exponent`` belongs to it. [mm/s]
    alone
        Speed of one such drop alone, in the same liquid. [mm/s]
    exponent
        n; see :func:`kit.layers.velocity.richardson_zaki_exponent`.

    Raises
    ------
    RangeError
        A speed that is not above 0, or a crowd that is faster than one drop alone.

    References
    ----------
    .. [1] J. F. Richardson, W. N. Zaki, "Sedimentation and fluidisation: Part I", Trans. Inst. Chem. Eng. 32
       (1954) 35-53, turned round.

    Examples
    --------
    >>> round(drop_share_from_speed(4.44, 22.1, 4.5), 3)
    0.3
    """
    if not (hindered > 0 and alone > 0 and exponent > 0):
        msg = f"Speeds and exponent must be above 0, got {hindered:g} and {alone:g} mm/s, and {exponent:g}."
        raise RangeError(msg)
    if hindered > alone:
        msg = (
            f"The crowd moves at {hindered:g} mm/s and one drop alone at {alone:g} mm/s: a crowd is never faster. "
            "The drops in it are larger, or they merge."
        )
        raise RangeError(msg)
    return float(1 - (hindered / alone) ** (1 / exponent))


def _velocity(diameter: float, inside: float, outside: float, distance: float, seconds: float) -> float:
    """The speed, once all that it rests on is above 0. [mm/s]"""
    for value, name, unit in (
        (diameter, "diameter", "mm"),
        (inside, "density of the ball or drop", "g/mL"),
        (outside, "density of the liquid", "g/mL"),
        (distance, "distance", "mm"),
        (seconds, "time", "s"),
    ):
        if not (value > 0 and math.isfinite(value)):
            msg = f"The {name} must be more than 0 {unit}, got {value:g} {unit}."
            raise RangeError(msg)
    if inside == outside:
        msg = f"Both have the density {inside:g} g/mL: nothing rises or sinks, so nothing can be timed."
        raise RangeError(msg)
    return distance / seconds


def _stokes_viscosity(diameter: float, inside: float, outside: float, velocity: float) -> float:
    """What Stokes's law alone gives. [mPa·s]"""
    return abs(stokes_velocity(diameter * 1000, inside, outside, 1.0)) / velocity


def _reynolds_for_drag(diameter: float, inside: float, outside: float, velocity: float) -> float:
    """The Reynolds number at which the drag of Schiller and Naumann carries the ball's weight. [mm, mm/s → -]"""
    drag = 4 * GRAVITY * 1000 * diameter * abs(inside - outside) / (3 * outside * velocity**2)

    def carries(reynolds: float) -> float:
        return float(24 / reynolds * (1 + 0.15 * reynolds**0.687))

    if drag < carries(DRAG_END):
        msg = (
            f"The ball is too fast: its Reynolds number is above {DRAG_END:g}, where its drag no longer tells the "
            "viscosity. Take a smaller or a lighter ball."
        )
        raise RangeError(msg)
    low, high = math.log(24 / drag), math.log(DRAG_END)
    for _ in range(80):
        middle = (low + high) / 2
        if carries(math.exp(middle)) > drag:
            low = middle
        else:
            high = middle
    return math.exp((low + high) / 2)


def _widest_when_fast() -> float:
    """The widest ball, as part of the vessel, whose wall matters no more than it may. [-]"""
    return WALL_WHEN_FAST / (1 + WALL_WHEN_FAST) / 2.104
