"""The stock book: what was made, used and thrown away, in a CSV file that a person can read and that only grows."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

from kit.errors import EntryError, KitError, RangeError, StoreError
from kit.findings import Finding, Place
from kit.library.ingredient import Stock
from kit.numbers import read_number
from kit.rounding import all_digits
from kit.saving import rewrite
from kit.tables import Schema, Table, as_csv, delimiter_of, read_table, without_torn_end
from kit.units import magnitude
from kit.visible_text import holds_nul, visible

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.bench.weighing import Batch

Event = Literal["made", "used", "thrown away", "counted"]
EVENTS: tuple[Event, ...] = get_args(Event)
COLUMNS = ("date", "stock", "what happened", "grams", "note")
TABLE = Schema("a stock book", COLUMNS, needed=COLUMNS[:4], numbers=("grams",), days=("date",), whole=True)
#: So little is rounding in the last binary digits. [g]
HAIR = 1e-9
#: A new line of a note that could be a row of its own, swallowed where a quotation mark is missing.
_ROW_WITHIN = re.compile(r"[\r\n]\s*\d{4}-\d\d-\d\d\s*[,;\t]")


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the book.

    Attributes
    ----------
    day
        ISO date.
    event
        "made" adds, "used" and "thrown away" take away, "counted" sets what is on hand to what was weighed.
    grams
        [g]
    """

    day: str
    stock: str
    event: Event
    grams: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class StockBook:
    """Stocks on hand, kept in one CSV file.

    Every question reads the file anew, so a row added by hand counts at once. Rows are only ever added, each entry
    while no other window or program writes the book, and none of the bytes before it changes; a mistake is set right
    by a "counted" row. What the file held before its last entries is among its earlier saves.

    Examples
    --------
    >>> import tempfile
    >>> folder = tempfile.TemporaryDirectory()
    >>> book = StockBook(Path(folder.name) / "stocks.csv")
    >>> book.made("Citric Acid 20 % stock", "100 g", on="2026-01-12")
    >>> book.used("Citric Acid 20 % stock", "2.5 g", on="2026-01-14", note="toner, lot 3")
    >>> book.on_hand("Citric Acid 20 % stock")
    97.5
    >>> folder.cleanup()
    """

    path: Path | str

    # ---- reading --------------------------------------------------------------------------------------------

    def entries(self) -> list[Entry]:
        """Every row, in the order of the file; none where there is no file yet.

        Raises
        ------
        FileFaultsError
            Rows that cannot be read: every fault, each with its row and field.
        StoreError
            The file is not text that can be opened.
        """
        return self._read([])

    def _read(self, notes: list[Finding]) -> list[Entry]:
        path = Path(self.path)
        try:
            return _entries(path.read_bytes(), path.name, notes) if path.exists() else []
        except OSError as error:
            msg = f"{path.name} cannot be read: {error.strerror or error}. Choose another file."
            raise StoreError(msg) from error

    def on_hand(self, name: str) -> float:
        """What there is of one stock. [g]

        A stock that was never made stands at 0 g. Capitals and extra spaces make no difference.
        """
        return round(_sums(self.entries()).get(_key(name), (name, 0.0))[1], 9)

    def all_on_hand(self) -> dict[str, float]:
        """What there is of every stock in the book, by name. [g]"""
        return {spelt: round(grams, 9) for spelt, grams in _sums(self.entries()).values()}

    def check(self, low: object = "0 g") -> list[Finding]:
        """Stocks of which more was used than there was, and those at or below ``low``, such as "5 g".

        Where the book's own numbers settle one that could be read two ways, that is said too.
        """
        least = magnitude(low, "g", name="low")
        found: list[Finding] = []
        for spelt, grams in _sums(self._read(found)).values():
            place = Place(field="stock")
            if grams < -HAIR:
                said = f"More {spelt} was used than made: it stands at {grams:.6g} g. Weigh what is there and count it."
                found.append(Finding("caution", said, place))
            elif grams <= least:
                found.append(Finding("note", f"{spelt} is down to {grams:.6g} g. Make some more.", place))
        return found

    # ---- writing --------------------------------------------------------------------------------------------

    def made(self, name: str, amount: object, *, on: str = "", note: str = "") -> None:
        """Write down that a stock was made: ``book.made("Citric Acid 20 % stock", "100 g")``."""
        entry = Entry(_day(on), _name(name), "made", _grams(amount), _note(note))
        self._add(lambda _: [entry])

    def used(self, name: str, amount: object, *, on: str = "", note: str = "") -> None:
        """Write down a use; refused where there is not so much.

        Raises
        ------
        RangeError
            There is not enough on hand. Nothing is written then.
        """
        self._take({name: _grams(amount)}, "used", on, note)

    def thrown_away(self, name: str, amount: object, *, on: str = "", note: str = "") -> None:
        """Write down what was thrown away; refused where there is not so much."""
        self._take({name: _grams(amount)}, "thrown away", on, note)

    def counted(self, name: str, amount: object, *, on: str = "", note: str = "") -> None:
        """Write down what weighing the bottle showed; from here on that is what there is, 0 g included."""
        entry = Entry(_day(on), _name(name), "counted", _grams(amount, least=0.0), _note(note))
        self._add(lambda _: [entry])

    def use_for_batch(self, batch: Batch, *, on: str = "", note: str = "") -> list[Finding]:
        """Take off what a batch weighs of each stock: all of it, or nothing.

        A line counts where its material is a stock of the formula or stands in this book.

        Returns
        -------
        Cautions: stocks that were to be kept only until before that day.

        Raises
        ------
        RangeError
            Not enough of one or more stocks, each named with what is missing; or no stock in the batch.
        """
        own = {_key(m.name): m for m in batch.formula.materials if isinstance(m, Stock)}
        known = set(_sums(self.entries())) | set(own)
        needed: dict[str, float] = {}
        for weighing in batch.weighings:
            if _key(weighing.material) in known and weighing.grams > 0:
                name = own[_key(weighing.material)].name if _key(weighing.material) in own else weighing.material
                needed[name] = needed.get(name, 0.0) + weighing.grams
        if not needed:
            msg = f"{batch.formula.title} holds no stock, so the book stays as it is."
            raise RangeError(msg)
        day = _day(on)
        self._take(needed, "used", day, note or f"{batch.formula.title}, {batch.mass:g} g")
        return [_kept_too_long(own[key], day) for name in needed if _is_late(own.get(key := _key(name)), day)]

    def _take(self, needed: dict[str, float], event: Event, on: str, note: str) -> None:
        day = _day(on)
        wanted = [Entry(day, _name(name), event, grams, _note(note)) for name, grams in needed.items()]

        def from_what_is_there(entries: Sequence[Entry]) -> list[Entry]:
            sums, short = _sums(entries), []
            for entry in wanted:
                there = sums.get(_key(entry.stock), (entry.stock, 0.0))[1]
                if entry.grams > there + HAIR:
                    short.append(f"{entry.stock}: {entry.grams:.6g} g are needed and {max(there, 0):.6g} g are there")
            if short:
                msg = (
                    f"Not enough on hand. {'; '.join(short)}. Make more first, or a smaller batch. Nothing was written."
                )
                raise RangeError(msg)
            return wanted

        self._add(from_what_is_there)

    def _add(self, entries_after: Callable[[Sequence[Entry]], Sequence[Entry]]) -> None:
        """Add what follows from what stands there; a book with faults, but for a torn end, is not written to."""
        name = Path(self.path).name

        def longer(there: bytes | None) -> bytes:
            book = without_torn_end(there or b"", name, len(TABLE.needed), lambda data: _entries(data, name, []))
            before = _entries(book, name)
            new = entries_after(before)
            data = _with_rows(book, new)
            if _entries(data, name) != [*before, *new]:
                msg = f"{name} was not written to: a row of its own could not be made of this entry. Look at its end."
                raise StoreError(msg)
            return data

        rewrite(Path(self.path), longer)


