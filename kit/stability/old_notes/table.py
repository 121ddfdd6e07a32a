"""Any table a maker may have kept notes in, read as rows of texts: CSV of every habit, or the sheet of a workbook."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from kit.errors import EntryError, StoreError
from kit.rounding import all_digits
from kit.spreadsheet_text import shown, unguarded
from kit.workbooks import opened

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

DELIMITERS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
#: More than years of notes; beyond it a file is taken for something else.
MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class ForeignTable:
    """A table as it came: one name for each column, rows of texts of that many cells.

    ``lines`` counts where each row stands in the file, the first line being 1; ``told`` says how it was read;
    ``overlong`` holds the lines with a filled cell where the first row has no name; ``by_commas`` says that commas part
    the cells.
    """

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    told: tuple[str, ...] = ()
    overlong: frozenset[int] = frozenset()
    by_commas: bool = False

    def column(self, number: int) -> list[str]:
        """The texts of a column, counted from 0, from top to bottom."""
        return [row[number] for row in self.rows]


def sheet_names(content: bytes) -> list[str]:
    """The names of the sheets of a workbook; none where the file is no workbook."""
    if not _is_workbook(content):
        return []
    with opened(content, "This workbook") as book:
        return list(book.titles)


def read_table(content: bytes, name: str, sheet: str | None = None) -> ForeignTable:
    """Read a table from a CSV file or from a sheet of an XLSX workbook (the first, unless one is named).

    The first line with anything in it names the columns; lines above it with one filled cell, where the table has
    three columns or more, are taken for a title. Of CSV, the mark between cells is found by trying all of
    :data:`DELIMITERS`; UTF-8, UTF-16 and the Windows western code page are read. Days and numbers of a workbook
    become text: 2026-03-09, 5.4.

    Raises
    ------
    StoreError, FileFaultsError
        It is no such file.
    EntryError
        There is no table in it.
    """
    if _is_workbook(content):
        numbered, told = _from_workbook(content, name, sheet)
    else:
        numbered, told = _from_text(content, name)
    filled = [(line, [cell.strip() for cell in row]) for line, row in numbered if any(cell.strip() for cell in row)]
    if len(filled) < 2:
        msg = f"{name} holds no table: a first line with the names of the columns, and readings below it."
        raise EntryError(msg)
    if len(filled) > MOST_ROWS:
        msg = f"{name} has more than {MOST_ROWS} rows. Split it, or choose the right file."
        raise EntryError(msg)
    width = max(len(row) for _, row in filled)
    if width < 2:
        msg = f"{name} has only one column. Save it with a semicolon, a comma or a tab between the columns."
        raise EntryError(msg)
    title = _title_lines([row for _, row in filled], width)
    told = [*told, f"left out above the table: {'; '.join(title)!r}"] if title else told
    by_commas = f"cells parted by {DELIMITERS[',']}" in told
    named = len(filled[len(title)][1])
    (_, head), *body = [(line, [*row, *[""] * (width - len(row))]) for line, row in filled[len(title) :]]
    rows = tuple(tuple(row) for _, row in body)
    overlong = frozenset(line for line, row in body if any(row[named:]))
    return ForeignTable(name, _distinct(head), rows, tuple(line for line, _ in body), tuple(told), overlong, by_commas)


def _title_lines(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """The lines with one filled cell above a table of three columns or more, unless no table would be left."""
    title: list[str] = []
    for row in rows[: len(rows) - 2] if width > 2 else []:
        filled = [cell for cell in row if cell]
        if len(filled) > 1:
            break
        title += filled
    return title


def _is_workbook(content: bytes) -> bool:
    return content.startswith(b"PK\x03\x04")


def _from_workbook(content: bytes, name: str, sheet: str | None) -> tuple[list[tuple[int, list[str]]], list[str]]:
    with opened(content, name) as book:
        if sheet is not None and sheet not in book.titles:
            msg = f"{name} has no sheet {sheet!r}. Choose one of: {', '.join(book.titles)}."
            raise EntryError(msg)
        title = sheet if sheet is not None else book.titles[0]
        rows = [(line, [_cell(*cell) for cell in row]) for line, row in enumerate(book.rows(title), start=1)]
    return rows, [f"sheet {title!r}"]


def _cell(value: object, number_format: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return shown(value, number_format) or all_digits(float(f"{value:.15g}"))
    return str(value)


def _from_text(content: bytes, name: str) -> tuple[list[tuple[int, list[str]]], list[str]]:
    text, coded = _decoded(content, name)
    best: tuple[tuple[float, int], str, list[tuple[int, list[str]]]] | None = None
    for mark in DELIMITERS:
        rows = _split(text, mark)
        if rows is None:
            continue
        widths = Counter(len(row) for _, row in rows)
        width = max(widths, key=lambda cells: (widths[cells], cells), default=0)
        merit = (widths[width] / max(1, len(rows)) if width > 1 else 0.0, width)
        if best is None or merit > best[0]:
            best = (merit, mark, rows)
    if best is None:
        msg = f"{name} cannot be read as a table: a quotation mark in it is never closed. Save it as CSV again."
        raise StoreError(msg)
    _, mark, rows = best
    return [(line, [unguarded(cell) for cell in row]) for line, row in rows], [
        f"cells parted by {DELIMITERS[mark]}",
        *coded,
    ]


def _split(text: str, mark: str) -> list[tuple[int, list[str]]] | None:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    rows, line = [], 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((line, row))
            line = reader.line_num + 1
    except csv.Error:
        return None
    return rows


def _decoded(content: bytes, name: str) -> tuple[str, list[str]]:
    codes = ("utf-16",) if content.startswith((b"\xff\xfe", b"\xfe\xff")) else ("utf-8-sig", "cp1252")
    for code in codes:
        try:
            text = content.decode(code)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            told = [] if code != "cp1252" else ["read in the Windows western code page; look at the accented letters"]
            return text, told
    msg = f"{name} is no text and no workbook. Save the notes as CSV or XLSX and choose that file."
    raise StoreError(msg)


def _distinct(head: Sequence[str]) -> tuple[str, ...]:
    """A name of its own for each column: one without is "column 3", a second "pH" is "pH (2)"."""
    names: list[str] = []
    for number, name in enumerate(_named(head), start=1):
        new, count = name or f"column {number}", 2
        while new in names:
            new, count = f"{name or f'column {number}'} ({count})", count + 1
        names.append(new)
    return tuple(names)


def _named(head: Sequence[str]) -> Iterable[str]:
    return (" ".join(name.split()) for name in head)
