"""The premix: what is too little to weigh is weighed in a larger amount of something the formula holds anyway."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import hypot
from typing import TYPE_CHECKING

from kit.bench.premix_search import Search, carriers_of
from kit.bench.weighing import HAIR
from kit.errors import RangeError
from kit.formula import editing
from kit.formula.model import require_complete
from kit.library.ingredient import Stock

if TYPE_CHECKING:
    from kit.bench.weighing import Batch, Weighing
    from kit.findings import Finding
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import PhaseKind


@dataclass(frozen=True, slots=True)
class PremixAmounts:
    """A premix in numbers, all in one unit of mass: what goes in, what is used, what is left over."""

    active: float
    carrier: float
    use: float

    @property
    def make(self) -> float:
        """All that is made."""
        return self.active + self.carrier

    @property
    def left_over(self) -> float:
        """What is made and not used."""
        return self.make - self.use


def premix_amounts(need: float, least: float, strength: float) -> PremixAmounts:
    """Weigh the least that can be weighed, dilute it, and use the part that holds what is needed.

    Parameters
    ----------
    need, least
        The amount wanted and the least weight of the balance, in one unit of mass.
    strength
        Of the dilution. [% w/w]

    Raises
    ------
    RangeError
        Amounts that are not above zero, or a strength outside 0 to 100 %.

    References
    ----------
    .. [1] The aliquot method of dispensing; worked example in a textbook chapter, "Accurate weighing for
       prescriptions": 2 mg by way of 120 mg in 7500 mg, of which 125 mg are used.

    Examples
    --------
    >>> portion = premix_amounts(2, 120, 1.6)
    >>> round(portion.make, 6), round(portion.carrier, 6), round(portion.use, 6)
    (7500.0, 7380.0, 125.0)
    """
    if not (need > 0 and least > 0):
        msg = f"What is needed and the least weight must be more than 0; got {need:g} and {least:g}."
        raise RangeError(msg)
    if not 0 < strength <= 100:
        msg = f"A premix has a strength of more than 0 and at most 100 %, got {strength:g} %."
        raise RangeError(msg)
    active = max(need, least)
    return PremixAmounts(active, active * (100.0 - strength) / strength, 100.0 * need / strength)


@dataclass(frozen=True, slots=True)
class Premix:
    """A proposal for one line: a premix in a carrier from the same phase.

    Attributes
    ----------
    phase, line, carrier_line
        Where the line and its carrier stand.
    strength
        Of the active in the premix. [% w/w]
    amounts
        What to weigh for it, what to use of it and what is left over. [g]
    percent
        Of the premix in the formula. [% w/w of the whole]
    best_strength, best_make
        The strength at which least is left over, and how much would be made then. [% w/w, g]
    error
        How far off the active may be: what goes into the premix and what is used of it together. [% of it]
    """

    phase: int
    line: int
    carrier_line: int
    active: str
    carrier: str
    kind: PhaseKind
    strength: float
    amounts: PremixAmounts
    percent: float
    best_strength: float
    best_make: float
    error: float

    @property
    def name(self) -> str:
        """How the formula refers to it."""
        return f"{self.active} {self.strength:g} % in {self.carrier}"

    @property
    def stock(self) -> Stock:
        """The premix as a stock."""
        contents = {self.active: self.strength, self.carrier: 100.0 - self.strength}
        return Stock(self.name, contents, self.active, self.strength, "w/w", phase=self.kind, note="a premix")

    @property
    def sentence(self) -> str:
        """What to do, in words."""
        a = self.amounts
        words = (
            f"{self.active}: stir {a.active:.4g} g into {a.carrier:.4g} g of {self.carrier}, {self.strength:g} % "
            f"strong. Use {a.use:.4g} g of it and {a.use * (1 - self.strength / 100):.4g} g less {self.carrier}; "
            f"{a.left_over:.4g} g is left over. All its weighings together keep within {self.error:.2g} %."
        )
        if self.best_strength - self.strength > 1e-9:
            words += f" Least would be left over at {self.best_strength:.3g} %: {self.best_make:.4g} g to make."
        return words


@dataclass(frozen=True, slots=True)
class Proposals:
    """The premixes that help a batch, and a sentence for each small line that none can help."""

    premixes: tuple[Premix, ...]
    findings: tuple[Finding, ...]


def premixes(batch: Batch, materials: Materials | None = None) -> tuple[Premix, ...]:
    """The premix for each line that is too small to weigh within the tolerance, where there is one."""
    return proposals(batch, materials).premixes


def proposals(batch: Batch, materials: Materials | None = None) -> Proposals:
    """A premix for each line below the least weight, or why there is none and what to do.

    With the least weight L, the line's mass m and the strength c, 100 L / c is made and 100 m / c used. That must be
    L or more, so c is at most 100 m / L; the stronger, the less is left over. It brings carrier: so much of it must be
    in the formula, and what stays to be weighed of it must be L or more. Of the round strengths that keep to this the
    strongest is taken; where none does, the strongest possible.

    Parameters
    ----------
    materials
        To know which layer a material belongs in; without it the kind of the phase decides alone.
    """
    least = batch.balance.least_weight(batch.tolerance)
    small = [w for w in batch.weighings if 0 < w.target < least * (1 - HAIR)]
    if not small:
        return Proposals((), ())
    search = Search(batch, {(w.phase, w.line): carriers_of(batch, w, materials) for w in batch.weighings})
    chosen, failed = search.choose(batch.mass, least)
    premixes = tuple(_premix(batch, weighing, carrier, strength, least) for weighing, carrier, strength in chosen)
    if not failed:
        return Proposals(premixes, ())
    said = [search.why_not(weighing, least) for weighing in failed]
    return Proposals(premixes, (*said, search.way_out(least)))


def with_premix(formula: Formula, premix: Premix) -> Formula:
    """The formula that uses the premix as a stock: the same substances, weighed in another way.

    Raises
    ------
    RangeError
        The lines are no longer those for which the premix was worked out.
    """
    percents = require_complete(formula, "given a premix")
    phase = formula.phases[premix.phase] if premix.phase < len(formula.phases) else None
    lines = phase.lines if phase else ()
    places = ((premix.line, premix.active), (premix.carrier_line, premix.carrier))
    if any(n >= len(lines) or lines[n].material != name for n, name in places):
        msg = f"The formula has changed since the premix of {premix.active} was worked out. Ask for it again."
        raise RangeError(msg)
    small, carrier = percents[premix.phase][premix.line], percents[premix.phase][premix.carrier_line]
    use = 100.0 * small / premix.strength
    rest = carrier - (use - small)
    if rest < 0:
        msg = f"{premix.name}: {use:.4g} % of it would bring more {premix.carrier} than the formula holds."
        raise RangeError(msg)
    change = partial(editing.set_line, phase=premix.phase)
    at_rest = formula.resolution.rest_at
    stock = _own_name(formula, premix.stock)
    changed = change(formula, line=premix.line, material=stock.name, entry=repr(use))
    if at_rest != (premix.phase, premix.carrier_line):
        changed = change(changed, line=premix.carrier_line, entry=repr(rest))
    return editing.with_material(changed, stock)


def _own_name(formula: Formula, stock: Stock) -> Stock:
    """Another name where a material of the formula has this one and is something else."""
    taken = {material.name.casefold(): material for material in formula.materials}
    name, number = stock.name, 1
    while name.casefold() in taken and dict(taken[name.casefold()].composition) != dict(stock.contents):
        number += 1
        name = f"{stock.name} ({number})"
    return replace(stock, name=name)


def _premix(batch: Batch, weighing: Weighing, carrier_line: int, strength: float, least: float) -> Premix:
    amounts = premix_amounts(weighing.target, least, strength)
    best = 100.0 * weighing.target / least
    error = batch.balance.weighing_error
    strength_error = error(amounts.active) * hypot(amounts.active, amounts.carrier) / amounts.make
    phase = batch.formula.phases[weighing.phase]
    return Premix(
        weighing.phase,
        weighing.line,
        carrier_line,
        weighing.material,
        phase.lines[carrier_line].material,
        phase.kind,
        strength,
        amounts,
        weighing.percent * 100.0 / strength,
        best,
        100.0 * least / best,
        hypot(strength_error, error(amounts.use)),
    )
