"""Numbers as people write them: read where they can mean one thing, refused where they can mean two.

One comma or point with exactly three digits behind it (1,250 or 1.250) is 1250 to one reader and 1.25 to another.
Such a text is read only where its field allows one of the two, or where a file shows elsewhere which mark is its
decimal one.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from math import inf, isfinite
from typing import TYPE_CHECKING

from kit.errors import AmbiguousError, EntryError, RangeError
from kit.findings import Finding
from kit.rounding import all_digits, unmistakable

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Signs that only ever part thousands: blanks of every width, apostrophes, the Arabic one.
_GROUPS = " \xa0\u2007\u2008\u2009\u202f'’ʼ٬"
#: A sign that is only ever a decimal mark.
_ARABIC_MARK = "٫"
_VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_MINUS = str.maketrans({"−": "-", **dict.fromkeys("\u200e\u200f\u061c")})  # and the marks of writing direction

_EXPONENT = r"(?:[eE][-+]?\d+)?"
_ONE_MARK = re.compile(rf"(?P<whole>\d+|\d{{1,3}}(?:(?P<g>[{_GROUPS}])\d{{3}})(?:(?P=g)\d{{3}})*|)"
                       rf"(?:(?P<mark>[.,{_ARABIC_MARK}])(?P<rest>\d*))?(?P<exponent>{_EXPONENT})")  # fmt: skip
_TWO_MARKS = re.compile(r"[1-9]\d{0,2}(?:(?P<g>[.,])\d{3})(?:(?P=g)\d{3})*(?!(?P=g))[.,]\d+")
#: 1,234,567, and with the groups of two of South Asia 12,34,567, with decimals or without.
_ONE_MARK_OFTEN = re.compile(r"[1-9]\d{0,2}(?:(?P<g>[.,])\d{3})(?:(?P=g)\d{3})+")
_LAKHS = re.compile(r"[1-9]\d?(?:,\d{2})+,\d{3}(?:\.\d+)?")
_FRACTION = re.compile(
    rf"(?:(?P<whole>\d+)\s)?(?P<top>\d{{1,3}})[/⁄](?P<under>\d{{1,3}})|(?P<before>\d+)?\s?(?P<sign>[{_VULGAR}])"
)
_PLAIN = re.compile(r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?")
_COULD_BE_THOUSANDS = re.compile(r"-?[1-9]\d{0,2}\.\d{3}")
_START = re.compile(
    rf"\s*([-+−\u200e\u200f\u061c]*(?:(?:\d+\s?)?[{_VULGAR}]|(?:\d+\s)?\d{{1,3}}[/⁄]\d{{1,3}}(?![\d/])"
    rf"|[\d.,{_ARABIC_MARK}{_GROUPS}]*\d[.,]?(?:[eE][-+−]?\d+)?))\s*(?![^\w%‰°]*\d)(.*?)\s*",
    re.DOTALL,
)


def readings(text: str, decimal_mark: str = "") -> tuple[float, ...]:
    """What a text can mean as a number: one reading, or two, the one with a decimal mark first.

    Parameters
    ----------
    decimal_mark
        "." or "," where a file has shown which of the two is its decimal mark.

    Raises
    ------
    EntryError
        It is no number.

    Examples
    --------
    >>> readings("3,5"), readings("1,250"), readings("1,250", "."), readings("0,985"), readings("1 1/2")
    ((3.5,), (1.25, 1250.0), (1250.0,), (0.985,), (1.5,))
    """
    if _PLAIN.fullmatch(text) and (decimal_mark == "." or not _COULD_BE_THOUSANDS.fullmatch(text)):
        return (float(text),)  # most texts by far: those of the kit's own tables
    plain = _with_plain_digits(text.strip()).translate(_MINUS)
    sign, body = (-1.0 if plain.startswith("-") else 1.0), plain.removeprefix("-")
    body = body.removeprefix("+") if body == plain else body
    values = _fraction(body) or _with_one_mark(body, decimal_mark) or _grouped(body)
    if not values:
        raise EntryError(_no_number(text.strip()))
    if not all(map(isfinite, values)):
        msg = f"{text.strip()[:40]!r} is too large a number to compute with."
        raise EntryError(msg)
    return tuple(sign * value for value in values)


def read_number(text: str, *, low: float = -inf, high: float = inf, decimal_mark: str = "") -> float:
    """Read a number as people write it: "3.5", "3,5", "1 250", "1'250,5", "1.250,5", "1,00,000", "½", "−2", "2e-3".

    Parameters
    ----------
    low, high
        What the field allows. It decides where a text can be read two ways, and nothing beyond it is taken.
    decimal_mark
        "." or "," where a file has shown which of the two is its decimal mark; see :func:`decimal_mark_of`.

    Raises
    ------
    AmbiguousError
        It could be two different numbers, both of which the field allows.
    EntryError
        It is not one number.
    RangeError
        It is beyond what the field allows.

    Examples
    --------
    >>> read_number("3,5"), read_number("1 250,75"), read_number("5,125", low=0, high=14)
    (3.5, 1250.75, 5.125)
    """
    number = read_likely(text, low, high, decimal_mark)
    if not low <= number <= high:
        raise RangeError(beyond(number, low, high))
    return number


def read_likely(text: str, low: float, high: float, decimal_mark: str = "") -> float:
    """Read a number; one that can be read two ways is the one between ``low`` and ``high``, if only one is.

    Unlike :func:`read_number` it lets pass what lies beyond, for fields that say themselves what is wrong with it.

    Raises
    ------
    AmbiguousError, EntryError
        As :func:`read_number`.
    """
    return settled(text.strip(), readings(text, decimal_mark), low, high)


def settled(text: str, found: tuple[float, ...], low: float, high: float, unit: str = "", name: str = "") -> float:
    """The only reading, or the only one of two between ``low`` and ``high``; else an :class:`AmbiguousError`."""
    possible = found if len(found) == 1 else [number for number in found if low <= number <= high]
    if len(possible) != 1:
        raise AmbiguousError(two_ways(text, found, unit, name))
    return possible[0]


def split_text(text: str) -> tuple[str, str]:
    """Part "12,5 g" into "12,5" and "g". The unit is empty where there is none.

    Raises
    ------
    EntryError
        It does not start with a number.
    """
    found = _START.fullmatch(_with_plain_digits(text))
    if found is None:
        msg = f"{text.strip()[:60]!r} does not start with a number."
        raise EntryError(msg)
    return found[1].strip(), found[2]


def split_number(text: str, *, decimal_mark: str = "") -> tuple[float, str]:
    """Split "12,5 g" into 12.5 and "g". The unit is empty where there is none.

    Raises
    ------
    EntryError
        It does not start with a number, or with one that can be read two ways.
    """
    number, unit = split_text(text)
    return settled(text.strip(), readings(number, decimal_mark), -inf, inf, unit), unit


def two_ways(text: str, found: tuple[float, ...], unit: str = "", name: str = "") -> str:
    """The sentence for a text that can be read two ways: both readings, and how to type each."""
    behind = f" {unit}" if unit else ""
    large, small = max(found, key=abs), min(found, key=abs)
    start = f"{name}: " if name else ""
    return (
        f"{start}{text[:60]!r} can mean {_short(large)}{behind} or {_short(small)}{behind}. "
        f"Type {unmistakable(_short(large))}{behind} for the one, {unmistakable(_short(small))}{behind} for the other."
    )


def beyond(number: float, low: float, high: float, unit: str = "", name: str = "") -> str:
    """The sentence for a number beyond what its field allows."""
    behind = f" {unit}" if unit else ""
    bounds = [f"below {low:.15g}{behind}"] * (low > -inf) + [f"above {high:.15g}{behind}"] * (high < inf)
    start = f"{name}: " if name else ""
    return f"{start}{number:.10g}{behind} is not possible here: it must not be {' and not '.join(bounds)}."


def decimal_mark_of(texts: Iterable[str]) -> str:
    """Which mark is the decimal one in texts that were written by one hand; empty where they do not show it.

    They show it where a text with a point or comma can be read one way only, as 3,5 or 1,234,567 can. Where some
    texts show the one and others the other, nothing is shown.

    Examples
    --------
    >>> decimal_mark_of(["1.250 g", "62,5 g"]), decimal_mark_of(["1.250", "3"]), decimal_mark_of(["1,5", "2.5"])
    (',', '', '')
    """
    shown = {mark for text in texts if (mark := _shown_by(text))}
    return shown.pop() if len(shown) == 1 else ""


def decided(name: str, texts: Iterable[str], decimal_mark: str) -> Finding | None:
    """What to say where a file's own habit settled numbers that can be read two ways; None where none needed it."""
    example = next((text for text in texts if is_open(text)), None)
    if example is None or not decimal_mark:
        return None
    number, unit = split_text(example)
    word = "comma" if decimal_mark == "," else "point"
    behind = f" {unit}" if unit else ""
    return Finding(
        "note",
        f"{name}: the decimal mark of this file is the {word}, as its other numbers show, so {example.strip()!r} is "
        f"{_short(readings(number, decimal_mark)[0])}{behind}.",
    )


