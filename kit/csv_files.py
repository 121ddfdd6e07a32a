"""A maker's own CSV files: read however a spreadsheet wrote them, and written so that every text comes back."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.errors import Fault, FileFaultsError, StoreError
from kit.spreadsheet_text import guarded

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence
    from pathlib import Path

#: A number whose rest may stand beside it, and what such a rest looks like: 80, 80 €, 5 % w/w, 5; Citric Acid 2.
_WHOLE = re.compile(r"(?:.*[^\d.,])?\d{1,6}", re.DOTALL)
_DECIMALS = re.compile(r"\d{1,6}\s*(?:[^\s\d.,;:]{1,5}(?:\s*w/w)?)?\s*(?:;.*)?", re.DOTALL)
#: What stands behind the comma of 1,2-Hexanediol.
_REST_OF_NAME = re.compile(r"\s*\d+(?:,\d+)*-[A-Za-z]")
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
    except OSError as error:
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else error.strerror
        msg = f"{path.name} cannot be read: {reason}. Check the name and the folder."
        raise StoreError(msg) from error


@dataclass(frozen=True, slots=True)
class Columns:
    """Which columns of a file hold numbers and days, by their names in small letters, blanks as underscores.

    ``words`` names those that hold words, where a file may have columns that nobody reads; else all others do.
    """

    numbers: Collection[str]
    days: Collection[str] = ()
    words: Collection[str] | None = None

    def may_hold(self, name: str, cell: str) -> bool:
        """Whether a column may hold a cell."""
        if not cell:
            return True
        return (name not in self.days or bool(_DATE.fullmatch(cell))) and (
            name not in self.numbers or any(sign.isdecimal() for sign in cell)
        )

    def are_words(self, name: str) -> bool:
        """Whether a column holds words."""
        return name not in self.numbers and (self.words is None or name in self.words)


def rows_of(
    data: bytes, name: str, columns: Columns | None = None, faults: list[Fault] | None = None
) -> list[list[str]]:
    r"""The rows of a CSV file: comma, semicolon or tab between the cells, with or without a byte mark in front.

    Parameters
    ----------
    columns
        What the columns hold that the first row names.
    faults
        Gets each row in which a decimal comma may have cut a number in two, where commas part the cells; such a row
        comes back empty.

    Raises
    ------
    FileFaultsError
        It is not UTF-8 text, or no table: a quotation mark that is never closed swallows no row in silence.

    Examples
    --------
    >>> rows_of("material;price\nGlycerin;9,80".encode(), "prices.csv")
    [['material', 'price'], ['Glycerin', '9,80']]
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = "it is not saved as UTF-8 text. Save it again as 'CSV UTF-8'."
        raise FileFaultsError(name, [Fault("the whole file", problem)]) from error
    rows: list[list[str]] = []
    delimiter, lines, read = delimiter_of(text), list(io.StringIO(text, newline="")), 0
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    try:
        for row in reader:
            rows.append(row)
            if columns is not None and faults is not None and delimiter == "," and len(rows) > 1:
                written = "".join(lines[read : reader.line_num]).rstrip("\r\n")
                if cut := _cuts(rows[0], row, written, columns):
                    faults += [Fault(f"row {len(rows)}", problem) for problem in cut]
                    rows[-1] = []
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
    return rows


def _cuts(names: Sequence[str], row: Sequence[str], written: str, columns: Columns) -> list[str]:
    """What to say of the cells of a row that may be one number, or one name, cut at a comma of its own."""
    head = [name.strip().casefold().replace(" ", "_") for name in names]
    cells = [cell.strip() for cell in row]
    counted = len(row) == len(head) and not cells[-1]  # the empty cells at its end were written too
    found = []
    for at, (cell, beside) in enumerate(pairwise(cells)):
        if f",{row[at]},{row[at + 1]}," not in f",{written},":
            continue  # one of them is in quotation marks
        name, next_name = (head[n] if n < len(head) else "" for n in (at, at + 1))
        if name not in columns.numbers and _is_one_name(cell, beside):
            found.append(f"{cell},{beside} looks like one name. Put a name with a comma in double quotes.")
        if name not in columns.numbers or counted or not may_be_cut(cell, beside):
            continue
        if len(row) == len(head) and not columns.are_words(next_name):
            continue
        if all(map(columns.may_hold, head[at + 1 :], cells[at + 2 :])):
            under = f"under {next_name}" if next_name else "beside it"
            found.append(
                f"the {name} can be {cell}, with {beside!r} {under}, or {cell}.{beside}. For the one, put both cells "
                f"in double quotes; for the other, write {cell}.{beside}. Or part all cells by semicolons."
            )
    return found


def delimiter_of(text: str) -> str:
    """The mark between the cells of a CSV text, by its first row: comma, semicolon or tab."""
    return max(",;\t", key=text.partition("\n")[0].count)


def may_be_cut(cell: str, beside: str) -> bool:
    """Whether two neighbours in a file with commas between its cells may be one number with a decimal comma.

    Examples
    --------
    >>> may_be_cut("50", "5"), may_be_cut("50", "5 %"), may_be_cut("50", "five"), may_be_cut("0.5", "5")
    (True, True, False, False)
    """
    return bool(_WHOLE.fullmatch(cell.strip()) and _DECIMALS.fullmatch(beside.strip()))


def _is_one_name(cell: str, beside: str) -> bool:
    """Whether two neighbours look like one name with a comma in it, such as 1,2-Hexanediol."""
    return cell.strip().isdecimal() and _REST_OF_NAME.match(beside) is not None


def as_csv(rows: Iterable[Sequence[str]], delimiter: str = ",", end: str = "\n", *, by_hand: bool = True) -> str:
    r"""The text of a CSV file with these rows, each cell guarded against being run by a spreadsheet.

    A row in which a cell holds a carriage return is quoted, for that would end the row when the file is read again;
    so is one in which two cells could be taken for one number, in a file that people write ``by_hand`` too.

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
        alike = (
            by_hand and delimiter == "," and any(may_be_cut(*pair) or _is_one_name(*pair) for pair in pairwise(cells))
        )
        (quoted if alike or any("\r" in cell for cell in cells) else plain).writerow(cells)
    return text.getvalue()
