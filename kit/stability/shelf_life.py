"""How long the readings support a product being within its limits: an estimate after ICH Q1E.

A straight line is fitted to the readings of each batch, or to their logarithms; where the batches do not differ
they share it. The estimate ends where the confidence limit of the mean line meets the limit, and not later than
how far beyond the last reading ICH Q1E lets it reach.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from kit.errors import EntryError, RangeError
from kit.findings import Finding, worst_first
from kit.iso_dates import whole_months
from kit.stability.pooling import LEVEL, MODELS, Crossings, Error, Model, Spread, as_arrays, shelf_lives
from kit.stability.q1e import Cap, Step, Storage, Warm, cap, model_words, usable, with_words
from kit.stability.regression import Check, check_residuals

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.kinetics import Order
    from kit.stability.regression import Lines, Sided
    from kit.stability.series import Series


@dataclass(frozen=True, slots=True)
class Fit:
    """The line of one batch; of a shared line, the same for each.

    ``intercept`` and ``slope`` [unit, unit/day; in first order of the natural logarithm], their standard errors, the
    standard deviation ``s`` of the readings about the line with ``df`` degrees of freedom, and ``crossing``, the day
    on which its confidence limit meets a limit (None: it never does). ``readings`` counts those of this batch.
    """

    batch: str
    intercept: float
    slope: float
    s: float
    df: int
    intercept_error: float
    slope_error: float
    readings: int
    crossing: float | None


@dataclass(frozen=True, slots=True)
class Pooling:
    """Whether the batches differ: both p-values (None where not tested), the level, and against which error."""

    slopes: float | None
    intercepts: float | None
    level: float
    error: Error
    spread: Spread


class Band(NamedTuple):
    """Confidence limits and the line between them, one number for each day asked. [unit of the attribute]"""

    lower: tuple[float, ...]
    mean: tuple[float, ...]
    upper: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked of the readings; see :func:`shelf_life`."""

    lower: float | None
    upper: float | None
    order: Order
    sided: Sided
    confidence: float


@dataclass(frozen=True, slots=True)
class ShelfLife:
    """What the readings support, and how it was computed.

    Attributes
    ----------
    days
        The estimate: the earlier of crossing and cap, rounded down to a whole day; None where nothing could be
        computed or there is no limit. [days]
    crossing
        Where the confidence limit meets the limit, not capped: 0 where it is beyond it from the start, None where it
        never meets it. [days]
    model, model_key
        Which lines were fitted, in words; and "one batch", "common line", "common slope" or "separate lines".
    pooling
        The tests that led to the model.
    fits
        One for each batch, in the order of the series.
    governing
        The batch that ends first; of a line for all, the first batch.
    cap
        How far the estimate may reach, and why.
    checks
        What the residuals say.
    findings
        What to be careful about.
    sentence
        The result with what it was computed from.
    steps
        What was computed, in order, each with its source.
    asked
        Limits, order, sides and confidence.
    """

    days: float | None
    crossing: float | None
    model: str
    model_key: Model
    pooling: Pooling
    fits: tuple[Fit, ...]
    governing: str
    cap: Cap | None
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    sentence: str
    steps: tuple[Step, ...]
    asked: Asked
    lines: Lines | None = field(default=None, repr=False, compare=False)

    @property
    def months(self) -> int | None:
        """The estimate in whole months, rounded down: 365 days are 12."""
        return None if self.days is None else whole_months(self.days)

    def band(self, days: Sequence[float]) -> dict[str, Band]:
        """Each batch's line and its confidence limits at these days, in the unit of the attribute.

        One-sided limits are drawn on both sides, each with the confidence asked for. In first order the line is that
        of the logarithms turned back: it is nearer the median than the mean.
        """
        if self.lines is None:
            return {}
        turned = np.exp if self.asked.order == "first" else np.asarray
        wide = self.lines.pick((slice(None), None))
        mean = wide.at(np.asarray(days, dtype=float))
        reach = wide.reach(np.asarray(days, dtype=float), self.asked.confidence, self.asked.sided)
        three = (turned(mean - reach).tolist(), turned(mean).tolist(), turned(mean + reach).tolist())
        return {
            fit.batch: Band(*(tuple(rows) for rows in one))
            for fit, one in zip(self.fits, zip(*three, strict=True), strict=True)
        }


