"""The premix: what is too little to weigh is weighed in a larger amount of something the formula holds anyway.

Where one premix would be more than the balance carries, a chain of them: each thinned from the one before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import hypot, inf
from typing import TYPE_CHECKING

from kit.bench.balance import HAIR
from kit.bench.making import from_pure, from_stronger
from kit.bench.premix_search import Search, carriers_of, premixes_in_chain, swells
from kit.bench.serial import DilutionStep, serial_plan
from kit.errors import RangeError
from kit.formula import editing
from kit.formula.model import require_complete
from kit.library.ingredient import Stock
from kit.rounding import all_digits
from kit.soundness import sound

if TYPE_CHECKING:
    from kit.bench.balance import Balance
    from kit.bench.making import Making
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


@sound()
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
    """A proposal for one line: a premix in a carrier from the same phase, or the last of a chain of premixes.

    Attributes
    ----------
    phase, line, carrier_line
        Where the line and its carrier stand.
    strength
        Of the active in the premix. [% w/w]
    amounts
        What to weigh for it, what to use of it and what is left over; for a chain, of its last premix, into which
        the one before goes in place of the active. [g]
    percent
        Of the premix in the formula. [% w/w of the whole]
    best_strength, best_make
        The strength at which least is left over, and how much would be made then. [% w/w, g]
    error
        How far off the active may be: all weighings of every premix and what is used together. [% of it]
    chain
        Every premix of a chain, the first and strongest first; empty where one will do.
    tolerance
        What the maker allows a weighing to be off. [% of the mass weighed]
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
    chain: tuple[DilutionStep, ...] = ()
    tolerance: float = inf

    def _named(self, strength: float) -> str:
        return f"{self.active} {strength:.6g} % in {self.carrier}"

    @property
    def name(self) -> str:
        """How the formula refers to it."""
        return self._named(self.strength)

    @property
    def stock(self) -> Stock:
        """The premix as a stock."""
        return self._stock(self.strength)

    @property
    def stocks(self) -> tuple[Stock, ...]:
        """Every premix that is made for it, the strongest first and its own last."""
        return (*(self._stock(step.strength) for step in self.chain[:-1]), self.stock)

    def _stock(self, strength: float) -> Stock:
        contents = {self.active: strength, self.carrier: 100.0 - strength}
        return Stock(self._named(strength), contents, self.active, strength, "w/w", phase=self.kind, note="a premix")

    @property
    def sentence(self) -> str:
        """What to do, in words."""
        a = self.amounts
        words = (
            f"{self.active}: {self._made} Use {a.use:.4g} g of it and {a.use * (1 - self.strength / 100):.4g} g less "
            f"{self.carrier}; {a.left_over:.4g} g is left over. All its weighings together keep within "
            f"{self.error:.2g} %."
        )
        if self.error > self.tolerance * (1 + HAIR):
            words += f" That is more than the {self.tolerance:g} % you allow: make more, or use a finer balance."
        if not self.chain and self.best_strength - self.strength > 1e-9:
            words += f" Least would be left over at {self.best_strength:.3g} %: {self.best_make:.4g} g to make."
        return words

    @property
    def _made(self) -> str:
        """How the premix is made, or the chain that leads to it."""
        if not self.chain:
            a = self.amounts
            return f"stir {a.active:.4g} g into {a.carrier:.4g} g of {self.carrier}, {self.strength:g} % strong."
        single = premix_amounts(self.amounts.use * self.strength / 100.0, self.chain[0].take, self.strength).make
        said, before = [f"one premix would come to {single:.4g} g, so make {len(self.chain)} in a row."], "it"
        for n, step in enumerate(self.chain, start=1):
            said.append(
                f"Premix {n}: stir {step.take:.4g} g of {before} into {step.diluent:.4g} g of {self.carrier}, "
                f"{step.strength:.4g} % strong."
            )
            before = f"premix {n}"
        return " ".join(said)

    def makings(self, balance: Balance | None = None, tolerance: float = 1.0) -> tuple[Making, ...]:
        """How each premix is made, sheet by sheet, the first from the pure active. [tolerance: %]"""
        if not self.chain:
            return (from_pure(self.stock, f"{all_digits(self.amounts.make)} g", balance=balance, tolerance=tolerance),)
        stocks, more = self.stocks, {"balance": balance, "tolerance": tolerance}
        found = [from_pure(stocks[0], f"{all_digits(self.chain[0].makes)} g", balance=balance, tolerance=tolerance)]
        for stronger, stock, step in zip(stocks, stocks[1:], self.chain[1:], strict=False):
            amount = f"{all_digits(step.makes)} g"
            found.append(from_stronger(stronger, step.strength, amount, name=stock.name, diluent=self.carrier, **more))
        return tuple(found)


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
    strongest is taken; where none does, the strongest possible. Where that would be more than the balance carries, or
    more than the batch itself, a chain is proposed: a first premix, thinned in steps of which each weighs L or more
    (:func:`kit.bench.serial.serial_plan`), to a last one of which L or more is used.

    Parameters
    ----------
    materials
        To know which layer a material belongs in; without it the kind of the phase decides alone.
    """
    least = batch.balance.finest.least_weight(batch.tolerance)
    small = list(batch.small)
    if not small:
        return Proposals((), ())
    search = Search(
        batch,
        {(w.phase, w.line): carriers_of(batch, w, materials) for w in batch.weighings},
        frozenset((w.phase, w.line) for w in batch.weighings if swells(batch, w, materials)),
    )
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
    formula = editing.settled(formula)
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
    for earlier in premix.stocks[:-1]:
        formula = editing.with_material(formula, _own_name(formula, earlier))
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


def _chain(single: PremixAmounts, strength: float, least: float, batch: Batch) -> tuple[DilutionStep, ...]:
    """The shortest chain in place of a single premix that is too heavy for the balance, or more than the batch."""
    capacity = batch.balance.finest.capacity
    count = premixes_in_chain(strength, least, capacity)
    if single.make <= min(capacity, batch.mass) or count is None:
        return ()
    chain = serial_plan(100.0, strength, single.use, least, capacity, steps=count).steps
    together = sum(step.makes for step in chain)
    return () if single.make <= min(capacity, together) else tuple(_clean(step) for step in chain)


def _clean(step: DilutionStep) -> DilutionStep:
    """A step without the noise of the last binary digits."""
    fields = (step.take, step.diluent, step.makes, step.strength, step.left_over)
    return DilutionStep(*(float(f"{number:.12g}") for number in fields))


def _premix(batch: Batch, weighing: Weighing, carrier_line: int, strength: float, least: float) -> Premix:
    amounts = premix_amounts(weighing.target, least, strength)
    chain = _chain(amounts, strength, least, batch)
    if chain:
        amounts = PremixAmounts(chain[-1].take, chain[-1].diluent, amounts.use)
    best = 100.0 * weighing.target / least
    error = batch.balance.finest.weighing_error
    mixed = [(step.take, step.diluent) for step in chain] or [(amounts.active, amounts.carrier)]
    strength_errors = [error(taken) * hypot(taken, carrier) / (taken + carrier) for taken, carrier in mixed]
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
        hypot(*strength_errors, error(amounts.use)),
        chain,
        batch.tolerance,
    )
