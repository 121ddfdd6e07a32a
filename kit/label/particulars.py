"""What a maker typed for the label of a product, kept beside her notebook so that it is there again next time."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING

from kit.csv_files import as_csv, read_file, rows_of
from kit.errors import Fault, FileFaultsError
from kit.label.durability import read_months
from kit.label.label_text import LabelDetails
from kit.saving import file_stem, save_unless_same
from kit.spreadsheet_text import unguarded

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.saving import Seen

COLUMNS = ("particular", "text")
#: What a label has besides what is computed: what one pack holds, and the fields of LabelDetails.
PARTICULARS = ("content", *(field.name for field in fields(LabelDetails)))
_TICKS = ("imported", "habits")


def particulars_file(title: str) -> Path:
    """The file in which the particulars of a product are kept.

    Examples
    --------
    >>> str(particulars_file("After-swim body shake"))
    'after_swim_body_shake_label.csv'
    """
    return Path(f"{file_stem(title)}_label.csv")


def label_details(typed: Mapping[str, str]) -> LabelDetails:
    """The details of a label from what was typed; a tick is "yes" or "no".

    Raises
    ------
    EntryError
        The months cannot be read.

    Examples
    --------
    >>> label_details({"function": "body oil", "durability_months": "18", "habits": "no"}).durability_months
    18.0
    """
    texts = {name: typed.get(name, "") for name in PARTICULARS if name not in ("content", "durability_months", *_TICKS)}
    return LabelDetails(
        **texts,
        durability_months=read_months(typed.get("durability_months", "")),
        imported=typed.get("imported") == "yes",
        habits=typed.get("habits") != "no",
    )


def read_particulars(path: Path) -> dict[str, str]:
    """The texts of a file: particular → text.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row as a spreadsheet counts it.
    """
    return particulars_of(read_file(path), path.name)


def particulars_of(data: bytes, name: str) -> dict[str, str]:
    """The texts that these bytes of a file hold; see :func:`read_particulars`."""
    head, *rows = rows_of(data, name) or [[]]
    if tuple(cell.strip().casefold() for cell in head[:2]) != COLUMNS:
        problem = f"the first row must hold the column names: {', '.join(COLUMNS)}."
        raise FileFaultsError(name, [Fault("row 1", problem)])
    found, faults = {}, []
    for number, row in enumerate(rows, start=2):
        if any(cell.strip() for cell in row[2:]):
            problem = (
                f"there are {len(row)} cells under 2 column names. Put a text that holds a comma in double quotes."
            )
            faults.append(Fault(f"row {number}", problem))
            continue
        particular, text = (unguarded(cell.strip()) for cell in (*row, "", "")[:2])
        if particular and particular not in PARTICULARS:
            problem = f"{particular!r} is no particular of a label. Those are: {', '.join(PARTICULARS)}."
            faults.append(Fault(f"row {number}", problem))
        elif particular:
            found[particular] = text
    if faults:
        raise FileFaultsError(name, faults)
    return found


def save_particulars(path: Path, typed: Mapping[str, str], *, seen: Seen | None = None) -> None:
    """Write what was typed; what it held goes to its earlier saves. A file that says the same keeps every byte.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    data = as_csv([COLUMNS, *((name, text) for name, text in typed.items() if text)]).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: particulars_of(there, path.name), seen=seen)
