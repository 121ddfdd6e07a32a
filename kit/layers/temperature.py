"""Density against temperature, and the temperature at which two layers would change places."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.layers.density import material_density
from kit.liquids.water import water_density
from kit.resources import load_table

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import PhaseKind

#: Where the equation for water holds, and nothing is carried beyond it. [°C]
COLDEST, WARMEST = 0.0, 40.0

#: More of a layer without a coefficient than this, and no temperature of change is named. [% of its volume]
MOST_UNKNOWN = 20.0


@lru_cache(maxsize=1)
def expansion_coefficients() -> dict[str, float]:
    """Volume expansion near 20 °C: INCI name → coefficient, see ``data/expansion``. [1/K]"""
    return {row["inci"]: float(row["per_kelvin"]) for row in load_table("expansion").rows}


@dataclass(frozen=True, slots=True)
class WarmLayer:
    """A layer's density at a temperature. [g/mL; % of its volume whose expansion is not known]"""

    density: float
    unknown_share: float


def layer_density_at(formula: Formula, materials: Materials, kind: PhaseKind, celsius: float) -> WarmLayer:
    """Density of one layer between 0 and 40 °C, by ideal volumes. [g/mL]

    Each substance expands by itself: water after Tanaka et al. (2001), others by v(t) = v(20) (1 + α (t - 20)).
    A substance whose expansion is not known is taken to keep its volume, and reported.

    Raises
    ------
    RangeError
        Outside 0 to 40 °C, or a layer that is not there or has no density.
    """
    if not COLDEST <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside {COLDEST:g} to {WARMEST:g} °C, the range of the equation for water."
        raise RangeError(msg)
    mass = volume = volume_now = unknown = 0.0
    for p, _, line, percent in formula.each_line():
        if formula.phases[p].kind != kind or not percent or percent < 0:
            continue
        for substance, share in materials.substances(line.material).items():
            density = material_density(substance, materials) or material_density(line.material, materials)
            if density is None:
                continue
            part = percent * share / 100.0
            grown = _growth(substance, celsius)
            mass, volume = mass + part, volume + part / density
            volume_now += part / density * (grown if grown is not None else 1.0)
            unknown += part / density if grown is None else 0.0
    if volume <= 0:
        msg = f"{formula.title} has no {kind} layer with a known density."
        raise RangeError(msg)
    return WarmLayer(mass / volume_now, 100.0 * unknown / volume)


def _growth(substance: str, celsius: float) -> float | None:
    if substance == "Aqua":
        return water_density("20 degC") / _water(celsius)
    coefficient = expansion_coefficients().get(substance)
    return None if coefficient is None else 1.0 + coefficient * (celsius - 20.0)


@lru_cache(maxsize=256)
def _water(celsius: float) -> float:
    return water_density(f"{celsius!r} degC")


def inversion_temperature(formula: Formula, materials: Materials) -> float | None:
    """The temperature from 0 to 40 °C at which oil and water layer would weigh the same. [°C]

    Returns
    -------
    None where the lighter one stays the lighter throughout, or where too much of a layer (over 20 % of its
    volume) has no known expansion to say so.
    """

    def gap(celsius: float) -> float:
        return (
            layer_density_at(formula, materials, "water", celsius).density
            - layer_density_at(formula, materials, "oil", celsius).density
        )

    shares = [layer_density_at(formula, materials, kind, 20.0).unknown_share for kind in ("water", "oil")]
    low, high = COLDEST, WARMEST
    if max(shares) > MOST_UNKNOWN or gap(low) * gap(high) > 0:
        return None
    for _ in range(40):
        middle = (low + high) / 2
        if gap(low) * gap(middle) <= 0:
            high = middle
        else:
            low = middle
    return (low + high) / 2
