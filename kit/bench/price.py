"""A price: money as it is typed and shown, and what was paid for how much of a material."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError, UnitError
from kit.iso_dates import is_iso_date
from kit.numbers import read_number
from kit.rounding import all_digits, round_to_step, round_to_total
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Sequence


#: Currencies without two decimals (ISO 4217, minor unit; from memory).
_DECIMALS = {**dict.fromkeys(("JPY", "KRW", "VND", "CLP", "ISK", "UGX", "XAF", "XOF", "XPF", "PYG"), 0),
             **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3)}  # fmt: skip

#: Symbols of one currency; "$" and "kr" stand for several, so they are none.
_CODES = {"€": "EUR", "£": "GBP"}

#: Letters typed in place of a nought or a one.
_LIKE_DIGITS = {"O": "0", "o": "0", "l": "1", "I": "1"}

#: The longest text taken for a currency, such as "CHF", "€" or "Fr.".
_LONGEST = 5

_MONEY = re.compile(r"\s*([^\d\s,.+\-−]*[.]?)\s*([-+−]?[\d.,'’ \xa0\u2009\u202f]*\d[.,]?)\s*([^\d\s,.+\-−]*[.]?)\s*")


def is_currency(text: str) -> bool:
    """Whether a text can stand for a currency: its code, its symbol, or its short name.

    Examples
    --------
    >>> is_currency("EUR"), is_currency("€"), is_currency("Fr."), is_currency("12"), is_currency("a price")
    (True, True, True, False, False)
    """
    body = text.removesuffix(".")
    signs = all(letter.isalpha() or unicodedata.category(letter) == "Sc" for letter in body)
    return bool(body) and len(text) <= _LONGEST and signs


def is_same_currency(one: str, other: str) -> bool:
    """Whether two texts stand for one currency, written in capitals or not, as its code or its symbol.

    Examples
    --------
    >>> is_same_currency("EUR", "eur"), is_same_currency("EUR", "€"), is_same_currency("€", "£")
    (True, True, False)
    """
    return _CODES.get(one, one).casefold() == _CODES.get(other, other).casefold()


def decimals(currency: str) -> int:
    """How many decimals its amounts have.

    Examples
    --------
    >>> decimals("EUR"), decimals("€"), decimals("jpy")
    (2, 2, 0)
    """
    return _DECIMALS.get(currency.upper(), 2)


def step(currency: str) -> float:
    """Its smallest amount, such as 0.01."""
    return float(f"1e-{decimals(currency)}")


def shared_out(amounts: Sequence[float], currency: str) -> list[float]:
    """Amounts rounded so that they add to their rounded sum, by largest remainder. [currency]

    Examples
    --------
    >>> shared_out([0.333, 0.333, 0.334], "EUR")
    [0.33, 0.33, 0.34]
    """
    return round_to_total(amounts, step(currency))


def rounded(amount: float, currency: str) -> float:
    """The nearest amount that can be paid; halves go to the even one. [currency]"""
    return round_to_step(amount, step(currency))


def money(amount: float, currency: str = "") -> str:
    """An amount as it is shown.

    Examples
    --------
    >>> money(12.5, "EUR"), money(0.004, "EUR"), money(1234, "JPY")
    ('12.50 EUR', '0.00 EUR', '1234 JPY')
    """
    return f"{rounded(amount, currency) + 0.0:.{decimals(currency)}f} {currency}".rstrip()


def read_money(text: str, decimal_mark: str = "") -> tuple[float, str]:
    """Read "12,50", "12.50 EUR" or "€ 12.50" into the amount and its currency, empty where none is written.

    Raises
    ------
    EntryError
        The text is not one amount, or could be two (1,250), or what stands beside it is no currency.

    Examples
    --------
    >>> read_money("12,50 EUR"), read_money("€3.20"), read_money("7")
    ((12.5, 'EUR'), (3.2, '€'), (7.0, ''))
    """
    found = _MONEY.fullmatch(text)
    if found is None:
        amount, words = read_number(text, decimal_mark=decimal_mark), ""  # tells what is wrong with it
    else:
        amount, words = read_number(found[2], decimal_mark=decimal_mark), found[1] or found[3]
        if words in _LIKE_DIGITS:
            msg = f"{text.strip()!r} is not a price: it holds the letter {words} in place of a {_LIKE_DIGITS[words]}."
            raise EntryError(msg)
        if (found[1] and found[3]) or (words and not is_currency(words)):
            msg = (
                f"{text.strip()!r} is not one price. Write a number with its currency at most once, such as 12.50 EUR."
            )
            raise EntryError(msg)
    return amount, words


#: What one pack may hold and cost: beyond these nothing can be computed. [g or mL; pieces], [currency]
LEAST_PACK, MOST_PACK, MOST_PRICE = 1e-6, 1e9, 1e12

#: The unit of packaging, and other words for it.
PIECES = ("pieces", "piece", "pcs", "pc")


@lru_cache(maxsize=256)
def pack_unit(unit: str) -> tuple[Literal["g", "mL"], float]:
    """A unit in which a material is bought: whether it is by mass or by volume, and its size. [g or mL]

    "oz" is the ounce of mass; a fluid ounce is "fl oz".

    Raises
    ------
    UnitError
        It is a unit of neither.

    Examples
    --------
    >>> pack_unit("kg"), pack_unit("L")
    (('g', 1000.0), ('mL', 1000.0))
    """
    plain = " ".join(unit.split())
    one = f"1 {plain}"
    # "500 g" beside an amount of 1 is no unit: read as one, it would make 1500 g of the two.
    bases: tuple[Literal["g", "mL"], ...] = ("g", "mL") if plain[:1].isalpha() else ()
    for base in bases:
        try:
            size = magnitude(one, base, name="the pack")
        except UnitError:
            continue
        if size > 0:
            return base, size
    msg = (
        f"{plain[:40]!r} is not a unit in which a material is bought. Write g, kg, mL, L, oz, lb or fl oz, "
        "or pieces for packaging."
    )
    raise UnitError(msg)


@dataclass(frozen=True, slots=True)
class Price:
    """One purchase of a material.

    Attributes
    ----------
    material
        Its name as in the library or the formula: INCI, plain or other name, or a stock's.
    amount, unit
        What was bought, in any unit of mass or volume.
    price
        What was paid for it. [currency of the list]
    lot, bought_on
        As printed on the pack; an ISO date, or empty.
    note
        Where the price is from.
    """

    material: str
    amount: float
    unit: str
    price: float
    lot: str = ""
    bought_on: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _check(self.material, self.price, self.bought_on)
        if not LEAST_PACK <= self.amount * pack_unit(self.unit)[1] <= MOST_PACK:
            msg = f"{self.material}: an amount of {self.amount:g} {self.unit} cannot be bought. Give more than 0."
            raise RangeError(msg)

    @property
    def by_volume(self) -> bool:
        """True where a density is needed to know its mass."""
        return pack_unit(self.unit)[0] == "mL"

    def grams(self, density: float | None = None) -> float | None:
        """What the pack holds; None for a volume without a density. [g]

        Parameters
        ----------
        density
            Of the material, needed where it is bought by volume. [g/mL]

        Examples
        --------
        >>> Price("Glycerin", 500, "mL", 6.0).grams(density=1.26)
        630.0
        """
        base, size = pack_unit(self.unit)
        if base == "g":
            return self.amount * size
        return None if density is None else self.amount * size * density

    @property
    def pack(self) -> str:
        """The pack in words, such as "500 g"."""
        return f"{all_digits(self.amount)} {self.unit}"


@dataclass(frozen=True, slots=True)
class PackItem:
    """Something bought by the piece that goes with each bottle.

    Attributes
    ----------
    name
        Such as "bottle 100 mL".
    pieces, price
        How many were bought, and what was paid for them all. [-, currency of the list]
    per_bottle
        How many go with one bottle; 0.04 where a carton holds 25 bottles.
    """

    name: str
    pieces: float
    price: float
    per_bottle: float = 1.0
    lot: str = ""
    bought_on: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _check(self.name, self.price, self.bought_on)
        for number, what in ((self.pieces, "pieces in the pack"), (self.per_bottle, "pieces for each bottle")):
            if not LEAST_PACK <= number <= MOST_PACK:
                msg = f"{self.name}: {number:g} {what} is not possible. Give more than 0."
                raise RangeError(msg)

    @property
    def each(self) -> float:
        """What one piece costs. [currency of the list]"""
        return self.price / self.pieces


def _check(name: str, price: float, bought_on: str) -> None:
    if not name.strip():
        msg = "A price needs the name of what was bought."
        raise RangeError(msg)
    if not 0 <= price <= MOST_PRICE:
        msg = f"{name}: a price of {price:g} is not possible. Give what was paid, 0 or more."
        raise RangeError(msg)
    check_date(bought_on)


def check_date(text: str) -> None:
    """Refuse a date that is neither empty nor written year-month-day.

    Raises
    ------
    RangeError
        It is written in another way, or there is no such day.
    """
    if text and not is_iso_date(text):
        msg = f"{text!r} is not a date. Write year-month-day, such as 2026-03-14."
        raise RangeError(msg)
