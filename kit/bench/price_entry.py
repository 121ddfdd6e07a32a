"""A purchase as a person types it in a few boxes, and as it stands there again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.bench.money import is_same_currency, money, read_money
from kit.bench.price import PIECES, PackItem, Price, PriceList, name_key, newest
from kit.errors import EntryError
from kit.numbers import read_number, readings, split_number
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the boxes: "500 g" or "24 pieces" for the pack, "12,50 EUR" for the price."""

    name: str = ""
    pack: str = ""
    price: str = ""
    per_bottle: str = ""
    lot: str = ""
    bought_on: str = ""
    note: str = ""


def with_typed(prices: PriceList, typed: Typed) -> PriceList:
    """The list with this purchase; of one material the newest purchase counts.

    Raises
    ------
    EntryError
        A box is empty or cannot be read, or the currency is not that of the list.
    KitError
        The name, unit, date or a number is not possible.

    Examples
    --------
    >>> with_typed(PriceList(), Typed("Glycerin", "1 kg", "9,80 EUR")).prices[0].price
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


def typed_of(prices: PriceList, name: str) -> Typed:
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
        return Typed(item.name, pack, paid, all_digits(item.per_bottle), item.lot, item.bought_on, item.note)
    bought = [price for price in prices.prices if name_key(price.material) == key]
    if not bought:
        return Typed(name.strip())
    price = newest(bought)
    paid = _paid(price.price, prices.currency)
    return Typed(price.material, price.pack, paid, "", price.lot, price.bought_on, price.note)


def _paid(price: float, currency: str) -> str:
    """The price with all its digits: one that has more decimals than its currency is not cut."""
    shown = money(price, currency)
    return shown if readings(shown.split()[0]) == (price,) else f"{all_digits(price)} {currency}"


def names_in(prices: PriceList) -> Sequence[str]:
    """Every name of the list once, materials first."""
    names = [price.material for price in prices.prices] + [item.name for item in prices.packaging]
    return list(dict.fromkeys(names))
