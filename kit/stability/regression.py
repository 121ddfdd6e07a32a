"""Straight lines by least squares, many series at once, and what their residuals say. An array engine.

Every sum is taken about the mean of its own series, the sum of squares from the residuals themselves, so that
readings far from zero lose no digits. No test of residuals proves that a line is right; with few readings they see
only gross faults.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from scipy.special import fdtrc, stdtr, stdtrit

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from kit.stability.pooling import Model

    Floats = NDArray[np.float64]

Sided = Literal["one", "two"]
#: A sum of squares below (this many rounding errors of the largest value)² for each reading is rounding alone.
ROUNDING = 8 * np.finfo(float).eps


@dataclass(frozen=True)
class Lines:
    """Lines y = level + slope (x - centre), one for each series; every array has the shape of the series.

    Attributes
    ----------
    count
        Readings that carry the level: of a line shared by batches all of them, with a common slope those of the batch.
    centre, level
        Mean of x, and of y, over these readings. [unit of x; unit of y]
    sxx
        Sum of squares of x about the mean, over all readings that carry the slope. [unit of x squared]
    slope
        [unit of y / unit of x]
    sse, df
        Residual sum of squares [unit of y squared] and its degrees of freedom.
    syy
        Sum of squares of y about the mean; NaN where the line is not a plain fit to its own readings.
    """

    count: Floats
    centre: Floats
    level: Floats
    sxx: Floats
    slope: Floats
    sse: Floats
    df: Floats
    syy: Floats

    @property
    def intercept(self) -> Floats:
        """Where the line stands at x = 0."""
        return self.level - self.slope * self.centre

    @property
    def s(self) -> Floats:
        """Standard deviation of the readings about the line, NaN without degrees of freedom."""
        return np.sqrt(quotient(self.sse, self.df))

    @property
    def slope_error(self) -> Floats:
        """Standard error of the slope."""
        return quotient(self.s, np.sqrt(self.sxx))

    @property
    def intercept_error(self) -> Floats:
        """Standard error of the intercept."""
        return self.s * np.sqrt(self.leverage(np.zeros_like(self.centre)))

    @property
    def r_squared(self) -> Floats:
        """Share of the variation about the mean that the line takes up."""
        return 1 - quotient(self.sse, self.syy)

    @property
    def f(self) -> Floats:
        """F of the slope against none."""
        return quotient(self.slope**2 * self.sxx, quotient(self.sse, self.df))

    def leverage(self, x: ArrayLike) -> Floats:
        """Variance of the line at x in units of the residual variance."""
        return quotient(np.ones_like(self.count), self.count) + quotient((np.asarray(x) - self.centre) ** 2, self.sxx)

    def at(self, x: ArrayLike) -> Floats:
        """The line at x."""
        return self.level + self.slope * (np.asarray(x) - self.centre)

    def reach(self, x: ArrayLike, confidence: float = 0.95, sided: Sided = "two", *, of: str = "mean") -> Floats:
        """Half the width of the interval about the line at x.

        Parameters
        ----------
        of
            "mean", the confidence interval of the line; "reading", the prediction interval of one more reading.
        """
        extra = 1.0 if of == "reading" else 0.0
        return student_t(confidence, self.df, sided) * self.s * np.sqrt(self.leverage(x) + extra)

    def pick(self, index: Any) -> Lines:
        """The lines at that place of the arrays, an axis of length one added by ``None`` as in NumPy."""
        return Lines(*(getattr(self, name)[index] for name in self.__dataclass_fields__))


def quotient(numerator: Floats, denominator: Floats) -> Floats:
    """A quotient that is NaN, without a warning, where the denominator is not above zero."""
    usable = denominator > 0
    return np.where(usable, numerator / np.where(usable, denominator, 1.0), np.nan)


def student_t(confidence: float, df: Floats, sided: Sided) -> Floats:
    """The t value of a confidence on one side or on two, NaN without degrees of freedom."""
    share = confidence if sided == "one" else (1 + confidence) / 2
    known, back = np.unique(df, return_inverse=True)
    values = np.array([stdtrit(one, share) if one > 0 else np.nan for one in known])
    return values[back].reshape(np.shape(df))


def f_p_value(f: Floats, upper_df: Floats, lower_df: Floats) -> Floats:
    """How often chance alone gives so large an F."""
    return np.asarray(fdtrc(upper_df, lower_df, f), dtype=float)


def mean_of(values: Floats, present: NDArray[np.bool_], count: Floats) -> Floats:
    """Mean over the last axis of what is present."""
    return quotient(np.where(present, values, 0.0).sum(axis=-1), count)


def without_rounding(sse: Floats, count: Floats, largest: Floats) -> Floats:
    """A sum of squares, 0 where it is no more than the rounding of its readings."""
    return np.where(sse <= count * (ROUNDING * largest) ** 2, 0.0, sse)


def straight_lines(x: ArrayLike, y: ArrayLike) -> Lines:
    """Least-squares line of each series.

    Parameters
    ----------
    x, y
        Shape (..., readings); NaN marks a reading that is not there.

    Returns
    -------
    Lines
        Arrays of shape (...): NaN slopes where all x are the same, NaN errors with two readings.

    References
    ----------
    .. [1] N. R. Draper, H. Smith, "Applied Regression Analysis", 3rd ed. (1998), chapter 1.
    .. [2] NIST Statistical Reference Datasets, linear regression: Norris, NoInt1 (certified values).

    Examples
    --------
    >>> line = straight_lines([0, 1, 2, 3], [1.0, 3.0, 4.9, 7.1])
    >>> print(f"{line.intercept:.2f} {line.slope:.2f} {line.s:.3f}")
    0.97 2.02 0.095
    """
    xs, ys = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    present = np.isfinite(xs) & np.isfinite(ys)
    count = present.sum(axis=-1).astype(float)
    centre, level = mean_of(xs, present, count), mean_of(ys, present, count)
    dx = np.where(present, xs - centre[..., None], 0.0)
    dy = np.where(present, ys - level[..., None], 0.0)
    sxx, syy = (dx * dx).sum(axis=-1), (dy * dy).sum(axis=-1)
    largest = np.abs(np.where(present, ys, 0.0)).max(axis=-1, initial=0.0)
    both = (dx * dy).sum(axis=-1)
    rounding = count * np.finfo(float).eps * np.abs(dx).sum(axis=-1) * largest
    slope = quotient(np.where(np.abs(both) <= rounding, 0.0, both), sxx)  # readings that stay as they are have no trend
    residuals = dy - np.where(present, slope[..., None] * dx, 0.0)
    sse = without_rounding((residuals * residuals).sum(axis=-1), count, largest)
    return Lines(count, centre, level, sxx, slope, sse, count - 2, syy)


def lines_through_origin(x: ArrayLike, y: ArrayLike) -> Lines:
    """Least-squares line of each series through x = 0, y = 0; its ``r_squared`` is taken about zero, not the mean.

    Parameters
    ----------
    x, y
        Shape (..., readings); NaN marks a reading that is not there.

    References
    ----------
    .. [1] NIST Statistical Reference Datasets: NoInt1 (certified values).

    Examples
    --------
    >>> print(f"{lines_through_origin([1, 2, 3], [2.0, 4.1, 5.9]).slope:.3f}")
    1.993
    """
    xs, ys = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    present = np.isfinite(xs) & np.isfinite(ys)
    xs, ys = np.where(present, xs, 0.0), np.where(present, ys, 0.0)
    df = present.sum(axis=-1, dtype=float) - 1.0
    sxx, syy = (xs * xs).sum(axis=-1), (ys * ys).sum(axis=-1)
    slope = quotient((xs * ys).sum(axis=-1), sxx)
    residuals = ys - slope[..., None] * xs
    sse = (residuals * residuals).sum(axis=-1)
    fixed, nothing = np.full(sxx.shape, np.inf), np.zeros(sxx.shape)  # as if countless readings stood at 0, 0
    return Lines(fixed, nothing, nothing, sxx, slope, sse, df, syy)


#: Below this p-value a check becomes a caution.
ALARM = 0.05
#: Fewer readings tell too little about a distribution, fewer days too little about an order (common practice).
FEWEST_FOR_NORMAL, FEWEST_DAYS_FOR_RUNS = 12, 7


@dataclass(frozen=True, slots=True)
class Check:
    """One look at the residuals: its name, a sentence, the p-value where it is a test, and whether to be cautious."""

    name: str
    words: str
    p: float | None = None
    caution: bool = False
    source: str = ""


def check_residuals(lines: Lines, model: Model, days: Floats, values: Floats, names: tuple[str, ...]) -> list[Check]:
    """Look at the residuals of the chosen model.

    Parameters
    ----------
    lines
        One for each batch, shape (batches,).
    days, values
        Shape (batches, readings), NaN where there is none; values as they were fitted.
    """
    present = np.isfinite(days) & np.isfinite(values)
    residuals = np.where(present, values - lines.pick((slice(None), None)).at(days), np.nan)
    if not (lines.s > 0).all():
        words = "Readings lie on their line exactly: perhaps rounding hides their scatter, so the limits are too close."
        return [Check("scatter", words, caution=True)]
    return [
        _largest(lines, days, residuals, names),
        _runs(days[present], residuals[present]),
        _normal(residuals, lines, days, present),
        _lack_of_fit(lines, model, days, values, present),
    ]


def studentised(lines: Lines, days: Floats, residuals: Floats) -> Floats:
    """Each residual over its own standard deviation, s √(1 - leverage)."""
    wide = lines.pick((slice(None), None))
    room = np.maximum(1 - wide.leverage(days), 1e-12)
    return np.asarray(residuals / (wide.s * np.sqrt(room)))


def _largest(lines: Lines, days: Floats, residuals: Floats, names: tuple[str, ...]) -> Check:
    """The largest studentised residual, with the chance of one so large among so many (Bonferroni)."""
    scaled = studentised(lines, days, residuals)
    batch, place = np.unravel_index(np.nanargmax(np.abs(scaled)), scaled.shape)
    size, df = abs(float(scaled[batch, place])), float(lines.df[batch])
    count = int(np.isfinite(residuals).sum())
    left = df - size**2
    deleted = size * math.sqrt((df - 1) / left) if df > 1 and left > 1e-9 else math.inf
    p = min(1.0, count * 2 * float(stdtr(df - 1, -deleted))) if df > 1 else None
    where = f"batch {names[batch]}, day {days[batch, place]:g}"
    words = f"The reading farthest from its line is {size:.1f} standard deviations away: {where}"
    alarm = p is not None and p < ALARM
    words += f", more than chance explains (p = {p:.2g}). Look at its note before anything else." if alarm else "."
    source = "R. D. Cook, S. Weisberg, Residuals and Influence in Regression (1982), 2.2.2 (from memory)"
    return Check("largest residual", words, p, alarm, source)


def _runs(days: Floats, residuals: Floats) -> Check:
    """Whether neighbours in time lie on the same side more often than chance: a curve, or a drifting instrument."""
    known = np.unique(days)
    source = "A. Wald, J. Wolfowitz, Annals of Mathematical Statistics 11 (1940) 147-162 (from memory)"
    if known.size < FEWEST_DAYS_FOR_RUNS:
        words = f"Readings on {known.size} days are too few to see an order in their residuals."
        return Check("order in time", words, source=source)
    signs = [bool(residuals[days == day].mean() >= 0) for day in known]
    runs = 1 + sum(one != other for one, other in pairwise(signs))
    p = chance_of_so_few_runs(sum(signs), len(signs) - sum(signs), runs)
    alarm = p < ALARM
    words = f"Day by day the residuals change side {runs - 1} times in {len(signs)} days"
    words += f", seldomer than chance explains (p = {p:.2g}): perhaps a curve, not a line." if alarm else "."
    return Check("order in time", words, p, alarm, source)


def chance_of_so_few_runs(above: int, below: int, runs: int) -> float:
    """How often chance alone puts so many above and below in so few runs or fewer.

    Examples
    --------
    >>> round(chance_of_so_few_runs(5, 5, 2), 6)
    0.007937
    """
    if not above or not below:
        return 1.0
    ways = 0
    for number in range(2, runs + 1):
        half = number // 2
        if number % 2 == 0:
            ways += 2 * math.comb(above - 1, half - 1) * math.comb(below - 1, half - 1)
        else:
            ways += math.comb(above - 1, half - 1) * math.comb(below - 1, half)
            ways += math.comb(above - 1, half) * math.comb(below - 1, half - 1)
    return ways / math.comb(above + below, above)


def _normal(residuals: Floats, lines: Lines, days: Floats, present: NDArray[np.bool_]) -> Check:
    source = "S. S. Shapiro, M. B. Wilk, Biometrika 52 (1965) 591-611, as computed by SciPy"
    if present.sum() < FEWEST_FOR_NORMAL:
        words = f"{present.sum()} readings are too few to judge how their residuals are distributed."
        return Check("distribution", words, source=source)
    from scipy.stats import shapiro

    p = float(shapiro(studentised(lines, days, residuals)[present]).pvalue)
    alarm = p < ALARM
    seen = "are hardly normally distributed" if alarm else "do not contradict a normal distribution"
    return Check("distribution", f"The residuals {seen} (p = {p:.2g}).", p, alarm, source)


def _lack_of_fit(lines: Lines, model: Model, days: Floats, values: Floats, present: NDArray[np.bool_]) -> Check:
    """Scatter of the means of repeated readings about the model, against the scatter of the repeats themselves.

    Repeats are readings of one day: of one line for all whatever the batch, else of the same batch.
    """
    source = "N. R. Draper, H. Smith, Applied Regression Analysis, 3rd ed. (1998), 2.1 (from memory)"
    batch = np.broadcast_to(np.arange(days.shape[0])[:, None], days.shape)[present]
    groups = np.stack([days[present], np.zeros(batch.size) if model == "common line" else batch.astype(float)])
    _, place = np.unique(groups, axis=1, return_inverse=True)
    place = np.ravel(place)
    seen = values[present]
    means = np.bincount(place, seen) / np.bincount(place)
    pure = float(((seen - means[place]) ** 2).sum())
    pure_df = seen.size - means.size
    sse = float(np.nansum((values - lines.pick((slice(None), None)).at(days)) ** 2))
    batches = days.shape[0]
    df = seen.size - {"common line": 2, "common slope": batches + 1}.get(model, 2 * batches)
    free = df - pure_df
    if pure_df < 1 or free < 1:
        words = "No readings were repeated on one day, so lack of fit cannot be tested."
        return Check("lack of fit", words, source=source)
    if pure <= 0:
        return Check("lack of fit", "Repeated readings agree exactly, so lack of fit cannot be tested.", source=source)
    f = max(sse - pure, 0.0) / free / (pure / pure_df)
    p = float(f_p_value(np.array(f), np.array(free), np.array(float(pure_df))))
    alarm = p < ALARM
    how = "stray from the model more than repeats stray from one another" if alarm else "do not contradict the model"
    return Check("lack of fit", f"The means of repeated readings {how} (p = {p:.2g}).", p, alarm, source)