def shelf_life(
    series: Sequence[Series],
    *,
    lower: float | None = None,
    upper: float | None = None,
    order: Order = "zero",
    sided: Sided = "one",
    confidence: float = 0.95,
    pooling_level: float = LEVEL,
    model: Model | None = None,
    error: Error = "separate lines",
    spread: Spread = "own",
    warm: Warm = "not told",
    storage: Storage = "room",
) -> ShelfLife:
    """How long the readings support the mean being within its limits.

    Parameters
    ----------
    series
        The readings of each batch in one condition; :func:`kit.stability.series.series_of` makes them.
    lower, upper
        Acceptance limits, taken literally; None where there is none. [unit of the attribute]
    order
        "zero": the readings follow a line; "first": their logarithms do.
    sided
        "one" for what moves one way, "two" where the direction is not known beforehand (ICH Q1E).
    confidence, pooling_level
        Of the limits of the mean line; of the tests for equal slopes and intercepts.
    model
        "common line", "common slope" or "separate lines" whatever the tests say; None lets them decide.
    error
        Mean square below the F of the intercepts: that of the "separate lines" (as in one sequential analysis of
        variance) or that of the "common slope".
    spread
        With separate lines: each batch's "own" standard deviation, or one "pooled" over the batches.
    warm, storage
        See :func:`kit.stability.q1e.cap`.

    Returns
    -------
    ShelfLife
        With findings in place of numbers where the readings are too few, or not above zero in first order.

    Raises
    ------
    RangeError
        Limits, confidence or level make no sense.
    EntryError
        The series are grades, or two have the same batch.

    References
    ----------
    .. [1] ICH Q1E, Evaluation for Stability Data (2003), 2.6 and appendix B (the clauses are from memory).
    .. [2] D. LeBlond, D. Griffith, K. Aubuchon, "Linear Regression 102: Stability shelf life estimation using
       analysis of covariance", Journal of Validation Technology 17 (2011), no. 3, 47-68.

    Examples
    --------
    >>> from kit.stability.series import Series
    >>> one = Series("A", (0, 28, 56, 84), (5.31, 5.24, 5.18, 5.11))
    >>> two = Series("B", (0, 28, 56, 84), (5.30, 5.25, 5.17, 5.12))
    >>> found = shelf_life([one, two], lower=4.8, warm="no significant change")
    >>> found.days, found.model_key
    (168.0, 'common line')
    """
    asked = Asked(lower, upper, order, sided, confidence)
    if model is not None and model not in MODELS:
        msg = f"{model!r} is not a model. Choose one of: {', '.join(MODELS)}, or None to let the tests decide."
        raise RangeError(msg)
    _refuse_nonsense(series, asked, pooling_level)
    used, findings = usable(series, asked)
    if not used:
        return _nothing(asked, findings, Pooling(None, None, pooling_level, error, spread))
    used = sorted(used, key=lambda one: one.batch)  # so that nothing hangs on the order in which batches are named
    days, values = as_arrays(used, order)
    code = None if model is None or len(used) == 1 else MODELS.index(model)
    limits = {"lower": _as_fitted(lower, order), "upper": _as_fitted(upper, order)}
    found = shelf_lives(
        days[None],
        values[None],
        **limits,
        confidence=confidence,
        sided=sided,
        pooling_level=pooling_level,
        error=error,
        spread=spread,
        code=code,
    )
    names = tuple(one.batch for one in used)
    lines, key = found.lines.pick(0), MODELS[int(found.codes[0])]
    pooling = Pooling(
        _finite(found.compared.slopes_p[0]), _finite(found.compared.intercepts_p[0]), pooling_level, error, spread
    )
    checks = check_residuals(lines, key, days, values, names)
    limit = cap(max(min(one.last_day for one in used), 0.0), warm=warm, storage=storage)
    result = ShelfLife(
        days=_estimate(found, limit, asked),
        crossing=_finite(found.days[0]),
        model=model_words(key, len(used), pooling, chosen=code is not None),
        model_key=key,
        pooling=pooling,
        fits=_fits(names, lines, found, used),
        governing=names[int(found.governing[0])],
        cap=limit,
        checks=tuple(checks),
        findings=(),
        sentence="",
        steps=(),
        asked=asked,
        lines=lines,
    )
    return with_words(result, used, findings)


def _nothing(asked: Asked, findings: Sequence[Finding], pooling: Pooling) -> ShelfLife:
    """The result where no line could be laid."""
    why = next(finding.sentence for finding in findings if finding.severity == "stop")
    sentence = f"Nothing was computed. {why}"
    return ShelfLife(
        None, None, "no line", "one batch", pooling, (), "", None, (), tuple(worst_first(findings)), sentence, (), asked
    )


def _refuse_nonsense(series: Sequence[Series], asked: Asked, level: float) -> None:
    graded = next((one for one in series if one.kind == "grade"), None)
    if graded is not None:
        msg = (
            f"Batch {graded.batch} has grades: their steps are not equal, so no line is laid through them. Count them."
        )
        raise EntryError(msg)
    names = [one.batch for one in series]
    if len(set(names)) < len(names):
        msg = f"The batches {', '.join(names)} are not all different. Give each series a batch name of its own."
        raise EntryError(msg)
    if not all(limit is None or math.isfinite(limit) for limit in (asked.lower, asked.upper)):
        msg = "A limit is no number. Give it as a number, or leave it out where there is none."
        raise RangeError(msg)
    if asked.lower is not None and asked.upper is not None and not asked.lower < asked.upper:
        msg = f"The lower limit {asked.lower:g} must be below the upper limit {asked.upper:g}."
        raise RangeError(msg)
    for what, share, such in (("confidence", asked.confidence, 0.95), ("level of the pooling tests", level, LEVEL)):
        if not 0 < share < 1:
            msg = f"The {what} is {share:g}; it must lie between 0 and 1, such as {such}."
            raise RangeError(msg)
    lowest = min((limit for limit in (asked.lower, asked.upper) if limit is not None), default=1.0)
    if asked.order == "first" and lowest <= 0:
        msg = f"In first order a limit must be above 0, got {lowest:g}: a share lost each day never comes to nothing."
        raise RangeError(msg)


def _as_fitted(limit: float | None, order: Order) -> float | None:
    return limit if limit is None or order == "zero" else math.log(limit)


def _finite(number: float) -> float | None:
    return float(number) if math.isfinite(number) else None


def _estimate(found: Crossings, limit: Cap, asked: Asked) -> float | None:
    if asked.lower is None and asked.upper is None:
        return None
    return float(math.floor(min(float(found.days[0]), limit.days) + 1e-9))


def _fits(names: Sequence[str], lines: Lines, found: Crossings, used: Sequence[Series]) -> tuple[Fit, ...]:
    return tuple(
        Fit(
            batch=name,
            intercept=float(lines.intercept[place]),
            slope=float(lines.slope[place]),
            s=float(lines.s[place]),
            df=int(lines.df[place]),
            intercept_error=float(lines.intercept_error[place]),
            slope_error=float(lines.slope_error[place]),
            readings=len(used[place].days),
            crossing=_finite(found.each[0, place]),
        )
        for place, name in enumerate(names)
    )
