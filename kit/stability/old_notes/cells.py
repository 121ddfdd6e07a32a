"""What a cell of old notes means: a day as people write it, a pull, a place. What could be two things is asked for."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.numbers import read_number
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.study import Study

_ISO = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
_POINTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d{2})")
_EITHER = re.compile(r"(\d{1,2})([/-])(\d{1,2})\2(\d{4})")
_WORDS = re.compile(r"(?:(\d{1,2})\.?[ -]([^\W\d_]{3,9})\.?|([^\W\d_]{3,9})\.? (\d{1,2}))[ ,-]+(\d{4})")
_TIME = re.compile(r"[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?$")
#: In English, German and French, without accents.
_MONTHS = (
    ("january", "januar", "janner", "janvier"), ("february", "februar", "fevrier"), ("march", "marz", "maerz", "mars"),
    ("april", "avril"), ("may", "mai"), ("june", "juni", "juin"), ("july", "juli", "juillet"),
    ("august", "aout"), ("september", "septembre"), ("october", "oktober", "octobre"), ("november", "novembre"),
    ("december", "dezember", "decembre"),
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
    plain = plain_letters(word)
    plain = "sep" if plain == "sept" else plain
    meant = [number for number, names in enumerate(_MONTHS, 1) if any(name.startswith(plain) for name in names)]
    if len(meant) == 1 and plain:
        return meant[0]
    raise EntryError(_no_day(text))


def _day(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as error:
        raise EntryError(_no_day(text)) from error


def _no_day(text: str) -> str:
    return f"{text.strip()!r} is not a day. Write it as 2026-03-09, 9.3.2026 or 9 Mar 2026."


_DAYS = {
    **dict.fromkeys(("d", "day", "days", "tag", "tage", "jour", "jours"), 1),
    **dict.fromkeys(("w", "wk", "wks", "week", "weeks", "woche", "wochen", "semaine", "semaines"), 7),
}
#: Other words for the pull of the first day, in plain letters.
_FIRST = frozenset(
    {"start", "t0", "0", "initial", "begin", "beginning", "fresh", "anfang", "beginn", "debut", "depart"}
)
#: What people call a place → how the label of a ready plan's begins, in plain letters.
_PLACES = {
    **dict.fromkeys(("refrigerator", "kuhlschrank", "frigo", "refrigerateur", "cold"), "fridge"),
    **dict.fromkeys(("windowsill", "window sill", "sill", "light", "fenster", "fensterbank", "fenetre"), "window"),
    **dict.fromkeys(("room", "rt", "room temperature", "shelf", "schrank", "raumtemperatur", "placard"), "cupboard"),
    **dict.fromkeys(("warmeschrank", "warmebox", "etuve", "oven", "incubator", "hot box"), "warm"),
}  # fmt: skip
_COUNT = re.compile(r"(\d{1,4})\s*([a-z]+)\.?|([a-z]+)\.?\s*(\d{1,4})")
_DEGREES = re.compile(r"([-−]?\d{1,2}(?:[.,]\d)?)\s*(?:°\s?C?|C|deg\.? ?C)?", re.IGNORECASE)


def pull_of(study: Study, text: str) -> str:
    """The label of the pull that a text names: its label, or a number of days or weeks that one of them has.

    Raises
    ------
    EntryError
        None has; the sentence lists those there are.
    """
    points = study.plan.time_points
    plain = " ".join(text.casefold().split())
    for point in points:
        if plain == " ".join(point.label.casefold().split()):
            return point.label
    if plain_letters(text) in _FIRST and points[0].days == 0:
        return points[0].label
    if found := _COUNT.fullmatch(plain):
        number, word = (found[1], found[2]) if found[1] else (found[4], found[3])
        days = int(number) * _DAYS.get(word, -1)
        for point in points:
            if point.days == days:
                return point.label
    known = ", ".join(point.label for point in points)
    msg = f"{text.strip()!r} is not a pull of this study. It has: {known}. Write '28 days' or '4 weeks' if you count."
    raise EntryError(msg)


def pull_on(study: Study, day: date) -> str:
    """The label of the pull whose day is nearest, where only one is near.

    Near is a week, or a quarter of the time since the start where that is more; a day that lies as near to two pulls
    is neither's.

    Raises
    ------
    EntryError
        None is near, or two are equally.
    """
    away = sorted((abs((day - study.due_on(point)).days), point.days, point.label) for point in study.plan.time_points)
    nearest = away[0]
    if nearest[0] > max(7, nearest[1] / 4):
        due = study.started_on + timedelta(days=nearest[1])
        msg = f"{day} lies {nearest[0]} days from the nearest pull, {nearest[2]!r} on {due}. Name the pull in a column."
        raise EntryError(msg)
    if len(away) > 1 and away[1][0] == nearest[0]:
        msg = f"{day} lies as near to {nearest[2]!r} as to {away[1][2]!r}. Name the pull in a column."
        raise EntryError(msg)
    return nearest[2]


def _bare(text: str) -> str:
    """The words and whole numbers of a text: "Warm box, 40 °C" and "warm box 40" begin alike."""
    return " ".join(re.findall(r"[-−]?\d+|[^\W\d]+", text.casefold()))


def condition_of(study: Study, text: str) -> str:
    """The key of the condition that a text names: key, label, the beginning of one label, or one's temperature.

    Raises
    ------
    EntryError
        None is meant, or more than one; the sentence lists those there are.
    """
    conditions = study.plan.conditions
    plain = " ".join(text.casefold().split())
    exact = [one.key for one in conditions if plain in (one.key.casefold(), one.label.casefold())]
    bare = _bare(text)
    begun = [one.key for one in conditions if bare and _bare(one.label).startswith(bare)]
    degrees: list[str] = []
    if found := _DEGREES.fullmatch(plain):
        number = read_number(found[1])
        degrees = [one.key for one in conditions if one.temperature is not None and one.temperature == number]
    place = _PLACES.get(plain_letters(text), "")
    called = [one.key for one in conditions if place and plain_letters(one.label).startswith(place)]
    for keys in (exact, begun, degrees, called):
        if len(keys) == 1:
            return keys[0]
    known = "; ".join(one.label for one in conditions)
    many = "could be more than one condition" if len(begun) > 1 or len(degrees) > 1 else "is not a condition"
    msg = f"{text.strip()!r} {many} of this study. It has: {known}."
    raise EntryError(msg)
