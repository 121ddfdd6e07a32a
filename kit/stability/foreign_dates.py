"""Days as people write them. What could be two different days is asked for, never guessed."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from kit.errors import EntryError

if TYPE_CHECKING:
    from collections.abc import Iterable

_ISO = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
_POINTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d{2})")
_EITHER = re.compile(r"(\d{1,2})([/-])(\d{1,2})\2(\d{4})")
_WORDS = re.compile(r"(?:(\d{1,2})\.?[ -]([A-Za-z]{3,9})\.?|([A-Za-z]{3,9})\.? (\d{1,2}))[ ,-]+(\d{4})")
_TIME = re.compile(r"[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?$")
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip

ASK = "Say whether the day or the month comes first."


def read_day(text: str, day_first: bool | None = None) -> date:
    """The day that a text says; a time of day behind it is left out.

    Read are 2026-03-09 (also with points or slashes), 9.3.2026 and 9.3.26 (the day first), 9 Mar 2026, March 9, 2026,
    and 9/3/2026 or 9-3-2026, in which ``day_first`` says what comes first. Where it is None, such a text is read only
    if it can be no other day.

    Raises
    ------
    EntryError
        It is no day, or could be two.

    Examples
    --------
    >>> read_day("9.3.2026"), read_day("13/3/2026"), read_day("3/4/2026", day_first=True)
    (datetime.date(2026, 3, 9), datetime.date(2026, 3, 13), datetime.date(2026, 4, 3))
    """
    plain = _TIME.sub("", text.strip())
    if found := _ISO.fullmatch(plain):
        return _day(text, *(int(one) for one in found.groups()))
    if found := _POINTS.fullmatch(plain):
        day, month, year = found.groups()
        return _day(text, int(year) + (2000 if len(year) == 2 else 0), int(month), int(day))
    if found := _WORDS.fullmatch(plain):
        day, month, month_first, day_last, year = found.groups()
        return _day(text, int(year), _month(text, month or month_first), int(day or day_last))
    if found := _EITHER.fullmatch(plain):
        return _either(text, int(found[1]), int(found[3]), int(found[4]), day_first)
    raise EntryError(_no_day(text))


def order_of(texts: Iterable[str]) -> bool | None:
    """What comes first in the days of a column that are written as 9/3/2026: True, the day; False, the month.

    None where nothing says it: every such day could be read both ways, or some tell one and some the other. A column
    without such days gives None too; :func:`is_open` tells whether that matters.
    """
    told = set()
    for first, second in _pairs(texts):
        if first > 12 >= second:
            told.add(True)
        if second > 12 >= first:
            told.add(False)
    return told.pop() if len(told) == 1 else None


def is_open(texts: Iterable[str]) -> bool:
    """Whether a column has days that could be two different ones and nothing in it says which."""
    texts = list(texts)
    both_ways = any(first <= 12 and second <= 12 and first != second for first, second in _pairs(texts))
    return both_ways and order_of(texts) is None


def _pairs(texts: Iterable[str]) -> Iterable[tuple[int, int]]:
    for text in texts:
        if found := _EITHER.fullmatch(_TIME.sub("", text.strip())):
            yield int(found[1]), int(found[3])


def _either(text: str, first: int, second: int, year: int, day_first: bool | None) -> date:
    if day_first is None:
        if first <= 12 and second <= 12 and first != second:
            msg = f"{text.strip()!r} could be two different days. {ASK}"
            raise EntryError(msg)
        day_first = first > 12 or first == second
    return _day(text, year, second, first) if day_first else _day(text, year, first, second)


def _month(text: str, word: str) -> int:
    for number, name in enumerate(_MONTHS, start=1):
        if name.startswith(word.casefold()) or (word.casefold() == "sept" and number == 9):
            return number
    raise EntryError(_no_day(text))


def _day(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as error:
        raise EntryError(_no_day(text)) from error


def _no_day(text: str) -> str:
    return f"{text.strip()!r} is not a day. Write it as 2026-03-09, 9.3.2026 or 9 Mar 2026."
