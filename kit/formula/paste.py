"""Read rows copied from a spreadsheet or an e-mail: tabs, semicolons, commas, or columns of blanks."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from itertools import pairwise
from math import isclose

from kit.formula.amounts import read_amount
from kit.formula.model import Line

_INGREDIENT_HEADS = ("ingredient", "inci", "ingrédient", "zutat", "material", "component", "name")
_AMOUNT_HEADS = ("%", "amount", "percent", "w/w", "quantity", "mass", "gram", "menge", "part")
_PHASE_HEADS = ("phase", "layer")
_TRAILING_AMOUNT = re.compile(
    r"(.+?)[\s:]+((?:\d{1,3}(?:['’\xa0\u202f]\d{3})+(?:[.,]\d*)?|[\d.,]+)\s*(?:%(?:\s*w/w)?|ppm|‰|mg|g|kg)?"
    r"|(?:q\.?\s*s\.?|rest)(?:\s*(?:ad|to)?\s*100\s*%?)?|(?:ad|to)\s*100\s*%?)\s*",
    re.IGNORECASE,
)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_ENDS_IN_DIGITS = re.compile(r"(?:^|\s)\d{1,3}$")
_MAY_GO_ON = re.compile(r"00\d|\d{3}(?:[.,]\d*)?\s*(?:ppm|mg|g|kg)", re.IGNORECASE)
#: The commas inside 1,2-Hexanediol part no cells.
_COMMA_OF_NAME = re.compile(r"(?<=\d),(?=\d+(?:,\d+)*-[A-Za-z])")
_HELD = "\ue000"
_COUNT = re.compile(r"\d{1,3}\.?")
_NUMBERED = re.compile(r"(\d{1,3}\.?)\)?\s+(\D.*)")
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
    columns, head = _columns(table), table[0] if table else []
    if columns is None:
        head = []
        columns = _guess_columns(table)
    else:
        table = table[1:]
    again = _same_heading(head, columns["entry"])
    counted = columns.get("counted")
    rows: list[PastedRow] = []
    phase = ""
    for n, cells in enumerate(table):
        material = _clean(_at(cells, columns["material"]))
        entry = _entry(cells, columns["entry"], again)
        if counted is not None and not material and _PHASE_HEADING.fullmatch(heading := "".join(cells).strip()):
            material, entry = heading, ""
        elif counted is not None and counted == columns["entry"] and entry:
            entry = f"{entry} or row {entry.rstrip('.')}"
        last = n == len(table) - 1
        if not (material or entry) or _is_total(material, entry, rows, last=last and columns["material"] is not None):
            continue
        phase = _clean(_at(cells, columns["phase"])) or phase
        if not entry and _PHASE_HEADING.fullmatch(material) and not _at(cells, columns["phase"]):
            phase = material
            continue
        rows.append(PastedRow(material, entry, phase))
    return rows


def read_column(text: str) -> list[str] | None:
    """The cells of one pasted column, empty ones included, or None if there is more than one column."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    if any(len(cells) > 1 for cells in _cells(text)):
        return None
    return [_clean(line) for line in lines] if text.strip() else []


def _is_total(material: str, entry: str, rows: list[PastedRow], *, last: bool) -> bool:
    """A row that says so, or a nameless last amount that is 100 or the sum of those above it."""
    if material:
        return material.casefold().rstrip(" :") in ("total", "sum", "totals")
    amount = read_amount(entry)
    if not last or amount.kind not in ("percent", "mass"):
        return False
    above = sum(found.value for row in rows if (found := read_amount(row.entry)).kind == amount.kind)
    return isclose(amount.value, 100) or isclose(amount.value, above)


def lines_of(rows: list[PastedRow]) -> tuple[Line, ...]:
    """The rows as lines; a row with q.s. fills its layer."""
    return tuple(
        Line(row.material, row.entry, "fill" if read_amount(row.entry).kind == "rest" else "share") for row in rows
    )


