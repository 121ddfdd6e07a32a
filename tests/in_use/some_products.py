"""Products of the tests' own for what layers dissolve of one another."""

from __future__ import annotations

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.library.library import Library

LAYERED = Description(product_kind="leave-on", layering="two layers")


def layered(
    water: dict[str, str], oil: dict[str, str], description: Description | None = None
) -> tuple[Formula, Materials]:
    """A product in two layers and its materials; q.s. fills."""
    phases = []
    for kind, held in (("water", water), ("oil", oil)):
        lines = tuple(Line(name, amount, "fill" if amount == "q.s." else "share") for name, amount in held.items())
        phases.append(Phase(f"{kind.title()} layer", "oil" if kind == "oil" else "water", lines))
    formula = Formula("Two", tuple(phases), description=description or Description())
    return formula, Materials.of(formula, Library.bundled())
