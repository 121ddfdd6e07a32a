"""What actually went in: the percents a batch really has, how far off it is, and what to add to put it right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place, worst_first
from kit.formula.checks import check

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd

    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.limit import Limit


@dataclass(frozen=True, slots=True)
class ActualLine:
    """One line as it was weighed.

    Attributes
    ----------
    planned, weighed
        [g]
    percent_planned, percent
        On paper, and in the batch as it really is. [% w/w]
    is_weighed
        False while the plan stands in for a weighing that is still to come.
    """

    phase: int
    line: int
    material: str
    planned: float
    weighed: float
    percent_planned: float
    percent: float
    is_weighed: bool

    @property
    def off_grams(self) -> float:
        """Weighed less planned. [g]"""
        return self.weighed - self.planned

    @property
    def off_points(self) -> float:
        """Real percent less the percent on paper. [% w/w of the whole]"""
        return self.percent - self.percent_planned

    @property
    def off(self) -> float:
        """How far the real percent is from the one on paper. [% of the one on paper]"""
        if not self.percent_planned:
            return 0.0 if not self.weighed else float("inf")
        return 100.0 * self.off_points / self.percent_planned


@dataclass(frozen=True, slots=True)
class ActualBatch:
    """A batch as it was really weighed in.

    Attributes
    ----------
    mass
        All that is in the vessel, planned weighings included while they are still to come. [g]
    """

    batch: Batch
    lines: tuple[ActualLine, ...]
    mass: float

    @property
    def formula(self) -> Formula:
        """The formula that this batch really is."""
        planned = self.batch.formula
        real = {(one.phase, one.line): one.percent for one in self.lines}
        percents = tuple(
            tuple(real.get((p, i), 0.0) for i in range(len(phase.lines))) for p, phase in enumerate(planned.phases)
        )
        return replace(planned.with_percents(percents), written_for=None)

    @property
    def is_finished(self) -> bool:
        """Whether every line has been weighed."""
        return all(one.is_weighed for one in self.lines)

    def outside(self, tolerance: float | None = None) -> list[ActualLine]:
        """The lines whose real percent is off by more than the tolerance. [% of the percent on paper]"""
        allowed = self.batch.tolerance if tolerance is None else tolerance
        return [one for one in self.lines if abs(one.off) > allowed * (1 + 1e-9)]

    def check(self, materials: Materials, limits: Iterable[Limit], tolerance: float | None = None) -> list[Finding]:
        """Lines out of tolerance, then everything the checks say about the real percents, worst first."""
        allowed = self.batch.tolerance if tolerance is None else tolerance
        off = self.outside(allowed)
        found = [_off_finding(one, allowed) for one in off if one.is_weighed]
        waiting = [one for one in off if not one.is_weighed]
        found += (
            [_off_finding(one, allowed) for one in waiting] if len(waiting) == 1 else _still_to_weigh(waiting, allowed)
        )
        return worst_first([*found, *check(self.formula, materials, limits)])

    def table(self) -> pd.DataFrame:
        """The lines as a DataFrame."""
        import pandas as pd

        phases = self.batch.formula.phases
        return pd.DataFrame(
            {
                "phase": [phases[one.phase].name for one in self.lines],
                "ingredient": [one.material for one in self.lines],
                "planned g": [one.planned for one in self.lines],
                "weighed g": [one.weighed for one in self.lines],
                "off g": [one.off_grams for one in self.lines],
                "on paper % w/w": [one.percent_planned for one in self.lines],
                "really % w/w": [one.percent for one in self.lines],
                "off %": [one.off for one in self.lines],
            }
        )


def _off_finding(line: ActualLine, allowed: float) -> Finding:
    place = Place(line.phase, line.line, "weighed")
    if not line.percent_planned:
        sentence = f"{line.weighed:g} g of {line.material} went in, and the formula asks for none."
    else:
        word = "above" if line.off > 0 else "below"
        sentence = (
            f"{line.material} is really {line.percent:.4g} %, {abs(line.off):.3g} % {word} its "
            f"{line.percent_planned:.4g} %; you allow {allowed:g} %."
        )
    return Finding("caution", sentence, place, "your own tolerance")


def _still_to_weigh(waiting: Sequence[ActualLine], allowed: float) -> list[Finding]:
    """One finding for all lines that are still to come and would be off if they went in as planned."""
    if not waiting:
        return []
    worst = max(waiting, key=lambda one: abs(one.off))
    word = "above" if worst.off > 0 else "below"
    sentence = (
        f"{len(waiting)} lines are still to weigh. As planned, they would be up to {abs(worst.off):.3g} % {word} "
        f"their percents ({worst.material} most), because of what is in already; you allow {allowed:g} %."
    )
    return [Finding("caution", sentence, Place(field="weighed"), "your own tolerance", "still to weigh")]


def actual(batch: Batch, weighed: Sequence[float | None]) -> ActualBatch:
    """What a batch really is.

    Parameters
    ----------
    weighed
        What was weighed for each weighing of the batch, in its order; None where it is still to come, for
        which the plan stands in. [g]

    Raises
    ------
    RangeError
        Not one value for each weighing, a mass below 0 g, or nothing at all in the vessel.

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> [round(line.percent, 3) for line in actual(weigh(toner, "100 g"), [96.0, 5.0]).lines]
    [95.05, 4.95]
    """
    weighings = batch.weighings
    if len(weighed) != len(weighings):
        msg = f"This batch has {len(weighings)} weighings and {len(weighed)} masses were given. Give one for each."
        raise RangeError(msg)
    for one, mass in zip(weighings, weighed, strict=True):
        if mass is not None and not 0 <= mass < float("inf"):
            msg = f"{one.material}: a weighed mass of {mass:g} g cannot be. Give 0 g or more."
            raise RangeError(msg)
    masses = [one.target if mass is None else mass for one, mass in zip(weighings, weighed, strict=True)]
    total = sum(masses)
    if not total > 0:
        msg = "Nothing has been weighed into the vessel: all masses are 0 g."
        raise RangeError(msg)
    whole = sum(one.percent for one in weighings)
    lines = tuple(
        ActualLine(
            one.phase,
            one.line,
            one.material,
            one.target,
            mass,
            100.0 * one.percent / whole,
            100.0 * mass / total,
            entry is not None,
        )
        for one, mass, entry in zip(weighings, masses, weighed, strict=True)
    )
    return ActualBatch(batch, lines, total)


#: So little is rounding in the last binary digits, not an addition. [share of the batch]
HAIR = 1e-12


@dataclass(frozen=True, slots=True)
class Addition:
    """More of one line. [g]"""

    phase: int
    line: int
    material: str
    grams: float


@dataclass(frozen=True, slots=True)
class Correction:
    """What to add, and what the batch is then.

    Attributes
    ----------
    additions
        Only the lines that get more.
    mass
        Of the batch afterwards. [g]
    percents
        Of every weighing afterwards, in their order. [% w/w]
    """

    additions: tuple[Addition, ...]
    mass: float
    percents: tuple[float, ...]

    @property
    def added(self) -> float:
        """All additions together. [g]"""
        return sum(one.grams for one in self.additions)

    @property
    def sentence(self) -> str:
        """The correction in words."""
        if not self.additions:
            return "Nothing needs to be added."
        parts = ", ".join(f"{one.grams:.4g} g {one.material}" for one in self.additions)
        return f"Add {parts}: {self.added:.4g} g in all. The batch is then {self.mass:.5g} g."


def correction(batch: Batch, weighed: Sequence[float | None]) -> Correction:
    """The least addition that brings every line exactly back to its percent.

    Nothing can be taken out, so the batch grows until the line that is most above its share is right:
    every other line is brought up to the largest ratio of weighed to planned.

    Raises
    ------
    RangeError
        Something went in that the formula does not hold: no addition thins it away.

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> correction(weigh(toner, "100 g"), [96.0, 5.0]).sentence
    'Add 24 g Aqua: 24 g in all. The batch is then 125 g.'
    """
    real = actual(batch, weighed)
    shares = _shares(real)
    mass = max(line.weighed / share for line, share in zip(real.lines, shares, strict=True) if share)
    return _corrected(real, [share * mass for share in shares], mass)


def partial_correction(batch: Batch, weighed: Sequence[float | None], tolerance: float | None = None) -> Correction:
    """The least addition that brings every line within the tolerance of its percent.

    With M the mass afterwards and τ the tolerance, each line must hold between (1 - τ) and (1 + τ) of its
    share of M, and no less than it holds now. Both ask for a least M, found exactly: the first from the line
    most above its share, the second by walking up the masses at which one more line needs something. It never
    adds more than :func:`correction`.

    Parameters
    ----------
    tolerance
        Of each real percent; the batch's own where none is given. [% of the percent on paper]

    Raises
    ------
    RangeError
        A tolerance that is not from 0 to less than 100 %, or see :func:`correction`.

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> partial_correction(weigh(toner, "100 g"), [96.0, 5.0], tolerance=10).sentence
    'Add 12.64 g Aqua: 12.64 g in all. The batch is then 113.64 g.'
    """
    allowed = (batch.tolerance if tolerance is None else tolerance) / 100.0
    if not 0 <= allowed < 1:
        msg = f"The tolerance must be from 0 to less than 100 %, got {100 * allowed:g} %."
        raise RangeError(msg)
    real = actual(batch, weighed)
    shares = _shares(real)
    if allowed == 0:
        return correction(batch, weighed)
    held = [line.weighed for line in real.lines]
    for_the_rest = _least_mass([(1 - allowed) * share for share in shares], held)
    thinned = [grams / ((1 + allowed) * share) for grams, share in zip(held, shares, strict=True) if share]
    mass = max(for_the_rest, *thinned)
    wanted = [max(grams, (1 - allowed) * share * mass) for grams, share in zip(held, shares, strict=True)]
    rest = mass - sum(wanted)
    by_room = sorted(range(len(shares)), key=lambda n: wanted[n] - (1 + allowed) * shares[n] * mass)
    for n in by_room:
        more = min(max(rest, 0.0), max((1 + allowed) * shares[n] * mass - wanted[n], 0.0))
        wanted[n] += more
        rest -= more
    return _corrected(real, wanted, mass)


def _least_mass(least: Sequence[float], held: Sequence[float]) -> float:
    """The least M with Σ max(held, least × M) <= M, for least shares that add to less than 1. [g]"""
    order = sorted((n for n in range(len(held)) if least[n] > 0), key=lambda n: held[n] / least[n])
    fixed, rising = sum(held), 0.0
    for n in order:
        mass = fixed / (1 - rising)
        if mass <= held[n] / least[n]:
            return mass
        fixed, rising = fixed - held[n], rising + least[n]
    return max(fixed, 0.0) / (1 - rising)


def _shares(real: ActualBatch) -> list[float]:
    """Each line's share of the whole on paper; they add to 1."""
    for line in real.lines:
        if line.weighed > 0 and not line.percent_planned:
            msg = (
                f"{line.weighed:g} g of {line.material} went in, and the formula asks for none: "
                "no addition brings that back to 0 %. Keep the real percents as a version, or make the batch again."
            )
            raise RangeError(msg)
    return [line.percent_planned / 100.0 for line in real.lines]


def _corrected(real: ActualBatch, wanted: Sequence[float], mass: float) -> Correction:
    pairs = list(zip(real.lines, wanted, strict=True))
    additions = tuple(
        Addition(line.phase, line.line, line.material, grams - line.weighed)
        for line, grams in pairs
        if grams - line.weighed > HAIR * mass
    )
    percents = tuple(100.0 * max(grams, line.weighed) / mass for line, grams in pairs)
    return Correction(additions, mass, percents)
