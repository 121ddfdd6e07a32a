"""Money as it is typed and shown: amounts, currencies by code, symbol or short name, and what can be paid."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.numbers import read_number
from kit.rounding import round_to_step, round_to_total

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
