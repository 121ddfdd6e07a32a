"""The one reader of a maker's tables: CSV however a spreadsheet wrote it, or the rows of a workbook.

A :class:`Schema` says which columns a table has; :func:`read_table` finds them, checks the shape once, settles the
decimal mark once for the file, and gathers every fault with its row. :func:`as_csv` writes so that every text comes
back.
"""

from __future__ import annotations

import csv
import io
import re
import sys
from contextlib import suppress
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING, Protocol

from kit.errors import Fault, FileFaultsError, StoreError
from kit.file_names import shown, why_no_name
from kit.findings import Finding, tell
from kit.numbers import decided, decimal_mark_of
from kit.spreadsheet_text import guarded, unguarded
from kit.table_cuts import cuts_in, is_one_name, may_be_cut, wordy
from kit.visible_text import brief, holds_nul, plain_letters

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Sequence
    from pathlib import Path

#: In so many rows the names of the columns are looked for: a title may stand above them.
MOST_ABOVE = 5
_DATE = re.compile(r"\d{4}-\d\d-\d\d")


def read_file(path: Path) -> bytes:
    """What a file holds.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    """
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:  # the second: it holds a sign that no name can
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else getattr(error, "strerror", None)
        msg = f"{shown(path.name)} cannot be read: {reason or why_no_name(path)}. Check the name and the folder."
        raise StoreError(msg) from error


class Found(Protocol):
    """Headings that were found: their row counted from 0, and what each column is, by its place."""

    @property
    def at(self) -> int: ...  # noqa: D102

    @property
    def names(self) -> tuple[str, ...]: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Schema:
    """The columns of a table.

    Attributes
    ----------
    what
        What such a table is, for a sentence: "a price list".
    columns, needed
        Every column by its name in small letters, and those without which nothing can be read.
    numbers, days
        The columns that hold numbers, whose habit settles the decimal mark, and those that hold days.
    unbounded
        The columns of numbers in which both readings of 1,250 can be meant; all ``numbers`` where nothing is said.
    number_texts
        The texts in a cell that are to be numbers.
    lets_be
        Whether columns of other names may stand there too and are not read.
    words
        Columns that hold words, where a table may have columns that nobody reads; all but the numbers otherwise.
    whole
        Whether a row that ends before the needed columns is damaged, rather than short of empty cells.
    keeps_blanks
        Whether blanks around a text belong to it.
    unique
        Columns in which no text may stand twice, whatever its capitals and accents.
    find
        Finds the headings of a table whose columns have other names than its own, in rows of cells.
    """

    what: str
    columns: tuple[str, ...]
    needed: tuple[str, ...] = ()
    numbers: Collection[str] = ()
    days: Collection[str] = ()
    unbounded: Collection[str] | None = None
    number_texts: Callable[[str], Iterable[str]] = lambda cell: (cell,)
    lets_be: bool = False
    words: Collection[str] | None = None
    whole: bool = False
    keeps_blanks: bool = False
    unique: tuple[str, ...] = ()
    find: Callable[[Sequence[Sequence[str]]], Found | None] | None = None

    def may_hold(self, name: str, cell: str) -> bool:
        """Whether a column may hold a cell."""
        if not cell:
            return True
        return (name not in self.days or bool(_DATE.fullmatch(cell))) and (
            name not in self.numbers or any(sign.isdecimal() for sign in cell)
        )

    def holds_words(self, name: str) -> bool:
        """Whether a column holds words."""
        return name not in self.numbers and (self.words is None or name in self.words)


