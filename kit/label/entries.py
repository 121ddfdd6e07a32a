"""An entry of an ingredient list: the name it is printed under, and where it stands and why."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from kit.findings import Finding, Place
from kit.library.sources import is_firm, source_text
from kit.resources import load_table
from kit.rounding import four_digits
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.library.table import Jurisdiction


#: What a perfume and a flavour are called, and the words by which a formula may call them.
PERFUME, FLAVOUR = "Parfum", "Aroma"

PERFUME_WORDS = frozenset({"parfum", "perfume", "fragrance", "perfume oil", "fragrance oil"})

FLAVOUR_WORDS = frozenset({"aroma", "flavor", "flavour"})

_COLOUR_INDEX = re.compile(r"CI\s?(\d{5})(?::\d+)?", re.IGNORECASE)

_LETTERS_OF_ONE_WORD = ("\u200c", "\u200d")


@dataclass(frozen=True, slots=True)
class PrintedName:
    """A name as printed, with where it comes from; ``firm`` is False where it is only remembered."""

    name: str
    source: str = ""
    firm: bool = True


@lru_cache(maxsize=1)
def _us_names() -> dict[str, PrintedName]:
    return {
        plain_letters(row["inci"]): PrintedName(
            row["us_name"], source_text(row["source_key"]), is_firm(row["source_key"])
        )
        for row in load_table("declaration-names").rows
    }


def printed_name(inci: str, jurisdiction: Jurisdiction) -> PrintedName:
    """The name for the label.

    In Europe it is the INCI name; a Colour Index number is written as "CI" and five digits. In the United States
    water, fragrance, plants and colours have names of their own.

    References
    ----------
    .. [1] Regulation (EC) No 1223/2009, Article 19(1)(g) and Article 33.
    .. [2] 21 CFR 701.3; Food and Drug Administration, "Cosmetic Ingredient Names".

    Examples
    --------
    >>> printed_name("Aqua", "eu").name, printed_name("Aqua", "us").name
    ('Aqua', 'Water')
    """
    clean = plain_line(inci)
    number = _COLOUR_INDEX.fullmatch(clean)
    if number:
        clean = f"CI {number[1]}"
    if jurisdiction == "us":
        return _us_names().get(plain_letters(clean), PrintedName(clean))
    return PrintedName(clean)


def is_colour_index(name: str) -> bool:
    """Whether a name is a Colour Index number.

    Examples
    --------
    >>> is_colour_index("CI 42090"), is_colour_index("Citric Acid")
    (True, False)
    """
    return _COLOUR_INDEX.fullmatch(name.strip()) is not None


def plain_line(text: str) -> str:
    r"""A text as one line that can be printed: line breaks become spaces, signs that cannot be seen are taken out.

    Out go control characters, marks that turn the direction of writing, and signs without width, so that a text
    cannot show something else than it holds. The two joiners that some scripts need within a word stay.

    Examples
    --------
    >>> plain_line("Body\n  shake\u202e")
    'Body shake'
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    kept = []
    for letter in text:
        category = unicodedata.category(letter)
        if letter.isspace() or category in ("Zl", "Zp"):
            kept.append(" ")
        elif category[0] != "C" or letter in _LETTERS_OF_ONE_WORD:
            kept.append(letter)
    return " ".join("".join(kept).split())


def hidden_signs(text: str) -> int:
    """How many signs that cannot be seen :func:`plain_line` takes out, line breaks and tabs not counted."""
    return sum(
        unicodedata.category(letter)[0] == "C" and letter not in _LETTERS_OF_ONE_WORD and not letter.isspace()
        for letter in text
    )


#: Which part of the list an entry stands in: by weight, in any order after those, colourants at the end.
Group = Literal["by weight", "any order", "colourant"]

GROUPS: tuple[Group, ...] = ("by weight", "any order", "colourant")


@dataclass(frozen=True, slots=True)
class DeclaredSubstance:
    """One entry of the list.

    Attributes
    ----------
    name
        As printed.
    percent
        How much of the product it is. [% w/w]
    group
        The part of the list it stands in.
    reason
        In words: how much, by way of which lines, and why it stands where it does.
    within
        True for an allergen that is named although it came inside a perfume or oil, which stands in the list
        under its own name too. Its weight is counted there.
    lines
        Material of each line that brings it → how much. [% w/w of the product]
    why
        The end of the reason alone: why it stands where it does.
    """

    name: str
    percent: float
    group: Group
    reason: str
    within: bool = False
    lines: Mapping[str, float] = field(default_factory=dict)
    why: str = ""


