"""Do the batches age alike (ICH Q1E), and when does the confidence limit of their lines meet a limit. An array engine.

One line for all, a common slope, or a line for each; the crossing is found in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from kit.stability.regression import Lines, Sided, f_p_value, quotient, straight_lines, student_t, without_rounding

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from kit.stability.kinetics import Order
    from kit.stability.series import Series

    Floats = NDArray[np.float64]

Model = Literal["one batch", "common line", "common slope", "separate lines"]
#: The models in the order of their codes.
MODELS: tuple[Model, ...] = ("one batch", "common line", "common slope", "separate lines")
#: Mean square against which both tests are made: of the lines fitted to each batch, as in one sequential analysis of
#: variance, or for the intercepts that of the model with a common slope.
Error = Literal["separate lines", "common slope"]
#: Standard deviation in the model of separate lines: each batch its own, or one pooled over the batches.
Spread = Literal["own", "pooled"]
#: The level of both tests (ICH Q1E, 2003, appendix B.2.2.1: 0.25 makes up for the few readings there are).
LEVEL = 0.25


@dataclass(frozen=True)
class Comparison:
    """Three models of several batches, for many products at once.

    ``own``, ``sloped`` and ``shared`` are :class:`Lines` of shape (products, batches): a line for each batch, a common
    slope, one line for all. The p-values have the shape (products,), NaN where there is only one batch.
    """

    own: Lines
    sloped: Lines
    shared: Lines
    batches: Floats
    slopes_p: Floats
    intercepts_p: Floats

    def codes(self, level: float = LEVEL) -> NDArray[np.int_]:
        """The place in :data:`MODELS` of the model that the tests lead to, slopes first; (products,)."""
        code = np.where(self.slopes_p < level, 3, np.where(self.intercepts_p < level, 2, 1))
        return np.where(self.batches < 2, 0, code)

    def lines(self, codes: ArrayLike, spread: Spread = "own") -> Lines:
        """The lines of the chosen models, (products, batches)."""
        chosen = np.broadcast_to(np.asarray(codes)[..., None], self.own.slope.shape)
        own = self.pooled() if spread == "pooled" else self.own
        fields = {
            name: np.select(
                [chosen == 1, chosen == 2], [getattr(self.shared, name), getattr(self.sloped, name)], getattr(own, name)
            )
            for name in Lines.__dataclass_fields__
        }
        return Lines(**fields)

    def pooled(self) -> Lines:
        """A line for each batch, with one residual variance pooled over the batches."""
        sse, df = _whole(self.own)
        shape = self.own.slope.shape
        wide = {name: np.broadcast_to(value[..., None], shape) for name, value in (("sse", sse), ("df", df))}
        return replace(self.own, **wide)


def compare(days: ArrayLike, values: ArrayLike, error: Error = "separate lines") -> Comparison:
    """Fit the three models and test them: equal slopes first, then equal intercepts given a common slope.

    Parameters
    ----------
    days, values
        Shape (products, batches, readings); NaN marks a reading that is not there. [days; unit of the attribute]
    error
        The mean square below the F of the intercepts. The slopes are tested against that of the separate lines in
        either case.

    References
    ----------
    .. [1] ICH Q1E, Evaluation for Stability Data (2003), appendix B.2.2 (the clause is from memory).
    .. [2] S. C. Chow, "Statistical Design and Analysis of Stability Studies" (2007) (from memory).

    Examples
    --------
    >>> found = compare([[[0, 1, 2, 3]] * 2], [[[10.0, 9.1, 7.9, 7.0], [10.1, 9.0, 8.1, 6.9]]])
    >>> MODELS[found.codes()[0]]
    'common line'
    """
    x, y = np.broadcast_arrays(np.asarray(days, dtype=float), np.asarray(values, dtype=float))
    own = straight_lines(x, y)
    batches = (own.count > 0).sum(axis=-1).astype(float)
    sse_own, df_own = _whole(own)
    sloped, between_slopes = _common_slope(own, sse_own, batches)
    flat = (*x.shape[:-2], x.shape[-2] * x.shape[-1])
    line = straight_lines(x.reshape(flat), y.reshape(flat))
    shared = Lines(
        *(np.broadcast_to(getattr(line, name)[..., None], own.slope.shape) for name in Lines.__dataclass_fields__)
    )
    shared = replace(shared, slope=np.where(own.count > 0, shared.slope, np.nan))
    between_lines = _between_lines(own, sloped, line)
    free = batches - 1
    against = (sse_own, df_own) if error == "separate lines" else (sloped.sse[..., 0], sloped.df[..., 0])
    return Comparison(
        own,
        sloped,
        shared,
        batches,
        _p(between_slopes, free, sse_own, df_own),
        _p(between_lines, free, *against),
    )


def as_arrays(series: Sequence[Series], order: Order) -> tuple[Floats, Floats]:
    """Days and values of each batch, in first order their logarithms: (batches, readings), NaN where there is none.

    Readings are put in the order of their days, so that no last digit hangs on the order in which they came.
    """
    most = max(len(one.days) for one in series)
    days, values = np.full((2, len(series), most), np.nan)
    for place, one in enumerate(series):
        in_order = sorted(zip(one.days, one.values, strict=True))
        days[place, : len(one.days)] = [day for day, _ in in_order]
        values[place, : len(one.days)] = [value for _, value in in_order]
    return days, np.log(values) if order == "first" else values


def _whole(own: Lines) -> tuple[Floats, Floats]:
    """Residual sum of squares and degrees of freedom of all the batches that have readings."""
    there = own.count > 0
    return np.where(there, own.sse, 0.0).sum(axis=-1), np.where(there, own.df, 0.0).sum(axis=-1)


def _common_slope(own: Lines, sse_own: Floats, batches: Floats) -> tuple[Lines, Floats]:
    """The lines with a common slope, and the sum of squares of the slopes about it."""
    sxx = own.sxx.sum(axis=-1)
    slopes = np.where(own.sxx > 0, own.slope, 0.0)
    slope = quotient((slopes * own.sxx).sum(axis=-1), sxx)
    between = _clear(((slopes - slope[..., None]) ** 2 * own.sxx).sum(axis=-1), own)
    shape = own.slope.shape
    sse, df, wide_sxx, wide_slope = (
        np.broadcast_to(one[..., None], shape)
        for one in (sse_own + between, own.count.sum(axis=-1) - batches - 1, sxx, slope)
    )
    there = own.count > 0
    lines = Lines(own.count, own.centre, own.level, wide_sxx, wide_slope, sse, df, np.full(shape, np.nan))
    return replace(lines, slope=np.where(there, wide_slope, np.nan)), between


def _between_lines(own: Lines, sloped: Lines, line: Lines) -> Floats:
    """Sum of squares between the model with a common slope and the one line for all, from the means of the batches."""
    there = own.count > 0
    weight = own.count
    x, y = np.where(there, own.centre, 0.0), np.where(there, own.level, 0.0)
    slope = np.where(there, sloped.slope, 0.0)
    above = np.where(there, y - line.level[..., None] - slope * (x - line.centre[..., None]), 0.0)
    total = weight.sum(axis=-1)
    off = quotient((weight * above).sum(axis=-1), total)
    spread = (weight * (above - off[..., None]) ** 2).sum(axis=-1)
    lean = (weight * (x - line.centre[..., None]) * above).sum(axis=-1)
    return _clear(np.maximum(spread - np.where(line.sxx > 0, lean**2 / line.sxx, 0.0), 0.0), own)


def _clear(sum_of_squares: Floats, own: Lines) -> Floats:
    largest = np.abs(np.where(own.count > 0, own.level, 0.0)).max(axis=-1)
    return without_rounding(sum_of_squares, own.count.sum(axis=-1), largest)


def _p(between: Floats, free: Floats, sse: Floats, df: Floats) -> Floats:
    """The p-value of a sum of squares between models; 0 or 1 where the readings lie on their lines exactly."""
    testable = (free > 0) & (df > 0)
    exact = testable & (sse == 0)
    f = quotient(quotient(between, free), quotient(sse, df))
    p = f_p_value(np.where(testable & ~exact, f, 0.0), np.maximum(free, 1), np.maximum(df, 1))
    p = np.where(exact, np.where(between > 0, 0.0, 1.0), p)
    return np.where(testable, p, np.nan)


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