@dataclass(slots=True)
class Table:
    """A table that was read: its rows by column name, each with its number as a spreadsheet counts it.

    A row holds a cell for each of the table's columns, empty where it was shorter in the file.

    Attributes
    ----------
    columns, is_headed
        The names of its columns in their order, and whether rows could be read by them.
    decimal_mark
        The mark that the table's numbers show, if they show one.
    found
        The headings as the schema's ``find`` found them.
    """

    name: str
    columns: tuple[str, ...] = ()
    is_headed: bool = False
    rows: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[Finding | None] = field(default_factory=list)
    decimal_mark: str = ""
    found: Found | None = None

    def fault(self, row: int, problem: str, column: str = "") -> None:
        """Note one thing wrong at one place."""
        self.faults.append(Fault(f"row {row}, column {column}" if column else f"row {row}", problem))

    def finish(self, notes: list[Finding] | None) -> None:
        """Raise every fault; where there is none, give ``notes`` what was settled on the way.

        Raises
        ------
        FileFaultsError
            Every fault, with its place.
        """
        if self.faults:
            raise FileFaultsError(self.name, sorted(self.faults, key=_row_of))
        tell(self.notes, notes)


def _row_of(fault: Fault) -> int:
    """Where a fault stands among others: those of the whole file last."""
    found = re.match(r"row (\d+)", fault.where)
    return int(found[1]) if found else sys.maxsize


def read_table(data: bytes, name: str, schema: Schema) -> Table:
    r"""The table in the bytes of a CSV file: comma, semicolon or tab between the cells, with or without a byte mark.

    Raises
    ------
    FileFaultsError
        It is not UTF-8 text, or no table: a quotation mark that is never closed swallows no row in silence.

    Examples
    --------
    >>> schema = Schema("a price list", ("material", "price"), numbers=("price",))
    >>> read_table("material;price\nGlycerin;9,80".encode(), "prices.csv", schema).rows
    [(2, {'material': 'Glycerin', 'price': '9,80'})]
    """
    written, rows, delimiter = _best_parsed(data, name, schema)
    table, at = _headed(rows, name, schema)
    if table.found is not None and schema.words is not None:
        schema = replace(schema, words={*schema.words, *wordy(table.columns, rows[at + 1 :])})
    cuts: list[Fault] = []
    if delimiter == "," and rows:
        for n, (row, text) in enumerate(written[at + 1 :], start=at + 1):
            if cut := cuts_in(table.columns, row, text, schema):
                cuts += [Fault(f"row {n + 1}", problem) for problem in cut]
                rows[n] = []
    _filled(table, rows, at, schema)
    table.faults += cuts
    return table


def _best_parsed(data: bytes, name: str, schema: Schema) -> tuple[list[tuple[list[str], str]], list[list[str]], str]:
    """The rows as written and as cells, cut at the mark that gives headings, or else at the likeliest."""

    def cells(written: list[tuple[list[str], str]]) -> list[list[str]]:
        return [[unguarded(cell if schema.keeps_blanks else cell.strip()) for cell in row] for row, _ in written]

    written, delimiter = _parsed(data, name)
    rows = cells(written)
    if schema.find is not None and schema.find(rows) is None:
        for other in ",;\t".replace(delimiter, ""):
            with suppress(FileFaultsError):
                again, _ = _parsed(data, name, other)
                if schema.find(cells(again)) is not None:
                    return again, cells(again), other
    return written, rows, delimiter


def table_of(rows: Sequence[Sequence[str]], name: str, schema: Schema) -> Table:
    """The table in rows of cells, such as those of a workbook's sheet."""
    table, at = _headed(rows, name, schema)
    return _filled(table, rows, at, schema)


def rows_of(data: bytes, name: str) -> list[list[str]]:
    """The rows of a CSV file as they are, unchecked."""
    return [row for row, _ in _parsed(data, name)[0]]


