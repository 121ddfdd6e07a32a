"""What matters of a material when another is to take its place: its properties, and how far two lie apart."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import log, log10
from typing import TYPE_CHECKING, Any

from kit.blends.oil_viscosity import kinematic_of
from kit.errors import KitError
from kit.inputs import Number, asked
from kit.layers.density import material_density
from kit.library.hlb import hlb_of
from kit.library.melting import melting_of
from kit.library.volatility import volatility_of
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.bench.unit_costs import UnitCosts
    from kit.formula.expansion import Materials
    from kit.library.ingredient import Ingredient

_WEIGHT: dict[str, Any] = {"reader": Number(0, 5, digits=3), "slide": (0, 5, 0.5)}


@dataclass(frozen=True, slots=True)
class Weights:
    """How much each property counts, 0 for not at all (defaults: judgements of the trade, to be moved)."""

    density: float = asked("Density", default=1.0, help="Layer order and time to part hang on it.", **_WEIGHT)
    viscosity: float = asked("Viscosity", default=2.0, help="Light or rich, fast or slow to part.", **_WEIGHT)
    polarity: float = asked("Polarity, as log P", default=1.0, help="What it dissolves.", **_WEIGHT)
    hlb: float = asked("HLB asked for", default=0.5, help="How polar an oil is to an emulsifier.", **_WEIGHT)
    solubility: float = asked("Solubility", default=1.0, help="In water, oil and alcohol.", **_WEIGHT)
    charge: float = asked("Charge", default=2.0, help="What it gets on with.", **_WEIGHT)
    volatility: float = asked("Volatility", default=1.0, help="Whether it stays on the skin.", **_WEIGHT)
    melting: float = asked("Melting", default=1.0, help="Whether it is liquid.", **_WEIGHT)
    price: float = asked("Price", default=0.0, help="Of your price list.", **_WEIGHT)

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


#: In words, and the difference at which two materials count as wholly unlike (judgements).
SCALES: dict[str, tuple[str, float]] = {
    "density": ("density", 0.1),  # g/mL
    "viscosity": ("viscosity", log(10)),  # a factor of ten
    "polarity": ("log P", 4.0),
    "hlb": ("HLB asked for", 4.0),
    "solubility": ("solubility", 1.0),
    "charge": ("charge", 1.0),
    "volatility": ("volatility", 2.0),  # two powers of ten in vapour pressure
    "melting": ("melting point", 30.0),  # °C
    "price": ("price", log(4)),  # a factor of four
}
#: A property that one of the two lacks counts as half unlike, so that what is not known is no merit.
UNKNOWN = 0.5


@dataclass(frozen=True)
class Properties:
    """What is known of one material; a property that is not known is in no mapping.

    Attributes
    ----------
    numbers
        density [g/mL], viscosity [ln mm²/s], polarity [log P], hlb, volatility [log10 Pa], melting [°C], price
        [ln of currency/g].
    words
        charge; solubility as "water: mixes" and so on.
    """

    name: str
    numbers: Mapping[str, float]
    words: Mapping[str, Mapping[str, str]]

    @classmethod
    def of(cls, ingredient: Ingredient, materials: Materials, costs: UnitCosts | None = None) -> Properties:
        """What the tables have of an ingredient."""
        name = ingredient.inci
        numbers: dict[str, float] = {}
        try:
            density = ingredient.density.value if ingredient.density else material_density(name, materials)
        except KitError:  # a blend that is part of itself: the formula's own findings say so
            density = None
        _put(numbers, "density", density)
        kinematic = kinematic_of(name, materials) if ingredient.phase == "oil" else None
        _put(numbers, "viscosity", log(kinematic) if kinematic else None)
        _put(numbers, "polarity", ingredient.log_p.value if ingredient.log_p else None)
        asks = next((each for each in hlb_of(name) if each.kind == "required" and each.emulsion == "o/w"), None)
        _put(numbers, "hlb", asks.value if asks else None)
        volatile = volatility_of(name)
        pressure = volatile.vapour_pressure if volatile else None
        _put(numbers, "volatility", log10(pressure.value) if pressure and pressure.value > 0 else None)
        melting = melting_of(name)
        _put(numbers, "melting", (melting.melts_from + melting.melts_to) / 2 if melting else None)
        unit = costs.of(name) if costs is not None else None
        _put(numbers, "price", log(unit.per_gram) if unit and unit.is_known and unit.per_gram > 0 else None)
        words: dict[str, dict[str, str]] = {}
        if ingredient.charge:
            words["charge"] = {"charge": ingredient.charge}
        pairs = (("water", ingredient.solubility.water), ("oil", ingredient.solubility.oil))
        dissolves = {
            where: found.words for where, found in (*pairs, ("alcohol", ingredient.solubility.alcohol)) if found
        }
        if dissolves:
            words["solubility"] = dissolves
        return cls(name, numbers, words)

    def unlike(self, other: Properties, name: str) -> float | None:
        """How unlike two materials are in one property, 0 to 1; None where that is not known of both."""
        if name in ("charge", "solubility"):
            mine, theirs = self.words.get(name, {}), other.words.get(name, {})
            both = [where for where in mine if where in theirs]
            return sum(mine[where] != theirs[where] for where in both) / len(both) if both else None
        if name not in self.numbers or name not in other.numbers:
            return None
        return min(1.0, abs(self.numbers[name] - other.numbers[name]) / SCALES[name][1])


def distance(one: Properties, other: Properties, weights: Weights) -> tuple[float, dict[str, float | None]]:
    """How unlike two materials are, 0 to 1, and in which property how much; see :data:`UNKNOWN`.

    A property that is not known of the first cannot tell candidates apart, and is left out.

    Raises
    ------
    KitError
        No property that is known of the first has a weight.

    References
    ----------
    .. [1] J. C. Gower, "A general coefficient of similarity and some of its properties", Biometrics 27 (1971) 857-871,
       doi:10.2307/2528823: the weighted mean of what two have in common, each property on its own scale.
    """
    parts: dict[str, float | None] = {}
    total = of = 0.0
    for each in fields(Weights):
        weight = getattr(weights, each.name)
        if weight <= 0 or (each.name not in one.numbers and each.name not in one.words):
            continue
        parts[each.name] = unlike = one.unlike(other, each.name)
        total += weight * (UNKNOWN if unlike is None else unlike)
        of += weight
    if not of:
        msg = f"Nothing that counts is known of {one.name}. Give a weight to a property that its card has."
        raise KitError(msg)
    return total / of, parts


def _put(numbers: dict[str, float], name: str, value: float | None) -> None:
    if value is not None:
        numbers[name] = value
