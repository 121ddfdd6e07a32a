"""A formula as a table: CSV for its lines, XLSX with sheets for the rest."""

from __future__ import annotations

import io
from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import Fault, FileFaultsError, StoreError
from kit.findings import Finding
from kit.formula.amounts import read_amount
from kit.formula.editing import settled
from kit.formula.files.reading import DESCRIBED, Reader
from kit.formula.files.record import Record, to_record
from kit.formula.headings import COLUMNS, Headings, find_headings
from kit.formula.own_table import understood
from kit.formula.paste import table_without_headings
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.spreadsheet_text import from_workbook, in_workbook, shown
from kit.tables import Schema, Table, as_csv, read_file, read_table, rows_of, table_of
from kit.workbooks import exact, opened

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from openpyxl.worksheet.worksheet import Worksheet

    from kit.formula.model import Formula
    from kit.saving import Seen

LINES = Schema(
    "a formula",
    COLUMNS,
    needed=("ingredient", "amount"),
    numbers=("amount",),
    unbounded=(),
    lets_be=True,
    keeps_blanks=True,
    words={*COLUMNS, "remark", "remarks", "notes", "comment", "comments"},
    find=find_headings,
)
#: The sheet with the lines in a workbook of the kit's own.
SHEET = "Formula"
#: What an amount can be, so that it can be computed with.
AMOUNTS = ("percent", "mass", "rest")
ABOUT = ("title", "version", "changed_since_version", *DESCRIBED, "written_for", "note", "change_note")
STOCK_COLUMNS = (
    "name", "active", "strength", "basis", "layer", "density", "made_on", "keep_until", "note", "material", "percent",
)  # fmt: skip
INGREDIENT_COLUMNS = ("inci", "plain_name", "roles", "layer", "charge", "density", "note", "material", "percent")
STEP_COLUMNS = ("phase", "celsius", "caution", "who")
WIDTHS = (22, 12, 34, 14, 12, 30, 20, 20, 30, 30, 12)
RULE_COLUMNS = ("ingredient", "least", "most", "of", "reason")


def save_csv(formula: Formula, path: Path, *, seen: Seen | None = None) -> None:
    """Write the lines of a formula as CSV, with the amounts that are in hand where the ratio was moved."""
    data = as_csv(_line_rows(settled(formula))).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: csv_formula(there, path.name, []).phases, seen=seen)


def read_csv(path: Path, notes: list[Finding] | None = None) -> Formula:
    """Read the lines of a formula from CSV: commas, semicolons or tabs between the columns."""
    return csv_formula(_bytes(path), path.name, notes)


def csv_formula(data: bytes, name: str, notes: list[Finding] | None = None) -> Formula:
    """The formula whose lines these bytes of a CSV file hold; see :func:`read_csv`."""
    table = read_table(data, name, LINES)
    cells = [[cell.strip() for cell in row] for row in rows_of(data, name)] if table.found is None else []
    return _read({"title": Path(name).stem}, table, cells, notes)


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
    sheet.title = SHEET
    head, *rows = _line_rows(formula)
    _fill(sheet, head, rows)
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
    with opened(data, name) as book:
        sheets = {title: [[_cell(*cell) for cell in row] for row in book.rows(title)] for title in book.titles}
    record: Record = {"title": Path(name).stem}
    for key, value, *more in _ours(sheets, "About", ("field", "value"))[1:]:
        if str(key).startswith("step "):
            said = {name: cell for name, cell in zip(STEP_COLUMNS, more, strict=False) if cell != ""}
            said = {name: cell if name == "celsius" else str(cell) for name, cell in said.items()}
            record.setdefault("steps", []).append({"do": str(value), **said} if said else str(value))
        elif value != "":
            record[str(key)] = value if str(key).endswith("version") else str(value)
    record["stock"] = _parts(_ours(sheets, "Stocks", STOCK_COLUMNS), "contents")
    record["ingredient"] = _parts(_ours(sheets, "Own ingredients", INGREDIENT_COLUMNS), "composition")
    for own in record["ingredient"]:
        own["roles"] = [role.strip() for role in str(own.get("roles", "")).split(";") if role.strip()]
    rules = _ours(sheets, "Rules", RULE_COLUMNS)
    record["rule"] = [
        {key: value for key, value in _named(row, rules[0]) if value != ""}
        for row in rules[1:]
        if any(cell != "" for cell in row)
    ]
    title, lines = _lines_sheet(sheets)
    table = table_of(lines, name, LINES)
    if title != next(iter(sheets)) and title != SHEET:
        table.notes.append(Finding("note", f"{name}: the formula was read from the sheet {title!r}."))
    return _read(record, table, lines, notes)


