"""Where the confidence limit of a line meets an acceptance limit, in closed form. An array engine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kit.stability.pooling import LEVEL, Comparison, Error, Spread, compare
from kit.stability.regression import Lines, Sided, student_t

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]


def crossings(
    lines: Lines,
    *,
    lower: float | None = None,
    upper: float | None = None,
    confidence: float = 0.95,
    sided: Sided = "one",
) -> Floats:
    """The day from which on the confidence limit of each line lies beyond a limit.

    Returns
    -------
    array
        The shape of ``lines``: 0 where the confidence limit is beyond the limit on day 0 already, infinity where it
        never gets there, NaN where there is no line. [unit of x]

    Notes
    -----
    The confidence limit level + slope z + t s sqrt(1/n + z²/sxx), z = x - centre, is convex in z, so it is within the
    upper limit on one stretch of time at most; that stretch ends at a root of the quadratic equation which squaring
    gives. It has no end where the slope leads away from the limit more steeply than t standard errors.
    """
    found = np.full(lines.slope.shape, np.inf)
    if upper is not None:
        found = np.minimum(found, _end(lines, lines.slope, upper - lines.level, confidence, sided))
    if lower is not None:
        found = np.minimum(found, _end(lines, -lines.slope, lines.level - lower, confidence, sided))
    known = np.isfinite(lines.slope) & (lines.df > 0) & (lines.count > 0)
    return np.where(known, found, np.nan)


def _end(lines: Lines, rise: Floats, room: Floats, confidence: float, sided: Sided) -> Floats:
    """The end of the stretch on which ``rise`` z + t s sqrt(1/n + z²/sxx) <= ``room``, counted from day 0."""
    sxx, count = np.where(lines.sxx > 0, lines.sxx, np.nan), np.where(lines.count > 0, lines.count, np.nan)
    k = student_t(confidence, lines.df, sided) * lines.s
    bend = rise**2 - k**2 / sxx
    root = k * np.sqrt(np.maximum(room**2 / sxx + bend / count, 0.0))
    product = rise * room
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(product >= 0, (room**2 - k**2 / count) / (product + root), (product - root) / bend)
    z = np.where(product + root == 0, 0.0, z)
    never = rise + k / np.sqrt(sxx) <= 0
    at_start = -rise * lines.centre + k * np.sqrt(1 / count + lines.centre**2 / sxx)
    ended = np.where(never, np.inf, np.maximum(lines.centre + z, 0.0))
    return np.where(at_start > room, 0.0, ended)


@dataclass(frozen=True)
class Crossings:
    """The estimates of many products at once; arrays of shape (products,) unless they say otherwise.

    ``days`` is the earliest crossing of each product (infinity: never), ``governing`` the place of its batch,
    ``codes`` the place of the model in :data:`kit.stability.pooling.MODELS`; ``each``, (products, batches), holds the
    crossing of every batch. Nothing is capped.
    """

    days: Floats
    governing: NDArray[np.int_]
    codes: NDArray[np.int_]
    each: Floats
    lines: Lines
    compared: Comparison


def shelf_lives(
    days: ArrayLike,
    values: ArrayLike,
    *,
    lower: float | None = None,
    upper: float | None = None,
    confidence: float = 0.95,
    sided: Sided = "one",
    pooling_level: float = LEVEL,
    error: Error = "separate lines",
    spread: Spread = "own",
    code: int | None = None,
) -> Crossings:
    """What :func:`kit.stability.shelf_life.shelf_life` computes, for many products at once and without its words.

    Parameters
    ----------
    days, values
        Shape (products, batches, readings); NaN marks a reading that is not there. For first order, hand over
        logarithms of values and limits. [days; unit of the attribute]
    lower, upper
        Acceptance limits. [unit of the attribute]
    code
        Take this model, by its place in :data:`kit.stability.pooling.MODELS`, whatever the tests say.

    Examples
    --------
    >>> times = [[[0, 28, 56, 84, 112]] * 2]
    >>> readings = [[[5.31, 5.24, 5.18, 5.11, 5.07], [5.30, 5.25, 5.17, 5.12, 5.05]]]
    >>> found = shelf_lives(times, readings, lower=4.8)
    >>> print(f"{found.days[0]:.1f}")
    218.6
    """
    compared = compare(days, values, error)
    codes = compared.codes(pooling_level) if code is None else np.full(compared.batches.shape, code)
    lines = compared.lines(codes, spread)
    each = crossings(lines, lower=lower, upper=upper, confidence=confidence, sided=sided)
    filled = np.where(np.isnan(each), np.inf, each)
    governing = filled.argmin(axis=-1)
    earliest = filled.min(axis=-1)
    return Crossings(np.where(np.isnan(each).all(axis=-1), np.nan, earliest), governing, codes, each, lines, compared)
