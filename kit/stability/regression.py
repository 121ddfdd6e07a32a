"""Straight lines by least squares, many series at once. An array engine: NumPy in, NumPy out.

Every sum is taken about the mean of its own series, the sum of squares from the residuals themselves, so that
readings far from zero lose no digits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from scipy.special import fdtrc, stdtrit

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

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
    slope = quotient((dx * dy).sum(axis=-1), sxx)
    residuals = dy - np.where(present, slope[..., None] * dx, 0.0)
    largest = np.abs(np.where(present, ys, 0.0)).max(axis=-1, initial=0.0)
    sse = without_rounding((residuals * residuals).sum(axis=-1), count, largest)
    return Lines(count, centre, level, sxx, slope, sse, count - 2, syy)


@dataclass(frozen=True)
class OriginLines:
    """Lines y = slope x, one for each series; ``r_squared`` is taken about zero, not about the mean."""

    slope: Floats
    slope_error: Floats
    s: Floats
    df: Floats
    sse: Floats
    r_squared: Floats
    f: Floats


def lines_through_origin(x: ArrayLike, y: ArrayLike) -> OriginLines:
    """Least-squares line of each series through x = 0, y = 0.

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
    df = present.sum(axis=-1) - 1.0
    sxx, syy = (xs * xs).sum(axis=-1), (ys * ys).sum(axis=-1)
    slope = quotient((xs * ys).sum(axis=-1), sxx)
    residuals = ys - slope[..., None] * xs
    sse = (residuals * residuals).sum(axis=-1)
    s = np.sqrt(quotient(sse, df))
    return OriginLines(
        slope,
        quotient(s, np.sqrt(sxx)),
        s,
        df,
        sse,
        1 - quotient(sse, syy),
        quotient(slope**2 * sxx, quotient(sse, df)),
    )
