"""The law of parting fitted to what a maker timed, with the region of all curves that explain it about as well.

Two stages follow one another. While drops still settle through the bottle, the clear layer grows at one speed: hindered
settling. When the last of them lie close on the line, the rest clears as fast as they merge, and what is left of the
mixed layer halves in equal times. The kit joins the stages without a kink, so two numbers tell it all: the speed, and
the part of the way that was settling. At one end stands hindered settling alone, at the other merging alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.layers.shaken_product import time_words
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    from kit.in_use.parting_trial import Reading

    Array = npt.NDArray[np.float64]

#: A reading of a ruler in whole millimetres errs by this at least: half a millimetre either way, rectangular. [mm]
LEAST_ERROR = 0.5 / math.sqrt(3)
#: No reading stands farther above the height at which its layer ends. [mm]
TOO_HIGH = 2.0
#: So much of the way counts as parted. [-]
PARTED = 0.95
#: How many speeds, parts and final heights are looked at, and how far around the best. [times]
SPEEDS, PARTS, HEIGHTS, AROUND, TALLER = 161, 41, 21, 40.0, 2.0
#: So far around the best it is looked at first. [times] Over what was found there, so many finer nets are laid.
NEAR, FINER = 1.25, 2
#: From so many final heights the closest fit is looked for.
STARTS = 5
#: More curves than this are thinned out evenly before the band is drawn.
MOST_CURVES = 4000
SOURCE = (
    "Settling: Richardson and Zaki (1954), Kynch (1952). Merging, its rate with what is left: Hartland and Jeelani, "
    "Chem. Eng. Sci. 43 (1988) 2421; Jeelani and Hartland, Ind. Eng. Chem. Res. 37 (1998) 547 (both from memory). That "
    "the stages join without a kink is our choice. Band: Beale, J. R. Stat. Soc. B 22 (1960) 41 (from memory)."
)


@dataclass(frozen=True, slots=True)
class PartingLaw:
    """A clear layer as it grows.

    Attributes
    ----------
    final
        Its height when all has parted. [mm]
    speed
        At which it grows at first. [mm/s]
    settling
        The part of the final height that is reached while drops settle; the rest clears by merging. [0 to 1]

    Examples
    --------
    >>> law = PartingLaw(final=40.0, speed=0.5, settling=0.5)
    >>> law.height(40.0), law.time_until(0.5), round(law.height(law.time_until(0.95)), 9)
    (20.0, 40.0, 38.0)
    """

    final: float
    speed: float
    settling: float

    def __post_init__(self) -> None:
        refuse_odd_fields(self)
        if not (self.final > 0 and self.speed > 0 and 0 <= self.settling <= 1):
            msg = (
                f"A clear layer needs a final height and a speed above 0 and a part that settles from 0 to 1, got "
                f"{self.final:g} mm, {self.speed:g} mm/s and {self.settling:g}."
            )
            raise RangeError(msg)

    @property
    def turn(self) -> float:
        """When settling is over and the rest clears by merging. [s]"""
        return self.settling * self.final / self.speed

    @property
    def merging(self) -> float:
        """In which time the mixed rest shrinks to 1/e; 0 where nothing is left for it. [s]"""
        return (1 - self.settling) * self.final / self.speed

    def height(self, second: float) -> float:
        """How high the clear layer stands. [s → mm]"""
        return float(_heights(self.final, self.speed, self.settling, second))

    def time_until(self, part: float) -> float:
        """When so much of the final height is clear. [0 to 1, 1 excluded → s]

        Raises
        ------
        RangeError
            A part outside that: by merging, the last of it takes for ever.
        """
        if not 0 <= part < 1:
            msg = f"Choose a part of the final height from 0 to below 1, such as {PARTED:g}, not {part:g}."
            raise RangeError(msg)
        return float(_times_until(self.final, self.speed, self.settling, part))


@dataclass(frozen=True)
class PartingFit:
    """The law fitted to readings, and every law that explains them about as well.

    Attributes
    ----------
    law
        The best one, by least squares.
    readings, computed
        What was read and what the law says. [mm]
    parted, parted_low, parted_high
        When 95 % of the clear layer is there, and the ends of the 95 % region; infinite where it has none. [s]
    speed_low, speed_high
        The ends for the speed. [mm/s]
    final_known
        Whether the final height was given, rather than fitted too.
    """

    law: PartingLaw
    readings: tuple[Reading, ...]
    computed: tuple[float, ...]
    parted: float
    parted_low: float
    parted_high: float
    speed_low: float
    speed_high: float
    final_known: bool
    trials: int
    region: tuple[tuple[float, float, float], ...]

    @property
    def residuals(self) -> tuple[float, ...]:
        """Read less computed. [mm]"""
        return tuple(one.millimetres - c for one, c in zip(self.readings, self.computed, strict=True))

    @property
    def typical_error(self) -> float:
        """Standard error of a reading. [mm]"""
        freedom = len(self.readings) - (2 if self.final_known else 3)
        return math.sqrt(sum(r * r for r in self.residuals) / freedom)

    def band(self, seconds: Sequence[float] | Array) -> tuple[Array, Array]:
        """The lowest and the highest clear layer in the region, at each time. [s → mm, mm]"""
        import numpy as np

        final, speed, settling = np.array(self.region).T[..., np.newaxis]
        heights = _heights(final, speed, settling, np.asarray(seconds, dtype=np.float64))
        return heights.min(axis=0), heights.max(axis=0)

    def sentence(self) -> str:
        """The fit in words."""
        of = f"{self.trials} trials" if self.trials > 1 else "one trial"
        words = (
            f"By {len(self.readings)} readings of {of}, 95 % of the clear layer is there after "
            f"{time_words(self.parted)} (95 % region {_span(self.parted_low, self.parted_high)}). "
            f"It grows at {self.law.speed:.2g} mm/s at first; {_stages(self.law)} "
            f"Readings lie {self.typical_error:.2g} mm off as a rule."
        )
        if self.trials == 1:
            words += " One trial tells nothing of how much the next one differs."
        else:
            words += (
                " The region takes each reading for itself; where trials differ as wholes it is too narrow, and the "
                "times at which they parted tell more."
            )
        if not self.final_known:
            words += " The final height was fitted too; a bottle that parted to the end tells it better."
        worst = max(self.residuals, key=abs)
        if abs(worst) > 2 and abs(worst) > 0.1 * self.law.final:
            at = self.readings[self.residuals.index(worst)].seconds
            words += f" The reading at {at:g} s is {worst:+.1f} mm off: look whether it, or the trial, is another case."
        return words


def _stages(law: PartingLaw) -> str:
    if law.settling > 0.97:
        return "nothing of the merging shows, the drops only settle."
    if law.settling < 0.03:
        return f"from the start it clears as drops merge, the rest by half in every {time_words(half(law))}."
    return f"from {time_words(law.turn)} on drops merge, and the rest clears by half in every {time_words(half(law))}."


def half(law: PartingLaw) -> float:
    """In which time the mixed rest halves while drops merge. [s]"""
    return law.merging * math.log(2)


def _span(low: float, high: float) -> str:
    if math.isinf(high):
        return f"{time_words(low)} and no upper end" if low > 0 else "open at both ends"
    return f"{time_words(low)} to {time_words(high)}"


def fit_parting(readings: Sequence[Reading], final: float | None = None, trials: int = 1) -> PartingFit:
    """Fit the law of parting to heights of one clear layer, from one trial or from several of one variant.

    The band is a region, not a bell: it holds every law whose sum of squares is no more than 1 + p/(n - p) F times the
    least (Beale), so it needs no straight line near the best, and has no upper end where the readings give none. No
    reading is taken for better than a ruler's half millimetre.

    Parameters
    ----------
    final
        Height of this layer when all has parted, by the bottle and the formula; None: fitted too. [mm]
    trials
        From how many trials the readings are.

    Raises
    ------
    RangeError
        Fewer readings than the law needs (three, or four without a final height), all at one time, a height above the
        final one, or nothing that clears.

    References
    ----------
    .. [1] J. F. Richardson, W. N. Zaki, Trans. Inst. Chem. Eng. 32 (1954) 35-53; G. J. Kynch, Trans. Faraday Soc. 48
       (1952) 166-176: one speed while drops settle evenly.
    .. [2] S. Hartland, S. A. K. Jeelani, Chem. Eng. Sci. 43 (1988) 2421-2429; S. A. K. Jeelani, S. Hartland, Ind. Eng.
       Chem. Res. 37 (1998) 547-554: merging in proportion to the drops that lie on the line, from the moment when the
       last has settled (from memory; that moment is named in Chem. Eng. Technol. (2004), doi:10.1002/ceat.200401884).
    .. [3] E. M. L. Beale, "Confidence regions in non-linear estimation", J. R. Stat. Soc. B 22 (1960) 41-88 (from
       memory).
    """
    import numpy as np
    from scipy.special import fdtri

    kept = tuple(sorted((one for one in readings if one.seconds > 0), key=lambda one: one.seconds))
    unknown = 2 if final is not None else 3
    _check(kept, unknown, final)
    seconds = np.array([one.seconds for one in kept])
    heights = np.array([one.millimetres for one in kept])
    best = _best(seconds, heights, final)
    computed = _heights(*best, seconds)
    least, freedom = float(((computed - heights) ** 2).sum()), len(kept) - unknown
    error = max(least / freedom, LEAST_ERROR**2)
    most = least + unknown * error * float(fdtri(unknown, freedom, 0.95))
    region, is_open = _region(seconds, heights, best, final, most)
    final_heights, speeds, parts = region.T
    times = _times_until(final_heights, speeds, parts, PARTED)
    law = PartingLaw(*best)
    return PartingFit(
        law=law,
        readings=kept,
        computed=tuple(float(c) for c in computed),
        parted=law.time_until(PARTED),
        parted_low=float(times.min()),
        parted_high=math.inf if is_open else float(times.max()),
        speed_low=float(speeds.min()),
        speed_high=float(speeds.max()),
        final_known=final is not None,
        trials=trials,
        region=tuple((a, b, c) for a, b, c in region[:: len(region) // MOST_CURVES + 1].tolist()),
    )


def _heights(final: object, speed: object, settling: object, seconds: object) -> Array:
    """The clear layer of laws at times; arrays are stretched over one another. [mm]"""
    import numpy as np

    full, pace, part, t = (np.asarray(one, dtype=np.float64) for one in (final, speed, settling, seconds))
    rest = (1 - part) * full
    turn = part * full / pace
    late = np.maximum(t - turn, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        gone = np.where(rest > 0, np.exp(-late * pace / rest), 0.0)
    return np.where(t <= turn, np.minimum(pace * t, full), full - rest * gone)


def _times_until(final: object, speed: object, settling: object, part: float) -> Array:
    """When laws have so much of their final height clear; arrays are stretched over one another. [s]"""
    import numpy as np

    full, pace, settled = (np.asarray(one, dtype=np.float64) for one in (final, speed, settling))
    left = np.log(np.maximum((1 - settled) / (1 - part), 1.0))  # nothing is merged before the drops have settled
    return np.asarray(full / pace * (np.minimum(settled, part) + (1 - settled) * left))


def _best(seconds: Array, heights: Array, final: float | None) -> tuple[float, float, float]:
    """The law of the least squares: looked for on a grid, then closer. [mm, mm/s, -]"""
    import numpy as np
    from scipy.optimize import least_squares

    start = float(max(heights.max(), 1.0))
    lowest = max(start - TOO_HIGH, start / 2)  # the highest reading of several stands above where the layer ends
    finals = np.array([final]) if final is not None else np.geomspace(lowest, start * TALLER, HEIGHTS)
    slope = float((heights / seconds).max())
    grid = _grid(finals, slope * np.geomspace(1 / AROUND, AROUND, SPEEDS), np.linspace(0, 1, PARTS))
    sums = _sums(grid, seconds, heights)

    def model(x: Array) -> Array:
        full = final if final is not None else math.exp(x[2])
        return _heights(full, math.exp(x[0]), x[1], seconds) - heights

    free = final is None
    low = [-30.0, 0.0, *([math.log(lowest) - 1e-9] if free else [])]
    high = [30.0, 1.0, *([math.log(10 * start)] if free else [])]
    each = sums.reshape(len(finals), -1)
    found = []
    for row in np.argsort(each.min(axis=1))[:STARTS]:  # a kink can hide the best from one start alone
        first = grid[row * each.shape[1] + int(each[row].argmin())]
        origin = np.array([math.log(first[1]), first[2], *([math.log(first[0])] if free else [])])
        inside = np.clip(origin, np.array(low) + 1e-6, np.array(high) - 1e-6)
        found.append(least_squares(model, inside, bounds=(low, high), xtol=1e-12, ftol=1e-12, gtol=1e-12))
    x = min(found, key=lambda one: float(one.cost)).x
    return (final if final is not None else math.exp(x[2]), math.exp(x[0]), float(np.clip(x[1], 0.0, 1.0)))


def _grid(finals: Array, speeds: Array, parts: Array) -> Array:
    """Every law of these final heights, speeds and parts that settle, a row each. [mm, mm/s, -]"""
    import numpy as np

    mesh = np.meshgrid(finals, speeds, parts, indexing="ij")
    return np.stack([one.ravel() for one in mesh], axis=1)


def _sums(grid: Array, seconds: Array, heights: Array) -> Array:
    """The sum of squares of each law. [mm²]"""
    import numpy as np

    final, speed, settling = grid.T[..., np.newaxis]
    computed = _heights(final, speed, settling, seconds)
    return np.asarray(((computed - heights) ** 2).sum(axis=1))


def _region(
    seconds: Array, heights: Array, best: tuple[float, float, float], final: float | None, most: float
) -> tuple[Array, bool]:
    """The laws within the sum of squares, a row each and the best first, and whether they go on beyond the widest net.

    The net around the best grows where laws within it touch its edge, for the final height and for the speed each by
    itself: wide meshes in both let a narrow valley slip through. Then finer nets are laid over what was found.
    """
    import numpy as np

    free = final is None
    counts = (HEIGHTS, SPEEDS // 2, PARTS) if free else (1, SPEEDS, PARTS)
    centre, most_around = np.log(best[:2]), np.log([TALLER if free else 1.0, AROUND])
    around, region = np.log([NEAR if free else 1.0, NEAR]), np.array([best])

    def net(low: Array, high: Array) -> Array:
        """What lies within, in a net over a box of log mm, log mm/s and the part that settles."""
        lines = [np.linspace(*ends) for ends in zip(low, high, counts, strict=True)]
        grid = _grid(np.exp(lines[0]) if free else np.array([final]), np.exp(lines[1]), lines[2])
        return grid[_sums(grid, seconds, heights) <= most]

    while True:
        region = np.vstack([region, net(np.append(centre - around, 0.0), np.append(centre + around, 1.0))])
        off = np.log(region[:, :2]) - centre
        touched = np.abs(off).max(axis=0) >= around - 1e-9
        wider = touched & (around < most_around)
        if not wider.any():
            break
        around = np.where(wider, np.minimum(2 * around, most_around), around)
    is_open = bool(touched[1] or (free and off[:, 0].max() >= around[0] - 1e-9))
    mesh = np.append(2 * around, 1.0) / np.maximum(np.array(counts) - 1, 1)
    for _ in range(FINER):
        box = np.column_stack([np.log(region[:, :2]), region[:, 2]])
        low, high = box.min(axis=0) - mesh, box.max(axis=0) + mesh
        low[2], high[2] = max(low[2], 0.0), min(high[2], 1.0)
        region = np.vstack([region, net(low, high)])
        mesh = (high - low) / np.maximum(np.array(counts) - 1, 1)
    return region, is_open


def _check(readings: Sequence[Reading], unknown: int, final: float | None) -> None:
    """Say in a sentence why these readings cannot be fitted, if they cannot."""
    if len(readings) <= unknown:
        msg = (
            f"{len(readings)} of at least {unknown + 1} readings after the start. Note the clear layer more often: "
            "soon after shaking, midway, and when it hardly grows."
        )
        raise RangeError(msg)
    if len({one.seconds for one in readings}) < unknown:
        msg = f"The readings are at fewer than {unknown} different times. Read early, midway and late."
        raise RangeError(msg)
    top = max(one.millimetres for one in readings)
    if not top > 0:
        msg = "Every reading is 0 mm, so nothing had cleared yet. Read later."
        raise RangeError(msg)
    if final is not None and top > final + TOO_HIGH:
        msg = (
            f"A reading of {top:g} mm is above {final:.1f} mm, where this layer ends in the bottle in hand. Look at "
            "the bottle, the fill and which layer it was."
        )
        raise RangeError(msg)
    if all(b.millimetres <= a.millimetres for a, b in pairwise(readings)) and final is None:
        msg = "The clear layer does not grow in these readings, so the parting itself was missed. Read earlier."
        raise RangeError(msg)
