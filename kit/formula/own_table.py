"""What the rows of a maker's own table say, the same whether they were pasted or stand in a CSV file or a workbook."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import isclose
from typing import TYPE_CHECKING

from kit.errors import EntryError, KitError
from kit.findings import Finding
from kit.formula.amounts import names_the_whole, read_amount, with_habit
from kit.formula.headings import COLUMNS
from kit.formula.layer_names import is_phase_heading, plain
from kit.formula.model import Phase
from kit.formula.table_rows import PastedRow, Placed, clean, kind_of, placed
from kit.formula.totals import heads_with_its_sum, is_total
from kit.numbers import decided, decimal_mark_of, split_text
from kit.rounding import all_digits
from kit.units import known_unit, magnitude
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.formula.headings import Headings
    from kit.library.ingredient import Material

_WATER = ("aqua", "water", "wasser", "eau", "agua", "acqua", "aqua (water)", "water (aqua)", "deionized water")
_TO_MASS = re.compile(
    r"(?:q\.?\s*s\.?\s*(?:p\.?)?|c\.?\s*s\.?\s*p\.?|rest[eo]?)?\s*(?:ad\.?|to|auf|bis|a|à|tot|hasta|fino a)\s*"
    r"([\d.,]+\s*k?g)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class OwnTable:
    """A table as it was understood.

    Attributes
    ----------
    notes
        What is to be said of how it was read.
    written_for
        The batch for which amounts in grams beside q.s. are meant, where the table says it. [g]
    """

    rows: tuple[PastedRow, ...] = ()
    notes: tuple[Finding, ...] = ()
    written_for: float | None = None

    @property
    def names_phases(self) -> bool:
        """Whether the rows are parted into phases."""
        return any(row.phase or row.layer for row in self.rows)

    def placed(self, own: Iterable[Material] = ()) -> tuple[list[Placed], list[Finding]]:
        """The rows by phase and layer, and what is to be said where no name told the layer."""
        return placed(self.rows, own)

    def phases(self, own: Iterable[Material] = ()) -> tuple[Phase, ...]:
        """The rows as the phases of a formula."""
        return tuple(
            Phase(each.name, kind_of(each.layer), tuple(row.line() for row in each.rows))
            for each in self.placed(own)[0]
        )


def understood(
    rows: Sequence[tuple[int, Mapping[str, str]]], headings: Headings, name: str, *, names_lines: bool = True
) -> OwnTable:
    """What the rows of a table say, each by its column and with its number as a spreadsheet counts it.

    Rows of totals and rows that only head a phase are no lines; a table that the kit wrote has none of them.

    Parameters
    ----------
    name
        What the table is called in a sentence.
    names_lines
        Whether a column of names is there, without which no nameless amount is a total.
    """
    notes = [Finding("note", f"{name}: {told}") for told in headings.told]
    found = [_row(number, cells, headings) for number, cells in rows]
    mark = decimal_mark_of(row.entry for row in found)
    if not headings.is_own:
        found = [replace(row, entry=with_unit(row.entry, headings.unit)) for row in found]
    settled = with_habit([row.entry for row in found], mark)
    open_ones = [row.entry for row, now in zip(found, settled, strict=True) if row.entry != now]
    if (told := decided(name, open_ones, mark)) is not None:
        notes.append(told)
    found = [replace(row, entry=entry) for row, entry in zip(found, settled, strict=True)]
    if headings.is_own:
        return OwnTable(tuple(found), tuple(notes))
    if headings.phase:
        taken = f"{headings.phase!r}, above the headings of the columns, was taken as the phase of the first lines."
        notes.append(Finding("note", f"{name}: {taken}"))
    if headings.again:
        notes.append(Finding("note", f"{name}: {_twice(len(headings.again) + 1)}"))
    found = [row for row in found if not _is_heading_again(row, headings)]
    lines, sentences, total = _lines(found, headings.phase, names_lines=names_lines)
    lines, batch = _made_up_to(lines)
    lines, told_rest = _one_fills(lines)
    sentences += told_rest
    batch = batch or total
    sentences += _on_amounts(lines, headings, batch)
    notes += [Finding("note", f"{name}: {sentence}") for sentence in sentences]
    return OwnTable(tuple(lines), tuple(notes), batch if _needs_batch(lines) else None)


def _twice(count: int) -> str:
    word = "Two" if count == 2 else f"{count}"
    return (
        f"{word} columns have the heading of the amounts. Where they differ, a cell holds them all: type the one meant."
    )


def _row(number: int, cells: Mapping[str, str], headings: Headings) -> PastedRow:
    """One row by its columns; what the kit wrote keeps its blanks."""
    tidy = (lambda cell: cell) if headings.is_own else clean
    known = {column: tidy(cells.get(column, "")) for column in COLUMNS}
    entry = known["amount"]
    if headings.again:
        entries = [entry, *(clean(cells.get(column, "")) for column in headings.again)]
        entry = " or ".join(dict.fromkeys(filter(None, entries)))
    more = tuple(
        (column, cell)
        for column, cell in cells.items()
        if column and column not in COLUMNS and column not in headings.again and cell.strip()
    )
    return PastedRow(
        known["ingredient"], entry, known["phase"], known["layer"], known["holds"], known["note"], more, number
    )


def with_unit(entry: str, unit: str) -> str:
    """An amount with the unit of its heading, where it has none of its own.

    Examples
    --------
    >>> with_unit("12,5", "g"), with_unit("5 %", "g"), with_unit("q.s.", "g"), with_unit("4", "%")
    ('12,5 g', '5 %', 'q.s.', '4')
    """
    if unit in ("", "%"):
        return entry
    try:
        number, own = split_text(entry)
    except EntryError:
        return entry
    return entry if own else f"{number} {unit}"


# ---- rows that are no lines ---------------------------------------------------------------------------------


def _lines(rows: list[PastedRow], phase: str, *, names_lines: bool) -> tuple[list[PastedRow], list[str], float | None]:
    """The rows that are lines, each with its phase; what is to be said of others; the mass that a total names. [g]"""
    lines: list[PastedRow] = []
    told: list[str] = []
    heading, batch, is_over = "", None, False
    for n, row in enumerate(rows):
        last = names_lines and not any(map(_is_amount, rows[n + 1 :]))
        total, sentence = is_total(row, lines, phase, last=last)
        if total:
            told += [sentence] if sentence else []
            amount = read_amount(row.entry)
            batch = amount.value if amount.kind == "mass" and amount.value > 0 else batch
            is_over = is_over or not any(later.entry for later in rows[n + 1 :])
            continue
        begins, beside = _begins_phase(row, rows, n)
        if begins:
            told += [_no_lines(heading)] if heading else []
            told += [f"what stands beside the heading {begins} was not read: {beside}."] if beside else []
            phase = heading = begins.rstrip(" :") or begins
        elif n == 0 and _is_title(row, rows):
            told.append(f"what stands above the first phase was not read: {_only_cell(row)}.")
        elif not (row.material or row.entry):
            told += [f"row {row.number} names no ingredient and was not read: {_cells_of(row)}."] if row.more else []
        elif is_over and not row.entry:
            told.append(f"what stands below the total was not read: {_cells_of(row)}.")
        else:
            phase, heading = row.phase or phase, ""
            lines.append(replace(row, phase=phase))
    return lines, [*told, *([_no_lines(heading)] if heading else [])], batch


def _is_heading_again(row: PastedRow, headings: Headings) -> bool:
    """Whether a row repeats the headings, as some tables do for each phase."""
    return any(headings.heads) and (row.material, row.entry) == headings.heads


def _no_lines(heading: str) -> str:
    return f"no lines stand under {heading!r}, so it was left out."


def _begins_phase(row: PastedRow, rows: Sequence[PastedRow], n: int) -> tuple[str, str]:
    """The phase that a row begins, empty where it begins none, and what else stands in the row."""
    only = _only_cell(row)
    if only and is_phase_heading(only) and (row.phase or len(rows) > 1):
        return only, ""
    if row.phase and not (row.material or row.entry):
        return row.phase, _cells_of(replace(row, phase=""))
    if not row.entry and not row.phase and is_phase_heading(row.material):
        return row.material, _cells_of(replace(row, material=""))
    if heads_with_its_sum(row, rows[n + 1 :]):
        return row.material, ""
    return "", ""


def _is_title(row: PastedRow, rows: Sequence[PastedRow]) -> bool:
    """Whether the first row is the title of what follows: one cell without an amount, above the name of a phase."""
    return bool(_only_cell(row)) and not row.entry and len(rows) > 2 and is_phase_heading(_only_cell(rows[1]))


def _is_amount(row: PastedRow) -> bool:
    return read_amount(row.entry).kind in ("percent", "mass", "rest")


def _cells_of(row: PastedRow) -> str:
    return ", ".join(filter(None, (row.phase, row.material, row.entry, *(cell for _, cell in row.more))))


def _only_cell(row: PastedRow) -> str:
    """The text of a row that holds only one, whichever column it stands in."""
    cells = [
        cell
        for cell in (row.phase, row.layer, row.material, row.entry, row.hold, row.note, *(cell for _, cell in row.more))
        if cell
    ]
    return clean(cells[0]) if len(cells) == 1 else ""


# ---- amounts ------------------------------------------------------------------------------------------------


def _made_up_to(lines: list[PastedRow]) -> tuple[list[PastedRow], float | None]:
    """Lines whose "ad 250 g" is q.s., and the batch that this says. [g]"""
    batch: float | None = None
    found = []
    for line in lines:
        match = _TO_MASS.fullmatch(line.entry)
        if match:
            try:
                grams = magnitude(match[1], "g", name="The batch")
            except KitError:
                grams = 0.0
            if grams > 0:
                batch = batch or grams
                line = line if read_amount(line.entry).kind == "rest" else replace(line, entry="q.s.")  # noqa: PLW2901
        found.append(line)
    return found, batch


def _one_fills(lines: list[PastedRow]) -> tuple[list[PastedRow], list[str]]:
    """Where several lines say q.s., the one that fills: that which says to 100, or else water; the others only ask."""
    rests = [n for n, line in enumerate(lines) if read_amount(line.entry).kind == "rest"]
    if len(rests) < 2:
        return lines, []
    fills = next((n for n in rests if names_the_whole(lines[n].entry)), None)
    if fills is None:
        fills = next((n for n in rests if plain(lines[n].material) in _WATER), rests[0])
    found = [
        replace(line, hold=line.hold or "share") if n in rests and n != fills else line for n, line in enumerate(lines)
    ]
    if not names_the_whole(lines[fills].entry) and fills != rests[0]:
        found[fills] = replace(lines[fills], entry="q.s. to 100")
    others = listed([lines[n].material or "a line without a name" for n in rests if n != fills])
    told = (
        f"several lines say q.s.; {lines[fills].material} was taken to fill up to 100 %. Type an amount for {others}."
    )
    return found, [told]


def _needs_batch(lines: Sequence[PastedRow]) -> bool:
    kinds = {read_amount(line.entry).kind for line in lines}
    return {"mass", "rest"} <= kinds


def _on_amounts(lines: Sequence[PastedRow], headings: Headings, batch: float | None) -> list[str]:
    """What is to be said of the amounts: grams and their batch, cells that are no amount, fractions of 1."""
    told = []
    amounts = [(line, read_amount(line.entry)) for line in lines]
    grams = sum(amount.value for _, amount in amounts if amount.kind == "mass")
    by_unit = headings.unit and (known_unit(headings.unit) or ("",))[0] == "g"
    if grams and by_unit:
        if _needs_batch(lines):
            what = f"the batch is {_grams(batch)}" if batch else "beside q.s. nothing says how large the batch is"
            told.append(f"the heading says {headings.unit}, so the amounts are masses; {what}.")
        else:
            told.append(
                f"the heading says {headings.unit}, so the amounts are masses; together they are {_grams(grams)}, "
                "which is taken as the batch."
            )
    unread = [line for line, amount in amounts if amount.kind == "unreadable"]
    if unread:
        names = listed([f"{line.material or 'a line without a name'} ({line.entry})" for line in unread])
        told.append(
            f"no single amount by mass can be read for {names}. It stays as typed; type the one that you weigh."
        )
    missing = [line.material for line, amount in amounts if amount.kind == "blank" and line.material]
    if missing and len(missing) < len(lines):
        told.append(
            f"{listed(missing)} has no amount yet." if len(missing) == 1 else f"{listed(missing)} have no amount yet."
        )
    shares = [amount.value for line, amount in amounts if amount.kind == "percent" and "%" not in line.entry]
    if len(shares) == len(lines) > 1 and isclose(sum(shares), 1, abs_tol=1e-6):
        told.append(
            "the amounts add to 1, as fractions do, and were read as percent. If they are fractions, type 100 times as "
            "much."
        )
    return told


def _grams(value: float | None) -> str:
    return f"{all_digits(float(f'{value or 0.0:.10g}'))} g"
