"""The book of trials: a CSV file beside the product that a person can read and that only grows.

A row is never changed: a correction is a new row that names the one whose place it takes, and so is a withdrawal.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError, KitError, StoreError
from kit.in_use.parting_trial import KeptTrial, Trial
from kit.inputs import inputs_of
from kit.numbers import read_number
from kit.rounding import all_digits
from kit.saving import rewrite
from kit.tables import Schema, as_csv, delimiter_of, read_file, read_table, without_torn_end
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.findings import Finding
    from kit.inputs import Input
    from kit.tables import Table

#: What a row is.
TRIAL, CORRECTION, WITHDRAWAL = "trial", "correction", "withdrawal"
#: The columns of the file and the inputs that stand in them.
FIELDS = {
    "date": "day", "variant": "variant", "batch": "batch", "bottle": "bottle", "shakes": "shakes",
    "celsius": "temperature", "days stood": "stood", "mix": "mix", "layer": "seen",
    "readings (s mm)": "readings", "parted s": "parted", "not parted s": "watched", "line": "line", "note": "note",
}  # fmt: skip
COLUMNS = ("number", "what", "corrects", "why", *FIELDS)
_NUMBERS = {"number", "corrects", "shakes", "celsius", "days stood", "parted s", "not parted s"}
_READINGS = "readings (s mm)"
TABLE = Schema(
    "a book of trials",
    COLUMNS,
    needed=("number", "what", "variant"),
    numbers={*_NUMBERS, _READINGS},
    days=("date",),
    number_texts=lambda cell: re.split(r"[\s;]+", cell.strip()),
)
_INPUTS = {one.name: one for one in inputs_of(Trial)}


@dataclass(frozen=True, slots=True)
class TrialBook:
    """The trials of one product, in one CSV file.

    Every question reads the file anew, so a row added by hand counts at once. Rows are only ever added, while no other
    window or program writes the book, and none of the bytes before them changes.

    Examples
    --------
    >>> import tempfile
    >>> folder = tempfile.TemporaryDirectory()
    >>> book = TrialBook(Path(folder.name) / "trials.csv")
    >>> book.keep(Trial("with salt", shakes=10, parted=95.0, day="2026-03-14"))
    1
    >>> book.correct(1, Trial("with salt", shakes=10, parted=59.0, day="2026-03-14"), "turned the digits round")
    2
    >>> [trial.parted for trial in book.trials()]
    [59.0]
    >>> folder.cleanup()
    """

    path: Path | str

    # ---- reading --------------------------------------------------------------------------------------------

    def rows(self, notes: list[Finding] | None = None) -> list[KeptTrial]:
        """Every row, in the order of the file; none where there is no file yet.

        Raises
        ------
        FileFaultsError
            Rows that cannot be read: every fault, each with its row and field.
        StoreError
            The file cannot be opened.
        """
        path = Path(self.path)
        return _rows(read_file(path), path.name, [] if notes is None else notes) if path.exists() else []

    def trials(self) -> list[Trial]:
        """The trials that stand: neither corrected nor withdrawn."""
        return [row.trial for row in self.rows() if row.counts and row.trial is not None]

    # ---- writing --------------------------------------------------------------------------------------------

    def keep(self, trial: Trial) -> int:
        """Write down a trial; gives its number."""
        return self._add(lambda rows: KeptTrial(_next(rows), trial))

    def correct(self, number: int, trial: Trial, why: str) -> int:
        """Write down what trial ``number`` ought to have said, and why; gives the number of the new row.

        Raises
        ------
        EntryError
            No reason, no such trial, or one that no longer stands.
        """
        reason = _reason(why)
        return self._add(lambda rows: KeptTrial(_next(rows), trial, _standing(rows, number), reason))

    def withdraw(self, number: int, why: str) -> int:
        """Write down that trial ``number`` does not count, and why; it stays in the file.

        Raises
        ------
        EntryError
            No reason, no such trial, or one that no longer stands.
        """
        reason = _reason(why)
        return self._add(lambda rows: KeptTrial(_next(rows), None, _standing(rows, number), reason))

    def _add(self, make: Callable[[Sequence[KeptTrial]], KeptTrial]) -> int:
        """Add the row that follows from what stands there; a book with faults is not written to."""
        name, made = Path(self.path).name, []

        def longer(there: bytes | None) -> bytes:
            book = without_torn_end(there or b"", name, len(COLUMNS), lambda data: _rows(data, name, []))
            before = _rows(book, name, [])
            row = make(before)
            data = _with_row(book, row)
            if _rows(data, name, []) != [*before, row]:
                msg = f"{name} was not written to: no row of its own could be made of this trial. Look at its end."
                raise StoreError(msg)
            made.append(row.number)
            return data

        rewrite(Path(self.path), longer)
        return int(made[-1])


def _next(rows: Sequence[KeptTrial]) -> int:
    return max((row.number for row in rows), default=0) + 1


def _standing(rows: Sequence[KeptTrial], number: int) -> int:
    """The number itself, if such a trial stands."""
    row = next((row for row in rows if row.number == number), None)
    if row is None or row.trial is None:
        msg = f"There is no trial {number} in the book."
        raise EntryError(msg)
    if row.replaced:
        msg = f"Trial {number} no longer counts: row {row.replaced} took its place. Correct that one."
        raise EntryError(msg)
    return number


def _reason(why: str) -> str:
    plain = " ".join(why.split())
    if not plain:
        msg = "Say why: the row that is corrected stays in the book, and the next reader wants to know."
        raise EntryError(msg)
    return plain


# ---- rows and bytes ---------------------------------------------------------------------------------------------


def _rows(data: bytes, name: str, notes: list[Finding]) -> list[KeptTrial]:
    """Every row of a book, or every fault."""
    if not data.strip():
        return []
    table = read_table(data, name, TABLE)
    read = [_row(number, row, table) for number, row in table.rows]
    rows = [row for row in read if row is not None]
    if len(rows) == len(read):
        for (at, _), row in zip(table.rows, rows, strict=True):
            earlier = [one for one in rows if one.number < row.number]
            if row.corrects and row.corrects not in {one.number for one in earlier if one.trial is not None}:
                table.fault(at, f"there is no earlier trial {row.corrects}.", "corrects")
        for number, times in Counter(row.number for row in rows).items():
            if times > 1:
                table.fault(1, f"the number {number} is there {times} times. Give each row a number of its own.")
    table.finish(notes)
    replaced = {row.corrects: row.number for row in rows if row.corrects}
    return [replace(row, replaced=replaced.get(row.number, 0)) for row in rows]


def _row(at: int, row: dict[str, str], table: Table) -> KeptTrial | None:
    """One row; None, and what is wrong with it among the table's faults, where it cannot be read."""
    before = len(table.faults)
    what = row.get("what", "").strip().casefold()
    if what not in (TRIAL, CORRECTION, WITHDRAWAL):
        table.fault(at, f"{what[:40]!r} is none of {TRIAL}, {CORRECTION}, {WITHDRAWAL}.", "what")
    number = _whole(at, row, "number", table)
    corrects = 0 if what == TRIAL else _whole(at, row, "corrects", table)
    values = {} if what == WITHDRAWAL else _values(at, row, table)
    if len(table.faults) > before:
        return None
    if what == WITHDRAWAL:
        return KeptTrial(number, None, corrects, row.get("why", ""))
    try:
        return KeptTrial(number, Trial(**values), corrects, row.get("why", ""))
    except KitError as error:
        table.fault(at, str(error))
        return None


