"""What a file holds, in a few words, and how it differs from another state of it: to choose between two saves."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import KitError
from kit.formula.differences import differences
from kit.formula.versions import version_label
from kit.tables import MOST_ABOVE, rows_of

if TYPE_CHECKING:
    from datetime import datetime

    from kit.formula.differences import LineChange
    from kit.formula.model import Formula

#: So many changes are told; more would not be read.
TOLD = 3
#: A button bears at most so many signs.
BUTTON = 48


def in_words(name: str, data: bytes) -> str:
    r"""What a file of this name holds: title, version and lines of a formula, rows of a table, the size of another.

    Examples
    --------
    >>> in_words("prices.csv", b"material,amount,unit,price\nGlycerin,1,kg,9.80\n")
    '1 row'
    """
    formula = _formula(name, data)
    if formula is not None:
        filled = sum(1 for *_, line, _ in formula.each_line() if not line.is_blank)
        return f"{formula.title}, {version_label(formula)}, {_count(filled, 'line')}"
    rows = _rows(name, data)
    if rows:
        return _count(len(rows) - 1, "row")
    lines = _lines(data)
    return _count(len(lines), "line") if lines else f"{len(data) / 1000:.1f} kB"


def differs_in(name: str, data: bytes, other: bytes) -> str:
    r"""How this state of a file differs from another one: what changes from the other to this.

    Examples
    --------
    >>> differs_in("prices.csv", b"material,price\nUrea,8\n", b"material,price\nUrea,8\nAqua,1\n")
    'without 1 row: Aqua, 1'
    """
    if data == other:
        return "the same"
    mine, theirs = _formula(name, data), _formula(name, other)
    if mine is not None and theirs is not None:
        return changes_in_words(theirs, mine) or "written in another way only"
    what, rows, others = "row", _rows(name, data), _rows(name, other)
    if not (rows and others):
        what, rows, others = "line", _lines(data), _lines(other)
    if not (rows and others):
        return "another content"
    added, gone = (_row_texts(a, b) for a, b in ((rows, others), (others, rows)))
    told = [f"with {_count(len(added), what)}: {_short(added)}"] if added else []
    told += [f"without {_count(len(gone), what)}: {_short(gone)}"] if gone else []
    return "; ".join(told) or "written in another way only"


def changes_in_words(before: Formula, after: Formula) -> str:
    """What changed from one state of a formula to another, in a few words; nothing where it says the same.

    Examples
    --------
    >>> from kit.demos import demo
    >>> shake = demo()
    >>> changes_in_words(shake.earlier[-1], shake)
    'Glycerin ▼ less: 6 % to 4 %; Aqua ▲ more: 72.4 % to 74.4 %'
    """
    return _short(_told(before, after))


def short_words(before: Formula, after: Formula) -> str:
    """What changed first, as words for a button: the material and what becomes of it.

    Examples
    --------
    >>> from kit.demos import demo
    >>> shake = demo()
    >>> short_words(shake.earlier[-1], shake)
    'Glycerin 6 % to 4 %'
    """
    told = _told(before, after)
    first = re.sub(r"[▲▼] \w+: ", "", told[0]) if told else ""
    return first if len(first) <= BUTTON else f"{first[: BUTTON - 2]} …"


def _told(before: Formula, after: Formula) -> list[str]:
    found = differences(before, after)
    return [f"{line.material} {line.words}" for line in sorted(found.changed, key=_only_follows)] + [*found.about]


def _only_follows(line: LineChange) -> bool:
    """Whether a line changed only because others did, as one with q.s. does."""
    return line.before is not None and line.after is not None and line.before.line == line.after.line


def at_words(moment: datetime) -> str:
    """A moment as the clock here showed it."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M}"


def _formula(name: str, data: bytes) -> Formula | None:
    from kit.formula.files.tables import csv_formula, xlsx_formula
    from kit.formula.files.toml_file import formula_of

    suffix = Path(name).suffix.lower()
    if suffix == ".csv" and not _is_formula(_rows(name, data)):
        return None
    try:
        if suffix == ".toml":
            return formula_of(data, name)
        if suffix == ".csv":
            return csv_formula(data, name, [])
        return xlsx_formula(data, name, []) if suffix == ".xlsx" else None
    except KitError:
        return None


def _is_formula(rows: list[tuple[str, ...]]) -> bool:
    """Whether the rows of a CSV file are those of a formula rather than of prices, by the kit's own headings."""
    return any({"ingredient", "amount"} <= {cell.strip().casefold() for cell in row} for row in rows[:MOST_ABOVE])


def _rows(name: str, data: bytes) -> list[tuple[str, ...]]:
    """The rows of a CSV file, blank ones left out; none where it is no table."""
    if Path(name).suffix.lower() != ".csv":
        return []
    try:
        return [tuple(row) for row in rows_of(data, name) if any(cell.strip() for cell in row)]
    except KitError:
        return []


def _lines(data: bytes) -> list[tuple[str, ...]]:
    """The lines of a text, blank ones left out; none where it is no text."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return []
    return [] if "\0" in text else [(line.strip(),) for line in text.splitlines() if line.strip()]


def _row_texts(rows: list[tuple[str, ...]], others: list[tuple[str, ...]]) -> list[str]:
    """The rows that only the first has."""
    only = Counter(rows) - Counter(others)
    return [", ".join(cell for cell in row if cell.strip()) for row in rows if only.pop(row, 0)]


def _short(told: list[str]) -> str:
    shown = [text if len(text) <= 80 else f"{text[:75]} …" for text in told[:TOLD]]
    more = len(told) - TOLD
    return "; ".join(shown) + (f"; and {more} more" if more > 0 else "")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
