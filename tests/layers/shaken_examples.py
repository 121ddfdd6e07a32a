"""Shaken products for the tests: in straight and round bottles, of liquids that rise and that sink."""

from __future__ import annotations

from kit.layers.bottle import Bottle, bundled_bottles
from kit.layers.shaken import DropSizes, Liquid, Shaken

STRAIGHT = Bottle.cylinder("40 mm", "150 mL")
ROUND = bundled_bottles()["round 100 mL"]


def made(
    drops: float = 20.0,
    surround: float = 80.0,
    *,
    bottle: Bottle = STRAIGHT,
    sizes: DropSizes | None = None,
    gap: float = 0.12,
    kind: str = "oil",
    viscosity: float = 1.2,
) -> Shaken:
    """Drops that rise, or sink where the gap is below 0. [mL, mL, g/mL, mPa·s]"""
    other = "water" if kind == "oil" else "oil"
    return Shaken(
        Liquid(kind, drops, 1.0 - gap, 15.0),  # type: ignore[arg-type]
        Liquid(other, surround, 1.0, viscosity),  # type: ignore[arg-type]
        bottle,
        sizes or DropSizes(100.0, 1.6),
    )
