"""Read rows copied from a spreadsheet or an e-mail: tabs, semicolons, commas, or columns of blanks."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.formula.amounts import REST_PATTERN, read_amount
from kit.formula.headings import Headings, find_headings
from kit.formula.layer_names import is_phase_heading
from kit.formula.own_table import OwnTable, understood
from kit.formula.table_rows import PastedRow, clean

if TYPE_CHECKING:
    from kit.formula.model import Line

_TRAILING_AMOUNT = re.compile(
    r"(.+?)[\s:]+((?:\d{1,3}(?:['’\xa0\u202f]\d{3})+(?:[.,]\d*)?|[\d.,]+)\s*(?:%(?:\s*w/w)?|ppm|‰|mg|g|kg)?"
    rf"|{REST_PATTERN})\s*",
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
#: Bars between cells, those around a row, and a row that is only a drawn line.
_BAR = re.compile(r"[|│┃║]")
_OUTER = re.compile(r"^\s*[|│┃║]|[|│┃║]\s*$")
_DRAWN = re.compile(r"[\s|:+=\-─━═┄┌┐└┘├┤┬┴┼╔╗╚╝╠╣╦╩╬│┃║]+")
_IN_BRACKETS = re.compile(r"(.*\S)\s*\(\s*([\d.,]+\s*(?:%|g))\s*\)")
_BULLET = re.compile(r"^\s*[-–•*·▪]\s+")
_LEADING_AMOUNT = re.compile(r"([\d.,]+\s*(?:%(?:\s*w/w)?|ppm|‰|mg|kg|g))\s+(\D.*)", re.IGNORECASE)
#: What the pasted rows are called in a sentence.
PASTED = "The pasted table"


def read_pasted(text: str) -> list[PastedRow]:
    r"""The rows of pasted text. A header, blank rows and a row of totals are left out; nothing else is.

    Examples
    --------
    >>> [(row.material, row.entry) for row in read_pasted("Ingredient\t% w/w\nAqua\tq.s.\nGlycerin\t4,0")]
    [('Aqua', 'q.s.'), ('Glycerin', '4,0')]
    """
    return list(read_table_text(text).rows)


def read_table_text(text: str) -> OwnTable:
    """Pasted text as a table, with what is to be said of how it was read."""
    lines = [line for line in _ended(text).split("\n") if line.strip()]
    if any(map(_BULLET.match, lines)) and "\t" not in text:
        lines = [_BULLET.sub("", line) for line in lines]
    if len(ruled := _ruled(lines)) > 1:
        lines, text = ruled, "\n".join(ruled)
    headed = _headed(text, lines)
    if headed is None:
        table = _cells(lines)
        return table_without_headings(table, PASTED)
    table, headings = headed
    rows = [(n, dict(zip(headings.names, cells, strict=False))) for n, cells in enumerate(table, start=1)]
    above = [text for cells in table[: headings.at] if (text := " ".join(filter(None, cells))) != headings.phase]
    told = (f"what stands above the headings was not read: {'; '.join(above)}.",) if any(above) else ()
    headings = replace(headings, told=(*headings.told, *told))
    return understood(rows[headings.at + 1 :], headings, PASTED)


def table_without_headings(table: list[list[str]], name: str) -> OwnTable:
    """Rows without headings, their columns taken by what they hold."""
    columns = _guess_columns(table)
    entry, material, phase, counted = (columns.get(key) for key in ("entry", "material", "phase", "counted"))
    width = max((len(cells) for cells in table), default=1)
    places = {entry: "amount", material: "ingredient", phase: "phase"}
    names = tuple("" if n == counted and n != entry else places.get(n, f"Column {n + 1}") for n in range(width))
    rows = []
    for number, cells in enumerate(table, start=1):
        row = {column: cell for column, cell in zip(names, cells, strict=False) if column}
        only = [cell for cell in cells if cell]
        if counted is not None and counted < len(cells) and len(only) == 1 and is_phase_heading(only[0]):
            row = {"ingredient": only[0]}
        elif counted is not None and counted == entry and row.get("amount"):
            row["amount"] = f"{row['amount']} or row {row['amount'].rstrip('.')}"
        rows.append((number, row))
    return understood(rows, Headings(-1, names), name, names_lines=material is not None)


def _ruled(lines: list[str]) -> list[str]:
    """Rows with bars between their cells, as text with tabs and without the lines drawn between them; else none."""
    rows = [line for line in lines if not _DRAWN.fullmatch(line)]
    barred = [line for line in rows if _BAR.search(line)]
    if len(barred) * 2 <= len(rows) or any("\t" in line for line in lines):
        return []
    return ["\t".join(cell.strip() for cell in _BAR.split(_OUTER.sub("", line))) for line in rows]


def _ended(text: str) -> str:
    """The text with its lines ended in one way, without the sign NUL, which a clipboard may end with."""
    return text.replace("\0", "").replace("\r\n", "\n").replace("\r", "\n")


def _headed(text: str, lines: list[str]) -> tuple[list[list[str]], Headings] | None:
    """The cells and their headings, by the first mark between cells that gives some; None where none does."""
    for mark in "\t;,":
        if mark not in text:
            continue
        table = _whole(text, mark) or [_split(line, mark) for line in lines]
        headings = find_headings(table)
        if headings is not None:
            return (_comma_separated(lines, headings) if mark == "," and len(table) == len(lines) else table), headings
    spaced = [re.split(r"\s{2,}|\t", line.strip()) for line in lines]
    if any("\t" in line or ";" in line for line in lines):
        return None
    headings = find_headings(spaced)
    return (spaced, headings) if headings is not None and len(set(map(len, spaced[headings.at :]))) == 1 else None


def _whole(text: str, mark: str) -> list[list[str]] | None:
    """The cells where some run over several lines, as a spreadsheet quotes them; None where none does for sure."""
    if '"' not in text:
        return None
    try:
        table = list(csv.reader(io.StringIO(_ended(text)), delimiter=mark, strict=True))
    except csv.Error:
        return None
    table = [[cell.strip() for cell in cells] for cells in table if any(cell.strip() for cell in cells)]
    widths = {len(cells) for cells in table}
    runs_over = any("\n" in cell for cells in table for cell in cells)
    return table if runs_over and len(widths) == 1 else None


def read_column(text: str) -> list[str] | None:
    """The cells of one pasted column, empty ones included, or None if there is more than one column."""
    lines = _ended(text).rstrip("\n").split("\n")
    if any(len(cells) > 1 for cells in _cells([line for line in lines if line.strip()])):
        return None
    return [clean(line) for line in lines] if text.strip() else []


def lines_of(rows: list[PastedRow]) -> tuple[Line, ...]:
    """The rows as lines; a row with q.s. fills its layer."""
    return tuple(row.line() for row in rows)


def _cells(lines: list[str]) -> list[list[str]]:
    if any("\t" in line for line in lines):
        return [_split(line, "\t") for line in lines]
    rows = [line for line in lines if not is_phase_heading(line)]
    if not rows or all(_is_amount(line) for line in lines):
        return [[line.strip()] for line in lines]
    if all(";" in line for line in rows):
        return [_split(line, ";") for line in lines]
    if all("," in line for line in rows) and not all(_is_blank_separated(line) for line in rows):
        table = _comma_separated(lines)
        if sum(any(map(_is_amount, cells)) for cells in table) * 2 >= len(rows):
            return table
    found = [_name_and_amount(line) for line in lines]
    if sum(match is not None for match in found) * 2 >= len(lines):
        named = [[m[1].strip(), m[2].strip()] if m else [line.strip()] for m, line in zip(found, lines, strict=True)]
        return _unnumbered(named)
    leading = [_LEADING_AMOUNT.fullmatch(line.strip()) for line in lines]
    if sum(match is not None for match in leading) * 2 < len(lines):
        leading = [None for _ in lines]
    return [_name_first(m) if m else [line.strip()] for m, line in zip(leading, lines, strict=True)]


def _name_first(found: re.Match[str]) -> list[str]:
    """The cells of "2,5 g Squalane (5 %)": the name, the amount, and the other amount where one is in brackets."""
    beside = _IN_BRACKETS.fullmatch(found[2].strip())
    return [beside[1], found[1], beside[2]] if beside else [found[2].strip(), found[1]]


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
    if found and found[2].casefold() in ("to", "ad"):
        return None
    return found


def _is_amount(cell: str) -> bool:
    return read_amount(cell).kind in ("percent", "mass", "rest")


def _is_blank_separated(line: str) -> bool:
    """A row such as "Glycerin 4,5", whose only commas are decimal ones."""
    ends = _TRAILING_AMOUNT.fullmatch(line) or _LEADING_AMOUNT.fullmatch(line.strip())
    return "," not in _DECIMAL_COMMA.sub(".", line) and ends is not None


def _split(line: str, delimiter: str) -> list[str]:
    """One row's cells. Row by row, so that a stray quotation mark cannot swallow the rows below it."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]


def _comma_separated(lines: list[str], headings: Headings | None = None) -> list[list[str]]:
    """Rows cut at commas. Where "Glycerin,4,5" was cut at its decimal comma, the last two cells are one number."""
    table = [[cell.replace(_HELD, ",") for cell in _split(_COMMA_OF_NAME.sub(_HELD, line), ",")] for line in lines]
    width = len(headings.names) if headings is not None else 2
    return [
        [*row[:-2], f"{row[-2]},{row[-1]}"]
        if len(row) > width and re.fullmatch(r"\d{1,3}", row[-2]) and re.fullmatch(r"\d+\s*(%|ppm|g)?", row[-1])
        else row
        for row in table
    ]


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
    phase = next((n for n in others if any(columns[n]) and all(map(is_phase_heading, filter(None, columns[n])))), None)
    return {"material": material, "entry": entry, "phase": phase, "counted": counted}


def _at(cells: list[str], column: int | None) -> str:
    return cells[column] if column is not None and column < len(cells) else ""
