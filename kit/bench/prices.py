"""Read and save a price list: a CSV table that any spreadsheet can write."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from kit.bench.money import is_currency, is_same_currency, read_money
from kit.bench.price import PIECES, PackItem, Price, PriceList, check_date, pack_unit
from kit.csv_files import Columns, as_csv, read_file, rows_of
from kit.errors import EntryError, Fault, FileFaultsError, KitError
from kit.findings import tell
from kit.numbers import decided, decimal_mark_of, read_number
from kit.resources import resource_folder
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.spreadsheet_text import unguarded

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding
    from kit.saving import Seen

#: The columns of a price list. Only the first four must be there, and one currency somewhere.
COLUMNS = ("material", "amount", "unit", "price", "currency", "per_bottle", "lot", "bought_on", "note")
NEEDED = COLUMNS[:4]
NUMBERS = ("amount", "price", "per_bottle")
_IN_CSV = Columns(NUMBERS, days=("bought_on",))
#: A currency in front of a price.
_BEFORE_NUMBER = re.compile(r"^[^\d.,+\-−]*")


def read_prices(path: str | Path, notes: list[Finding] | None = None) -> PriceList:
    """Read a price list.

    Comma, semicolon or tab between the cells, decimal point or comma, with or without the byte mark that
    spreadsheets put in front. A row whose unit is "pieces" is packaging. The currency stands in its own column or
    beside the price, in at least one row, and is the same in all. Which mark is the decimal one, the file's own numbers
    show; where that settles a number that can be read two ways, ``notes`` gets a sentence on it, or it is a warning.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row (counted as a spreadsheet does) and column.
    """
    path = Path(path)
    return prices_of(read_file(path), path.name, notes)


def prices_of(data: bytes, name: str, notes: list[Finding] | None = None) -> PriceList:
    """The price list that these bytes of a CSV file hold; see :func:`read_prices`."""
    reader = _Reader(name)
    reader.read(rows_of(data, name, _IN_CSV, reader.faults))
    if reader.faults:
        raise FileFaultsError(name, reader.faults)
    tell([reader.decided], notes)
    return PriceList(reader.currency, tuple(reader.prices), tuple(reader.packaging), name)


def save_prices(prices: PriceList, path: str | Path, *, seen: Seen | None = None) -> None:
    """Write a price list, whole or not at all; what it held goes to its earlier saves.

    A file that says the same already keeps every byte.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    rows: list[tuple[str, ...]] = [COLUMNS]
    rows += [
        (p.material, all_digits(p.amount), p.unit, all_digits(p.price), prices.currency, "", p.lot, p.bought_on, p.note)
        for p in prices.prices
    ]
    rows += [
        (i.name, all_digits(i.pieces), PIECES[0], all_digits(i.price), prices.currency, all_digits(i.per_bottle), i.lot,
         i.bought_on, i.note)
        for i in prices.packaging
    ]  # fmt: skip
    name = Path(path).name
    save_unless_same(
        Path(path), as_csv(rows).encode("utf-8", "replace"), lambda data: prices_of(data, name, []), seen=seen
    )


def demo_prices() -> PriceList:
    """The invented price list of the Tern Lane Workshop, an evening class that does not exist.

    Examples
    --------
    >>> demo_prices().currency
    'EUR'
    """
    return replace(read_prices(resource_folder("data") / "demo" / "prices.csv"), name="the demo list")


