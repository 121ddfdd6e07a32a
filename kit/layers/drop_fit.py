"""The effective drop size that explains what a maker timed after shaking."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.inputs import Rows
from kit.layers.separation import clearing
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.layers.separation import Seen
    from kit.layers.shaken import Shaken

#: A ruler beside a bottle reads to about this (common practice). [mm]
READING = 1.0
#: A clear layer does not shrink: one that does by more than this contradicts the others. [mm]
CONTRADICTION = 3.0
#: The sizes that are tried before the fit. [µm]
SMALLEST, LARGEST, TRIED = 1.0, 5000.0, 80
#: The golden section; how narrow the search for the best ends, and the step of its slope [of a logarithm].
GOLDEN, NARROW, STEP = (math.sqrt(5) - 1) / 2, 1e-9, 1e-5


@dataclass(frozen=True, slots=True)
class Timing:
    """One reading after shaking: minutes, and the clear layer that was seen. [min, mm]"""

    minutes: float
    millimetres: float

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


@dataclass(frozen=True, slots=True)
class DropFit:
    """The effective drop size with its interval.

    Attributes
    ----------
    median
        Volume median diameter, at the spread that was given. [µm]
    low, high
        95 % interval, from the slope of the model at the best fit (Jacobian) and Student's t, on log diameter. [µm]
    computed
        The clear layer at each timing by the fit. [mm]
    """

    median: float
    low: float
    high: float
    spread: float
    timings: tuple[Timing, ...]
    computed: tuple[float, ...]

    @property
    def residuals(self) -> tuple[float, ...]:
        """Seen less computed. [mm]"""
        return tuple(t.millimetres - c for t, c in zip(self.timings, self.computed, strict=True))

    @property
    def typical_error(self) -> float:
        """Standard error of a reading: one number was fitted. [mm]"""
        return math.sqrt(sum(r * r for r in self.residuals) / (len(self.timings) - 1))

    def sentence(self) -> str:
        """The fit in words."""
        words = (
            f"Effective drop size {self.median:.3g} µm (95 % interval {self.low:.3g} to {self.high:.3g} µm, from the "
            f"slope of the model and Student's t, {len(self.timings)} readings, spread held at {self.spread:g}). "
            f"Readings lie {self.typical_error:.2g} mm off as a rule."
        )
        worst = max(self.residuals, key=abs)
        if abs(worst) > 2 * READING and abs(worst) > 0.1 * max(t.millimetres for t in self.timings):
            at = self.timings[self.residuals.index(worst)]
            words += (
                f" The one at {at.minutes:g} min is {worst:+.1f} mm off: drops that merge, or another spread, bend the "
                "curve in ways that one drop size cannot follow."
            )
        return words


#: How timings are typed: a line each.
TIMINGS = Rows(Timing, {"min": (-inf, inf), "mm": (-inf, inf)})


def fit_drop_size(shaken: Shaken, timings: Sequence[Timing], seen: Seen) -> DropFit:
    """Fit the middle drop size by least squares to timed heights of one clear layer.

    Everything else of ``shaken`` is held: which liquid is the drops, densities, viscosities and the spread. So the
    effective size also takes in what the model leaves out, such as drops that merge on the way.

    Parameters
    ----------
    seen
        Whether the clear lower or the clear upper layer was measured.

    Raises
    ------
    RangeError
        Fewer than three timings, times that are not above 0 or all equal, heights the bottle cannot show,
        readings that contradict one another, or none that still tells anything about the size.

    References
    ----------
    .. [1] G. A. F. Seber and C. J. Wild, Nonlinear Regression (1989), section 2.1: intervals from the Jacobian
       (from memory).
    """
    import numpy as np
    from scipy.special import stdtrit

    ordered = sorted(timings, key=lambda timing: timing.minutes)
    most = float(clearing(shaken, [1e15]).clear(seen)[0])
    _check(ordered, most, seen)
    seconds = np.array([60 * timing.minutes for timing in ordered])
    heights = np.array([timing.millimetres for timing in ordered])

    def model(log_size: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        sizes = replace(shaken.sizes, median=math.exp(log_size))
        return clearing(replace(shaken, sizes=sizes), seconds).clear(seen)

    def misfit(log_size: float) -> float:
        return float(((model(log_size) - heights) ** 2).sum())

    tried = [float(one) for one in np.linspace(math.log(SMALLEST), math.log(LARGEST), TRIED)]
    at = min(range(TRIED), key=lambda n: misfit(tried[n]))
    best = _least(misfit, tried[max(at - 1, 0)], tried[min(at + 1, TRIED - 1)])
    slope = (model(best + STEP) - model(best - STEP)) / (2 * STEP)
    steep = float((slope**2).sum())
    if steep < 1e-6 or not SMALLEST * 1.01 < math.exp(best) < LARGEST * 0.99:
        msg = (
            f"No drop size between {SMALLEST:g} and {LARGEST:g} µm explains these readings. Look whether the right "
            "layer is chosen, minutes are minutes, and the viscosities are right."
        )
        raise RangeError(msg)
    freedom = len(ordered) - 1
    error = math.sqrt(misfit(best) / freedom / steep)
    reach = float(stdtrit(freedom, 0.975)) * error
    low, high = (math.exp(min(max(best + side * reach, -20.0), 20.0)) for side in (-1, 1))
    computed = tuple(float(value) for value in model(best))
    return DropFit(math.exp(best), low, high, shaken.sizes.spread, tuple(ordered), computed)


def _least(misfit: Callable[[float], float], low: float, high: float) -> float:
    """Where a misfit is least between two ends, by the golden section; it falls and then rises there.

    One unknown needs no more than that, and SciPy's optimisers take 30 MB (J. Kiefer, "Sequential minimax search for
    a maximum", Proc. Am. Math. Soc. 4 (1953) 502-506, from memory).
    """
    inner, outer = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_inner, at_outer = misfit(inner), misfit(outer)
    while high - low > NARROW:
        if at_inner <= at_outer:
            high, outer, at_outer = outer, inner, at_inner
            inner = high - GOLDEN * (high - low)
            at_inner = misfit(inner)
        else:
            low, inner, at_inner = inner, outer, at_outer
            outer = low + GOLDEN * (high - low)
            at_outer = misfit(outer)
    return (low + high) / 2


def _check(timings: Sequence[Timing], most: float, seen: Seen) -> None:
    """Say in a sentence why these timings cannot be fitted, if they cannot."""
    if len(timings) < 3:
        msg = f"{len(timings)} of at least 3 readings: shake, then note the clear layer at three times or more."
        raise RangeError(msg)
    for timing in timings:
        if not timing.minutes > 0:
            msg = f"A reading at {timing.minutes:g} min: count the minutes from the end of shaking, above 0."
            raise RangeError(msg)
        if not 0 <= timing.millimetres <= most + 2 * READING:
            msg = (
                f"The clear {seen} layer was {timing.millimetres:g} mm at {timing.minutes:g} min, but in this bottle "
                f"it lies between 0 and {most:.1f} mm. Look at the bottle, the fill and which layer it was."
            )
            raise RangeError(msg)
    for before, after in pairwise(timings):
        if after.millimetres < before.millimetres - CONTRADICTION:
            msg = (
                f"These readings contradict one another: {before.millimetres:g} mm at {before.minutes:g} min, then "
                f"only {after.millimetres:g} mm at {after.minutes:g} min. A clear layer does not shrink; mend one."
            )
            raise RangeError(msg)
    if timings[0].minutes == timings[-1].minutes:
        msg = f"All readings are at {timings[0].minutes:g} min. Read at different times, from early to nearly clear."
        raise RangeError(msg)
    if all(timing.millimetres > most - READING for timing in timings):
        msg = f"Every reading has the final {most:.1f} mm, so the clearing itself was missed. Read earlier."
        raise RangeError(msg)
    if all(timing.millimetres <= 0 for timing in timings):
        msg = "Every reading is 0 mm, so nothing had cleared yet. Read later."
        raise RangeError(msg)
