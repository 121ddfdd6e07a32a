"""All bottles of a trial at once: what to weigh into each, what to have on the bench, and what is small to weigh."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from kit.bench.weighing import Batch, weigh
from kit.errors import CompositionError, EntryError, RangeError
from kit.findings import Finding, Place
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from kit.bench.balance import Balance
    from kit.blends.designs import Bottle

USP_41 = "USP general chapter 41, with the tolerance chosen here"
#: What of an ingredient stays in spoons and pipettes, and is needed on top (common practice). [% of the need]
SPARE = 5.0


@dataclass(frozen=True, slots=True)
class BottlesToMake:
    """The bottles of a trial as they are weighed.

    Attributes
    ----------
    names
        The parts of the blend, then what every bottle holds besides.
    bottles
        In the order of making.
    batches
        What is weighed for each; a material that a bottle does not hold is not in it.
    spare
        On top of the need. [% of it]
    """

    names: tuple[str, ...]
    bottles: tuple[Bottle, ...]
    batches: tuple[Batch, ...]
    spare: float = SPARE

    @property
    def grams(self) -> tuple[tuple[float, ...], ...]:
        """What to weigh, a row for each bottle and a column for each name; 0 where a bottle holds none. [g]"""
        rows = []
        for batch in self.batches:
            weighed = {weighing.material: weighing.grams for weighing in batch.weighings}
            rows.append(tuple(weighed.get(name, 0.0) for name in self.names))
        return tuple(rows)

    @property
    def totals(self) -> dict[str, float]:
        """What all bottles hold of each. [g]"""
        return {name: sum(column) for name, column in zip(self.names, zip(*self.grams, strict=True), strict=True)}

    @property
    def need(self) -> dict[str, float]:
        """What to have on the bench of each: what all bottles hold, and the spare. [g]"""
        return {name: grams * (1 + self.spare / 100) for name, grams in self.totals.items()}

    @property
    def sound_mass(self) -> float:
        """The least mass of a bottle from which on every weighing of every bottle keeps the tolerance. [g]"""
        return max(
            (batch.sound_from(w) for batch in self.batches for w in batch.weighings if w.target > 0), default=0.0
        )

    @property
    def findings(self) -> list[Finding]:
        """Weighings too small for the balance, one finding for each material, and a bottle too heavy for it."""
        found = []
        for name in self.names:
            small = [
                (bottle, weighing)
                for bottle, batch in zip(self.bottles, self.batches, strict=True)
                for weighing in batch.small
                if weighing.material == name
            ]
            if small:
                batch = self.batches[0]
                least = min(weighing.target for _, weighing in small)
                sentence = (
                    f"{name} in {_bottles([bottle.number for bottle, _ in small])}: from {least:.3g} g it is small "
                    f"for a balance that reads {batch.balance.finest.readability:g} g, and can be off by more than "
                    f"{batch.tolerance:g} %. {self._enough()}"
                )
                found.append(Finding("caution", sentence, Place(field="mass"), USP_41))
        heavy = [
            finding for batch in self.batches for finding in batch.findings if "balance carries" in finding.sentence
        ]
        return [*found, *heavy[:1]]

    def _enough(self) -> str:
        mass = self.sound_mass
        if not isfinite(mass):
            return "No bottle up to a tonne would do; use a finer balance, or weigh it as a stock."
        return f"All weighings are sound from {mass:.10g} g a bottle, or use a finer balance."

    def table(self) -> pd.DataFrame:
        """The sheet as a DataFrame: a row for each bottle, in grams."""
        import pandas as pd

        table = pd.DataFrame(list(self.grams), columns=[f"{name} g" for name in self.names])
        table.insert(0, "bottle", [bottle.number for bottle in self.bottles])
        table.insert(1, "code", [bottle.code for bottle in self.bottles])
        table["together g"] = [batch.mass for batch in self.batches]
        return table


def weigh_bottles(
    bottles: Sequence[Bottle],
    names: Sequence[str],
    mass: object,
    balance: Balance | None = None,
    tolerance: float = 1.0,
    *,
    base: Mapping[str, float] | None = None,
    spare: float = SPARE,
) -> BottlesToMake:
    """What to weigh for all bottles of a trial.

    Parameters
    ----------
    mass
        Of what each bottle holds: "20 g" or a pint quantity.
    tolerance
        What a weighing may be off. [% of the mass weighed]
    base
        Material → what every bottle holds of it besides, such as a scent or an antioxidant; the blend takes what is
        left. [% w/w of the bottle]
    spare
        See :class:`BottlesToMake`. [% of the need]

    Raises
    ------
    CompositionError
        What every bottle holds leaves no room for the blend.
    EntryError
        No bottle, or a material of the blend that every bottle holds besides.
    RangeError
        A mass below one step of the balance, or a spare that is none.

    Examples
    --------
    >>> from kit.blends.designs import Bottle
    >>> made = weigh_bottles([Bottle(1, "417", (60.0, 40.0))], ("Squalane", "Coco-Caprylate"), "20 g")
    >>> made.grams, round(made.need["Squalane"], 3)
    (((12.0, 8.0),), 12.6)
    """
    fixed = dict(base or {})
    if not bottles:
        msg = "There is no bottle to make. Choose a design first."
        raise EntryError(msg)
    twice = sorted({name.casefold() for name in names} & {name.casefold() for name in fixed})
    if twice:
        msg = f"{', '.join(twice)} is a part of the blend and stands besides it too. Take it out of one of the two."
        raise EntryError(msg)
    if not (all(percent > 0 for percent in fixed.values()) and sum(fixed.values()) < 100):
        msg = f"What every bottle holds besides adds to {sum(fixed.values()):.6g} %. It must leave room for the blend."
        raise CompositionError(msg)
    if not 0 <= spare <= 100:
        msg = f"A spare of {spare:g} % is none. Type a number from 0 to 100."
        raise RangeError(msg)
    room = 100.0 - sum(fixed.values())
    batches = [weigh(_formula(bottle, names, fixed, room), mass, balance, tolerance) for bottle in bottles]
    return BottlesToMake((*names, *fixed), tuple(bottles), tuple(batches), spare)


def _formula(bottle: Bottle, names: Sequence[str], fixed: Mapping[str, float], room: float) -> Formula:
    """One bottle as a formula of one phase."""
    parts = [(name, share * room / 100.0) for name, share in zip(names, bottle.point, strict=True)]
    lines = [Line(name, all_digits(percent)) for name, percent in (*parts, *fixed.items()) if percent > 0]
    return Formula(f"Bottle {bottle.number}", (Phase("Blend", "oil", tuple(lines)),))


def _bottles(numbers: Sequence[int]) -> str:
    """Which bottles, in words; many by their count."""
    if len(numbers) == 1:
        return f"bottle {numbers[0]}"
    if len(numbers) > 8:
        return f"{len(numbers)} bottles"
    return f"bottles {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