def _cells(text: str) -> list[list[str]]:
    lines = [line for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n") if line.strip()]
    if any("\t" in line for line in lines):
        return [_split(line, "\t") for line in lines]
    rows = [line for line in lines if not _PHASE_HEADING.fullmatch(line.strip())]
    if not rows or all(_is_amount(line) for line in lines):
        return [[line.strip()] for line in lines]
    if all(";" in line for line in rows):
        return [_split(line, ";") for line in lines]
    if all("," in line for line in rows) and not all(_is_blank_separated(line) for line in rows):
        table = _comma_separated(lines)
        if _columns(table) or sum(any(map(_is_amount, cells)) for cells in table) * 2 >= len(rows):
            return table
    found = [_name_and_amount(line) for line in lines]
    if sum(match is not None for match in found) * 2 >= len(lines):
        named = [[m[1].strip(), m[2].strip()] if m else [line.strip()] for m, line in zip(found, lines, strict=True)]
        return _unnumbered(named)
    return [[line.strip()] for line in lines]


def _unnumbered(table: list[list[str]]) -> list[list[str]]:
    """The rows with a cell of its own for their number, where "1. Aqua", "2. Glycerin" number them."""
    split = [_NUMBERED.fullmatch(cells[0]) if len(cells) > 1 else None for cells in table]
    numbers = [m[1] for m in split if m]
    if len(numbers) < 2 or len(numbers) < sum(len(cells) > 1 for cells in table) or not _count_on(numbers):
        return table
    return [[m[1], m[2], *cells[1:]] if m else cells for m, cells in zip(split, table, strict=True)]


def _count_on(numbers: list[str]) -> bool:
    """Whether whole numbers count the rows: from 1 on, anew under each heading perhaps, or three or more in turn."""
    if not numbers or not all(map(_COUNT.fullmatch, numbers)):
        return False
    counts = [int(number.rstrip(".")) for number in numbers]
    in_turn = all(after in (before + 1, 1) for before, after in pairwise(counts))
    return in_turn and (counts[0] == 1 or len(counts) > 2)


def _name_and_amount(line: str) -> re.Match[str] | None:
    """A name with an amount behind it; None for "Oil 1 250 g", which may be 250 g of Oil 1 or 1250 g of Oil."""
    found = _TRAILING_AMOUNT.fullmatch(line)
    if found and _ENDS_IN_DIGITS.search(found[1]) and _MAY_GO_ON.match(found[2]):
        return None
    return found


def _is_amount(cell: str) -> bool:
    return read_amount(cell).kind in ("percent", "mass", "rest")


def _is_blank_separated(line: str) -> bool:
    """A row such as "Glycerin 4,5", whose only commas are decimal ones."""
    return "," not in _DECIMAL_COMMA.sub(".", line) and _TRAILING_AMOUNT.fullmatch(line) is not None


def _split(line: str, delimiter: str) -> list[str]:
    """One row's cells. Row by row, so that a stray quotation mark cannot swallow the rows below it."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]


def _comma_separated(lines: list[str]) -> list[list[str]]:
    """Rows cut at commas. Where "Glycerin,4,5" was cut at its decimal comma, the last two cells are one number."""
    table = [[cell.replace(_HELD, ",") for cell in _split(_COMMA_OF_NAME.sub(_HELD, line), ",")] for line in lines]
    width = len(table[0]) if _columns(table) else 2
    return [
        [*row[:-2], f"{row[-2]},{row[-1]}"]
        if len(row) > width and re.fullmatch(r"\d{1,3}", row[-2]) and re.fullmatch(r"\d+\s*(%|ppm|g)?", row[-1])
        else row
        for row in table
    ]


def _columns(table: list[list[str]]) -> dict[str, int | None] | None:
    """The columns by their header, or None if the first row is no header."""
    head = [cell.casefold() for cell in table[0]] if table else []
    if len(head) < 2 or any(_is_amount(cell) for cell in head):
        return None
    phase = _column_named(head, _PHASE_HEADS)
    material = _column_named(head, _INGREDIENT_HEADS, phase)
    entry = _column_named(head, _AMOUNT_HEADS, phase, material)
    if material is None or entry is None:
        return None
    return {"material": material, "entry": entry, "phase": phase}


def _column_named(head: list[str], words: tuple[str, ...], *besides: int | None) -> int | None:
    """The column whose head holds one of the words, the words tried in order."""
    return next((n for word in words for n, cell in enumerate(head) if n not in besides and word in cell), None)


def _guess_columns(table: list[list[str]]) -> dict[str, int | None]:
    """Without a header: the amount is the column with most amounts, the name the wordiest other one.

    A column in front that numbers the rows (``counted``) holds no amounts where another one does.
    """
    width = max((len(cells) for cells in table), default=1)
    if width == 1:
        amounts = all(_is_amount(cells[0]) for cells in table)
        return {"material": None if amounts else 0, "entry": 0 if amounts else None, "phase": None}
    columns = [[_at(cells, n) for cells in table] for n in range(width)]
    score = [(sum(map(_is_amount, cells)), sum(cell[:1].isdigit() for cell in cells)) for cells in columns]
    rows = [cells for n, cells in enumerate(table) if sum(map(bool, cells)) > 1 and (n or any(map(_is_amount, cells)))]
    counts = [_count_on([cell for cells in rows if (cell := _at(cells, n))]) for n in range(width - 1)]
    counted = counts.index(True) if True in counts else None
    others = [n for n in range(width) if n != counted and score[n] > (0, 0)]
    entry = max(others, key=lambda n: (score[n], -n)) if others else 1 if counted is None else counted
    words = [
        sum(len(cell) for cell in cells if not _is_amount(cell)) if n not in (entry, counted) else -1
        for n, cells in enumerate(columns)
    ]
    material = max(range(width), key=words.__getitem__)
    others = [n for n in range(width) if n not in (entry, material, counted)]
    phase = next((n for n in others if all(_PHASE_HEADING.fullmatch(cell) for cell in columns[n] if cell)), None)
    return {"material": material, "entry": entry, "phase": phase, "counted": counted}


def _same_heading(head: list[str], column: int | None) -> list[int]:
    """Other columns with the heading of the amounts: which of them holds the amounts, nothing says."""
    if column is None or column >= len(head):
        return []
    return [n for n, cell in enumerate(head) if n != column and cell.casefold() == head[column].casefold()]


def _entry(cells: list[str], column: int | None, again: list[int]) -> str:
    """The amount of a row; where columns of one heading differ, all of them, to be chosen from by hand."""
    found = [_clean(_at(cells, n)) for n in (column, *again)]
    return " or ".join(dict.fromkeys(entry for entry in found if entry)) if again else found[0]


def _at(cells: list[str], column: int | None) -> str:
    return cells[column] if column is not None and column < len(cells) else ""


def _clean(cell: str) -> str:
    """Spreadsheets put non-breaking spaces before units and into names."""
    return " ".join(cell.split())
