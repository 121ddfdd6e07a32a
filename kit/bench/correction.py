"""What to add to a batch that was weighed wrong: only additions, for nothing can be taken out again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.bench.actual import actual
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.actual import ActualBatch
    from kit.bench.weighing import Batch

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
