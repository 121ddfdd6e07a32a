"""Small formulas for the tests of preservatives, and short ways to ask about them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kit.demos import demo
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.preservation import preservative_levels
from kit.layers.preservation_findings import preservation_findings
from kit.library.library import Library

if TYPE_CHECKING:
    from kit.layers.preservation import WaterLevel
    from kit.library.ingredient import Ingredient, Stock

LIBRARY = Library.bundled()
DEMO = demo()
MATERIALS = Materials.of(DEMO, LIBRARY)


def product(*lines: tuple[str, str, float], own: tuple[Ingredient | Stock, ...] = ()) -> Formula:
    """A formula of (layer, material, percent); the first line of each layer fills it, the others keep their level."""
    phases = []
    for kind in dict.fromkeys(kind for kind, _, _ in lines):
        members = [line for line in lines if line[0] == kind]
        phases.append(
            Phase(
                f"{kind} layer",
                kind,  # type: ignore[arg-type]
                tuple(Line(name, f"{x!r}", "level" if n else "fill") for n, (_, name, x) in enumerate(members)),
            )
        )
    return Formula("A made-up shake", tuple(phases), materials=own)


def levels_of(formula: Formula, **how: Any) -> list[WaterLevel]:
    """The levels of a formula of the bundled library."""
    return list(preservative_levels(formula, Materials.of(formula, LIBRARY), **how))


def words_of(formula: Formula, ph: float | None = None, **partition: float) -> str:
    """Everything said about a formula, a line each."""
    found = preservation_findings(formula, Materials.of(formula, LIBRARY), ph, partition)
    return "\n".join(str(finding) for finding in found)
