"""A bottle as a column of volume from its floor up: what a slice of it holds, at rest, shaken up, or while it parts.

Whatever draws from a bottle takes a slice of that column: a dip tube what stands just above its end, for what is
higher sinks after it and what is lower stays; a bottle that is tilted its top, one that is turned over its floor.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

from kit.layers.separation import LEAST_SIGMA, SOONEST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.shaken import Shaken

#: The square root of 2, as the normal distribution has it within the error function.
ROOT = math.sqrt(2)


class Column(Protocol):
    """What holds for the content of a bottle: its layers by volume, in the order in which they stand. [mL]"""

    def taken(self, volumes: Sequence[float], start: float, size: float) -> list[float]:
        """What a slice of this size holds of each layer, from so much volume above the floor on. [mL]"""


class AtRest:
    """The layers as they stand, the densest below."""

    def taken(self, volumes: Sequence[float], start: float, size: float) -> list[float]:
        """Layer by layer, as far as each reaches into the slice.

        Examples
        --------
        >>> AtRest().taken([80.0, 20.0], 75.0, 10.0)
        [5.0, 5.0]
        """
        found, below, end = [], 0.0, start + size
        for volume in volumes:
            found.append(max(0.0, min(below + volume, end) - max(below, start)))
            below += volume
        return found


class ShakenUp:
    """All of it evenly mixed."""

    def taken(self, volumes: Sequence[float], start: float, size: float) -> list[float]:  # noqa: ARG002
        """Each layer by its part of the whole, wherever the slice is.

        Examples
        --------
        >>> ShakenUp().taken([80.0, 20.0], 75.0, 10.0)
        [8.0, 2.0]
        """
        total = math.fsum(volumes)
        return [size * volume / total for volume in volumes]


class Parting:
    """Drops of one layer on their way through the other, some time after shaking.

    The drops' own layer has grown by what has arrived. In the rest each size is gone from as far as it has moved and
    has its starting share beyond, as in :mod:`kit.layers.separation`; the sums over sizes are closed (partial moments
    of the log-normal distribution), so no slice is blurred.

    Parameters
    ----------
    drops
        The place of the layer that is the drops, 0 for the lower one.
    seconds
        From shaking to dosing. [s]
    """

    def __init__(self, shaken: Shaken, drops: int, seconds: float) -> None:
        self._shaken, self._drops, self._seconds = shaken, drops, max(seconds, SOONEST)
        self._exponent = shaken.exponent()
        self._log_median = math.log(shaken.sizes.median)
        self._sigma = max(math.log(shaken.sizes.spread), LEAST_SIGMA)
        self._squares = math.exp(2 * self._log_median + 2 * self._sigma**2)

    def taken(self, volumes: Sequence[float], start: float, size: float) -> list[float]:
        """Each layer in the slice; never more than there is of it."""
        drops, surround = volumes[self._drops], volumes[1 - self._drops]
        total = drops + surround
        if drops <= 0 or surround <= 0:
            wanted = size if surround <= 0 else 0.0
        else:
            wanted = self._drops_in(drops, surround, start, min(start + size, total))
        wanted = min(max(wanted, size - surround, 0.0), drops, size)
        return [wanted, size - wanted] if self._drops == 0 else [size - wanted, wanted]

    def _drops_in(self, drops: float, surround: float, start: float, end: float) -> float:
        """The drops in the column from start to end. [mL]"""
        total, rises = drops + surround, self._shaken.rises
        way = _Way(self, drops, surround)
        own = drops * way.left
        if rises:
            low, high, pure = start, min(end, total - own), max(0.0, end - max(start, total - own))
        else:
            low, high, pure = total - end, total - max(start, own), max(0.0, min(end, own) - start)
        still = way.still(total - own)
        mixed = way.still(high) - way.still(low) if high > low else 0.0
        return pure + ((drops - own) * mixed / still if still > 0 else 0.0)

    def share_below(self, square: float) -> tuple[float, float]:
        """The part of the drops' volume below a square of the diameter, and their sum of squares. [µm² → -, µm²]"""
        z = (0.5 * math.log(square) - self._log_median) / self._sigma if square > 0 else -math.inf
        return _normal(z), self._squares * _normal(z - 2 * self._sigma)


class _Way:
    """The way of the drops from the end of the bottle that clears first, as pieces of straight wall."""

    def __init__(self, parting: Parting, drops: float, surround: float) -> None:
        shaken, total = parting._shaken, drops + surround
        pace = shaken.per_square * (surround / total) ** parting._exponent * parting._seconds
        self._pace = max(pace, 1e-300)
        self._parting = parting
        profile, level = shaken.bottle.profile, shaken.bottle.level
        if shaken.rises:
            points = list(profile)
        else:
            top = level(min(total, shaken.bottle.brimful))
            inner = [(top - height, total - volume) for height, volume in reversed(profile) if volume < total]
            points = [(0.0, 0.0), *(point for point in inner if point[1] > 0)]
        self._points = points
        self._passed: list[float] = [
            0.0
        ]  # ∫ of the volume that each size has passed, over the sizes that end up to here
        counts, squares = parting.share_below(0.0)
        for (low, start), (high, end) in pairwise(points):
            slope = (end - start) / (high - low)
            more, greater = parting.share_below(high / self._pace)
            self._passed.append(
                self._passed[-1] + (start - slope * low) * (more - counts) + slope * self._pace * (greater - squares)
            )
            counts, squares = more, greater
        self.left = min(max(self._so_far(surround) / surround, 0.0), 1.0)

    def _so_far(self, volume: float) -> float:
        """The mean over all sizes of the volume that each has passed, at most this one. [mL]"""
        volumes = [point[1] for point in self._points]
        n = min(max(bisect_right(volumes, volume) - 1, 0), len(volumes) - 2)
        (low, start), (high, end) = self._points[n : n + 2]
        slope = (end - start) / (high - low)
        at = low + (volume - start) / slope
        counts, squares = self._parting.share_below(low / self._pace)
        more, greater = self._parting.share_below(at / self._pace)
        passed = self._passed[n] + (start - slope * low) * (more - counts) + slope * self._pace * (greater - squares)
        return float(passed + volume * (1 - more))

    def still(self, volume: float) -> float:
        """As much of the column up to here as still has drops, weighed by their share. [mL]"""
        return max(volume - self._so_far(volume), 0.0)


def _normal(z: float) -> float:
    """The normal distribution, with its small tail as exact as its large one."""
    return 0.5 * math.erfc(-z / ROOT)
