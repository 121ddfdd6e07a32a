"""The file of weighed doses, a CSV file beside the product that a person can read: a row for each dose."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import KitError
from kit.in_use.parting_trial import key_of
from kit.in_use.weighed_doses import Seen, WeighedDoses
from kit.inputs import inputs_of
from kit.numbers import read_number
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.tables import Schema, as_csv, read_file, read_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.findings import Finding
    from kit.saving import Seen as SeenFiles
    from kit.tables import Table

#: The columns that say of which series a row is, and the inputs that stand in them.
OF_SERIES = {
    "series": "name", "date": "day", "dispenser": "kind", "shaking": "shaking", "waited s": "delay", "note": "note",
}  # fmt: skip
DOSE, GRAMS, PERCENT = "dose", "g", "oil layer %"
COLUMNS = ("series", "date", "dispenser", "shaking", "waited s", DOSE, GRAMS, PERCENT, "note")
TABLE = Schema(
    "a file of weighed doses",
    COLUMNS,
    needed=("series", "date", "dispenser", "shaking", DOSE),
    numbers=("waited s", DOSE, GRAMS, PERCENT),
    days=("date",),
)
_INPUTS = {one.name: one for one in inputs_of(WeighedDoses)}


def dose_csv(series: Sequence[WeighedDoses]) -> str:
    """The text of the file: a row for each dose that was weighed or split."""
    rows: list[Sequence[str]] = [COLUMNS]
    for one in series:
        grams = {int(seen.dose): all_digits(seen.value) for seen in one.grams}
        percents = {int(seen.dose): all_digits(seen.value) for seen in one.percents}
        waited = all_digits(one.delay) if one.shaking == "waits" else ""
        for dose in sorted({*grams, *percents}):
            cells = [one.name, one.day, one.kind, one.shaking, waited]
            rows.append([*cells, str(dose), grams.get(dose, ""), percents.get(dose, ""), one.note])
    return as_csv(rows)


def read_doses(path: str | Path, notes: list[Finding] | None = None) -> list[WeighedDoses]:
    """Read the file of weighed doses.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row and column.
    """
    path = Path(path)
    return doses_of(read_file(path), path.name, notes)


def save_doses(series: Sequence[WeighedDoses], path: str | Path, *, seen: SeenFiles | None = None) -> None:
    """Write the file of weighed doses, whole or not at all; what it held goes to its earlier saves.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    name = Path(path).name
    data = dose_csv(series).encode("utf-8", "replace")
    save_unless_same(Path(path), data, lambda there: doses_of(there, name, []), seen=seen)


def doses_of(data: bytes, name: str, notes: list[Finding] | None = None) -> list[WeighedDoses]:
    """The series that these bytes hold, in the order in which each first stands there; see :func:`read_doses`."""
    table = read_table(data, name, TABLE)
    groups: dict[str, _Group] = {}
    for at, row in table.rows:
        before = len(table.faults)
        head = {name: _cell(at, row, column, table) for column, name in OF_SERIES.items()}
        numbers = {column: _number(at, row, column, table) for column in (DOSE, GRAMS, PERCENT)}
        if len(table.faults) > before:
            continue
        group = groups.setdefault(key_of(head["name"]), _Group(at, head))
        odd = next((column for column, name in OF_SERIES.items() if head[name] != group.head[name]), "")
        if odd:
            table.fault(at, f"the series {head['name']!r} began in row {group.at} with another one of these.", odd)
        group.rows.append(numbers)
    found = []
    for group in groups.values():
        try:
            found.append(group.made())
        except KitError as error:
            table.fault(group.at, str(error))
    table.finish(notes)
    return found


class _Group:
    """The rows of one series."""

    def __init__(self, at: int, head: Mapping[str, Any]) -> None:
        self.at, self.head = at, head
        self.rows: list[dict[str, float]] = []

    def made(self) -> WeighedDoses:
        """The series, where it is one."""
        grams, percents = (
            tuple(Seen(row[DOSE], row[column]) for row in self.rows if not math.isnan(row[column]))
            for column in (GRAMS, PERCENT)
        )
        return WeighedDoses(**self.head, grams=grams, percents=percents)


def _cell(at: int, row: Mapping[str, str], column: str, table: Table) -> Any:
    """A cell that says of which series the row is, as its input reads it."""
    one, text = _INPUTS[OF_SERIES[column]], row.get(column, "")
    if column == "waited s" and table.decimal_mark == ",":
        text = text.replace(",", ".")
    try:
        if not text and column in TABLE.needed:
            table.fault(at, "it is empty. A weighed dose needs it.", column)
            return None
        return one.read(text)
    except KitError as error:
        table.fault(at, str(error).removeprefix("it: "), column)
        return None


def _number(at: int, row: Mapping[str, str], column: str, table: Table) -> float:
    """A number of a dose; not a number where the cell is empty."""
    text = row.get(column, "")
    if not text:
        if column == DOSE:
            table.fault(at, "it is empty. Number the doses from the first of the bottle.", column)
        return math.nan
    low, high = {DOSE: (1, 5000), GRAMS: (0, 10_000), PERCENT: (0, 100)}[column]
    try:
        return read_number(text, low=low, high=high, decimal_mark=table.decimal_mark)
    except KitError as error:
        table.fault(at, str(error), column)
        return math.nan
