"""The one reader of workbooks: XLSX as rows of cells, with nothing unpacked before its size is known.

A workbook is a ZIP archive of XML files: a few kilobytes can hold a cell in the last corner of a sheet, or unpack to
more than a computer has. Sizes are looked at first; rows are read one by one, and reading ends where they are too many.
"""

from __future__ import annotations

import io
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zipfile import ZipFile

from kit.errors import Fault, FileFaultsError, KitError
from kit.visible_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from openpyxl.cell.cell import Cell
    from openpyxl.workbook.workbook import Workbook

#: A cell as it is stored, and the format in which a spreadsheet shows it.
Stored = tuple[Any, str]
_EMPTY: Stored = (None, "General")
_MOST_PARTS = 2_000
#: Of what a workbook says besides its cells and texts, such as its styles. [bytes]
_MOST_BESIDES = 4_000_000
#: So many places are passed over in looking for cells; a row whose last cell is in column XFD has 16,384.
_MOST_PLACES = 5_000_000
#: So many rows has a sheet.
_MOST_ROWS = 1_048_576


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much of a workbook is read: bytes unpacked, rows of a sheet, and its rows times its columns."""

    bytes: int = 60_000_000
    rows: int = 25_000
    cells: int = 500_000


USUAL = Bounds()


@dataclass(frozen=True, slots=True)
class Book:
    """A workbook that is open: the titles of its sheets in their order, at least one."""

    name: str
    titles: tuple[str, ...]
    _book: Workbook
    _bounds: Bounds

    def rows(self, title: str) -> list[list[Stored]]:
        """The cells of a sheet, all rows as long as the longest, down to the last that holds anything.

        Raises
        ------
        FileFaultsError
            There are too many, or the sheet is damaged.
        """
        rows: list[list[Stored]] = []
        width = 0
        with _told(self.name):
            for number, cells in self._filled(title):
                width = max(width, len(cells))
                if number > self._bounds.rows or number * width > self._bounds.cells:
                    self._refuse_large(title, number, cells)
                rows += [[]] * (number - len(rows) - 1)
                rows.append(cells)
        return [[*row, *[_EMPTY] * (width - len(row))] for row in rows]

    def _filled(self, title: str) -> Iterator[tuple[int, list[Stored]]]:
        """Each row that holds anything, with its number, up to its last cell that does."""
        places = 0
        sheet: Any = self._book[title]
        sheet.reset_dimensions()  # what a sheet says of its own size is not to be believed
        for number, row in enumerate(sheet.iter_rows(), start=1):
            if number > _MOST_ROWS:
                self._refuse_large(title, number, [])
            if not row:
                continue
            places += len(row)
            if places > _MOST_PLACES:
                self._refuse_large(title, number, [_EMPTY] * len(row))
            last = max((n for n, cell in enumerate(row, start=1) if cell.value is not None), default=0)
            if last:
                yield number, [_stored(cell) for cell in row[:last]]

    def _refuse_large(self, title: str, row: int, cells: list[Stored]) -> None:
        from openpyxl.utils import get_column_letter

        place = f"{get_column_letter(max(1, len(cells)))}{row}"
        problem = (
            f"cell {place} of sheet {one_line(title)!r} lies beyond what is read: {self._bounds.rows} rows, and "
            f"{self._bounds.cells} cells in all. Delete the rows and columns that are not part of the table, and save."
        )
        raise FileFaultsError(self.name, [Fault("file", problem)])


def _stored(cell: Cell) -> Stored:
    return (cell.value, cell.number_format or "General") if cell.value is not None else _EMPTY


@contextmanager
def opened(data: bytes, name: str, bounds: Bounds = USUAL) -> Iterator[Book]:
    """A workbook in these bytes, to be read within bounds; of formulas the values that were stored with them.

    Raises
    ------
    FileFaultsError
        It is no workbook, a damaged one, one without a sheet, or too large.
    """
    import openpyxl

    with _told(name):
        _refuse_too_much(data, name, bounds)
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    try:
        titles = tuple(sheet.title for sheet in book.worksheets)
        if not titles:
            raise FileFaultsError(name, [Fault("file", "there is no sheet with cells in this workbook")])
        yield Book(name, titles, book, bounds)
    finally:
        book.close()


@contextmanager
def _told(name: str) -> Iterator[None]:
    """Turn what is raised over a damaged workbook into a sentence."""
    try:
        yield
    except KitError:
        raise
    except Exception as error:  # openpyxl raises a dozen kinds for a file that is no workbook
        said = one_line(str(error))[:120] or type(error).__name__
        problem = f"it cannot be read as a workbook ({said}). Save it as XLSX in the program that made it."
        raise FileFaultsError(name, [Fault("file", problem)]) from error


def _refuse_too_much(data: bytes, name: str, bounds: Bounds) -> None:
    """Refuse an archive that would unpack to more than the bounds; no part unpacks to more than it says."""
    with ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        texts = [part for part in parts if part.filename.casefold().endswith("sharedstrings.xml")]
        besides = [part for part in parts if "worksheets/" not in part.filename and part not in texts]
        xml = [part.file_size for part in besides if part.filename.casefold().endswith((".xml", ".rels"))]
        if len(parts) > _MOST_PARTS or sum(part.file_size for part in parts) > bounds.bytes or sum(xml) > _MOST_BESIDES:
            problem = (
                f"it is too large: no more than {bounds.bytes // 1_000_000} MB are unpacked. Save the table alone, in "
                "a new workbook."
            )
            raise FileFaultsError(name, [Fault("file", problem)])
        for part in parts:
            mark = b"<si" if part in texts else b"<v>" if "worksheets/" in part.filename else b""
            if mark and archive.read(part).count(mark) > bounds.cells:
                problem = f"it holds more than {bounds.cells} filled cells. Save the table alone, in a new workbook."
                raise FileFaultsError(name, [Fault("file", problem)])


def exact(value: float) -> str:
    """A number as a workbook is to hold it: the shortest digits that give the same number.

    openpyxl writes 16 digits, one too few for some numbers: a cell with these digits as its value and the type "n"
    holds them all.

    Examples
    --------
    >>> exact(100 / 3), exact(5.0), exact(2)
    ('33.333333333333336', '5.0', '2')
    """
    return repr(value)