def _entries(data: bytes, name: str, notes: list[Finding] | None = None) -> list[Entry]:
    """Every row of a book as an entry, or every fault; ``notes`` gets what its decimal mark decided."""
    if not data.strip():
        return []
    table = read_table(data, name, TABLE)
    if not table.faults and table.columns[: len(COLUMNS)] != COLUMNS:
        table.fault(1, f"its headings must be {', '.join(COLUMNS)}, in this order.")
    read = [_read_row(number, row, table) for number, row in table.rows]
    table.finish([] if notes is None else notes)
    return [entry for entry in read if entry is not None]


def _with_rows(there: bytes, new: Sequence[Entry]) -> bytes:
    """The bytes of a book with rows behind them, ended and separated as its own rows are."""
    text = there.decode("utf-8-sig")
    end = "\r\n" if "\r\n" in text else "\n" if "\n" in text or "\r" not in text else "\r"
    mark = delimiter_of(text) if text else ","
    rows: list[tuple[str, ...]] = [] if text else [COLUMNS]
    for entry in new:
        grams = all_digits(entry.grams)
        grams = grams.replace(".", ",") if mark == ";" else grams
        rows.append((entry.day, entry.stock, entry.event, grams, entry.note))
    between = end if text and not text.endswith(("\n", "\r")) else ""
    return there + (between + as_csv(rows, mark, end)).encode("utf-8", "replace")


