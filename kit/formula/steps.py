"""How a formula is made: steps as texts, or with the phase, temperature, caution and hand that go with them.

A step of which nothing but words is known stays a plain text, in files and in hand.
"""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.formula.expansion import expand
from kit.inputs import REQUIRED, Number, Text, asked
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

#: What a step may be heated or cooled to. [°C]
COLDEST, HOTTEST = -40.0, 300.0


@dataclass(frozen=True, slots=True)
class MakingStep:
    """One step of the making.

    Attributes
    ----------
    do
        What is done, in the maker's own words.
    phase
        Of which phase, by its name.
    celsius
        At which temperature. [°C]
    caution, who
        What to mind, and whose step it is.
    """

    do: str = asked("What to do", Text("lines"), REQUIRED, example="Warm Aqua with Glycerin")
    phase: str = asked("Phase", Text("name"), help="Empty: none, or several.")
    celsius: float | None = asked("At", Number(COLDEST, HOTTEST), None, unit="°C")
    caution: str = asked("Caution", example="Hot oil burns: wear gloves")
    who: str = asked("Who")

    def __post_init__(self) -> None:
        if not self.do.strip():
            msg = "A step says what is done. Write it, such as 'Stir until clear'."
            raise RangeError(msg)
        if self.celsius is not None and not COLDEST <= self.celsius <= HOTTEST:
            msg = f"A step is made at {COLDEST:g} to {HOTTEST:g} °C, not at {self.celsius:g} °C."
            raise RangeError(msg)

    def __str__(self) -> str:
        """All of it as one text."""
        head = ", ".join(filter(None, [self.phase, "" if self.celsius is None else f"{self.celsius:g} °C"]))
        tail = "; ".join(filter(None, [self.caution and f"caution: {self.caution}", self.who and f"by {self.who}"]))
        return f"{head + ': ' if head else ''}{self.do}{f' ({tail})' if tail else ''}"


def full_step(step: str | MakingStep) -> MakingStep:
    """A step with all its parts, those of a plain text empty; it may be empty itself in an old file."""
    return step if isinstance(step, MakingStep) else MakingStep(step if step.strip() else "…")


def short_step(step: MakingStep) -> str | MakingStep:
    """A step of which nothing but words is known is a plain text."""
    return step.do if step == MakingStep(step.do) else step


def step_record(step: str | MakingStep) -> str | dict[str, Any]:
    """A step as files hold it: a text, or a table of what is said."""
    if isinstance(step, str):
        return step
    return {name: value for name, value in asdict(step).items() if value not in ("", None)}


def step_findings(formula: Formula, materials: Materials) -> list[Finding]:
    """Steps that name a material which is not in the formula, and phases of which no step speaks."""
    if not formula.steps:
        return []
    held = _held(formula, materials)
    known = _known(formula, materials)
    found, spoken = [], set()
    for number, step in enumerate(map(full_step, formula.steps)):
        named = list(_named(f"{step.do} {step.caution}", known, materials))
        spoken |= {inci for _, inci in named}
        gone = list(dict.fromkeys(words for words, inci in named if inci not in held))
        if gone:
            sentence = (
                f"Step {number + 1} names {', '.join(gone)}, and the formula does not hold "
                f"{'it' if len(gone) == 1 else 'them'}. Mend the step, or the formula."
            )
            found.append(Finding("caution", sentence, Place(line=number, field="steps"), matter=f"steps: {gone[0]}"))
    return [*found, *_silent(formula, materials, spoken)]


def _silent(formula: Formula, materials: Materials, spoken: set[str]) -> list[Finding]:
    """One note for all phases that no step speaks of, by their name or by a material of theirs."""
    steps = [full_step(step) for step in formula.steps]
    said = f" {_words(' '.join(step.do for step in steps))} "
    silent = []
    for phase in formula.phases:
        lines = [line.material for line in phase.lines if not line.is_blank]
        by_name = phase.name in {step.phase for step in steps} or f" {_words(phase.name)} " in said
        by_material = any(f" {_words(name)} " in said or {*_parts(name, materials)} & spoken for name in lines)
        if lines and not (by_name or by_material):
            silent.append(phase.name)
    if not silent:
        return []
    sentence = f"No step speaks of {', '.join(silent)}. Say in the making what is done with it, or name the phase."
    return [Finding("note", sentence, Place(field="steps"), matter="steps: phases")]


def _parts(name: str, materials: Materials) -> Iterator[str]:
    """A material, and what it is made of, each by one name that does not change with how it is written."""
    yield plain_letters(name)
    if (ingredient := materials.ingredient(name)) is not None:
        yield plain_letters(ingredient.inci)


def _held(formula: Formula, materials: Materials) -> set[str]:
    """Every name under which the formula holds something, its stocks and what is in them too."""
    names = [line.material for phase in formula.phases for line in phase.lines if not line.is_blank]
    found = {part for name in names for part in _parts(name, materials)}
    return found | {part for name in expand(formula, materials) for part in _parts(name, materials)}


def _known(formula: Formula, materials: Materials) -> dict[str, str]:
    """Names that only this formula knows: its own materials, and what its earlier versions held."""
    old = [line.material for each in formula.earlier for phase in each.phases for line in phase.lines]
    own = [material.name for material in formula.materials]
    return {_words(name): next(iter([*_parts(name, materials)][::-1])) for name in (*old, *own) if name.strip()}


#: The longest name that is looked for. [words]
LONGEST = 6
#: Names of the library that are everyday words in a step, and say nothing of the formula there.
EVERYDAY = frozenset(
    (
        *("acid", "air", "alcohol", "carbon", "charcoal", "clay", "color", "colour", "fragrance", "glass", "gold"),
        *("honey", "ice", "lye", "milk", "nitrogen", "oil", "perfume", "salt", "silver", "soap", "starch", "sugar"),
        *("tin", "vinegar", "water", "wax"),
    )
)


def _named(text: str, known: dict[str, str], materials: Materials) -> Iterator[tuple[str, str]]:
    """The materials that a text names by whole words, the longest name first: as written, and its one name."""
    words = re.findall(r"[\w'-]+", text)
    at = 0
    while at < len(words):
        for length in range(min(LONGEST, len(words) - at), 0, -1):
            if "and" in words[at : at + length]:  # two materials, not the blend of them
                continue
            name = " ".join(words[at : at + length])
            plain = _words(name)
            ingredient = None if plain in EVERYDAY or plain.isdigit() else materials.ingredient(name)
            if plain in known or ingredient is not None:
                yield name, known[plain] if plain in known else plain_letters(ingredient.inci)  # type: ignore[union-attr]
                at += length - 1
                break
        at += 1


def _words(text: str) -> str:
    """The words of a text, as they are compared."""
    return plain_letters(" ".join(re.findall(r"[\w'-]+", text)))
