"""Batch: a formula at a mass, with what to weigh on the balance at hand and how wrong each weighing can be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from math import inf
from typing import TYPE_CHECKING

from kit.bench.balance import HAIR, Balance
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.formula.model import require_complete
from kit.frames import frame
from kit.rounding import decimal_places, one_two_five_down, round_to_step, round_with_rest
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd

    from kit.formula.model import Formula

USP_41 = "USP general chapter 41, with the tolerance chosen here"

#: The matter of the finding about weighings that are small for the balance.
SMALL = "small weighings"
#: That of the finding about lines of which the balance shows nothing.
LOST = "lost weighings"
#: A batch beyond this is no advice for a small maker: one tonne. [g]
MOST = 1e6
#: A batch so many times as large as the one in hand is no advice: a stock of the line is named instead. [times]
FAR = 20.0
#: A stock that would be more of the batch than this is no way out. [share]
MOST_OF_BATCH = 0.5
#: A stock below the first is no way out, and one below the second is thinned from another (judgements). [% w/w]
LEAST_STOCK, IN_STEPS = 1e-4, 0.1


@dataclass(frozen=True, slots=True)
class Weighing:
    """One line of a batch.

    Attributes
    ----------
    percent
        On paper. [% w/w]
    target
        Exact mass. [g]
    grams
        What to weigh, a multiple of the balance's readability. [g]
    balance
        On which it is weighed: of those at hand, the one that is suited to it.
    """

    phase: int
    line: int
    material: str
    percent: float
    target: float
    grams: float
    balance: Balance

    @property
    def text(self) -> str:
        """What to weigh, with the places that its balance shows. [g]"""
        return f"{self.grams:.{decimal_places(self.balance.readability)}f}"

    @property
    def rounding_error(self) -> float:
        """How far rounding moves this line. [% of its target]"""
        return 100.0 * (self.grams - self.target) / self.target if self.target else 0.0


@dataclass(frozen=True, slots=True)
class Batch:
    """A formula at a mass.

    Attributes
    ----------
    mass
        What is made; the weighings add to it. [g]
    tolerance
        What the maker allows a weighing to be off. [% of the mass weighed]
    """

    formula: Formula
    mass: float
    balance: Balance
    tolerance: float
    weighings: tuple[Weighing, ...]

    @property
    def step(self) -> float:
        """The smallest step in which a line is weighed. [g]"""
        return min((w.balance.readability for w in self.weighings), default=self.balance.readability)

    @property
    def places(self) -> int:
        """Decimal places that show every weighing and their sum."""
        return max(decimal_places(w.balance.readability) for w in self.weighings)

    @property
    def apart(self) -> bool:
        """Whether lines are weighed on several balances."""
        return len({w.balance for w in self.weighings}) > 1

    def phase_grams(self, phase: int) -> float:
        """What the lines of one phase add to. [g]"""
        return round_to_step(sum(w.grams for w in self.weighings if w.phase == phase), self.step)

    @property
    def small(self) -> tuple[Weighing, ...]:
        """The weighings that the balance cannot keep within the tolerance."""
        return tuple(w for w in self.weighings if 0 < w.target < w.balance.least_weight(self.tolerance) * (1 - HAIR))

    @property
    def findings(self) -> list[Finding]:
        """Weighings too small for the balance, all in one, and a batch too heavy for it."""
        found = []
        if small := self.small:
            one = small[0]
            place = Place(one.phase, one.line, "grams") if len(small) == 1 else Place(field="mass")
            found.append(Finding("caution", small_in_words(self, small), place, USP_41, SMALL))
        heaviest = max(self.weighings, key=lambda w: w.grams, default=None)
        if heaviest and heaviest.grams > heaviest.balance.capacity:
            found.append(
                Finding(
                    "caution",
                    f"{heaviest.grams:g} g is more than the balance carries, {heaviest.balance.capacity:g} g with the "
                    "vessel. Weigh it in parts.",
                    Place(field="mass"),
                )
            )
        return found

    @property
    def lost(self) -> list[Finding]:
        """That the balance shows nothing of a line, which would be left out; whichever balance it is."""
        gone = [w for w in self.weighings if w.target > 0 and w.grams == 0]
        if not gone:
            return []
        named = ", ".join(f"{w.target:.2g} g of {w.material}" for w in gone)
        sentence = (
            f"Nothing to {self.balance.words}: {named}. Weighed so, "
            f"{'they are' if len(gone) > 1 else 'it is'} left out. Make a bigger batch, weigh "
            f"{'them as stocks' if len(gone) > 1 else 'it as a stock'}, or use a finer balance."
        )
        place = Place(gone[0].phase, gone[0].line, "grams") if len(gone) == 1 else Place(field="mass")
        return [Finding("caution", sentence, place, USP_41, LOST)]

    def sound_from(self, weighing: Weighing) -> float:
        """The batch from which on one weighing keeps within the tolerance, two digits of it, upwards. [g]

        Infinite where it is more than a tonne.
        """
        enough = self.mass * weighing.balance.least_weight(self.tolerance) / weighing.target
        if not enough < MOST:
            return inf
        return _round_up(enough, self.balance.readability)

    def table(self) -> pd.DataFrame:
        """The weighing table as a DataFrame."""
        phases = self.formula.phases
        return frame(
            {
                "phase": [phases[w.phase].name for w in self.weighings],
                "ingredient": [w.material for w in self.weighings],
                "percent w/w": [w.percent for w in self.weighings],
                "target g": [w.target for w in self.weighings],
                "weigh g": [w.grams for w in self.weighings],
                "rounding %": [w.rounding_error for w in self.weighings],
                **({"balance reads g": [w.balance.readability for w in self.weighings]} if self.apart else {}),
            }
        )


def weigh(formula: Formula, mass: object, balance: Balance | None = None, tolerance: float = 1.0) -> Batch:
    """What to weigh for a batch.

    Parameters
    ----------
    mass
        Of the batch: "250 g" or a pint quantity.
    tolerance
        What a weighing may be off. [% of the mass weighed]

    Raises
    ------
    RangeError
        The formula is not complete, or the mass is below one step of the balance.
    UnitError
        The mass has no unit, or not one of mass.

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    >>> [weighing.grams for weighing in weigh(toner, "250 g").weighings]
    [242.5, 7.5]
    """
    percents = require_complete(formula, "weighed")
    balance = balance or Balance()
    wanted = magnitude(mass, "g", name="batch mass")
    total = round_to_step(wanted, balance.readability) if wanted > 0 else 0.0
    if not total > 0:
        msg = f"A batch of {wanted:g} g is less than one step of the balance, {balance.readability:g} g. Make more."
        raise RangeError(msg)
    lines = [(p, i, line, percents[p][i]) for p, i, line, _ in formula.each_line() if not line.is_blank]
    whole = round(sum(percent for *_, percent in lines), 9)
    targets = [percent * total / whole for *_, percent in lines]
    used = [balance.suited([target], tolerance) for target in targets]
    if len({*used}) > 1:  # their steps differ, so the batch is what they add to
        rounded = [round_to_step(target, one.readability) for target, one in zip(targets, used, strict=True)]
    else:
        rounded = round_with_rest(targets, used[0].readability)
    weighings = tuple(
        Weighing(p, i, line.material, percent, target, grams, one)
        for (p, i, line, percent), target, grams, one in zip(lines, targets, rounded, used, strict=True)
    )
    made = Batch(formula, total, balance, tolerance, weighings)
    return replace(made, mass=round_to_step(sum(rounded), made.step)) if made.apart else made


def small_in_words(batch: Batch, small: Sequence[Weighing]) -> str:
    """Which weighings are small, from which batch on they are sound, and the stock for those far too small."""
    finest = min((w.balance for w in small), key=lambda one: one.scatter)
    step, least = finest.readability, finest.least_weight(batch.tolerance)
    rule = f"below {least:.3g} g it can be off by more than {batch.tolerance:g} %"
    far = [w for w in small if batch.sound_from(w) > FAR * batch.mass]
    stocks = " ".join(_as_stock(batch, w, least) for w in far)
    if len(small) == 1:
        (one,) = small
        said = f"{_mass(one, step)} of {one.material} is small for a balance that reads {step:g} g: {rule}."
        if far:
            return f"{said} {stocks}"
        return f"{said} Make {batch.sound_from(one):.10g} g or more, weigh it as a stock, or use a finer balance."
    named = ", ".join(
        f"{w.material} {_mass(w, step)}" + ("" if w in far else f" (sound from {batch.sound_from(w):.10g} g)")
        for w in small
    )
    said = f"{len(small)} lines are small for a balance that reads {step:g} g ({rule}): {named}."
    more = "Make a batch so large, weigh them" if len(far) < len(small) else "Weigh them"
    return " ".join(filter(None, [said, f"{more} as stocks, or use a finer balance.", stocks]))


def _mass(weighing: Weighing, step: float) -> str:
    """What is to be weighed; where the balance would show nothing, what is needed."""
    return f"{weighing.grams:g} g" if weighing.grams >= step else f"{weighing.target:.2g} g"


def _as_stock(batch: Batch, weighing: Weighing, least: float) -> str:
    """The stock by which a line is weighed that no batch in reach would make weighable."""
    strength = one_two_five_down(100.0 * weighing.target / least)
    use = 100.0 * weighing.target / strength
    if use > MOST_OF_BATCH * batch.mass or strength < LEAST_STOCK:
        return f"{weighing.material}: not even a stock helps in a batch so small; make more, or use a finer balance."
    made = ", made in steps" if strength < IN_STEPS else ""
    return f"{weighing.material}: weigh it as a stock of {strength:g} %{made}; {use:.3g} g of that hold what is needed."


def smallest_sound_batch(formula: Formula, balance: Balance, tolerance: float = 1.0) -> float:
    """The least batch, in whole steps of the balance, at which every line keeps within the tolerance. [g]"""
    percents: Iterable[float] = [x for phase in require_complete(formula, "weighed") for x in phase if x > 0]
    least = balance.finest.least_weight(tolerance) * 100.0 / min(percents)
    return _up_to_step(least * (1 - 0.999 * HAIR), balance.readability)


def sound_in_words(least: float, tolerance: float, balance: Balance | None = None) -> str:
    """From which batch on every line keeps within the tolerance, as a sentence. [g, %]

    Examples
    --------
    >>> sound_in_words(32.8, 5)
    'Every line keeps within 5 % from 32.8 g upwards on this balance.'
    """
    if least > MOST:
        return f"No batch up to a tonne keeps every line within {tolerance:g} %: make the smallest parts as a stock."
    on = "these balances" if balance and balance.others else "this balance"
    return f"Every line keeps within {tolerance:g} % from {least:.10g} g upwards on {on}."


def sound_batches(
    formula: Formula, balance: Balance, tolerances: Iterable[float] = (0.1, 0.5, 1.0, 2.0, 5.0, 10.0)
) -> dict[float, float]:
    """The smallest sound batch for each tolerance: the stricter, the bigger. [% → g]

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Panthenol", "0.5"))),))
    >>> sound_batches(toner, Balance(readability=0.01), (1, 5))
    {1: 164.0, 5: 32.8}
    """
    return {tolerance: smallest_sound_batch(formula, balance, tolerance) for tolerance in tolerances}


def _round_up(grams: float, readability: float) -> float:
    """Two significant digits and whole steps of the balance, upwards, so that the advice is enough."""
    import math

    two_digits = 10.0 ** (math.floor(math.log10(grams)) - 1)
    return _up_to_step(_up_to_step(grams * (1 - HAIR / 10), two_digits), readability)


def _up_to_step(grams: float, step: float) -> float:
    if grams == float("inf"):
        return grams
    d = Decimal(repr(step))
    return float((Decimal(repr(grams)) / d).to_integral_value(ROUND_CEILING) * d)