def in_habit(text: str, decimal_mark: str) -> str:
    """A text that can be read two ways, written as a file with this decimal mark means it.

    Examples
    --------
    >>> in_habit("1.250 g", ","), in_habit("1,250 g", ",")
    ('1250 g', '1.25 g')
    """
    number, unit = split_text(text)
    return f"{all_digits(readings(number, decimal_mark)[0])} {unit}".strip()


def is_open(text: str) -> bool:
    """Whether a text starts with a number that can be read two ways."""
    try:
        return len(readings(split_text(text)[0])) > 1
    except EntryError:
        return False


def _shown_by(text: str) -> str:
    """The decimal mark that one text shows, if it shows one."""
    try:
        number = split_text(text)[0]
        if len(readings(number)) > 1:
            return ""
    except EntryError:
        return ""
    marks = [sign for sign in number if sign in ".,"]
    if not marks:
        return ""
    if len(marks) > 1 and len(set(marks)) == 1:  # 1,234,567: the comma parts thousands
        return "." if marks[0] == "," else ","
    return marks[-1]


def _with_plain_digits(text: str) -> str:
    """The text with the digits of every script as 0 to 9."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else sign for sign in text)


def _fraction(body: str) -> tuple[float, ...]:
    """½, 1/2, 1 ½ or 1 1/2; what is more than one whole under a stroke is rather a day or a ratio."""
    found = _FRACTION.fullmatch(body)
    if found is None:
        return ()
    if found["sign"]:
        return (float(found["before"] or 0) + unicodedata.numeric(found["sign"]),)
    top, under = int(found["top"]), int(found["under"])
    return (float(found["whole"] or 0) + top / under,) if top < under else ()


def _with_one_mark(body: str, decimal_mark: str) -> tuple[float, ...]:
    """Digits with at most one mark; the thousands, if parted, by a sign that does nothing else."""
    found = _ONE_MARK.fullmatch(body)
    if found is None or not (found["whole"] or found["rest"]):
        return ()
    whole = re.sub(f"[{_GROUPS}]", "", found["whole"])
    rest, exponent = found["rest"] or "", found["exponent"]
    as_decimal = float(f"{whole or 0}.{rest or 0}{exponent}")
    could_be_thousands = (
        found["mark"] in (".", ",")
        and not found["g"]
        and len(rest) == 3
        and 1 <= len(whole) <= 3
        and not whole.startswith("0")
        and not (exponent and len(whole) == 1)  # 1.234e5 is how powers of ten are written
    )
    if not could_be_thousands:
        return (as_decimal,)
    as_thousands = float(f"{whole}{rest}{exponent}")
    if decimal_mark:
        return (as_decimal if found["mark"] == decimal_mark else as_thousands,)
    return as_decimal, as_thousands


def _grouped(body: str) -> tuple[float, ...]:
    """Digits with several marks of which all, or all but the last, part thousands."""
    if _ONE_MARK_OFTEN.fullmatch(body):
        return (float(re.sub("[.,]", "", body)),)
    if _TWO_MARKS.fullmatch(body) or _LAKHS.fullmatch(body):
        mark = body[max(body.rfind("."), body.rfind(","))]
        if body.count(mark) > 1:  # 12,34,567
            return (float(body.replace(mark, "")),)
        whole, rest = body.split(mark)
        return (float(f"{re.sub('[.,]', '', whole)}.{rest}"),)
    return ()


def _no_number(text: str) -> str:
    if "." in text and "," in text and re.fullmatch(r"[-+−]?[\d.,]+", text):
        return f"{text[:60]!r} mixes points and commas so that it cannot be read. Write it with one decimal mark."
    return f"{text[:60]!r} is not a number. Write digits with one decimal mark, such as 3.5 or 3,5."


def _short(value: float) -> str:
    return format(Decimal(repr(value)).normalize(), "f")