#: Above or below this the order by weight ends. [% w/w]
ONE_PERCENT = 1.0

#: Two levels closer than this weigh the same. [% w/w]
SAME_PERCENT = 1e-9

ORDER_SOURCES: dict[Jurisdiction, str] = {
    "eu": f"{source_text('eu-article-19')}, paragraph 1(g)",
    "us": f"{source_text('us-701-3')}, paragraphs (a) and (f)",
}


def is_by_weight(percent: float, jurisdiction: Jurisdiction) -> bool:
    """Whether a level belongs to the part by weight: 1 % itself does in Europe and does not in the United States."""
    if jurisdiction == "eu":
        return percent >= ONE_PERCENT - SAME_PERCENT
    return percent > ONE_PERCENT + SAME_PERCENT


def shares_in_words(percent: float, lines: Mapping[str, float]) -> str:
    """How much of a substance there is, and from which lines, most first.

    Examples
    --------
    >>> shares_in_words(3.2, {"Glycerin": 2.0, "Citric Acid 10 % stock": 1.2})
    '3.2 % w/w: 2 % from the line Glycerin and 1.2 % from the line Citric Acid 10 % stock.'
    """
    said = [
        f"{four_digits(share)} % from the line {line}"
        for line, share in sorted(lines.items(), key=lambda each: -each[1])
    ]
    if len(said) == 1:
        return plain_line(f"{four_digits(percent)} % w/w, all from the line {next(iter(lines))}.")
    return plain_line(f"{four_digits(percent)} % w/w: {listed(said)}.")


def place_in_words(percent: float, group: Group, jurisdiction: Jurisdiction) -> str:
    """Why an entry stands in its part of the list."""
    if group == "colourant":
        return "A colourant: after all others, in any order."
    eu = jurisdiction == "eu"
    if group == "by weight":
        exactly = " (exactly 1 % still is not less than 1 %)" if eu and abs(percent - 1) <= SAME_PERCENT else ""
        return f"{'1 % or more' if eu else 'More than 1 %'}{exactly}: its place is by weight."
    exactly = " (exactly 1 % does not exceed 1 %)" if not eu and abs(percent - 1) <= SAME_PERCENT else ""
    return f"{'Less than 1 %' if eu else '1 % or less'}{exactly}: any order, after those by weight."


def close_places(
    entries: Sequence[DeclaredSubstance], weighing_error: float, jurisdiction: Jurisdiction, *, by_weight: bool
) -> list[Finding]:
    """Which places rest on nothing, or on less than a weighing may be off.

    Parameters
    ----------
    weighing_error
        How far each weighing may be off. [% of it]
    by_weight
        Whether those that may stand in any order stand by weight too; then none of them can be out of place.
    """
    error = weighing_error / 100.0
    ordered = [entry for entry in entries if entry.group == "by weight"]
    said = [_close(upper, lower, error) for upper, lower in pairwise(ordered)]
    if not by_weight:
        said += [_near_one(entry, error, jurisdiction) for entry in entries if entry.group == "any order"]
    place, source = Place(field="declaration"), ORDER_SOURCES[jurisdiction]
    return [Finding("note", sentence, place, source) for sentence in said if sentence]


def _close(upper: DeclaredSubstance, lower: DeclaredSubstance, error: float) -> str:
    gap = upper.percent - lower.percent
    if gap <= SAME_PERCENT:
        return (
            f"{upper.name} and {lower.name} weigh the same ({four_digits(upper.percent)} %): either may stand first. "
            "They stand by the alphabet."
        )
    if lower.percent * (1 + error) > upper.percent * (1 - error):
        return (
            f"{upper.name} stands before {lower.name} by {four_digits(gap)} %: weighings that are off by "
            f"{100 * error:g} % could swap the two."
        )
    return ""


def _near_one(entry: DeclaredSubstance, error: float, jurisdiction: Jurisdiction) -> str:
    if error and is_by_weight(entry.percent * (1 + error), jurisdiction):
        over = "to 1 %" if jurisdiction == "eu" else "above 1 %"
        return (
            f"{entry.name} is at {four_digits(entry.percent)} %: a weighing that is off by {100 * error:g} % could "
            f"bring it {over}, where its place is by weight. Let the small ones stand by weight to be on the strict "
            "side."
        )
    return ""