def _ours(sheets: dict[str, list[list[Any]]], title: str, columns: Sequence[str]) -> list[list[Any]]:
    """The rows of a sheet as the kit writes it; none where it is another one of that name."""
    rows = sheets.get(title, [])
    is_ours = bool(rows) and len(rows[0]) > 1 and str(rows[0][0]).casefold() == columns[0]
    return rows if is_ours else []


def _lines_sheet(sheets: dict[str, list[list[Any]]]) -> tuple[str, list[list[str]]]:
    """The sheet with the lines: the one named Formula, or the first with headings that can be read, or the first."""
    texts = {title: [[str(cell) for cell in row] for row in rows] for title, rows in sheets.items()}
    first = next(iter(texts))
    title = SHEET if texts.get(SHEET) else next((t for t in texts if find_headings(texts[t]) is not None), first)
    return title, texts[title]


def _step_row(step: str | Record) -> list[Any]:
    """What is done, and beside it what else is said of the step."""
    return [step] if isinstance(step, str) else [step.get(name, "") for name in ("do", *STEP_COLUMNS)]


def _line_rows(formula: Formula) -> list[list[str]]:
    """The headings and a row for each line: the kit's own columns, then those of the maker's own."""
    lines = [(phase, line) for phase in formula.phases for line in phase.lines]
    own = list(dict.fromkeys(heading for _, line in lines for heading, _ in line.more))
    rows = [[*COLUMNS, *own]]
    for phase, line in lines:
        cells = dict(line.more)
        rows.append(
            [phase.name, phase.kind, line.material, line.entry, line.hold, line.note, *(cells.get(h, "") for h in own)]
        )
    return rows


def _read(about: Record, table: Table, cells: list[list[str]], notes: list[Finding] | None) -> Formula:
    """Turn the table of the lines into a formula, or raise every fault."""
    if isinstance(table.found, Headings):
        own = understood(table.rows, table.found, table.name)
    elif _has_no_headings(cells):
        own = table_without_headings(cells, table.name)
        table.faults.clear()
        words = f"{table.name}: there are no headings, so each column was taken for what it holds."
        table.notes = [Finding("note", words)]
    else:
        table.fault(
            1, "its columns cannot be told apart. Call that of the names 'ingredient' and that of the amounts 'amount'."
        )
        raise FileFaultsError(table.name, table.faults[:1])
    placed, told = own.placed()
    numbers: dict[tuple[int, int], int] = {}
    phases: list[Record] = []
    for p, each in enumerate(placed):
        lines = [row.line() for row in each.rows]
        numbers |= {(p, n): row.number for n, row in enumerate(each.rows)}
        records = [
            {"ingredient": line.material, "amount": line.entry, "holds": row.hold or line.hold, "note": line.note}
            | ({"more": dict(line.more)} if line.more else {})
            for row, line in zip(each.rows, lines, strict=True)
        ]
        phases.append({"name": each.name, "layer": each.layer, "line": records})
    if own.written_for:
        about.setdefault("written_for", f"{all_digits(own.written_for)} g")
    table.notes += [*own.notes, *told]
    reader = Reader(locate=lambda place: _row_of(place, numbers), faults=table.faults, reads_texts=True)
    formula = reader.formula({**about, "phase": phases})
    table.finish(notes)
    return formula


def _has_no_headings(rows: Sequence[Sequence[str]]) -> bool:
    """Whether a table begins with its lines at once: amounts in the first row of several cells and in most others."""
    filled = [[cell for cell in row if cell.strip()] for row in rows]
    several = [row for row in filled if len(row) > 1]
    having = [any(read_amount(cell).kind in AMOUNTS for cell in row) for row in several]
    return bool(several) and having[0] and 2 * sum(having) > len(having)


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
            elif isinstance(cell.value, float):
                cell.value, cell.data_type = exact(cell.value), "n"
    for letter, width in zip("ABCDEFGHIJK", WIDTHS, strict=True):
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
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    return value
