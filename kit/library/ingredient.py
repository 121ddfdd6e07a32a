"""Ingredient: what is bought, with a source for every figure; Stock: a solution made ahead; Purchase: what was paid."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from kit.errors import CompositionError, EntryError, RangeError, UnitError
from kit.iso_dates import is_iso_date
from kit.library.cas import refuse_wrong_cas
from kit.money import is_currency
from kit.units import COMMON_UNITS, known_unit

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Purchase:
    """One buy of a material: a lot with its pack, its price, or both.

    Attributes
    ----------
    price
        What the pack cost, in ``currency``; None where only the lot is known.
    currency
        Its code, symbol or short name, such as EUR, € or Fr.
    amount, unit
        What the pack holds: 250 and "g", 1 and "L". [as ``unit``]
    lot
        As printed on the pack.
    bought_on, keep_until
        ISO dates, or empty.
    """

    price: float | None = None
    currency: str = ""
    amount: float | None = None
    unit: str = ""
    lot: str = ""
    bought_on: str = ""
    keep_until: str = ""

    def __post_init__(self) -> None:
        if self.price is not None and not 0 <= self.price < float("inf"):
            msg = f"A price of {self.price:g} is not possible. Give what the pack cost, 0 or more."
            raise RangeError(msg)
        if self.currency and not is_currency(self.currency):
            msg = f"{self.currency!r} is not a currency. Write its code or symbol, such as EUR, GBP or €."
            raise RangeError(msg)
        if self.amount is not None and not 0 < self.amount < float("inf"):
            msg = f"A pack of {self.amount:g} {self.unit} is not possible. Give what the pack holds, above 0."
            raise RangeError(msg)
        if (self.amount is None) != (not self.unit):
            msg = "The pack needs both an amount and its unit, such as 250 and g."
            raise RangeError(msg)
        if self.price is not None and (self.amount is None or not self.currency):
            msg = "A price needs its currency and what the pack holds: the amount and its unit, such as 250 and g."
            raise RangeError(msg)
        for name, date in (("bought on", self.bought_on), ("keep until", self.keep_until)):
            if date and not is_iso_date(date):
                msg = f"{date!r} is not a date. Write {name!r} as year-month-day, such as 2026-05-31."
                raise RangeError(msg)
        self._check_unit()

    def _check_unit(self) -> None:
        if self.unit and (known_unit(self.unit) or ("",))[0] not in ("g", "mL"):
            kinds = ", ".join(unit for unit, (base, _) in COMMON_UNITS.items() if base in ("g", "mL"))
            msg = f"{self.unit!r} is not a unit of a pack. Use one of {kinds}."
            raise UnitError(msg)


PhaseKind = Literal["water", "oil", "other"]

PHASE_KINDS: tuple[PhaseKind, ...] = ("water", "oil", "other")


def refuse_unknown_kind(name: str, kind: str) -> None:
    """Refuse, with an EntryError, a kind of layer that is none: what stands in such a layer would count nowhere."""
    if kind not in PHASE_KINDS:
        msg = f"{name}: {str(kind)[:60]!r} is no kind of layer. It is one of {', '.join(map(repr, PHASE_KINDS))}."
        raise EntryError(msg)


Basis = Literal["w/w", "w/v", "v/v"]

BASES: tuple[Basis, ...] = ("w/w", "w/v", "v/v")

#: The parts of a blend must add to 100 % within this. [% w/w]
COMPOSITION_TOLERANCE = 1e-6

#: Between these lies every material of this trade. [g/mL]
DENSITIES = (0.3, 5.0)


def _refuse_odd_density(name: str, density: Figure | None) -> None:
    if density is not None and not DENSITIES[0] <= density.value <= DENSITIES[1]:
        msg = (
            f"{name}: a density of {density.value:g} g/mL is not believable for a material of this trade. Give it in "
            "g/mL, between 0.3 and 5, as printed on the data sheet or weighed."
        )
        raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with the key of its source (see ``data/sources``), and what it holds for ("at 25 °C")."""

    value: float
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class SolubleIn:
    """How well something dissolves in one liquid: in words, and as a figure where there is one. [g/L]"""

    words: str
    source: str
    figure: Figure | None = None


