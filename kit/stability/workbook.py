"""The readings of a study as a workbook that comes back as it went, and as a table to look at."""

from __future__ import annotations

import io
from datetime import date, datetime
from itertools import product
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.rounding import all_digits
from kit.spreadsheet_text import from_workbook, in_workbook
from kit.stability.exchange import from_rows, to_rows
from kit.stability.study import Cell, Observation, Study
from kit.tables import read_file
from kit.workbooks import Bounds, exact, opened

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import pandas as pd
    from openpyxl.worksheet.worksheet import Worksheet


SHEET = "Readings"
#: A log may have more readings than a formula has lines.
BOUNDS = Bounds(bytes=400_000_000, rows=1_048_576, cells=5_000_000)
MOST_CHARACTERS = 32_767  # in one cell: ECMA-376-1:2016, 18.3.1.4 as every spreadsheet holds it


def to_xlsx(study: Study, observations: Iterable[Observation]) -> bytes:
    """The readings as a workbook: one sheet of them, one that says of which study.

    Raises
    ------
    EntryError
        A text is too long for a cell.
    """
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = SHEET
    table = to_rows(study, observations)
    _fill(sheet, table)
    _as_numbers(sheet, table[0].index("number") + 1)
    about = [("study", study.title), ("formula", study.formula_title), ("plan", study.plan.title)]
    about += [("started on", study.started_on.isoformat()), ("batches", ", ".join(study.batches))]
    _fill(book.create_sheet("About"), about)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def from_xlsx(path: Path, study: Study) -> list[Observation]:
    """The readings in a workbook, checked against the study: its sheet "Readings", or else its first.

    Raises
    ------
    StoreError, FileFaultsError
        It cannot be read; or, with every fault, each by its row.
    """
    with opened(read_file(path), path.name, BOUNDS) as book:
        sheet = SHEET if SHEET in book.titles else book.titles[0]
        table = [[_text(value) for value, _ in row] for row in book.rows(sheet)]
    return from_rows(table, path.name, study)


def _fill(sheet: Worksheet, rows: Iterable[Iterable[str]]) -> None:
    for number, row in enumerate(rows, start=1):
        for column, text in enumerate(row, start=1):
            cell = sheet.cell(number, column)
            cell.value = _storable(text, number, column)
            cell.data_type = "s"  # text, also where it starts with "="
            cell.number_format = "@"  # and it stays text when a hand goes over it
    sheet.freeze_panes = "A2"
    for column in sheet.columns:
        widest = max(len(str(cell.value or "")) for cell in column)
        sheet.column_dimensions[column[0].column_letter].width = min(max(widest + 2, 8), 40)


def _as_numbers(sheet: Worksheet, column: int) -> None:
    """Let the cells of a column be numbers, so that a spreadsheet can compute with them."""
    for (cell,) in sheet.iter_rows(min_row=2, min_col=column, max_col=column):
        if cell.value:
            cell.value, cell.data_type, cell.number_format = exact(float(cell.value)), "n", "General"


def _storable(text: str, number: int, column: int) -> str:
    written = in_workbook(text)
    if len(written) > MOST_CHARACTERS:
        msg = (
            f"Row {number}, column {column} holds {len(text)} characters, and a cell of a workbook holds "
            f"{MOST_CHARACTERS}. Export the study as CSV instead."
        )
        raise EntryError(msg)
    return written


def _text(value: object) -> str:
    """A cell as it would have been typed: 4.0 is 4, a day is 2026-03-09, an empty cell is empty."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return all_digits(value)
    if isinstance(value, datetime):
        midnight = value.time().isoformat() == "00:00:00"
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return from_workbook(str(value))


def wide_table(study: Study, observations: Iterable[Observation]) -> pd.DataFrame:
    """One row for each pull of each bottle, one column for each attribute with its unit in its title.

    Numbers and grades are numbers, missing ones NaN; other readings are text as typed, missing ones empty.
    "Age [days]" runs from the start to the first reading of that pull. A replicate has a row of its own below.
    """
    import pandas as pd

    attributes = study.plan.attributes
    cells = {(row.cell, row.replicate): row for row in observations}
    replicates = sorted({replicate for _, replicate in cells})
    pulls: list[list[object]] = []
    bottles = product(study.plan.time_points, study.batches, study.plan.conditions, replicates)
    for point, batch, condition, replicate in bottles:
        places = {one.key: Cell(batch, condition.key, point.label, one.key) for one in attributes}
        read = {key: cells.get((cell, replicate)) for key, cell in places.items()}
        days = [row.observed_on for row in read.values() if row is not None]
        if days:
            pulls.append([batch, condition.label, point.label, min(days).isoformat()])
            pulls[-1].append((min(days) - study.started_on).days)
            pulls[-1].extend(_shown(read[one.key], numeric=one.numeric) for one in attributes)
    columns = ["Batch", "Condition", "Time point", "Observed on", "Age [days]"]
    frame = pd.DataFrame(pulls, columns=[*columns, *(one.title for one in attributes)])
    return frame.astype({one.title: float for one in attributes if one.numeric})


def _shown(row: Observation | None, *, numeric: bool) -> object:
    if row is None:
        return None if numeric else ""
    return row.number if numeric else row.value
