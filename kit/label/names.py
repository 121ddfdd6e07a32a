"""Under which name a substance is printed, in Europe and in the United States, and which text may be printed at all."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.library.sources import is_firm, source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
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
