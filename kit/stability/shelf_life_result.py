"""What an estimate of a shelf life holds: the lines, the tests, the cap, and the words for it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from kit.iso_dates import whole_months

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Finding
    from kit.stability.extrapolation import Cap
    from kit.stability.pooling import Error, Model, Spread
    from kit.stability.regression import Lines, Sided
    from kit.stability.residuals import Check

Order = Literal["zero", "first"]


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
class Step:
    """One thing that was computed, as a sentence, and where its rule is from."""

    words: str
    source: str = ""


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
