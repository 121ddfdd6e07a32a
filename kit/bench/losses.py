"""What is lost on the way: water that leaves a heated phase, what stays in the vessel, and the yield to expect."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import require_complete
from kit.soundness import sound
from kit.units import magnitude

if TYPE_CHECKING:
    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class Evaporated:
    """A batch after something has left one of its lines.

    Attributes
    ----------
    mass
        What is left of the batch. [g]
    add_back
        What brings every line back to its percent: just what has gone. [g]
    material
        Of which.
    formula
        What the batch really is, while nothing has been added back.
    """

    mass: float
    add_back: float
    material: str
    formula: Formula


def evaporated(formula: Formula, batch: object, lost: object, phase: int, material: str = "Aqua") -> Evaporated:
    """What a batch really is after water has left a heated phase.

    Weigh the vessel with its phase before and after heating: the difference is what was lost. It counts here as
    this material alone; a scent or an alcohol may have gone with it, which a balance does not tell.

    Parameters
    ----------
    batch, lost
        Masses: "500 g", "12 g" or pint quantities.
    phase
        Its number, from 0.

    Raises
    ------
    RangeError
        The formula is not complete, the phase is not there, or more has gone than its line held.

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "90"), Line("Glycerin", "10"))),))
    >>> left = evaporated(toner, "500 g", "20 g", phase=0)
    >>> left.mass, left.add_back, round(left.formula.percents[0][1], 3)
    (480.0, 20.0, 10.417)
    """
    percents = require_complete(formula, "computed")
    mass, gone = magnitude(batch, "g", name="batch"), magnitude(lost, "g", name="lost")
    place = _line_of(formula, phase, material)
    there = mass * percents[phase][place] / 100.0
    if not mass > 0 or not 0 <= gone <= there:
        msg = (
            f"{gone:g} g of {material} cannot have left {formula.phases[phase].name}: it held {there:.4g} g of it. "
            "Look at both weighings of the vessel."
        )
        raise RangeError(msg)
    left = mass - gone
    if not left > 0:
        msg = "All of the batch would be gone. Look at both weighings of the vessel."
        raise RangeError(msg)
    real = tuple(
        tuple(
            100.0 * (mass * x / 100.0 - (gone if (p, i) == (phase, place) else 0.0)) / left for i, x in enumerate(row)
        )
        for p, row in enumerate(percents)
    )
    return Evaporated(left, gone, material, replace(formula.with_percents(real), written_for=None))


@dataclass(frozen=True, slots=True)
class LossPlan:
    """What to weigh so that the wanted product is left after the losses.

    Attributes
    ----------
    weigh
        Per phase and line. [g]
    in_vessel
        After evaporation, before pouring out; every line then at its percent. [g]
    product
        What is poured out. [g]
    evaporates, stays
        In the air, and in the vessel. [g]
    """

    weigh: tuple[tuple[float, ...], ...]
    in_vessel: float
    product: float
    evaporates: float
    stays: float


def plan_for_losses(
    formula: Formula,
    product: object,
    *,
    evaporates: object = "0 g",
    phase: int = 0,
    material: str = "Aqua",
    stays: float = 0.0,
) -> LossPlan:
    """What to weigh in when a heated phase loses water and some product stays in the vessel.

    Evaporation changes the percents, so it is made good by more of that one line. What stays in the vessel has
    the percents of the whole, so it is made good by more of everything.

    Parameters
    ----------
    product, evaporates
        Masses: "500 g" or pint quantities; what evaporates is known from earlier batches.
    stays
        Of what is in the vessel at the end. [%]

    Raises
    ------
    RangeError
        The formula is not complete, a loss is out of its range, or the phase has no such line.

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "90"), Line("Glycerin", "10"))),))
    >>> plan_for_losses(toner, "490 g", evaporates="15 g", stays=2).weigh
    ((465.0, 50.0),)
    """
    percents = require_complete(formula, "computed")
    wanted = magnitude(product, "g", name="product")
    gone = magnitude(evaporates, "g", name="evaporates")
    if not (wanted > 0 and gone >= 0 and 0 <= stays < 100):
        msg = (
            f"Give more than 0 g of product, 0 g or more that evaporates, and from 0 to less than 100 % that stays; "
            f"got {wanted:g} g, {gone:g} g and {stays:g} %."
        )
        raise RangeError(msg)
    in_vessel = wanted / (1 - stays / 100.0)
    place = (phase, _line_of(formula, phase, material)) if gone else None
    grams = tuple(
        tuple(in_vessel * x / 100.0 + (gone if (p, i) == place else 0.0) for i, x in enumerate(row))
        for p, row in enumerate(percents)
    )
    return LossPlan(grams, in_vessel, wanted, gone, in_vessel - wanted)


def _line_of(formula: Formula, phase: int, material: str) -> int:
    """Where the material stands in the phase."""
    if not 0 <= phase < len(formula.phases):
        msg = f"There is no phase number {phase + 1}; {formula.title} has {len(formula.phases)}."
        raise RangeError(msg)
    for i, line in enumerate(formula.phases[phase].lines):
        if line.material.casefold() == material.casefold():
            return i
    msg = f"{formula.phases[phase].name} has no line of {material}, so none can leave it."
    raise RangeError(msg)


#: How far a yield may lie beside what was expected before it is looked into (common practice). [%]
USUAL_WITHIN = 5.0


@dataclass(frozen=True, slots=True)
class ExpectedYield:
    """What should come out, and the limits chosen for it. [g]"""

    grams: float
    low: float
    high: float


@sound()
def expected_yield(weighed_in: object, loss: float = 0.0, within: float = USUAL_WITHIN) -> ExpectedYield:
    """What a batch should give: what was weighed in, less the process loss.

    More than was weighed in cannot come out, so the upper limit never lies above it.

    Parameters
    ----------
    weighed_in
        A mass: "500 g" or a pint quantity.
    loss
        What stays in vessels or evaporates. [% of what is weighed in]
    within
        How far the yield may lie beside what is expected, either way; the maker's own choice. [% of expected]

    Raises
    ------
    RangeError
        No mass, a loss that is not from 0 to below 100 %, or limits below 0 or of 100 % and more.

    References
    ----------
    .. [1] ISO 22716:2007, section 7, production (from memory): the yield of each stage is compared with what
       was expected.

    Examples
    --------
    >>> expected_yield("1050 g", loss=10, within=4)
    ExpectedYield(grams=945.0, low=907.2, high=982.8)
    >>> expected_yield("250 g").high
    250.0
    """
    mass = magnitude(weighed_in, "g", name="weighed in")
    if not mass > 0:
        msg = f"A batch must weigh more than 0 g, got {mass:g} g."
        raise RangeError(msg)
    if not 0 <= loss < 100:
        msg = f"The process loss must be from 0 to less than 100 %, got {loss:g} %."
        raise RangeError(msg)
    if not 0 <= within < 100:
        msg = f"The limits of the yield must be from 0 to less than 100 %, got {within:g} %. 5 % is a common choice."
        raise RangeError(msg)
    grams = mass * (1 - loss / 100)
    return ExpectedYield(grams, round(grams * (1 - within / 100), 9), min(round(grams * (1 + within / 100), 9), mass))
