"""The list of prices in one currency: what stands in it, typed into it, and in its CSV file."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from kit.bench.price import PIECES, PackItem, Price, check_date, pack_unit
from kit.errors import EntryError, Fault, KitError, RangeError
from kit.inputs import Text, asked
from kit.money import is_currency, is_same_currency, money, read_money
from kit.numbers import read_number, readings, split_number
from kit.resources import resource_folder
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.tables import Schema, Table, as_csv, read_file, read_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.findings import Finding
    from kit.saving import Seen


Value = TypeVar("Value")


def name_key(name: str) -> str:
    """By which two spellings of one name are known to be one."""
    return plain_letters(name) or name.strip().casefold()


@dataclass(frozen=True)
class PriceList:
    """Prices in one currency.

    Attributes
    ----------
    currency
        Code or symbol; empty while nothing is in the list.
    prices, packaging
        In the order of the file; of one material the newest counts.
    name
        What the list is called, such as the name of its file.
    """

    currency: str = ""
    prices: tuple[Price, ...] = ()
    packaging: tuple[PackItem, ...] = ()
    name: str = ""

    def __post_init__(self) -> None:
        if self.currency and not is_currency(self.currency):
            msg = f"{self.currency!r} is not a currency. Write its code or symbol, such as EUR, GBP or €."
            raise RangeError(msg)
        if (self.prices or self.packaging) and not self.currency:
            msg = "The prices have no currency. Write its code or symbol, such as EUR, GBP or €."
            raise RangeError(msg)

    @property
    def is_invented(self) -> bool:
        """True where a price says of itself that it is invented, as those of the demo list do."""
        notes = [price.note for price in self.prices] + [item.note for item in self.packaging]
        return any("invented" in note.casefold() for note in notes)

    def with_price(self, price: Price) -> PriceList:
        """The list with one more purchase; it takes the place of the last of the same material on the same day."""
        key = (name_key(price.material), price.bought_on)
        return replace(
            self, prices=_put(self.prices, price, lambda old: (name_key(old.material), old.bought_on) == key)
        )

    def with_packaging(self, item: PackItem) -> PriceList:
        """The list with this item of packaging, in place of one of the same name."""
        key = name_key(item.name)
        return replace(self, packaging=_put(self.packaging, item, lambda old: name_key(old.name) == key))

    def without(self, name: str) -> PriceList:
        """The list without any purchase of that name."""
        key = name_key(name)
        prices = tuple(price for price in self.prices if name_key(price.material) != key)
        return replace(self, prices=prices, packaging=tuple(i for i in self.packaging if name_key(i.name) != key))


def _put(there: tuple[Value, ...], new: Value, is_same: Callable[[Value], bool]) -> tuple[Value, ...]:
    """The new one in the place of the last that is the same, or behind all."""
    place = next((n for n in reversed(range(len(there))) if is_same(there[n])), len(there))
    return (*there[:place], new, *there[place + 1 :])


def newest(prices: list[Price]) -> Price:
    """The one that counts: the latest date; among equals, and without a date, the one that stands last."""
    return max(enumerate(prices), key=lambda numbered: (numbered[1].bought_on, numbered[0]))[1]


@dataclass(frozen=True, slots=True)
class Purchase:
    """What is typed of one purchase: "500 g" or "24 pieces" for the pack, "12,50 EUR" for the price."""

    name: str = asked("Bought", Text("name"), example="ingredient or bottle")
    pack: str = asked("Pack holds", example="500 g, 1 L, 24 pieces")
    price: str = asked("Price of the pack", example="12.50 EUR")
    per_bottle: str = asked("Pieces for each bottle", example="packaging only")
    lot: str = asked("Lot")
    bought_on: str = asked("Bought on", example="2026-03-14")
    note: str = asked("Note", example="where the price is from")


def with_typed(prices: PriceList, typed: Purchase) -> PriceList:
    """The list with this purchase; of one material the newest purchase counts.

    Raises
    ------
    EntryError
        A box is empty or cannot be read, or the currency is not that of the list.
    KitError
        The name, unit, date or a number is not possible.

    Examples
    --------
    >>> with_typed(PriceList(), Purchase("Glycerin", "1 kg", "9,80 EUR")).prices[0].price
    9.8
    """
    for text, what in ((typed.name, "what was bought"), (typed.pack, "the pack"), (typed.price, "the price")):
        if not text.strip():
            msg = f"Say {what} too: a name, what the pack holds, such as 500 g or 24 pieces, and its price."
            raise EntryError(msg)
    amount, unit = split_number(typed.pack)
    if not unit:
        msg = f"{typed.pack.strip()!r} has no unit. Write what the pack holds, such as 500 g, 1 L or 24 pieces."
        raise EntryError(msg)
    paid, currency = read_money(typed.price)
    if currency and prices.currency and not is_same_currency(currency, prices.currency):
        msg = f"This list is in {prices.currency}. Turn the price into it, or keep a list of its own for {currency}."
        raise EntryError(msg)
    name, details = typed.name.strip(), (typed.lot.strip(), typed.bought_on.strip(), typed.note.strip())
    with_currency = replace(prices, currency=prices.currency or currency)
    if unit.casefold() in PIECES:
        per_bottle = read_number(typed.per_bottle) if typed.per_bottle.strip() else 1.0
        return _checked(with_currency).with_packaging(PackItem(name, amount, paid, per_bottle, *details))
    if typed.per_bottle.strip():
        msg = f"Only what is bought in pieces goes with each bottle. Leave that box empty for {name}."
        raise EntryError(msg)
    return _checked(with_currency).with_price(Price(name, amount, unit, paid, *details))


def _checked(prices: PriceList) -> PriceList:
    if not prices.currency:
        msg = "The list has no currency yet. Write it beside the price once, such as 12.50 EUR."
        raise EntryError(msg)
    return prices


def typed_of(prices: PriceList, name: str) -> Purchase:
    """What the boxes show for a name of the list; only the name where the list does not have it.

    Examples
    --------
    >>> typed_of(PriceList("EUR", (Price("Glycerin", 1, "kg", 9.8),)), "glycerin").price
    '9.80 EUR'
    """
    key = name_key(name)
    item = next((item for item in prices.packaging if name_key(item.name) == key), None)
    if item is not None:
        pack, paid = f"{all_digits(item.pieces)} {PIECES[0]}", _paid(item.price, prices.currency)
        return Purchase(item.name, pack, paid, all_digits(item.per_bottle), item.lot, item.bought_on, item.note)
    bought = [price for price in prices.prices if name_key(price.material) == key]
    if not bought:
        return Purchase(name.strip())
    price = newest(bought)
    paid = _paid(price.price, prices.currency)
    return Purchase(price.material, price.pack, paid, "", price.lot, price.bought_on, price.note)


def _paid(price: float, currency: str) -> str:
    """The price with all its digits: one that has more decimals than its currency is not cut."""
    shown = money(price, currency)
    return shown if readings(shown.split()[0]) == (price,) else f"{all_digits(price)} {currency}"


def names_in(prices: PriceList) -> Sequence[str]:
    """Every name of the list once, materials first."""
    names = [price.material for price in prices.prices] + [item.name for item in prices.packaging]
    return list(dict.fromkeys(names))


#: The columns of a price list. Only the first four must be there, and one currency somewhere.
COLUMNS = ("material", "amount", "unit", "price", "currency", "per_bottle", "lot", "bought_on", "note")

NEEDED = COLUMNS[:4]

NUMBERS = ("amount", "price", "per_bottle")

#: A currency in front of a price.
_BEFORE_NUMBER = re.compile(r"^[^\d.,+\-−]*")
TABLE = Schema(
    "a price list",
    COLUMNS,
    needed=NEEDED,
    numbers=NUMBERS,
    days=("bought_on",),
    number_texts=lambda cell: (_BEFORE_NUMBER.sub("", cell),),
)


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
    reader = _Reader(read_table(data, name, TABLE))
    reader.read()
    reader.table.finish(notes)
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
    """Reads the rows of one file, gathering what is wrong with them."""

    table: Table
    prices: list[Price] = field(default_factory=list)
    packaging: list[PackItem] = field(default_factory=list)
    currency: str = ""
    currency_row: int = 0

    @property
    def faults(self) -> list[Fault]:
        """What is wrong with the file."""
        return self.table.faults

    def read(self) -> None:
        """Read every row."""
        whole = not self.faults
        for number, row in self.table.rows:
            self.row(number, row)
        if whole and not self.currency and self.table.rows:
            problem = "no row says which currency this is. Write its code, such as EUR, once."
            self.faults.append(Fault("column currency", problem))

    def row(self, number: int, row: dict[str, str]) -> None:
        """Read one row into a price or an item of packaging."""
        before = len(self.faults)
        is_piece = row.get("unit", "").casefold() in PIECES
        self._needed(number, row)
        price = self._price(number, row)
        amount = self._amount(number, row, "amount")
        per_bottle = self._amount(number, row, "per_bottle") if row.get("per_bottle") else 1.0
        self._told(number, "bought_on", lambda: check_date(row.get("bought_on", "")))
        if row.get("unit") and not is_piece:
            self._told(number, "unit", lambda: pack_unit(row["unit"]))
            if row.get("per_bottle"):
                problem = (
                    f"only packaging goes with each bottle. Write the unit {PIECES[0]!r}, or leave the cell empty."
                )
                self.table.fault(number, problem, "per_bottle")
        if len(self.faults) > before or price is None or amount is None or per_bottle is None:
            return
        details = (row.get("lot", ""), row.get("bought_on", ""), row.get("note", ""))
        try:
            if is_piece:
                self.packaging.append(PackItem(row["material"], amount, price, per_bottle, *details))
            else:
                self.prices.append(Price(row["material"], amount, row["unit"], price, *details))
        except KitError as error:
            self.table.fault(number, str(error))

    def _told(self, number: int, column: str, check: Callable[[], object]) -> None:
        """Let a check say what is wrong with a cell."""
        try:
            check()
        except KitError as error:
            self.table.fault(number, str(error), column)

    def _needed(self, number: int, row: dict[str, str]) -> None:
        for column in NEEDED:
            if not row.get(column):
                self.table.fault(number, "the cell is empty. Every price needs it.", column)

    def _amount(self, number: int, row: dict[str, str], column: str) -> float | None:
        text = row.get(column, "")
        if not text:
            return None
        try:
            amount = read_number(text, decimal_mark=self.table.decimal_mark)
        except EntryError as error:
            self.table.fault(number, str(error), column)
            return None
        if not amount > 0:
            self.table.fault(number, f"{amount:g} cannot be bought. Give more than 0.", column)
            return None
        return amount

    def _price(self, number: int, row: dict[str, str]) -> float | None:
        self._currency(number, "currency", row.get("currency", ""))
        if not row.get("price"):
            return None
        try:
            price, beside = read_money(row["price"], self.table.decimal_mark)
        except EntryError as error:
            self.table.fault(number, str(error), "price")
            return None
        self._currency(number, "price", beside)
        if price < 0:
            self.table.fault(number, f"{price:g} cannot be paid. Give what was paid, 0 or more.", "price")
            return None
        return price

    def _currency(self, number: int, column: str, currency: str) -> None:
        if not currency:
            return
        if not is_currency(currency):
            problem = f"{currency!r} is not a currency. Write its code or symbol, such as EUR, GBP or €."
            self.table.fault(number, problem, column)
        elif not self.currency:
            self.currency, self.currency_row = currency, number
        elif not is_same_currency(currency, self.currency):
            problem = (
                f"{currency} here, and {self.currency} in row {self.currency_row}. A list holds one currency, written "
                "one way: turn the price into it, or keep a list of its own."
            )
            self.table.fault(number, problem, column)
