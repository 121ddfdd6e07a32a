"""What the density of a mixture needs to know of one substance: its solutions in water, or its own density."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.library.sources import FROM_MEMORY, OWN
from kit.liquids.aqueous import aqueous_solution
from kit.resources import load_table

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.library.ingredient import Figure
    from kit.liquids.aqueous import AqueousSolution

WATER = "Aqua"

#: Plant waters and juices are nearly all water: they count as that, with this standard uncertainty (from memory).
#: [g/mL]
WATERY, WATERY_DOUBT = (" Water", " Juice"), 0.003

#: At which densities are given where nothing else is said. [°C]
USUAL = 20.0

#: Standard uncertainty of a density whose source gives no range: from memory, the maker's own, recomputed with a
#: reference correlation, any other in print (a judgement). [g/mL]
REMEMBERED, MEASURED, RECOMPUTED, PRINTED = 0.01, 0.002, 0.0005, 0.003

#: Room that a dissolved solid takes, as a part of its crystal's, and its standard uncertainty: salts pull the water
#: together, the others hardly (from memory: sucrose and urea 3 % less, organic salts up to 20 % less). [-]
SALT_ROOM, SOLID_ROOM = (0.90, 0.06), (0.97, 0.025)
#: Of a density that is meant for what is dissolved.
AS_GIVEN = (1.0, 0.03)
SALTS = ("anionic", "cationic", "salt", "base", "acid")


@dataclass(frozen=True, slots=True)
class Expansion:
    """Thermal expansion of a liquid: v(t) = v(20) (1 + coefficient (t - 20)). [1/K, 1/K, °C, °C]"""

    coefficient: float
    uncertainty: float
    coldest: float
    warmest: float
    source: str


@lru_cache(maxsize=1)
def expansions() -> dict[str, Expansion]:
    """INCI name → how it expands, from ``data/expansion``."""
    return {
        row["inci"]: Expansion(
            float(row["per_kelvin"]),
            float(row["uncertainty_per_kelvin"]),
            float(row["coldest_degc"]),
            float(row["warmest_degc"]),
            row["source"],
        )
        for row in load_table("expansion").rows
    }


@lru_cache(maxsize=1)
def usual_expansion() -> tuple[float, float]:
    """What a liquid of unknown expansion is taken for: the middle of those known, and its uncertainty (GUM). [1/K]"""
    known = [each.coefficient for each in expansions().values() if each.source != FROM_MEMORY]
    return (min(known) + max(known)) / 2, (max(known) - min(known)) / 2 / 3**0.5


@dataclass(frozen=True, slots=True)
class Substance:
    """One substance as it counts in a density.

    Attributes
    ----------
    solution
        Its solutions in water; None where no table is known.
    volume, uncertainty
        Room that 1 g takes by itself, at ``at``; None where its density is not known. [mL/g]
    at
        [°C]
    in_water
        The room that a solid takes when water dissolves it, as a part of that, and its standard uncertainty; None for
        a liquid. [-, -]
    expansion
        None where it is not known.
    source
        Key of its density's source.
    acid, base
        How much acid or base 1 g of it is; 0 where it is none. [mol/g]
    """

    name: str
    solution: AqueousSolution | None
    volume: float | None
    uncertainty: float
    at: float
    in_water: tuple[float, float] | None
    expansion: Expansion | None
    source: str
    acid: float = 0.0
    base: float = 0.0

    @property
    def is_water(self) -> bool:
        """Whether it is water itself, or nearly so."""
        return self.name == WATER or self.name.endswith(WATERY)

    def grown(self, celsius: float) -> tuple[float, float, bool]:
        """By how much it grew since ``at``: factor, its standard uncertainty, and whether that is known. [-, -, °C]"""
        known = self.expansion
        if known is not None and known.coldest <= celsius <= known.warmest:
            before = 1 + known.coefficient * (self.at - USUAL)
            factor = (1 + known.coefficient * (celsius - USUAL)) / before
            return factor, abs(celsius - self.at) * known.uncertainty, True
        coefficient, uncertainty = usual_expansion()
        degrees = celsius - self.at
        return 1 + coefficient * degrees, abs(degrees) * uncertainty, False


def nothing_known(name: str) -> Substance:
    """A substance that nobody knows."""
    return Substance(name, None, None, 0.0, USUAL, None, None, "")


def substance_of(name: str, materials: Materials) -> Substance:
    """What is known of a substance of this name."""
    ingredient = materials.ingredient(name)
    if ingredient is None:
        return _substance(name, None, "", 0.0)
    moles = 1 / ingredient.molar_mass.value if ingredient.molar_mass else 0.0
    return _substance(ingredient.name, ingredient.density, ingredient.charge, moles)


@lru_cache(maxsize=4096)
def _substance(name: str, figure: Figure | None, charge: str, moles: float) -> Substance:
    solution = aqueous_solution(name) if name != WATER else None
    acid, base = (moles if charge == kind else 0.0 for kind in ("acid", "base"))
    expansion = expansions().get(name)
    if figure is None:
        return Substance(name, solution, None, 0.0, USUAL, None, expansion, "", acid, base)
    volume = 1 / figure.value
    uncertainty = figure_uncertainty(figure) * volume**2
    in_water = None
    if figure.note.startswith("the solid"):
        in_water = SALT_ROOM if charge in SALTS else SOLID_ROOM
    elif figure.note.startswith(("the dry", "apparent density when dissolved")):
        in_water = AS_GIVEN
    at, source = reference_celsius(figure), figure.source
    return Substance(name, solution, volume, uncertainty, at, in_water, expansion, source, acid, base)


_AT = re.compile(r"\bat (\d+(?:\.\d+)?) °C")
_RANGE = re.compile(r"(?:range|from about) (\d\.\d+) to (\d\.\d+)")


@lru_cache(maxsize=1024)
def reference_celsius(figure: Figure) -> float:
    """The temperature for which a density is given, as its note says; 20 °C where it says none. [°C]"""
    found = _AT.search(figure.note)
    return float(found[1]) if found else USUAL


@lru_cache(maxsize=1024)
def figure_uncertainty(figure: Figure) -> float:
    """The standard uncertainty of a density: a stated range is rectangular (GUM 4.3.7), else by its source. [g/mL]"""
    found = _RANGE.search(figure.note)
    if found:
        return (float(found[2]) - float(found[1])) / 2 / 3**0.5
    if figure.source.startswith(OWN):
        return MEASURED
    return {FROM_MEMORY: REMEMBERED, "density-correlations": RECOMPUTED, "iapws-95": 1e-5}.get(figure.source, PRINTED)