def _read_row(number: int, row: dict[str, str], table: Table) -> Entry | None:
    """One row as an entry; None, and what is wrong with it among the table's faults, where it is none."""
    day, stock, event, grams, note = (row.get(column, "") for column in COLUMNS)
    before, weight = len(table.faults), 0.0
    if any(_ROW_WITHIN.search(cell) for cell in row.values()):
        problem = "a cell holds what looks like another row. A quotation mark is missing or too many; mend it."
        table.fault(number, problem)
        return None
    try:
        day = _day(day or "an empty cell")
    except KitError as error:
        table.fault(number, str(error), "date")
    if not stock:
        table.fault(number, "it is empty. Write the name of the stock.", "stock")
    if event not in EVENTS:
        table.fault(number, f"{event!r} is not one of {', '.join(EVENTS)}.", "what happened")
    try:
        weight = read_number(grams, decimal_mark=table.decimal_mark)
        if weight < 0 or (weight == 0 and event != "counted"):
            table.fault(number, f"{grams} is not above 0. What happened says the direction.", "grams")
    except KitError as error:
        table.fault(number, str(error), "grams")
    if len(table.faults) > before:
        return None
    return Entry(day, stock, next(e for e in EVENTS if e == event), weight, note)


def _storable(text: str) -> str:
    """Half of a sign, which only a faulty program sends, becomes a question mark.

    Raises
    ------
    EntryError
        It holds the sign NUL.
    """
    if holds_nul(text):
        msg = f"{visible(text)} holds the sign NUL, which no text has. Type it again."
        raise EntryError(msg)
    return text.encode("utf-8", "replace").decode()


def _note(text: str) -> str:
    """A note as it is kept: its lines ended in the one way that every CSV reader takes as part of a cell.

    Raises
    ------
    EntryError
        A line of it could be taken for a row of the book.
    """
    note = _storable(text).strip().replace("\r\n", "\n").replace("\r", "\n")
    if _ROW_WITHIN.search(note):
        msg = "A line of the note begins with a date and a comma, like a row of the book. Put a word before the date."
        raise EntryError(msg)
    return note


def _sums(entries: Sequence[Entry]) -> dict[str, tuple[str, float]]:
    """Key → (name as first written, grams on hand)."""
    sums: dict[str, tuple[str, float]] = {}
    for entry in entries:
        spelt, grams = sums.get(_key(entry.stock), (entry.stock, 0.0))
        after = {"made": grams + entry.grams, "counted": entry.grams}.get(entry.event, grams - entry.grams)
        sums[_key(entry.stock)] = (spelt, after)
    return sums


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _name(name: str) -> str:
    plain = " ".join(_storable(name).split())
    if not plain:
        msg = "A stock needs its name in the book."
        raise EntryError(msg)
    return plain


def _grams(amount: object, least: float | None = None) -> float:
    grams = magnitude(amount, "g", name="amount of the stock")
    if not grams > 0 and grams != least:
        msg = f"The amount must be more than 0 g, got {grams:g} g."
        raise RangeError(msg)
    return grams


def _day(written: str) -> str:
    if not written:
        return date.today().isoformat()
    try:
        return date.fromisoformat(written.strip()).isoformat()
    except ValueError as error:
        msg = f"{written!r} is not a date. Write it as year-month-day, such as 2026-01-31."
        raise EntryError(msg) from error


def _is_late(stock: Stock | None, day: str) -> bool:
    return stock is not None and bool(stock.keep_until) and day > stock.keep_until


def _kept_too_long(stock: Stock, day: str) -> Finding:
    return Finding(
        "caution",
        f"{stock.name} was to be kept until {stock.keep_until}, and this is {day}. Make it anew.",
        Place(field="stock"),
    )
