"""Cells that may be one number, or one name, cut at a comma of its own in a file with commas between its cells."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

#: A number whose rest may stand beside it, and what such a rest looks like: 80, 80 €, 5 % w/w, 5; Citric Acid 2.
_WHOLE = re.compile(r"(?:.*[^\d.,])?\d{1,6}", re.DOTALL)
_DECIMALS = re.compile(r"\d{1,6}\s*(?:[^\s\d.,;:]{1,5}(?:\s*w/w)?)?\s*(?:;.*)?", re.DOTALL)
#: What stands behind the comma of 1,2-Hexanediol.
_REST_OF_NAME = re.compile(r"\s*\d+(?:,\d+)*-[A-Za-z]")


class Columns(Protocol):
    """What is known of the columns of a table."""

    @property
    def numbers(self) -> Collection[str]: ...  # noqa: D102

    def may_hold(self, name: str, cell: str) -> bool: ...  # noqa: D102

    def holds_words(self, name: str) -> bool: ...  # noqa: D102


def cuts_in(names: Sequence[str], row: Sequence[str], written: str, schema: Columns) -> list[str]:
    """What to say of the cells of a row that may be one number, or one name, cut at a comma of its own."""
    head = list(names)
    cells = [cell.strip() for cell in row]
    counted = bool(cells) and len(row) == len(head) and not cells[-1]  # the empty cells at its end were written too
    found = []
    for at, (cell, beside) in enumerate(pairwise(cells)):
        if f",{row[at]},{row[at + 1]}," not in f",{written},":
            continue  # one of them is in quotation marks
        name, next_name = (head[n] if n < len(head) else "" for n in (at, at + 1))
        if name not in schema.numbers and is_one_name(cell, beside):
            found.append(f"{cell},{beside} looks like one name. Put a name with a comma in double quotes.")
        if name not in schema.numbers or counted or not may_be_cut(cell, beside):
            continue
        if len(row) == len(head) and not schema.holds_words(next_name):
            continue
        if all(map(schema.may_hold, head[at + 1 :], cells[at + 2 :])):
            under = f"under {next_name}" if next_name else "beside it"
            found.append(
                f"the {name} can be {cell}, with {beside!r} {under}, or {cell}.{beside}. For the one, put both cells "
                f"in double quotes; for the other, write {cell}.{beside}. Or part all cells by semicolons."
            )
    return found


def wordy(names: Sequence[str], rows: Sequence[Sequence[str]]) -> set[str]:
    """The columns in which some cell begins with a letter."""
    return {name for n, name in enumerate(names) if any(len(row) > n and row[n].strip()[:1].isalpha() for row in rows)}


def may_be_cut(cell: str, beside: str) -> bool:
    """Whether two neighbours in a file with commas between its cells may be one number with a decimal comma.

    Examples
    --------
    >>> may_be_cut("50", "5"), may_be_cut("50", "5 %"), may_be_cut("50", "five"), may_be_cut("0.5", "5")
    (True, True, False, False)
    """
    return bool(_WHOLE.fullmatch(cell.strip()) and _DECIMALS.fullmatch(beside.strip()))


def is_one_name(cell: str, beside: str) -> bool:
    """Whether two neighbours look like one name with a comma in it, such as 1,2-Hexanediol."""
    return cell.strip().isdecimal() and _REST_OF_NAME.match(beside) is not None
