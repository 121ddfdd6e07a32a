"""Layers and bottles of the tests' own for dispensing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.in_use.dispensers import Dispenser, Manner
from kit.in_use.dispensing import Dispensed, dispense
from kit.layers.density import Layer
from tests.layers.shaken_examples import STRAIGHT, made

if TYPE_CHECKING:
    from kit.layers.bottle import Bottle


def layer(kind: str, name: str, grams: float, density: float) -> Layer:
    """A layer of so many grams."""
    return Layer(kind, name, grams, density, 0.0)  # type: ignore[arg-type]


#: 80 mL of 1 g/mL under 20 mL of 0.88 g/mL, under names of their own.
SPIRIT, HAZE = layer("water", "Spirit", 80.0, 1.0), layer("oil", "Haze", 17.6, 0.88)


def used_up(
    dispenser: Dispenser,
    manner: Manner | None = None,
    bottle: Bottle = STRAIGHT,
    layers: tuple[Layer, ...] = (SPIRIT, HAZE),
    fill: float = 100.0,
) -> Dispensed:
    """A bottle used up; where one waits, by drops of 100 µm of the oil layer."""
    manner = manner or Manner("never")
    oil, water = (sum(one.volume_per_100_g for one in layers if one.kind == kind) for kind in ("oil", "water"))
    room = fill / sum(one.volume_per_100_g for one in layers)
    gap = 1 - next(one.density for one in layers if one.kind == "oil")
    shaken = made(oil * room, water * room, bottle=bottle, gap=gap) if len(layers) == 2 else None
    return dispense(layers, bottle, fill, dispenser, manner, shaken)
