"""A maker's own CSV files: read however a spreadsheet wrote them, and written so that every text comes back."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from kit.errors import Fault, FileFaultsError, StoreError
from kit.spreadsheet_text import guarded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

_WHOLE = re.compile(r"[-−]?\d{1,6}")
_DECIMALS = re.compile(r"\d{1,6}\s*(?:[%‰]|[a-zA-Zµ]{1,5})?")


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


def rows_of(data: bytes, name: str) -> list[list[str]]:
    r"""The rows of a CSV file: comma, semicolon or tab between the cells, with or without a byte mark in front.

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
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter_of(text), strict=True):
            rows.append(row)  # noqa: PERF402 - the rows before a fault say where it is
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


def as_csv(rows: Iterable[Sequence[str]]) -> str:
    r"""The text of a CSV file with these rows, each cell guarded against being run by a spreadsheet.

    A cell that holds a carriage return is quoted: bare, it would end the row when the file is read again.

    Examples
    --------
    >>> as_csv([("=1", "two, three"), ("a\rb", "c")])
    '\'=1,"two, three"\n"a\rb","c"\n'
    """
    text = io.StringIO()
    plain = csv.writer(text, lineterminator="\n")
    quoted = csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL)
    for row in rows:
        cells = [guarded(cell) for cell in row]
        (quoted if any("\r" in cell for cell in cells) else plain).writerow(cells)
    return text.getvalue()
