"""How a product of one's own begins: empty, from a starting point of the kit, or as a copy of one of one's own."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import RangeError, UnknownNameError
from kit.formula.editing import settled
from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase
from kit.library.description import NOTHING_SAID, Description
from kit.resources import resource_folder

if TYPE_CHECKING:
    from pathlib import Path

    from kit.library.ingredient import PhaseKind

#: The phases of an empty formula, by what its description says of its layers.
EMPTY_PHASES: dict[str, tuple[tuple[str, PhaseKind], ...]] = {
    "two layers": (("Water layer", "water"), ("Oil layer", "oil")),
    "emulsified": (("Water phase", "water"), ("Oil phase", "oil"), ("Cool-down phase", "water")),
    "one phase": (("Phase A", "water"),),
    "": (("Phase A", "water"),),
}


def starting_names() -> list[str]:
    """The names of the starting points, by the alphabet; nothing is read for it."""
    return sorted(path.stem for path in _folder().glob("*.toml") if path.stem != "source")


@lru_cache(maxsize=1)
def starting_points() -> dict[str, Formula]:
    """Name → an invented formula to begin from, by the alphabet.

    Examples
    --------
    >>> starting_points()["toner"].description.words
    'leave-on toner · face · poured · adults · one phase'
    """
    return {name: read_formula(_folder() / f"{name}.toml") for name in starting_names()}


@lru_cache(maxsize=1)
def _demo_titles() -> frozenset[str]:
    demos = (resource_folder("data") / "demo").glob("*.toml")
    return frozenset(read_formula(path).title for path in demos if not path.stem.endswith("source"))


def is_demo(formula: Formula) -> bool:
    """Whether this is one of the kit's invented products, however it was changed since; its title tells.

    Examples
    --------
    >>> is_demo(starting_point("toner")), is_demo(Formula("After-swim body shake"))
    (False, True)
    """
    return formula.title in _demo_titles()


def starting_point(name: str) -> Formula:
    """The invented formula of this name.

    Raises
    ------
    UnknownNameError
        There is none of that name.
    """
    if name not in starting_points():
        msg = f"There is no starting point {name!r}. Write one of {', '.join(starting_points())}."
        raise UnknownNameError(msg)
    return starting_points()[name]


def blank(title: str, description: Description = NOTHING_SAID) -> Formula:
    """A formula with a title, a description and an empty line in each of its phases.

    Raises
    ------
    RangeError
        The title is empty.

    Examples
    --------
    >>> [phase.name for phase in blank("Rose toner", Description(layering="two layers")).phases]
    ['Water layer', 'Oil layer']
    """
    phases = tuple(Phase(name, kind, (Line(),)) for name, kind in EMPTY_PHASES[description.layering])
    return Formula(_titled(title), phases, description=description)


def begin_from(source: Formula, title: str, description: Description | None = None) -> Formula:
    """A formula of one's own with the lines of another: its amounts as they stand, its steps, its stocks and rules.

    What belongs to the other product alone stays there: its versions, variants, notes, answers and measurements.

    Raises
    ------
    RangeError
        The title is empty.
    """
    now = settled(source)
    return Formula(
        title=_titled(title),
        phases=now.phases,
        description=description or now.description,
        written_for=now.written_for,
        materials=now.materials,
        rules=now.rules,
        steps=now.steps,
    )


def _folder() -> Path:
    return resource_folder("data") / "starting-points"


def _titled(title: str) -> str:
    if not title.strip():
        msg = "A product needs a name, such as Rose toner."
        raise RangeError(msg)
    return title.strip()
