"""Which pull and which place of a study a note means: "4 weeks", "wk 4", "28 d", a day; "fridge", "40 °C"."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.numbers import read_number

if TYPE_CHECKING:
    from datetime import date

    from kit.stability.study import Study

_DAYS = {"d": 1, "day": 1, "days": 1, "w": 7, "wk": 7, "wks": 7, "week": 7, "weeks": 7}
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
    for keys in (exact, begun, degrees):
        if len(keys) == 1:
            return keys[0]
    known = "; ".join(one.label for one in conditions)
    many = "could be more than one condition" if len(begun) > 1 or len(degrees) > 1 else "is not a condition"
    msg = f"{text.strip()!r} {many} of this study. It has: {known}."
    raise EntryError(msg)
