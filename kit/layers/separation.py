"""How long a shaken two-layer product stays mixed: the clear layers as they grow.

Drops that meet and merge are not modelled, so real bottles clear faster, or slower where something keeps the
drops apart: fit the effective drop size to what was timed (:mod:`kit.layers.drop_fit`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.layers.fronts import Profile, SizeSums, Travel, pace_of
from kit.layers.velocity import hindrance
from kit.layers.viscosity import brine_factor
from kit.liquids.aqueous import aqueous_solution

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    from kit.layers.shaken import Shaken
    from kit.liquids.aqueous import AqueousSolution

    Array = npt.NDArray[np.float64]

#: A place counts as clear once this little is left of the drops that were there (a choice, not a law). [% by volume]
HAZE = 5.0

Seen = Literal["lower", "upper"]


@dataclass(frozen=True)
class Clearing:
    """The layers at each of the times.

    Attributes
    ----------
    seconds
        After shaking. [s]
    lower, upper
        Top of the clear lower layer and bottom of the clear upper layer; between them it is mixed. [mm]
    surface
        Where the product ends. [mm]
    left
        Of the drops' volume, what has reached its own layer. [%]
    """

    seconds: Array
    lower: Array
    upper: Array
    surface: float
    left: Array

    def clear(self, which: Seen) -> Array:
        """How thick the clear lower or upper layer is. [mm]"""
        return self.lower if which == "lower" else self.surface - self.upper


def clearing(shaken: Shaken, seconds: Sequence[float] | Array) -> Clearing:
    """The clear layers at these times after shaking.

    The layer that the drops leave counts as clear up to where :data:`HAZE` % of the drops are still left; the layer
    they form is what has arrived. Both end where the layers stand when all is over.

    Parameters
    ----------
    seconds
        [s]

    Raises
    ------
    RangeError
        A time below 0.
    """
    import numpy as np
    from scipy.special import ndtri

    times = np.asarray(seconds, dtype=np.float64)
    if times.size and times.min() < 0:
        msg = f"A time after shaking cannot be below 0 s, got {times.min():g} s."
        raise RangeError(msg)
    profile, sums = Profile.of(shaken.bottle), SizeSums.of(shaken.sizes)
    drops, total = np.full(times.shape, shaken.drops.volume), np.full(times.shape, shaken.volume)
    travel = Travel.of(profile, drops, total, rises=shaken.rises)
    pace = pace_of(shaken.per_square, drops / total, times, shaken.exponent())
    left = travel.left(pace, sums)
    smallest = math.exp(2 * (sums.log_median + sums.sigma * float(ndtri(HAZE / 100))))
    cleared = np.minimum(pace * smallest, travel.edges.max(axis=-1))
    surface = float(profile.level(np.array(shaken.volume)))
    if shaken.rises:
        return Clearing(times, cleared, profile.level(total - left * drops), surface, 100 * left)
    return Clearing(times, profile.level(left * drops), surface - cleared, surface, 100 * left)


def time_until(shaken: Shaken, percent: float = 95.0) -> float:
    """Seconds until so many percent of the drops' volume have reached their own layer. [s]

    Raises
    ------
    RangeError
        A percent that is not between 0 and 100, both excluded: the smallest drops never all arrive.
    """
    if not 0 < percent < 100:
        msg = f"Choose a percent of the drops between 0 and 100, such as 95, not {percent:g}."
        raise RangeError(msg)
    low, high = -12.0, 24.0  # powers of ten
    for _ in range(60):
        middle = (low + high) / 2
        if clearing(shaken, [10**middle]).left[0] < percent:
            low = middle
        else:
            high = middle
    return float(10 ** ((low + high) / 2))


def drops_by_height(shaken: Shaken, second: float, slices: int = 24) -> list[tuple[float, float, float]]:
    """The bottle from below in slices: (bottom, top, drops by volume) at one time. [mm, mm, 0 to 1]

    A size keeps its starting share wherever it has not left; the layer that the drops form is 1.
    """
    import numpy as np

    state = clearing(shaken, [second])
    lower, upper, surface = float(state.lower[0]), float(state.upper[0]), state.surface
    low, high = (0.0, upper) if shaken.rises else (lower, surface)
    edges = np.linspace(low, high, slices + 1)
    middles = (edges[:-1] + edges[1:]) / 2
    way = middles if shaken.rises else surface - middles
    shares = shaken.share * share_at(shaken, way, second)
    found = [(float(a), float(b), float(x)) for a, b, x in zip(edges[:-1], edges[1:], shares, strict=True)]
    own = (high, surface, 1.0) if shaken.rises else (0.0, low, 1.0)
    if own[1] - own[0] < 1e-6:
        return found
    return [*found, own] if shaken.rises else [own, *found]


def share_at(shaken: Shaken, way: Array, second: float) -> Array:
    """The part of the drops that is still there, at a distance from the end that clears first. [mm → 0 to 1]"""
    import numpy as np

    pace = pace_of(shaken.per_square, np.array(shaken.share), np.array(second), shaken.exponent())
    return SizeSums.of(shaken.sizes).share_below(np.asarray(way) / pace)


def thickened(shaken: Shaken, kind: str, times: float) -> Shaken:
    """The same with one layer so many times as thick.

    Raises
    ------
    RangeError
        A factor of 0 or less.
    """
    if not times > 0:
        msg = f"Thicker by a factor above 0, such as 2; got {times:g}."
        raise RangeError(msg)
    if shaken.drops.kind == kind:
        return replace(shaken, drops=replace(shaken.drops, viscosity=shaken.drops.viscosity * times))
    return replace(shaken, surround=replace(shaken.surround, viscosity=shaken.surround.viscosity * times))


def salted(shaken: Shaken, salt: float) -> Shaken:
    """The same with so much sodium chloride dissolved in the water layer, in place of some of it.

    The salt takes the room that its published table gives it at that strength in plain water; viscosity by
    :func:`kit.layers.viscosity.brine_factor`, as if there were no salt before. The volumes stay as they are.

    Parameters
    ----------
    salt
        In the water layer. [% w/w of it, 0 to 20]

    Raises
    ------
    RangeError
        Outside 0 to 20 %, or a density that then equals the oil's.
    """
    water = shaken.drops if shaken.drops.kind == "water" else shaken.surround
    thicker = water.viscosity * brine_factor(salt)
    room = (100 - salt) / water.density + salt * _salt().apparent_volume(salt, 20.0)
    saltier = replace(water, density=100 / room, viscosity=thicker)
    return replace(shaken, drops=saltier) if water is shaken.drops else replace(shaken, surround=saltier)


def _salt() -> AqueousSolution:
    found = aqueous_solution("Sodium Chloride")
    assert found is not None
    return found


@dataclass(frozen=True, slots=True)
class Steps:
    """Why it takes as long as it does, in the order in which it is worked out. [g/mL, mPa·s, mm/s, -, mm/s]"""

    gap: float
    viscosity: float
    alone: float
    hindrance: float
    speed: float


def steps(shaken: Shaken) -> Steps:
    """The numbers on the way to the speed of the middle drop."""
    return Steps(
        gap=abs(shaken.surround.density - shaken.drops.density),
        viscosity=shaken.surround.viscosity,
        alone=shaken.per_square * shaken.sizes.median**2,
        hindrance=hindrance(shaken.share, shaken.exponent()),
        speed=shaken.speed(),
    )
