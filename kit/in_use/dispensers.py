"""Four dispensers and three ways to treat a bottle before a dose, as a maker describes them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.inputs import Choice, Number, asked, refuse_unknown_words
from kit.soundness import sound

if TYPE_CHECKING:
    from kit.layers.bottle import Bottle

Kind = Literal["pump", "spray", "disc-top", "dropper"]
Way = Literal["tube", "tilted", "turned over"]
Shaking = Literal["at once", "waits", "never"]

WAYS = {"tilted": "tilted: the upper layer first", "turned over": "turned over: the lower layer first"}
SHAKINGS = {"at once": "shaken, and dosed at once", "waits": "shaken, then waited", "never": "not shaken"}
#: Where nobody said how deep a pipette reaches, it ends so far above the floor. [mm]
PIPETTE_END = 5.0


@dataclass(frozen=True, slots=True)
class Dispenser:
    """How doses are taken from a bottle.

    Attributes
    ----------
    dose
        [mL]
    way
        "tube" for a pump, spray or pipette; "tilted" or "turned over" for a bottle that is poured from.
    tip
        Where the tube ends above the floor; for "tube" alone. [mm]
    clings
        What stays on the wall and in the closure of a bottle that is poured from. [mL]
    """

    kind: Kind
    dose: float
    way: Way = "tube"
    tip: float = 0.0
    clings: float = 0.0

    def __post_init__(self) -> None:
        if not (self.dose > 0 and math.isfinite(self.dose)):
            msg = f"One dose of the {self.kind} must be more than 0 mL, got {self.dose:g} mL."
            raise RangeError(msg)
        if not self.tip >= 0:
            msg = (
                f"The tube of the {self.kind} ends {self.tip:g} mm above the floor of the bottle; it must be 0 or "
                "more. A longer one would bend: cut it."
            )
            raise RangeError(msg)
        if not self.clings >= 0:
            msg = f"No less than 0 mL can cling to the wall, got {self.clings:g} mL."
            raise RangeError(msg)

    def out_of_reach(self, bottle: Bottle) -> float:
        """What it never takes out: the heel below its tube, or what clings. [mL]"""
        return bottle.volume(min(self.tip, bottle.height)) if self.way == "tube" else self.clings

    def starts(self, total: float, size: float, below: float) -> float:
        """How much stands below the slice that a dose of this size takes. [mL]"""
        return {"tube": below, "tilted": total - size, "turned over": 0.0}[self.way]


@dataclass(frozen=True, slots=True)
class FourDispensers:
    """What a maker says of four dispensers for one bottle."""

    tip: float = asked(
        "Dip tube ends", Number(0, 1000, digits=4), 3.0, unit="mm", slide=(0.0, 100.0, 0.5),
        help="Above the floor, of the pump and the spray.",
    )  # fmt: skip
    pump: float = asked("Pump: one stroke", Number(0.01, 1000, digits=4), 1.0, unit="mL")
    spray: float = asked(
        "Spray: one dose", Number(0.001, 1000, digits=4), 0.5, unit="g", help="Of the product shaken up, as weighed."
    )
    poured: float = asked("Disc-top: one dose", Number(0.01, 1000, digits=4), 3.0, unit="mL")
    way: Way = asked("The bottle is", Choice(WAYS), "tilted", help="To pour through the disc-top.")
    clings: float = asked("Clings to it", Number(0, 1000, digits=4), 0.0, unit="mL", help="And is never poured out.")
    drawn: float = asked("Dropper: one filling", Number(0.01, 1000, digits=4), 1.0, unit="mL")
    depth: float | None = asked(
        "Pipette below the rim", Number(0, 1000, digits=4), None, unit="mm", example="5 mm above the floor"
    )

    def __post_init__(self) -> None:
        refuse_unknown_words(self)

    def made(self, bottle: Bottle, density: float) -> tuple[Dispenser, ...]:
        """The four of them for a bottle, with a product of this density. [g/mL]

        A stroke of a spray moves one volume, so its mass is turned into that of the product shaken up.

        Raises
        ------
        RangeError
            A pipette longer than the bottle is deep.
        """
        end = PIPETTE_END if self.depth is None else bottle.height - self.depth
        if end < 0:
            msg = (
                f"A pipette of {self.depth:.4g} mm below the rim is longer than {bottle.name} is deep inside, "
                f"{bottle.height:.4g} mm. Choose a shorter one."
            )
            raise RangeError(msg)
        return (
            Dispenser("pump", self.pump, tip=self.tip),
            Dispenser("spray", self.spray / density, tip=self.tip),
            Dispenser("disc-top", self.poured, self.way, clings=self.clings),
            Dispenser("dropper", self.drawn, tip=end),
        )


@dataclass(frozen=True, slots=True)
class Manner:
    """How a person treats the bottle before each dose: shaken, how long she waits, or not at all. [s]"""

    shaking: Shaking = asked("Before each dose", Choice(SHAKINGS), "never")
    delay: float = asked(
        "Waits", Number(0, 1e6), 10.0, unit="s", help="From shaking to dosing.",
        applies=lambda said: said["shaking"] == "waits",
    )  # fmt: skip

    def __post_init__(self) -> None:
        refuse_unknown_words(self)

    @property
    def words(self) -> str:
        """In words."""
        return f"shaken, then {self.delay:g} s waited" if self.shaking == "waits" else SHAKINGS[self.shaking]


@sound()
def drawn_along(flow: float, heavier: float, lighter: float) -> float:
    """How near the line between two layers may come to a tube's end before both are drawn at once. [mm]

    h = 0.69 (Q² / g')^(1/5), g' = g (1 - ρ lighter / ρ heavier): for thin liquids and an even flow; a measure of size.

    Parameters
    ----------
    flow
        While the stroke lasts. [mL/s]
    heavier, lighter
        Densities. [g/mL]

    Raises
    ------
    RangeError
        A flow of 0 or less, or densities the wrong way round.

    References
    ----------
    .. [1] B. T. Lubin, G. S. Springer, "The formation of a dip on the surface of a liquid draining from a tank",
       Journal of Fluid Mechanics 29 (1967) 385-390; the constant 0.69 from memory.

    Examples
    --------
    >>> print(f"{drawn_along(2.0, 1.0, 0.87):.1f} mm")
    3.5 mm
    """
    if not (flow > 0 and 0 < lighter < heavier):
        msg = (
            f"A flow above 0 mL/s and a heavier layer below a lighter one are needed, got {flow:g} mL/s, "
            f"{heavier:g} and {lighter:g} g/mL."
        )
        raise RangeError(msg)
    gravity = 9806.65 * (1 - lighter / heavier)  # mm/s²
    return 0.69 * float(((1000 * flow) ** 2 / gravity) ** 0.2)
