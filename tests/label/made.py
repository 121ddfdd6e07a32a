"""What the tests of this room make their labels from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.label.declaration import Choices, Declaration, declaration
from kit.label.statements import collected, read_statement
from kit.library.description import Description
from kit.library.ingredient import Ingredient
from kit.library.library import Library

if TYPE_CHECKING:
    from kit.label.entries import DeclaredSubstance

LIBRARY = Library.bundled()

#: An essential oil that the maker added, without anything known about what is in it.
LAVENDER = Ingredient("Lavandula Angustifolia Oil", roles=("essential oil",), phase="oil", own=True)


def product(*lines: tuple[str, str], kind: str = "leave-on", **more: Any) -> Formula:
    """A water phase with these lines."""
    phase = Phase("Water layer", "water", tuple(Line(*line) for line in lines))
    return Formula("Toner", (phase,), description=Description(product_kind=kind), **more)  # type: ignore[arg-type]


def listed(formula: Formula, place: str = "eu", **choices: Any) -> Declaration:
    """The declaration of a formula with the bundled library."""
    materials = Materials.of(formula, LIBRARY)
    return declaration(formula, materials, jurisdiction=place, choices=Choices(**choices))  # type: ignore[arg-type]


def entry(found: Declaration, name: str) -> DeclaredSubstance:
    """The one entry of that name."""
    (only,) = [each for each in found.entries if each.name == name]
    return only


def said(found: Declaration, word: str = "") -> list[str]:
    """What the findings say, those that hold a word."""
    return [f"{finding.severity}: {finding.sentence}" for finding in found.findings if word in finding.sentence]


def certificate(**materials: str) -> dict[str, Any]:
    """Statements: ``certificate(Parfum="Linalool 5")``; an underscore stands for a space."""
    return collected(read_statement(name.replace("_", " "), text) for name, text in materials.items())
