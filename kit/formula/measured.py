"""The density of a layer as its maker measured it: at which temperature, how sure, and of which mixture."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.library.ingredient import check_composition

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.model import Formula
    from kit.library.ingredient import PhaseKind

#: Standard uncertainty of a density where none is given: 100 mL in a cylinder on a balance of 0.1 g (a judgement).
#: [g/mL]
USUAL_UNCERTAINTY = 0.002
#: What a layer of such a product can weigh, and how unsure a measurement may be. [g/mL]
LIGHTEST, HEAVIEST, MOST_DOUBT = 0.3, 3.0, 0.1


@dataclass(frozen=True, slots=True)
class MeasuredDensity:
    """A measured density of one layer.

    Attributes
    ----------
    layer
        Its kind.
    value, uncertainty
        With its standard uncertainty. [g/mL]
    celsius
        At which it was measured. [°C]
    mix
        What the layer was made of then: material → its share. [% w/w of the layer]
    """

    layer: PhaseKind
    value: float
    mix: Mapping[str, float] = field(default_factory=dict)
    celsius: float = 20.0
    uncertainty: float = USUAL_UNCERTAINTY

    def __post_init__(self) -> None:
        if not LIGHTEST <= self.value <= HEAVIEST:
            msg = (
                f"A density of {self.value:g} g/mL is not believable for a layer. Give it in g/mL, between "
                f"{LIGHTEST:g} and {HEAVIEST:g}."
            )
            raise RangeError(msg)
        if not 0 <= self.celsius <= 100:
            msg = f"A density is measured at 0 to 100 °C, not at {self.celsius:g} °C."
            raise RangeError(msg)
        if not 0 < self.uncertainty <= MOST_DOUBT:
            msg = (
                f"The uncertainty of a density lies between 0 and {MOST_DOUBT:g} g/mL, not at "
                f"{self.uncertainty:g} g/mL."
            )
            raise RangeError(msg)
        if not self.mix:
            msg = f"The measured density of the {self.layer} layer needs what the layer was made of."
            raise RangeError(msg)
        check_composition(f"measured density of the {self.layer} layer", self.mix)


def layer_mix(formula: Formula, layer: PhaseKind) -> dict[str, float]:
    """What a layer is made of: material → its share; empty where there is nothing. [% w/w of the layer]"""
    found: dict[str, float] = {}
    for p, _, line, percent in formula.each_line():
        if formula.phases[p].kind == layer and percent and percent > 0:
            found[line.material] = found.get(line.material, 0.0) + percent
    whole = sum(found.values())
    return {name: 100 * percent / whole for name, percent in found.items()}


def moved_away(mix: Mapping[str, float], now: Mapping[str, float]) -> float:
    """How much of one mixture is not in another. [0 to 1]"""
    return sum(abs(mix.get(name, 0.0) - now.get(name, 0.0)) for name in {*mix, *now}) / 200