@dataclass(frozen=True, slots=True)
class Solubility:
    """How well something dissolves in water, in oil and in alcohol; None where nothing is known."""

    water: SolubleIn | None = None
    oil: SolubleIn | None = None
    alcohol: SolubleIn | None = None


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One material as it is bought.

    Attributes
    ----------
    inci
        Its INCI name (International Nomenclature of Cosmetic Ingredients), or the chemical name.
    plain_name
        What people call it at the bench.
    cas
        Numbers of the Chemical Abstracts Service; rules about one of them find it, whatever it is called.
    phase
        The layer it belongs in.
    charge
        nonionic, anionic, cationic, amphoteric, salt …
    density
        At 20 °C unless its note says otherwise. [g/mL]
    usual_low, usual_high
        Usual use range in the finished product: a habit of the trade, not a law. [% w/w]
    molar_mass
        [g/mol]
    molecular_formula
        From which the molar mass is computed; empty where it has none.
    viscosity
        [mPa·s]
    solubility
        In water, oil and alcohol.
    log_p
        Decimal logarithm of the octanol-water partition coefficient.
    pka
        Least protons lost first; for a base, of its conjugate acid. Empty where it does not ionise.
    composition
        For a bought blend: INCI name → share. Empty for a single substance. [% w/w]
    composition_source, facts_source
        Source keys of the composition, and of roles, phase and charge.
    own
        True where the maker added it herself.
    purchase
        What she paid for it and what stands on her pack; only in her own file.
    """

    inci: str
    plain_name: str = ""
    other_names: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    phase: PhaseKind = "water"
    charge: str = ""
    density: Figure | None = None
    usual_low: Figure | None = None
    usual_high: Figure | None = None
    molar_mass: Figure | None = None
    molecular_formula: str = ""
    viscosity: Figure | None = None
    solubility: Solubility = Solubility()
    log_p: Figure | None = None
    pka: tuple[Figure, ...] = ()
    composition: Mapping[str, float] = field(default_factory=dict)
    composition_source: str = ""
    facts_source: str = ""
    note: str = ""
    own: bool = False
    purchase: Purchase | None = None
    cas: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.inci.strip():
            msg = "An ingredient needs a name: its INCI name as printed on its bag, bottle or data sheet."
            raise RangeError(msg)
        refuse_unknown_kind(self.inci, self.phase)
        _refuse_odd_density(self.inci, self.density)
        for number in self.cas:
            refuse_wrong_cas(number)
        check_composition(self.inci, self.composition)

    @property
    def name(self) -> str:
        """The name by which a formula refers to it."""
        return self.inci


@dataclass(frozen=True, slots=True)
class Stock:
    """A solution made ahead and used in formulas like an ingredient.

    Attributes
    ----------
    name
        How the formula refers to it, such as "Citric Acid 10 % stock".
    contents
        Material → share of the stock; the solvent's share included, adding to 100. [% w/w]
    strength, basis, active
        The strength as the label on the stock bottle states it, of which material.
    density
        Of the finished stock. [g/mL]
    made_on, keep_until
        ISO dates, or empty.
    """

    name: str
    contents: Mapping[str, float]
    active: str = ""
    strength: float | None = None
    basis: Basis = "w/w"
    density: Figure | None = None
    phase: PhaseKind = "water"
    made_on: str = ""
    keep_until: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            msg = "A stock needs a name, such as 'Citric Acid 10 % stock'."
            raise RangeError(msg)
        if not self.contents:
            msg = f"{self.name}: a stock needs its contents: each material with its percent, solvent included."
            raise CompositionError(msg)
        check_composition(self.name, self.contents)
        refuse_unknown_kind(self.name, self.phase)
        _refuse_odd_density(self.name, self.density)

    @property
    def solvent(self) -> str:
        """What it is made up with: its largest part besides the active; empty where there is none."""
        rest = {name: share for name, share in self.contents.items() if name != self.active}
        return max(rest, key=lambda name: rest[name], default="")

    @property
    def composition(self) -> Mapping[str, float]:
        """The contents, under the name that blends use too."""
        return self.contents


Material = Ingredient | Stock


def check_composition(name: str, parts: Mapping[str, float]) -> None:
    """Refuse a composition with a part below zero or a sum that is not 100 % w/w."""
    for part, percent in parts.items():
        if not percent >= 0:
            msg = f"{name}: {part} is given as {percent:g} %. No part of a mixture can be below 0 %."
            raise CompositionError(msg)
    total = sum(parts.values())
    if parts and abs(total - 100) > COMPOSITION_TOLERANCE:
        msg = (
            f"{name}: its parts add to {total:.6g} %, not 100 %. "
            f"{'Add' if total < 100 else 'Take away'} {abs(100 - total):.6g} %; often the solvent is what is missing."
        )
        raise CompositionError(msg)
