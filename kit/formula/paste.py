"""Read rows copied from a spreadsheet or an e-mail: tabs, semicolons, commas, or columns of blanks."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from kit.formula.amounts import read_amount
from kit.formula.model import Line

_INGREDIENT_HEADS = ("ingredient", "inci", "material", "name", "component", "zutat", "ingrédient")
_AMOUNT_HEADS = ("%", "amount", "percent", "w/w", "quantity", "mass", "gram", "menge", "part")
_PHASE_HEADS = ("phase", "layer")
_TRAILING_AMOUNT = re.compile(r"(.+?)[\s:]+([\d.,]+\s*(?:%|ppm|‰|mg|g|kg)?|q\.?\s*s\.?)\s*", re.IGNORECASE)
_PHASE_HEADING = re.compile(r".*\b(phase|layer)\b.*|[A-Z]", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class PastedRow:
    """One row as it was understood; ``phase`` is empty where the rows name none."""

    material: str
    entry: str
    phase: str = ""


def read_pasted(text: str) -> list[PastedRow]:
    r"""The rows of pasted text. A header, blank rows and a row of totals are left out; nothing else is.

    Examples
    --------
    >>> read_pasted("Ingredient\t% w/w\nAqua\tq.s.\nGlycerin\t4,0")
    [PastedRow(material='Aqua', entry='q.s.', phase=''), PastedRow(material='Glycerin', entry='4,0', phase='')]
    """
    table = _cells(text)
    columns = _columns(table)
    if columns is None:
        columns = _guess_columns(table)
    else:
        table = table[1:]
    rows, phase = [], ""
    for cells in table:
        material = _at(cells, columns["material"])
        entry = _at(cells, columns["entry"])
        is_column = len(table[0]) == 1
        if material.casefold() in ("total", "sum", "totals") or not (material or (entry and is_column)):
            continue
        named = _at(cells, columns["phase"])
        if not named and not entry and _PHASE_HEADING.fullmatch(material):
            phase = material
            continue
        rows.append(PastedRow(material, _clean(entry), named or phase))
    return rows


def read_column(text: str) -> list[str] | None:
    """The cells of one pasted column, or None if there is more than one column."""
    table = _cells(text)
    if any(len(cells) > 1 for cells in table):
        return None
    return [cells[0] for cells in table]


def lines_of(rows: list[PastedRow]) -> tuple[Line, ...]:
    """The rows as lines; a row with q.s. fills its layer."""
    return tuple(
        Line(row.material, row.entry, "fill" if read_amount(row.entry).kind == "rest" else "share") for row in rows
    )


def _cells(text: str) -> list[list[str]]:
    lines = [line for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n") if line.strip()]
    if any("\t" in line for line in lines):
        return [[cell.strip() for cell in line.split("\t")] for line in lines]
    if lines and all(";" in line for line in lines):
        return [[cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)), delimiter=";")]
    if lines and all("," in line for line in lines):
        rows = [
            [cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)), skipinitialspace=True)
        ]
        if not all(read_amount(line).kind == "percent" for line in lines):
            return [_decimal_comma_mended(row) for row in rows]
    found = [_TRAILING_AMOUNT.fullmatch(line) for line in lines]
    if (
        lines
        and sum(match is not None for match in found) * 2 >= len(lines)
        and not all(read_amount(line).kind in ("percent", "mass", "rest") for line in lines)
    ):
        return [[m[1].strip(), m[2].strip()] if m else [line.strip()] for m, line in zip(found, lines, strict=True)]
    return [[line.strip()] for line in lines]


def _decimal_comma_mended(row: list[str]) -> list[str]:
    """A row such as "Glycerin,4,5" was cut at its decimal comma: the last two cells are one number."""
    if len(row) >= 3 and re.fullmatch(r"\d{1,3}", row[-2]) and re.fullmatch(r"\d+\s*(%|ppm|g)?", row[-1]):
        return [*row[:-2], f"{row[-2]},{row[-1]}"]
    return row


def _columns(table: list[list[str]]) -> dict[str, int | None] | None:
    """The columns by their header, or None if the first row is no header."""
    head = [cell.casefold() for cell in table[0]] if table else []
    if len(head) < 2 or any(read_amount(cell).kind in ("percent", "mass", "rest") for cell in head):
        return None
    material = _column_named(head, _INGREDIENT_HEADS)
    entry = _column_named(head, _AMOUNT_HEADS, besides=material)
    if material is None or entry is None:
        return None
    return {"material": material, "entry": entry, "phase": _column_named(head, _PHASE_HEADS)}


def _column_named(head: list[str], words: tuple[str, ...], besides: int | None = None) -> int | None:
    return next((n for n, cell in enumerate(head) if n != besides and any(word in cell for word in words)), None)


def _guess_columns(table: list[list[str]]) -> dict[str, int | None]:
    """Without a header: the amount is the column with most amounts, the name the wordiest other one."""
    width = max((len(cells) for cells in table), default=1)
    if width == 1:
        amounts = all(read_amount(cells[0]).kind in ("percent", "mass", "rest") for cells in table)
        return {"material": None if amounts else 0, "entry": 0 if amounts else None, "phase": None}
    score = [
        sum(read_amount(_at(cells, n)).kind in ("percent", "mass", "rest") for cells in table) for n in range(width)
    ]
    entry = max(range(width), key=lambda n: (score[n], -n))
    words = [sum(len(_at(cells, n)) for cells in table) if n != entry else -1 for n in range(width)]
    return {"material": max(range(width), key=words.__getitem__), "entry": entry, "phase": None}


def _at(cells: list[str], column: int | None) -> str:
    return cells[column] if column is not None and column < len(cells) else ""


def _clean(entry: str) -> str:
    """Spreadsheets put non-breaking spaces before units."""
    return " ".join(entry.replace("\xa0", " ").split())