@dataclass
class _Reader:
    """Reads one file, gathering what is wrong with it."""

    name: str
    faults: list[Fault] = field(default_factory=list)
    prices: list[Price] = field(default_factory=list)
    packaging: list[PackItem] = field(default_factory=list)
    currency: str = ""
    currency_row: int = 0
    decimal_mark: str = ""
    decided: Finding | None = None

    def fault(self, where: str, problem: str) -> None:
        """Note one thing wrong at one place."""
        self.faults.append(Fault(where, problem))

    def read(self, lines: list[list[str]]) -> None:
        """Read every row."""
        header = [cell.strip().casefold().replace(" ", "_") for cell in lines[0]] if lines else []
        if not self.header(header):
            return
        self.settle(header, lines[1:])
        for number, cells in enumerate(lines[1:], start=2):
            if any(cell.strip() for cell in cells):
                self.row(number, header, [unguarded(cell.strip()) for cell in cells])
        if not self.currency and (len(lines) > 1):
            self.fault("column currency", "no row says which currency this is. Write its code, such as EUR, once.")

    def settle(self, header: list[str], lines: list[list[str]]) -> None:
        """See which mark the file has for decimals."""
        numeric = [n for n, name in enumerate(header) if name in NUMBERS]
        cells = [_BEFORE_NUMBER.sub("", row[n]) for row in lines for n in numeric if n < len(row)]
        self.decimal_mark = decimal_mark_of(cells)
        self.decided = decided(self.name, cells, self.decimal_mark)

    def header(self, header: list[str]) -> bool:
        """Check the names of the columns; False where the rows cannot be read."""
        for name in dict.fromkeys(header):
            if name and name not in COLUMNS:
                self.fault("row 1", f"{name!r} is not a column of a price list. The columns are: {', '.join(COLUMNS)}.")
            if name and header.count(name) > 1:
                self.fault("row 1", f"the column {name!r} is there {header.count(name)} times. Keep one.")
        missing = [name for name in NEEDED if name not in header]
        if missing:
            columns = ", ".join(f"{name!r}" for name in missing)
            self.fault("row 1", f"there is no column {columns}. The first row must hold: {', '.join(NEEDED)}.")
        return not missing

    def row(self, number: int, header: list[str], cells: list[str]) -> None:
        """Read one row into a price or an item of packaging."""
        where = f"row {number}"
        if any(cells[len(header) :]):
            self.fault(
                where,
                f"there are {len(cells)} cells under {len(header)} column names. "
                "Put a text that holds a comma or semicolon in double quotes.",
            )
            return
        row = dict(zip(header, cells, strict=False))
        before = len(self.faults)
        is_piece = row.get("unit", "").casefold() in PIECES
        self._needed(where, row)
        price = self._price(number, row)
        amount = self._amount(where, row, "amount")
        per_bottle = self._amount(where, row, "per_bottle") if row.get("per_bottle") else 1.0
        self._told(f"{where}, column bought_on", lambda: check_date(row.get("bought_on", "")))
        if row.get("unit") and not is_piece:
            self._told(f"{where}, column unit", lambda: pack_unit(row["unit"]))
            if row.get("per_bottle"):
                problem = (
                    f"only packaging goes with each bottle. Write the unit {PIECES[0]!r}, or leave the cell empty."
                )
                self.fault(f"{where}, column per_bottle", problem)
        if len(self.faults) > before or price is None or amount is None or per_bottle is None:
            return
        details = (row.get("lot", ""), row.get("bought_on", ""), row.get("note", ""))
        try:
            if is_piece:
                self.packaging.append(PackItem(row["material"], amount, price, per_bottle, *details))
            else:
                self.prices.append(Price(row["material"], amount, row["unit"], price, *details))
        except KitError as error:
            self.fault(where, str(error))

    def _told(self, where: str, check: Callable[[], object]) -> None:
        """Let a check say what is wrong with a cell."""
        try:
            check()
        except KitError as error:
            self.fault(where, str(error))

    def _needed(self, where: str, row: dict[str, str]) -> None:
        for column in NEEDED:
            if not row.get(column):
                self.fault(f"{where}, column {column}", "the cell is empty. Every price needs it.")

    def _amount(self, where: str, row: dict[str, str], column: str) -> float | None:
        text = row.get(column, "")
        if not text:
            return None
        try:
            number = read_number(text, decimal_mark=self.decimal_mark)
        except EntryError as error:
            self.fault(f"{where}, column {column}", str(error))
            return None
        if not number > 0:
            self.fault(f"{where}, column {column}", f"{number:g} cannot be bought. Give more than 0.")
            return None
        return number

    def _price(self, number: int, row: dict[str, str]) -> float | None:
        where = f"row {number}, column price"
        self._currency(number, "currency", row.get("currency", ""))
        if not row.get("price"):
            return None
        try:
            price, beside = read_money(row["price"], self.decimal_mark)
        except EntryError as error:
            self.fault(where, str(error))
            return None
        self._currency(number, "price", beside)
        if price < 0:
            self.fault(where, f"{price:g} cannot be paid. Give what was paid, 0 or more.")
            return None
        return price

    def _currency(self, number: int, column: str, currency: str) -> None:
        if not currency:
            return
        where = f"row {number}, column {column}"
        if not is_currency(currency):
            self.fault(where, f"{currency!r} is not a currency. Write its code or symbol, such as EUR, GBP or €.")
        elif not self.currency:
            self.currency, self.currency_row = currency, number
        elif not is_same_currency(currency, self.currency):
            self.fault(
                where,
                f"{currency} here, and {self.currency} in row {self.currency_row}. A list holds one currency, written "
                "one way: turn the price into it, or keep a list of its own.",
            )
