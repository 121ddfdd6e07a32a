"""A formula as a table: CSV for its lines, XLSX with sheets for the rest."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import Fault, FileFaultsError, StoreError
from kit.formula.amounts import with_habit
from kit.formula.editing import settled
from kit.formula.files.reading import DESCRIBED, Reader
from kit.formula.files.record import Record, to_record
from kit.numbers import decided
from kit.saving import save_unless_same
from kit.spreadsheet_text import from_workbook, in_workbook, shown
from kit.tables import Schema, Table, as_csv, read_file, read_table, table_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from openpyxl.worksheet.worksheet import Worksheet

    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.saving import Seen

COLUMNS = ("phase", "layer", "ingredient", "amount", "holds", "note")
LINES = Schema(
    "a formula",
    COLUMNS,
    needed=("ingredient", "amount"),
    numbers=("amount",),
    unbounded=(),
    lets_be=True,
    keeps_blanks=True,
    words={*COLUMNS, "remark", "remarks", "notes", "comment", "comments"},
)
ABOUT = ("title", "version", "changed_since_version", *DESCRIBED, "written_for", "note", "change_note")
STOCK_COLUMNS = (
    "name", "active", "strength", "basis", "layer", "density", "made_on", "keep_until", "note", "material", "percent",
)  # fmt: skip
INGREDIENT_COLUMNS = ("inci", "plain_name", "roles", "layer", "charge", "density", "note", "material", "percent")
STEP_COLUMNS = ("phase", "celsius", "caution", "who")
RULE_COLUMNS = ("ingredient", "least", "most", "of", "reason")


def save_csv(formula: Formula, path: Path, *, seen: Seen | None = None) -> None:
    """Write the lines of a formula as CSV, with the amounts that are in hand where the ratio was moved."""
    data = as_csv([COLUMNS, *_line_rows(settled(formula))]).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: csv_formula(there, path.name, []), seen=seen)


def read_csv(path: Path, notes: list[Finding] | None = None) -> Formula:
    """Read the lines of a formula from CSV: commas, semicolons or tabs between the columns."""
    return csv_formula(_bytes(path), path.name, notes)


def csv_formula(data: bytes, name: str, notes: list[Finding] | None = None) -> Formula:
    """The formula whose lines these bytes of a CSV file hold; see :func:`read_csv`."""
    return _read({"title": Path(name).stem}, read_table(data, name, LINES), notes)


def _bytes(path: Path) -> bytes:
    try:
        return read_file(path)
    except StoreError as error:
        raise FileFaultsError(path.name, [Fault("file", str(error))]) from error


def save_xlsx(formula: Formula, path: Path, *, seen: Seen | None = None) -> None:
    """Write a formula as a workbook with one sheet for each kind of row, with the amounts that are in hand."""
    import openpyxl

    formula = settled(formula)
    record = to_record(formula)
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Formula"
    _fill(sheet, COLUMNS, _line_rows(formula))
    about = [[key, "; ".join(v) if isinstance(v := record.get(key, ""), list) else v] for key in ABOUT]
    about += [[f"step {n}", *_step_row(step)] for n, step in enumerate(record.get("steps", []), start=1)]
    _fill(book.create_sheet("About"), ("field", "value", *STEP_COLUMNS), about)
    _fill(book.create_sheet("Stocks"), STOCK_COLUMNS, _part_rows(record.get("stock", []), STOCK_COLUMNS, "contents"))
    own = _part_rows(record.get("ingredient", []), INGREDIENT_COLUMNS, "composition")
    _fill(book.create_sheet("Own ingredients"), INGREDIENT_COLUMNS, own)
    rules = [[rule.get(column, "") for column in RULE_COLUMNS] for rule in record.get("rule", [])]
    _fill(book.create_sheet("Rules"), RULE_COLUMNS, rules)
    data = io.BytesIO()
    book.save(data)
    save_unless_same(path, data.getvalue(), lambda there: xlsx_formula(there, path.name, []), seen=seen)


def read_xlsx(path: Path, notes: list[Finding] | None = None) -> Formula:
    """Read a formula from a workbook: the sheet named Formula, or else the first, and the others if present."""
    return xlsx_formula(_bytes(path), path.name, notes)


def xlsx_formula(data: bytes, name: str, notes: list[Finding] | None = None) -> Formula:
    """The formula that these bytes of a workbook hold; see :func:`read_xlsx`."""
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=False, data_only=True)
    except Exception as error:  # openpyxl raises a dozen kinds for a file that is no workbook
        raise FileFaultsError(name, [Fault("file", f"it cannot be read as a workbook: {error}")]) from error
    sheets = {
        sheet.title: [[_cell(cell.value, cell.number_format) for cell in row] for row in sheet.iter_rows()]
        for sheet in book.worksheets
    }
    record: Record = {"title": Path(name).stem}
    for key, value, *more in sheets.get("About", [])[1:]:
        if str(key).startswith("step "):
            said = {name: cell for name, cell in zip(STEP_COLUMNS, more, strict=False) if cell != ""}
            said = {name: cell if name == "celsius" else str(cell) for name, cell in said.items()}
            record.setdefault("steps", []).append({"do": str(value), **said} if said else str(value))
        elif value != "":
            record[str(key)] = value if str(key).endswith("version") else str(value)
    record["stock"] = _parts(sheets.get("Stocks", []), "contents")
    record["ingredient"] = _parts(sheets.get("Own ingredients", []), "composition")
    for own in record["ingredient"]:
        own["roles"] = [role.strip() for role in str(own.get("roles", "")).split(";") if role.strip()]
    record["rule"] = [
        {key: value for key, value in _named(row, sheets["Rules"][0]) if value != ""}
        for row in sheets.get("Rules", [])[1:]
        if any(cell != "" for cell in row)
    ]
    lines = [[str(cell) for cell in row] for row in sheets.get("Formula") or next(iter(sheets.values()))]
    return _read(record, table_of(lines, name, LINES), notes)


def _step_row(step: str | Record) -> list[Any]:
    """What is done, and beside it what else is said of the step."""
    return [step] if isinstance(step, str) else [step.get(name, "") for name in ("do", *STEP_COLUMNS)]


def _line_rows(formula: Formula) -> list[list[str]]:
    return [
        [phase.name, phase.kind, line.material, line.entry, line.hold, line.note]
        for phase in formula.phases
        for line in phase.lines
    ]


def _read(about: Record, table: Table, notes: list[Finding] | None) -> Formula:
    """Turn the table of the lines into a formula, or raise every fault."""
    amounts = [row["amount"] for _, row in table.rows]
    settled = with_habit(amounts, table.decimal_mark)
    open_ones = [was for was, now in zip(amounts, settled, strict=True) if was != now]
    table.notes.append(decided(table.name, open_ones, table.decimal_mark))
    phases: dict[tuple[str, str], Record] = {}
    numbers: dict[tuple[int, int], int] = {}
    for (number, row), amount in zip(table.rows, settled, strict=True):
        named = row.get("phase") or "Phase 1"
        same = [layer for name, layer in phases if name == named]
        layer = row.get("layer") or (same[-1] if same else "water")
        phase = phases.setdefault((named, layer), {"name": named, "layer": layer, "line": []})
        numbers[list(phases).index((named, layer)), len(phase["line"])] = number
        line = {column: row[column] for column in ("ingredient", "note") if column in row} | {"amount": amount}
        phase["line"].append(line | ({"holds": row["holds"]} if row.get("holds") else {}))
    reader = Reader(locate=lambda place: _row_of(place, numbers), faults=table.faults, reads_texts=True)
    formula = reader.formula({**about, "phase": list(phases.values())}) if table.is_headed else None
    table.finish(notes)
    assert formula is not None
    return formula


def _row_of(place: tuple[str | int, ...], numbers: dict[tuple[int, int], int]) -> str:
    if place[:1] != ("phase",) or len(place) < 2:
        return ", ".join(str(part + 1) if isinstance(part, int) else part for part in place) or "file"
    line = place[3] if len(place) > 3 else 0
    return f"row {numbers.get((int(place[1]), int(line)), 1)}, {place[-1]}"


def _part_rows(records: Iterable[Record], columns: Sequence[str], parts: str) -> list[list[Any]]:
    """One row for each part of each stock or own ingredient; the other columns stand in its first row."""
    rows = []
    for record in records:
        shares = list(record.get(parts, {}).items()) or [("", "")]
        for n, (material, percent) in enumerate(shares):
            whole = record if n == 0 else {columns[0]: record[columns[0]]}
            values = {**whole, "material": material, "percent": percent}
            rows.append(["; ".join(v) if isinstance(v := values.get(c, ""), list) else v for c in columns])
    return rows


def _parts(rows: Sequence[Sequence[Any]], parts: str) -> list[Record]:
    """The opposite of :func:`_part_rows`."""
    found: dict[str, Record] = {}
    for row in rows[1:]:
        cells = {key: value for key, value in _named(row, rows[0]) if value != ""}
        material, percent = cells.pop("material", ""), cells.pop("percent", 0.0)
        if not cells:
            continue
        record = found.setdefault(str(next(iter(cells.values()))), {parts: {}})
        record.update({key: value for key, value in cells.items() if key not in record})
        if material:
            record[parts][str(material)] = percent
    return list(found.values())


def _named(row: Sequence[Any], head: Sequence[Any]) -> list[tuple[str, Any]]:
    return [(str(name), value) for name, value in zip(head, row, strict=False) if str(name)]


def _fill(sheet: Worksheet, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    sheet.append(list(columns))
    for row in rows:
        sheet.append([_storable(cell) if isinstance(cell, str) else cell for cell in row])
    for cells in sheet.iter_rows():
        for cell in cells:
            if isinstance(cell.value, str):
                cell.data_type = "s"  # text that starts with "=" stays text
    for letter, width in zip("ABCDEFGHIJK", (22, 12, 34, 14, 12, 30, 20, 20, 30, 30, 12), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"


def _storable(text: str) -> str:
    return in_workbook(text.encode("utf-8", "replace").decode())


def _cell(value: object, shown_as: str = "") -> Any:
    """A cell as the maker sees it: 4.0 is 4, 0.04 shown as 4 % is "4 %", an empty cell is empty text."""
    if value is None:
        return ""
    if isinstance(value, str):
        return from_workbook(value)
    if isinstance(value, int | float) and not isinstance(value, bool) and (text := shown(value, shown_as)):
        return text
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value