def _parsed(data: bytes, name: str, mark: str = "") -> tuple[list[tuple[list[str], str]], str]:
    """Each row with the text in which it was written, and the mark between the cells."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = "it is not saved as UTF-8 text. Save it again as 'CSV UTF-8'."
        raise FileFaultsError(name, [Fault("the whole file", problem)]) from error
    if holds_nul(text):
        problem = "it holds the sign NUL, which no text has: it is damaged, or not UTF-8. Save it again as 'CSV UTF-8'."
        raise FileFaultsError(name, [Fault(f"row {text[: text.index(chr(0))].count(chr(10)) + 1}", problem)])
    rows: list[tuple[list[str], str]] = []
    delimiter, lines, read = mark or delimiter_of(text), list(io.StringIO(text, newline="")), 0
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    try:
        for row in reader:
            rows.append((row, "".join(lines[read : reader.line_num]).rstrip("\r\n")))
            read = reader.line_num
    except csv.Error as error:
        where = f"row {len(rows) + 1}"
        if "unexpected end of data" in str(error):
            problem = (
                "a quotation mark is opened here and closed nowhere, so all that follows counts as one cell. "
                "Close it, or take it out."
            )
        else:
            problem = f"it cannot be read as a table ({error}). Open it in a spreadsheet and save it as 'CSV UTF-8'."
        raise FileFaultsError(name, [Fault(where, problem)]) from error
    return rows, delimiter


def _names(row: Sequence[str], schema: Schema) -> list[str]:
    """The names in a row as the schema spells them, whatever their letters and blanks."""
    spelt = {name.replace(" ", "_"): name for name in schema.columns}
    plain = ("_".join(cell.split()).casefold() for cell in row)
    return [spelt.get(name, name) for name in plain]


def _headed(rows: Sequence[Sequence[str]], name: str, schema: Schema) -> tuple[Table, int]:
    """A table whose column names were looked at, and the row in which they stand."""
    table, needed = Table(name), set(schema.needed or schema.columns)
    table.found = schema.find(rows) if schema.find is not None else None
    if table.found is not None:
        at, head = table.found.at, list(table.found.names)
    else:
        at = next((n for n, row in enumerate(rows[:MOST_ABOVE]) if needed <= set(_names(row, schema))), 0)
        head = _names(rows[at], schema) if rows else []
    table.columns = tuple(head)
    if at:
        words = f"{name}: the names of the columns stand in row {at + 1}; what stands above them was not read."
        table.notes.append(Finding("note", words))
    missing = [column for column in schema.needed if column not in head]
    if missing:
        lacking = ", ".join(map(repr, missing))
        names = ", ".join(schema.columns)
        near = _nearest(missing, [column for column in head if column not in schema.columns])
        table.fault(at + 1, f"there is no column {lacking}. The first row must hold the column names: {names}.{near}")
    for column in dict.fromkeys(filter(None, head)):
        if column not in schema.columns and not schema.lets_be:
            known = ", ".join(schema.columns)
            near = _nearest([each for each in schema.columns if each not in head], [column])
            table.fault(at + 1, f"{column!r} is not a column of {schema.what}. The columns are: {known}.{near}")
        if head.count(column) > 1 and (column in schema.columns or not schema.lets_be):
            table.fault(at + 1, f"the column {column!r} is there {head.count(column)} times. Keep one.")
    return table, at


def _nearest(missing: Iterable[str], there: Sequence[str]) -> str:
    """A question after a column of nearly the name of one that is missing; empty where none is near."""
    for column in missing:
        if near := get_close_matches(column, there, 1, 0.7):
            return f" Did you mean {column!r} by {near[0]!r}?"
    return ""


def _filled(table: Table, rows: Sequence[Sequence[str]], at: int, schema: Schema) -> Table:
    """The table with its rows, and the decimal mark that they show."""
    if table.faults:
        return table
    table.is_headed = True
    head = table.columns
    for number, row in enumerate(rows[at + 1 :], start=at + 2):
        if not any(cell.strip() for cell in row):
            continue
        if schema.whole and len(row) < len(schema.needed):
            table.fault(number, f"it has {len(row)} cells; write {', '.join(schema.columns)}.")
        elif any(cell.strip() for cell in row[len(head) :]):
            table.fault(
                number,
                f"there are {len(row)} cells under {len(head)} column names. Put a text that holds a comma or "
                "semicolon, or a number with a decimal comma, in double quotes.",
            )
        else:
            cells = zip_longest(head, row[: len(head)], fillvalue="")
            table.rows.append((number, {name: cell for name, cell in cells if name}))
    _find_doubles(table, schema)
    texts = [(column, text) for _, row in table.rows for column in schema.numbers if column in row
             for text in schema.number_texts(row[column])]  # fmt: skip
    table.decimal_mark = decimal_mark_of(text for _, text in texts)
    unbounded = schema.numbers if schema.unbounded is None else schema.unbounded
    table.notes.append(decided(table.name, [text for column, text in texts if column in unbounded], table.decimal_mark))
    return table


def _find_doubles(table: Table, schema: Schema) -> None:
    for column in schema.unique:
        rows: dict[str, int] = {}
        for number, row in table.rows:
            text = row.get(column, "")
            first = rows.setdefault(plain_letters(text) or text.casefold(), number)
            if text and first != number:
                table.fault(number, f"{text} is already in row {first}. Keep one of the two.", column)


def without_torn_end(data: bytes, name: str, cells: int, read: Callable[[bytes], object]) -> bytes:
    """The bytes of a book that only grows, without a last row that was cut off while it was written; that is told.

    Cut off is a row with faults and without the end of its line that has fewer than so many ``cells``, or a quotation
    mark that nothing closes. What is left out is told as a warning, and stays among the file's earlier saves when the
    book is written.
    """
    try:
        read(data)
    except FileFaultsError as error:
        whole = data[: max(data.rfind(b"\n"), data.rfind(b"\r")) + 1]
        torn = data[len(whole) :].strip()
        row, mark = torn.decode("utf-8", "replace"), delimiter_of(whole.decode("utf-8", "replace"))
        is_cut = row.count('"') % 2 or row.count(mark) + 1 < cells
        if not (torn and whole.strip() and is_cut) or len({fault.where.split(",")[0] for fault in error.faults}) > 1:
            return data
        try:
            read(whole)
        except FileFaultsError:
            return data
        shown = brief(row)
        words = (
            f"The last row of {name} was cut off while it was written: {shown}. It was taken out of the book and lies "
            "among its earlier saves. Look whether what it said has to be written down again."
        )
        tell([Finding("caution", words)], None)
        return whole
    return data


def delimiter_of(text: str) -> str:
    """The mark between the cells of a CSV text, by its first row that has one: comma, semicolon or tab."""
    first = next((line for line in text.split("\n", MOST_ABOVE) if any(mark in line for mark in ",;\t")), "")
    return max(",;\t", key=first.count)


def as_csv(rows: Iterable[Sequence[str]], delimiter: str = ",", end: str = "\n", *, by_hand: bool = True) -> str:
    r"""The text of a CSV file with these rows, each cell guarded against being run by a spreadsheet.

    A row in which a cell holds a carriage return is quoted, for that would end the row when the file is read again;
    so is one in which two cells could be taken for one name, or for one number in a file that people write ``by_hand``
    too.

    Examples
    --------
    >>> as_csv([("=1", "two, three"), ("a\rb", "c"), ("9", "80")])
    '\'=1,"two, three"\n"a\rb","c"\n"9","80"\n'
    """
    text = io.StringIO()
    plain = csv.writer(text, delimiter=delimiter, lineterminator=end)
    quoted = csv.writer(text, delimiter=delimiter, lineterminator=end, quoting=csv.QUOTE_ALL)
    for row in rows:
        cells = [guarded(cell) for cell in row]
        alike = delimiter == "," and any(
            is_one_name(*pair) or (by_hand and may_be_cut(*pair)) for pair in pairwise(cells)
        )
        (quoted if alike or any("\r" in cell for cell in cells) else plain).writerow(cells)
    return text.getvalue()
