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
    from collections.abc import Sequence

    from kit.layers.separation import Seen
    from kit.layers.shaken import Shaken

#: A ruler beside a bottle reads to about this (common practice). [mm]
READING = 1.0
#: A clear layer does not shrink: one that does by more than this contradicts the others. [mm]
CONTRADICTION = 3.0
#: The sizes that are tried before the fit. [µm]
SMALLEST, LARGEST, TRIED = 1.0, 5000.0, 80


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
    from scipy.optimize import least_squares
    from scipy.special import stdtrit

    ordered = sorted(timings, key=lambda timing: timing.minutes)
    most = float(clearing(shaken, [1e15]).clear(seen)[0])
    _check(ordered, most, seen)
    seconds = np.array([60 * timing.minutes for timing in ordered])
    heights = np.array([timing.millimetres for timing in ordered])

    def model(log_size: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        sizes = replace(shaken.sizes, median=math.exp(log_size))
        return clearing(replace(shaken, sizes=sizes), seconds).clear(seen)

    tried = np.linspace(math.log(SMALLEST), math.log(LARGEST), TRIED)
    start = min(tried, key=lambda x: float(((model(x) - heights) ** 2).sum()))
    found = least_squares(
        lambda x: model(float(x[0])) - heights,
        [float(start)],
        bounds=([math.log(SMALLEST)], [math.log(LARGEST)]),
        diff_step=1e-5,
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
    )
    best, steep = float(found.x[0]), float((found.jac**2).sum())
    if steep < 1e-6 or not SMALLEST * 1.01 < math.exp(best) < LARGEST * 0.99:
        msg = (
            f"No drop size between {SMALLEST:g} and {LARGEST:g} µm explains these readings. Look whether the right "
            "layer is chosen, minutes are minutes, and the viscosities are right."
        )
        raise RangeError(msg)
    freedom = len(ordered) - 1
    error = math.sqrt(float((found.fun**2).sum()) / freedom / steep)
    reach = float(stdtrit(freedom, 0.975)) * error
    low, high = (math.exp(min(max(best + side * reach, -20.0), 20.0)) for side in (-1, 1))
    computed = tuple(float(value) for value in model(best))
    return DropFit(math.exp(best), low, high, shaken.sizes.spread, tuple(ordered), computed)


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
