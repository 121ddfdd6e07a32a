"""How long a shaken two-layer product stays mixed: the clear layers as they grow.

Drops that meet and merge are not modelled, so real bottles clear faster, or slower where something keeps the
drops apart: fit the effective drop size to what was timed (:mod:`kit.layers.drop_fit`).

Each size of drop starts evenly spread and moves at its own constant speed towards its own layer; it has all left when
its last drop has crossed the height of the other liquid's layer. In a straight bottle with drops of one size this
is exact: both boundaries move at constant speed and meet where the layers part (G. J. Kynch, Trans. Faraday Soc. 48
(1952) 166, from memory). In a bottle with a shoulder each size leaves by the volume it has passed. Sums over
sizes are taken exactly, by the partial moments of the log-normal distribution, so that no number of classes has to
be chosen; one bottle or a thousand are computed at once (array engine).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.layers.velocity import hindrance
from kit.layers.viscosity import brine_factor
from kit.liquids.aqueous import aqueous_solution

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    from kit.layers.bottle import Bottle
    from kit.layers.shaken import DropSizes, Shaken
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


#: A spread of exactly 1 would divide by nothing.
LEAST_SIGMA = 1e-6

#: Times are held between these, so that none and forever need no case of their own. [s]
SOONEST, LATEST = 1e-12, 1e15


@dataclass(frozen=True)
class Profile:
    """A bottle as arrays. [mm, mL]"""

    heights: Array
    volumes: Array

    @classmethod
    def of(cls, bottle: Bottle) -> Profile:
        """The profile of a bottle."""
        import numpy as np

        heights, volumes = np.array(bottle.profile).T
        return cls(heights, volumes)

    def level(self, volume: Array) -> Array:
        """The height at which volumes stand. [mL → mm]"""
        import numpy as np

        return np.asarray(np.interp(volume, self.volumes, self.heights), dtype=np.float64)


@dataclass(frozen=True)
class SizeSums:
    """Sums over the drop sizes, by volume, up to a square of the diameter. [µm²]"""

    log_median: float
    sigma: float

    @classmethod
    def of(cls, sizes: DropSizes) -> SizeSums:
        """The sums of a log-normal distribution."""
        return cls(math.log(sizes.median), max(math.log(sizes.spread), LEAST_SIGMA))

    def below(self, square: Array) -> tuple[Array, Array]:
        """The share of the volume in drops below it, and their sum of squared diameters. [-, µm²]

        For a log-normal distribution F = Φ(z) and ∫ d² dF = m² exp(2 σ²) Φ(z - 2 σ), z = (ln d - ln m) / σ.
        """
        import numpy as np
        from scipy.special import ndtr

        with np.errstate(divide="ignore"):
            z = (0.5 * np.log(square) - self.log_median) / self.sigma
        whole = math.exp(2 * self.log_median + 2 * self.sigma**2)
        return ndtr(z), whole * ndtr(z - 2 * self.sigma)

    def share_below(self, square: Array) -> Array:
        """The share of the volume in drops below a square of the diameter. [µm² → -]"""
        return self.below(square)[0]


@dataclass(frozen=True)
class Travel:
    """The way from the far end of the bottle to the drops' own layer, as pieces of straight wall.

    Attributes
    ----------
    edges, volumes
        Distance from the end that clears first, and the volume passed: one row a bottle. [mm, mL]
    slopes
        Volume for each millimetre, piece by piece. [mL/mm]
    """

    edges: Array
    volumes: Array
    slopes: Array

    @classmethod
    def of(cls, profile: Profile, drops: Array, total: Array, *, rises: bool) -> Travel:
        """The way of the drops. ``drops`` and ``total`` hold one volume a bottle. [mL]"""
        import numpy as np

        slopes = np.diff(profile.volumes) / np.diff(profile.heights)
        drops, total = np.asarray(drops)[..., None], np.asarray(total)[..., None]
        if rises:
            end = profile.level(total - drops)
            return cls(np.minimum(profile.heights, end), np.minimum(profile.volumes, total - drops), slopes)
        surface, end = profile.level(total), profile.level(drops)
        heights, volumes = profile.heights[::-1], profile.volumes[::-1]
        return cls(surface - np.clip(heights, end, surface), total - np.clip(volumes, drops, total), slopes[::-1])

    def left(self, pace: Array, sums: SizeSums) -> Array:
        """The share of the drops' volume that has reached its own layer. [mm/µm² → -]

        Parameters
        ----------
        pace
            Distance gone for each square micrometre of the diameter: hindered speed times time. [mm/µm²]
        """
        import numpy as np

        pace = np.asarray(pace)[..., None]
        counts, squares = sums.below(self.edges / pace)
        lower, start = self.edges[..., :-1], self.volumes[..., :-1]
        passed = (start - self.slopes * lower) * np.diff(counts) + self.slopes * pace * np.diff(squares)
        whole = self.volumes[..., -1]
        done = passed.sum(axis=-1) + whole * (1 - counts[..., -1])
        return np.where(whole > 0, np.clip(done / np.where(whole > 0, whole, 1.0), 0.0, 1.0), 1.0)


def pace_of(per_square: float, share: Array, seconds: Array, exponent: float) -> Array:
    """Distance gone for each square micrometre of the diameter, in the crowd. [mm/µm²]"""
    import numpy as np

    held = np.clip(seconds, SOONEST, LATEST)
    return np.maximum(per_square * (1 - np.asarray(share)) ** exponent * held, 1e-300)