def _whole(at: int, row: dict[str, str], column: str, table: Table) -> int:
    try:
        value = read_number(row.get(column, "") or "an empty cell", low=1, high=1e6)
        if value == int(value):
            return int(value)
        table.fault(at, f"{row[column]} is not a whole number.", column)
    except KitError as error:
        table.fault(at, str(error), column)
    return 0


def _values(at: int, row: dict[str, str], table: Table) -> dict[str, Any]:
    """The cells of a row as the values of a trial."""
    values = {}
    asked_for = ["date", "shakes", *(["layer"] if row.get(_READINGS) else [])]  # none of them is ever guessed
    for column in (column for column in asked_for if not row.get(column)):
        table.fault(at, "it is empty. A trial needs it.", column)
    for column, name in FIELDS.items():
        one = _INPUTS[name]
        text = row.get(column, "")
        try:
            values[name] = one.read(_with_point(text, column, table.decimal_mark))
        except KitError as error:
            table.fault(at, str(error).removeprefix("it: "), column)
    return values


def _with_point(text: str, column: str, mark: str) -> str:
    """A text with the decimal point that an input reads without doubt, where the file shows a decimal comma."""
    if column == _READINGS:
        text = "\n".join(part.strip() for part in text.split(";"))
    return text.replace(",", ".") if mark == "," and column in {*_NUMBERS, _READINGS} else text


def _with_row(there: bytes, row: KeptTrial) -> bytes:
    """The bytes of a book with a row behind them, ended and separated as its own rows are."""
    text = there.decode("utf-8-sig")
    end = "\r\n" if "\r\n" in text else "\n"
    mark = delimiter_of(text) if text else ","
    head = _head_of(text) if text else list(COLUMNS)
    what = WITHDRAWAL if row.trial is None else CORRECTION if row.corrects else TRIAL
    cells = {"number": str(row.number), "what": what, "corrects": str(row.corrects or ""), "why": row.why}
    if row.trial is not None:
        cells |= {column: _cell(_INPUTS[name], getattr(row.trial, name), mark) for column, name in FIELDS.items()}
    lost = [column for column, cell in cells.items() if cell and column not in head]
    if lost:
        msg = f"The book has no column {listed(lost)}. Add that to its first row: nothing is left out of a trial."
        raise StoreError(msg)
    rows = ([] if text else [COLUMNS]) + [tuple(cells.get(column, "") for column in head)]
    between = end if text and not text.endswith(("\n", "\r")) else ""
    return there + (between + as_csv(rows, mark, end)).encode("utf-8", "replace")


def _head_of(text: str) -> list[str]:
    """The columns of a book that a hand may have put into another order."""
    table = read_table(text.encode("utf-8"), "book", TABLE)
    return list(table.columns)


def _cell(one: Input, value: object, mark: str) -> str:
    """A value as it stands in the file, with every digit it has."""
    if isinstance(value, tuple):
        pairs = [f"{all_digits(reading.seconds)} {all_digits(reading.millimetres)}" for reading in value]
        return _marked("; ".join(pairs), mark)
    if isinstance(value, float):
        return _marked(all_digits(value), mark)
    if one.name in ("mix", "seen", "line"):
        return str(value)
    return one.write(value)


def _marked(text: str, mark: str) -> str:
    return text.replace(".", ",") if mark == ";" else text
