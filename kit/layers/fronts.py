"""Where the drops of every size have got to, for one bottle or a thousand at once (array engine).

Each size starts evenly spread and moves at its own constant speed towards its own layer; it has all left when
its last drop has crossed the height of the other liquid's layer. In a straight bottle with drops of one size this
is exact: both boundaries move at constant speed and meet where the layers part (G. J. Kynch, Trans. Faraday Soc. 48
(1952) 166, from memory). In a bottle with a shoulder each size leaves by the volume it has passed. Sums over
sizes are taken exactly, by the partial moments of the log-normal distribution, so that no number of classes has to
be chosen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from kit.layers.bottle import Bottle
    from kit.layers.shaken import DropSizes

    Array = npt.NDArray[np.float64]

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
