"""What the residuals say about the lines: the largest, their order in time, their distribution, and the lack of fit.

An array engine. None of these tests proves that a line is right; with few readings they see only gross faults.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import stdtr

from kit.stability.regression import Lines, f_p_value

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from kit.stability.pooling import Model

    Floats = NDArray[np.float64]

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
        _normal(residuals[present], lines, days, present),
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
    if residuals.size < FEWEST_FOR_NORMAL:
        words = f"{residuals.size} readings are too few to judge how their residuals are distributed."
        return Check("distribution", words, source=source)
    from scipy.stats import shapiro

    full = np.full(present.shape, np.nan)
    full[present] = residuals
    p = float(shapiro(studentised(lines, days, full)[present]).pvalue)
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
    wide = lines.pick((slice(None), None))
    sse = float(np.nansum((values - wide.at(days)) ** 2))
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
