"""What a maker typed for the label of a product, kept beside her notebook so that it is there again next time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.csv_files import as_csv, read_file, rows_of
from kit.errors import Fault, FileFaultsError
from kit.saving import save_text
from kit.spreadsheet_text import unguarded

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

COLUMNS = ("particular", "text")


def read_particulars(path: Path, known: Iterable[str]) -> dict[str, str]:
    """The texts of a file: particular → text.

    Parameters
    ----------
    known
        The particulars that a label has.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row as a spreadsheet counts it.
    """
    names = tuple(known)
    head, *rows = rows_of(read_file(path), path.name) or [[]]
    if tuple(cell.strip().casefold() for cell in head[:2]) != COLUMNS:
        problem = f"the first row must hold the column names: {', '.join(COLUMNS)}."
        raise FileFaultsError(path.name, [Fault("row 1", problem)])
    found, faults = {}, []
    for number, row in enumerate(rows, start=2):
        name, text = (unguarded(cell.strip()) for cell in (*row, "", "")[:2])
        if name and name not in names:
            problem = f"{name!r} is no particular of a label. Those are: {', '.join(names)}."
            faults.append(Fault(f"row {number}", problem))
        elif name:
            found[name] = text
    if faults:
        raise FileFaultsError(path.name, faults)
    return found


def save_particulars(path: Path, typed: Mapping[str, str]) -> None:
    """Write what was typed; the file as it was stays beside it as ``<name>.previous``.

    Raises
    ------
    StoreError
        It cannot be written; the old file is then untouched.
    """
    save_text(path, as_csv([COLUMNS, *((name, text) for name, text in typed.items() if text)]))
