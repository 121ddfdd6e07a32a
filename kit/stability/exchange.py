"""The readings of a study as a CSV file that comes back as it went, and as a table to look at."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from itertools import product
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, FileFaultsError, KitError, StoreError
from kit.stability.names import storable
from kit.stability.reading import read_value
from kit.stability.study import Cell, Observation, Study, read_date

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    import pandas as pd

#: "reading" numbers the rows of the file; "replaces" names the reading that a row corrects. "unit" is for the
#: person who looks at the file; it is not read back.
COLUMNS = (
    "reading",
    "batch",
    "condition",
    "time_point",
    "attribute",
    "value",
    "unit",
    "observed_on",
    "observer",
    "note",
    "replaces",
    "reason",
    "recorded_at",
)
OPTIONAL = frozenset({"unit", "observer", "note", "replaces", "reason", "recorded_at"})


def to_csv(study: Study, observations: Iterable[Observation]) -> str:
    """The readings as CSV, corrected ones too, values as they were typed."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    for row in observations:
        fields = {name: getattr(row, name) for name in COLUMNS if name not in ("reading", "unit")}
        unit = study.plan.attribute(row.attribute).unit
        writer.writerow({**fields, "reading": row.id, "unit": unit})
    return out.getvalue()


def from_csv(text: str, name: str, study: Study) -> list[Observation]:
    """The readings in a CSV text, checked against the study. Their ids are the file's own.

    Raises
    ------
    FileFaultsError
        With every fault, each by its reading.
    """
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    missing = [column for column in COLUMNS if column not in (reader.fieldnames or ()) and column not in OPTIONAL]
    if missing:
        problem = f"there is no column {', '.join(missing)}. Name the columns as an exported file does."
        raise FileFaultsError(name, [Fault("first line", problem)])
    found: dict[int, Observation] = {}
    taken: dict[Cell, int] = {}
    replaced: set[int] = set()
    faults = []
    try:
        for number, fields in enumerate(reader, start=1):
            try:
                row = _row(fields, study)
                _check_chain(row, found, taken, replaced)
            except KitError as error:
                faults.append(Fault(f"row {number}", str(error)))
            else:
                found[row.id] = row
    except csv.Error as error:
        faults.append(Fault(f"line {reader.line_num}", f"it is not CSV ({error}). Export the file again as CSV."))
    if faults:
        raise FileFaultsError(name, faults)
    return list(found.values())


def _row(fields: Mapping[str, str | None], study: Study) -> Observation:
    texts = {column: storable(fields.get(column) or "", column) for column in COLUMNS}
    cell = study.cell(*(texts[column] for column in ("batch", "condition", "time_point", "attribute")))
    reading = read_value(study.plan.attribute(cell.attribute), texts["value"])
    recorded_at = texts["recorded_at"]
    try:
        datetime.fromisoformat(recorded_at or "2026-01-01T00:00:00+00:00")
    except ValueError as error:
        msg = f"recorded_at: {recorded_at!r} is not a moment. Write 2026-03-09T18:30:00+00:00, or leave it empty."
        raise EntryError(msg) from error
    return Observation(
        id=_whole(texts["reading"], "reading"),
        study_id=study.id,
        batch=cell.batch,
        condition=cell.condition,
        time_point=cell.time_point,
        attribute=cell.attribute,
        value=reading.text,
        number=reading.number,
        observed_on=read_date(texts["observed_on"], "observed_on"),
        observer=texts["observer"],
        note=texts["note"],
        replaces=_whole(texts["replaces"], "replaces") if texts["replaces"] else None,
        reason=texts["reason"],
        recorded_at=recorded_at,
    )


def _whole(text: str, column: str) -> int:
    if not (text.isascii() and text.isdigit()):
        msg = f"{column}: {text!r} is not the number of a reading. Write a whole number, such as 12."
        raise EntryError(msg)
    return int(text)


def _check_chain(
    row: Observation, found: Mapping[int, Observation], taken: dict[Cell, int], replaced: set[int]
) -> None:
    msg = ""
    if row.id in found:
        msg = f"reading {row.id} is in the file twice. Give each reading a number of its own."
    elif row.replaces is None:
        if row.reason:
            msg = f"reading {row.id} gives a reason but does not say which reading it replaces."
        elif row.cell in taken:
            msg = f"reading {row.id} is of the same thing as reading {taken[row.cell]}. Say which replaces which."
    elif not row.reason:
        msg = f"reading {row.id} replaces reading {row.replaces} without a reason. Say why."
    elif row.replaces not in found or found[row.replaces].cell != row.cell:
        msg = f"reading {row.id} replaces reading {row.replaces}, which is not an earlier row of the same thing."
    elif row.replaces in replaced:
        msg = f"reading {row.id} replaces reading {row.replaces}, which another row has replaced already."
    if msg:
        raise EntryError(msg)
    if row.replaces is None:
        taken[row.cell] = row.id
    else:
        replaced.add(row.replaces)


def load_text(path: Path) -> tuple[str, str]:
    """Name and text of a file."""
    try:
        return path.name, path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        msg = f"{path.name} cannot be read ({error.strerror}). Choose a CSV file that the kit exported."
        raise StoreError(msg) from error
    except UnicodeDecodeError as error:
        msg = f"{path.name} is not plain text in UTF-8. Save it as CSV UTF-8 and try again."
        raise StoreError(msg) from error


def wide_table(study: Study, observations: Iterable[Observation]) -> pd.DataFrame:
    """One row for each pull of each bottle, one column for each attribute with its unit in its title.

    Numbers and grades are numbers, missing ones NaN; other readings are text as typed, missing ones empty.
    "Age [days]" runs from the start to the first reading of that pull.
    """
    import pandas as pd

    attributes = study.plan.attributes
    cells = {row.cell: row for row in observations}
    pulls: list[list[object]] = []
    for point, batch, condition in product(study.plan.time_points, study.batches, study.plan.conditions):
        read = {one.key: cells.get(Cell(batch, condition.key, point.label, one.key)) for one in attributes}
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
