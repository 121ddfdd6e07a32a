"""Weighed doses set against what was foretold: how far off, how sure that is, and whether the model is borne out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError
from kit.in_use.dispensers import SHAKINGS, Shaking
from kit.inputs import REQUIRED, Choice, Day, Number, Rows, Text, asked, refuse_unknown_words
from kit.iso_dates import today
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.dispensers import Kind
    from kit.in_use.dispensing import Dispensed

Verdict = Literal["borne out", "borne out, a little off", "not borne out", "cannot tell"]

#: Of an interval. [part]
LEVEL = 0.95
#: Fewer doses than this give no interval.
FEWEST = 3
#: A bias or drift of less is not worth a word (our own choice). [part of the tolerance]
WORTH = 0.1
#: Two ways are told apart where one lies so many times as far off (our own choice).
APART = 1.25
#: So little is rounding in the last binary digits. [part of the largest value]
DUST = 1e-12
SOURCE = (
    "Bias with Student's t: NIST/SEMATECH e-Handbook, 1.3.5.2; its drift: 4.1.4.1; borne out where the whole interval "
    "lies within the tolerance: D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657 (from memory)."
)


@dataclass(frozen=True, slots=True)
class Seen:
    """One dose and what was measured of it: its number from the first of the bottle, grams or percent."""

    dose: float
    value: float


GRAMS = Rows(Seen, {"dose": (1, 5000), "g": (0, 10_000)})
PERCENTS = Rows(Seen, {"dose": (1, 5000), "%": (0, 100)})
KINDS: dict[Kind, str] = {"pump": "pump", "spray": "spray", "disc-top": "disc-top", "dropper": "dropper"}


@dataclass(frozen=True, slots=True)
class WeighedDoses:
    """Doses of one bottle on the balance.

    Attributes
    ----------
    name
        What the series is called, such as "bottle 3".
    grams, percents
        Number of the dose and its mass; number and the share of the layer that is followed, where the maker let a
        dose part and weighed its layers. [g, % w/w]
    """

    name: str = asked("Series", Text("name"), REQUIRED, example="bottle 3", help="By which it is found again.")
    day: str = asked("Day", Day(), "", example="2026-03-14", help="Empty: today.")
    kind: Kind = asked("Dispenser", Choice(KINDS), "pump")
    shaking: Shaking = asked("Before each dose", Choice(SHAKINGS), "never")
    delay: float = asked("Waited", Number(0, 1e6), 10.0, unit="s", applies=lambda said: said["shaking"] == "waits")
    grams: tuple[Seen, ...] = asked(
        "Doses weighed", GRAMS, (), example="1 0.93", help="A line each: number of the dose, grams."
    )
    percents: tuple[Seen, ...] = asked(
        "Share of the oil layer", PERCENTS, (), example="1 0", help="A line each, where you let a dose part: number, %."
    )
    note: str = asked("Note")

    def __post_init__(self) -> None:
        refuse_unknown_words(self)
        for name in ("name", "note"):
            object.__setattr__(self, name, " ".join(getattr(self, name).split()))
        for name in ("grams", "percents"):
            object.__setattr__(self, name, tuple(sorted(getattr(self, name), key=lambda one: one.dose)))
        object.__setattr__(self, "day", self.day or today())
        if not self.name:
            msg = "Weighed doses need the name of their series, such as 'bottle 3'."
            raise EntryError(msg)
        if not self.grams:
            msg = "No dose is weighed yet: type a line for each, its number and its grams, such as 1 0.93."
            raise EntryError(msg)
        for rows, what in ((self.grams, "weighed"), (self.percents, "split")):
            numbers = [one.dose for one in rows]
            odd = next((n for n in numbers if n != int(n) or n < 1), None)
            if odd is not None:
                msg = f"Dose {odd:g} is no number of a dose: count them 1, 2, 3 from the first of the bottle."
                raise RangeError(msg)
            twice = next((n for n in numbers if numbers.count(n) > 1), None)
            if twice is not None:
                msg = f"Dose {twice:g} is {what} twice. Keep one of the two lines."
                raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Agreement:
    """What was measured against what was foretold.

    Attributes
    ----------
    unit
        "g" or "%".
    doses, seen, foretold
        Number of the dose, measured, computed.
    tolerance
        As far off as is no matter. [unit]
    bias, error, low, high
        Mean of measured − computed, its standard error and 95 % interval; without an interval below three doses.
        [unit]
    scatter
        Standard deviation of the single differences. [unit]
    drift, drift_low, drift_high
        How the difference changes from dose to dose, with its 95 % interval. [unit a dose]
    """

    unit: str
    doses: tuple[float, ...]
    seen: tuple[float, ...]
    foretold: tuple[float, ...]
    tolerance: float
    bias: float
    error: float | None = None
    low: float | None = None
    high: float | None = None
    scatter: float | None = None
    drift: float | None = None
    drift_low: float | None = None
    drift_high: float | None = None

    @property
    def residuals(self) -> tuple[float, ...]:
        """Measured − computed. [unit]"""
        return tuple(seen - told for seen, told in zip(self.seen, self.foretold, strict=True))

    @property
    def beyond(self) -> int:
        """How many doses lie farther off than is no matter."""
        return sum(abs(one) > self.tolerance for one in self.residuals)

    @property
    def verdict(self) -> Verdict:
        """Whether the model is borne out: by the interval of the bias, by single doses and by their drift."""
        if self.low is None or self.high is None:
            return "cannot tell"
        outside = self.low > self.tolerance or self.high < -self.tolerance
        if outside or 2 * self.beyond > len(self.doses):
            return "not borne out"
        within = -self.tolerance < self.low and self.high < self.tolerance
        if not within:
            return "cannot tell"
        if self.beyond or self.is_off or self.drifts:
            return "borne out, a little off"
        return "borne out"

    @property
    def drifts(self) -> bool:
        """Whether the difference surely grows or falls from dose to dose, by what is worth a word."""
        if self.drift is None or self.drift_low is None or self.drift_high is None:
            return False
        grown = abs(self.drift) * (max(self.doses) - min(self.doses))
        return not self.drift_low <= 0 <= self.drift_high and grown > WORTH * self.tolerance

    @property
    def is_off(self) -> bool:
        """Whether the bias is surely not nothing, and worth a word."""
        if self.low is None or self.high is None:
            return False
        return not self.low <= 0 <= self.high and abs(self.bias) > WORTH * self.tolerance

    def sentence(self) -> str:
        """Bias, interval and what follows, in words a maker reads."""
        what = {"g": "doses weighed", "%": "doses split"}[self.unit]
        of = f"{len(self.doses)} {what}"
        if self.low is None or self.high is None:
            need = FEWEST - len(self.doses)
            return (
                f"{of}: {self.bias:+.3g} {self.unit} off on average. {need} more would say how far that is to be "
                "trusted; the model is neither borne out nor refuted."
            )
        told = (
            f"{of}: on average {self.bias:+.3g} {self.unit} off what was computed "
            f"({self.low:+.3g} to {self.high:+.3g}, 95 %); single doses scatter by {self.scatter:.2g} {self.unit}."
        )
        return f"{told} {self._meaning()}"

    def _meaning(self) -> str:
        within = f"± {self.tolerance:.3g} {self.unit}"
        far = f"{self.beyond} of {len(self.doses)} lie farther off than {within}"
        grows = " The difference changes from dose to dose: something drifts that the model leaves out."
        if self.verdict == "not borne out":
            return f"The model is not borne out: {far if self.beyond else f'the bias lies beyond {within}'}." + (
                grows if self.drifts else ""
            )
        if self.verdict == "cannot tell":
            return f"The interval reaches beyond {within}, so this cannot tell yet: weigh more doses."
        if self.verdict == "borne out":
            return f"The model is borne out to within {within} for these doses."
        said = [f"The bias lies within {within}, so the model serves for these doses on average"]
        if self.beyond:
            said.append(f"but {far}")
        elif self.is_off:
            said.append("though it is surely not nothing")
        return ", ".join(said) + "." + (grows if self.drifts else "")


@sound()
def agreement(
    doses: Sequence[float], seen: Sequence[float], foretold: Sequence[float], tolerance: float, unit: str = "g"
) -> Agreement:
    """Set measured doses against computed ones.

    Parameters
    ----------
    doses
        Their numbers.
    seen, foretold
        Measured and computed, both in ``unit``.

    Raises
    ------
    RangeError
        No dose, lists of different lengths, or a tolerance of 0 or less.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2, confidence limits for the mean; 4.1.4.1, linear
       least squares.
    .. [2] D. J. Schuirmann, "A comparison of the two one-sided tests procedure and the power approach for assessing
       the equivalence of average bioavailability", J. Pharmacokinet. Biopharm. 15 (1987) 657-680 (from memory).

    Examples
    --------
    >>> found = agreement([1, 2, 3, 4], [1.01, 0.99, 1.02, 0.98], [1.0, 1.0, 1.0, 1.0], 0.05)
    >>> found.verdict, f"{found.low:+.3f} to {found.high:+.3f}"
    ('borne out', '-0.029 to +0.029')
    """
    count = len(doses)
    if not count or not count == len(seen) == len(foretold):
        msg = f"Give as many doses as measured and computed values, one at least; got {count}, {len(seen)} and "
        msg += f"{len(foretold)}."
        raise RangeError(msg)
    if not tolerance > 0:
        msg = f"Say how far off is no matter: more than 0 {unit}, got {tolerance:g}."
        raise RangeError(msg)
    given = (unit, tuple(doses), tuple(seen), tuple(foretold), tolerance)
    residuals = [s - t for s, t in zip(seen, foretold, strict=True)]
    bias = math.fsum(residuals) / count
    if abs(bias) <= DUST * max(map(abs, seen)):
        bias = 0.0
    if count < FEWEST:
        return Agreement(*given, bias)
    from scipy.special import stdtrit

    scatter = math.sqrt(math.fsum((one - bias) ** 2 for one in residuals) / (count - 1))
    error = scatter / math.sqrt(count)
    reach = float(stdtrit(count - 1, (1 + LEVEL) / 2)) * error
    middle = math.fsum(doses) / count
    spread = math.fsum((n - middle) ** 2 for n in doses)
    ends = (bias, error, bias - reach, bias + reach, scatter)
    if not spread > 0:
        return Agreement(*given, *ends)
    slope = math.fsum((n - middle) * (one - bias) for n, one in zip(doses, residuals, strict=True)) / spread
    off = math.fsum((r - bias - slope * (n - middle)) ** 2 for n, r in zip(doses, residuals, strict=True))
    wide = float(stdtrit(count - 2, (1 + LEVEL) / 2)) * math.sqrt(off / (count - 2) / spread)
    return Agreement(*given, *ends, slope, slope - wide, slope + wide)


def against(run: Dispensed, weighed: WeighedDoses, tolerance: float) -> list[Agreement]:
    """Weighed doses, and split ones where there are such, against a bottle as computed.

    Parameters
    ----------
    tolerance
        As far off as is no matter: of the mass of a whole dose, and of a share. [%, % points]

    Raises
    ------
    RangeError
        A dose that the bottle does not give.
    """
    found = []
    for rows, told, unit in ((weighed.grams, run.masses, "g"), (weighed.percents, run.percents, "%")):
        if not rows:
            continue
        last = max(one.dose for one in rows)
        if last > len(told):
            msg = (
                f"Dose {last:g} is measured, but by the model the bottle gives {len(told)}. Look at the dose, the end "
                "of the tube and the fill."
            )
            raise RangeError(msg)
        numbers = [one.dose for one in rows]
        foretold = [told[int(n) - 1] for n in numbers]
        scale = sum(run.masses) / sum(run.volumes) * run.dispenser.dose / 100 if unit == "g" else 1.0
        found.append(agreement(numbers, [one.value for one in rows], foretold, tolerance * scale, unit))
    return found


def root_mean_square(run: Dispensed, weighed: WeighedDoses) -> float:
    """How far the weighed doses lie from a bottle as computed, as a rule; infinite where it gives fewer doses. [g]

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 4.4.4, residuals as the measure of a model
       (the number of the section from memory).
    """
    if max(one.dose for one in weighed.grams) > len(run.masses):
        return math.inf
    squares = [(one.value - run.masses[int(one.dose) - 1]) ** 2 for one in weighed.grams]
    return math.sqrt(math.fsum(squares) / len(squares))


def nearest_words(runs: Sequence[Dispensed], weighed: WeighedDoses) -> str:
    """Which of several ways to treat the same bottle the weighed doses lie nearest to; empty where there is but one.

    Two ways are told apart only where the farther lies a quarter farther off, a threshold of our own.
    """
    found = sorted((root_mean_square(run, weighed), run.manner.words) for run in runs)
    if len(found) < 2:
        return ""
    told = "; ".join(f"{words} {off:.2g} g" for off, words in found if math.isfinite(off))
    said = f"Off as a rule (root mean square), had the bottle been: {told}. "
    if found[1][0] > APART * found[0][0]:
        return f"{said}The weights lie nearest to '{found[0][1]}'."
    return f"{said}By these weights alone the ways can hardly be told apart: let doses part, and type their shares."
