"""The line between two layers, as an eye grades it, and what in a formula blurs it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.formula.compatibility import Contents, compatibility_findings
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Finding
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

#: The attribute of the stability log that has the same grades.
ATTRIBUTE = "layer_line"
#: The rules of the trade that speak of two layers begin with this.
_ABOUT_LAYERS = "trade: two-layers-"

#: What a trace of surfactant does to drops that ought to merge.
TRACE = (
    "S. B. Lang and C. R. Wilke, Ind. Eng. Chem. Fundam. 10 (1971): less than 0.02 mmol/L of a surfactant doubled the "
    "time in which drops of water and benzene merged (abstract read; volume and year from memory)"
)


#: What is seen at each grade. The words are those of the stability log; a test holds that they are the same.
_SEEN = {
    "sharp": "one thin line; both layers clear up to it",
    "haze": "clear at the ends, cloudy within some millimetres of the line",
    "lace": "a net or a row of bubbles and drops along the line, which a tap moves",
    "film": "a skin that stays in one piece when the bottle is tilted",
    "crystals": "grains, needles or flakes on the line or on the floor below it",
    "rag layer": "a third, creamy layer between the two that does not go",
}
#: The words of the grades, best first.
LINE_WORDS = tuple(_SEEN)


@dataclass(frozen=True, slots=True)
class LineGrade:
    """One grade of the line between two layers: its number, its word, and what is seen."""

    grade: int
    word: str
    seen: str


def line_grades() -> tuple[LineGrade, ...]:
    """The grades of the line between two layers, best first; an order of common practice, not a measure.

    Examples
    --------
    >>> [one.word for one in line_grades()]
    ['sharp', 'haze', 'lace', 'film', 'crystals', 'rag layer']
    """
    return tuple(LineGrade(number, word, seen) for number, (word, seen) in enumerate(_SEEN.items()))


def line_grade(text: str) -> LineGrade:
    """The grade that a word or a number means.

    Raises
    ------
    EntryError
        It is none of them.

    Examples
    --------
    >>> line_grade("Rag layer").grade, line_grade("0").word
    (5, 'sharp')
    """
    wanted = " ".join(text.split()).casefold()
    for one in line_grades():
        if wanted in (one.word, str(one.grade)):
            return one
    msg = f"{text.strip()[:40]!r} is no grade of the line between the layers. They are: {listed(LINE_WORDS)}."
    raise EntryError(msg)


def line_cautions(formula: Formula, materials: Materials) -> list[Finding]:
    """What in a formula holds drops apart or gathers between its layers: the rules of the trade that say so.

    They are the same findings that the formula has; here they stand beside the trials that show whether they are right.
    """
    return about_layers(compatibility_findings(Contents.of(formula, materials)))


def about_layers(findings: Iterable[Finding]) -> list[Finding]:
    """Those among findings that speak of what happens between two layers."""
    return [finding for finding in findings if finding.matter.startswith(_ABOUT_LAYERS)]
