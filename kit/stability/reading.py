"""What a typed value means: a number, a grade, a yes or no, words, or a colour."""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import AmbiguousError, EntryError, KitError, RangeError
from kit.numbers import readings, settled
from kit.rounding import all_digits
from kit.stability.study import WITHDRAWN, storable
from kit.units import magnitude

if TYPE_CHECKING:
    from kit.stability.plan import Attribute

YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})
#: CIELAB: L* runs from black, 0, to white, 100; a* and b* are kept within what one signed byte holds, the usual range
#: of instruments and pictures (common practice).
LIGHTNESS, CHROMA = (0.0, 100.0), (-128.0, 127.0)
TYPE_A_COLOUR = "Type L*, a* and b* one after the other, such as 62,1 4,5 18,0."
_AXES = re.compile(r"(?<![A-Za-z])[LlAaBb]\s?\*?\s?[:=]?(?=\s|[-+−\d.,])")
_UNIT_LAST = re.compile(r"\d[.,]?\s*°?[A-Za-zµμ]+(?:[·/][A-Za-zµμ]+)*[³²3]?$")


#: A reading that says only on which side of a number it lies: a run that was broken off, less than a method can see.
_ONE_SIDED = re.compile(
    r"(>=?|≥|more than|over|<=?|≤|less than|under)\s*(?=[-+−\d.,½¼¾])(.+)", re.IGNORECASE | re.DOTALL
)
_MORE = (">", "≥", "more", "over")


@dataclass(frozen=True, slots=True)
class Reading:
    """A value as typed, and its number [unit of the attribute] or its colour (L*, a*, b*) where it has one.

    ``above`` and ``below`` are the number beyond which a reading such as "> 60 min" lies; it has no number itself.
    """

    text: str
    number: float | None = None
    colour: tuple[float, float, float] | None = None
    above: float | None = None
    below: float | None = None


def read_value(attribute: Attribute, value: object, decimal_mark: str = "") -> Reading:
    """Read ``value`` as the attribute wants it.

    A number may carry a decimal comma and a unit that can be turned into the attribute's ("1,2 cm"), or say only that
    it is more or less ("> 60 min"): it is then kept as typed and has no number. A colour may also come as three
    numbers. What can be read two ways, and both believed, is refused unless ``decimal_mark`` ("." or
    ",") says how it is meant.

    Raises
    ------
    AmbiguousError
        It could be two different numbers.
    EntryError
        It cannot be read so; the sentence says what to type.

    Examples
    --------
    >>> from kit.stability.plan import plans
    >>> read_value(plans()["home-twelve-weeks"].attribute("pH"), "5,4")
    Reading(text='5,4', number=5.4, colour=None, above=None, below=None)
    """
    text = storable(_as_text(value), attribute.label)
    if not text:
        msg = f"{attribute.label} is empty. {_what_to_type(attribute)}"
        raise EntryError(msg)
    if text == WITHDRAWN:
        msg = f"{attribute.label}: {text!r} is what the log writes where a reading was withdrawn. Write it otherwise."
        raise EntryError(msg)
    if attribute.kind == "text":
        return Reading(text)
    if attribute.kind == "yes/no":
        says_yes(attribute, text)
        return Reading(text)
    if attribute.kind == "colour":
        return Reading(text, None, _colour(attribute, text))
    if attribute.kind == "number" and (one_sided := _ONE_SIDED.fullmatch(text)):
        bound = _number(attribute, one_sided[2], decimal_mark)
        is_more = one_sided[1].casefold().startswith(_MORE)
        return Reading(text, above=bound if is_more else None, below=None if is_more else bound)
    try:
        return Reading(text, _number(attribute, text, decimal_mark))
    except AmbiguousError:
        if isinstance(value, float):  # no text of a person's
            return Reading(all_digits(value), value)
        raise


def read_kept(attribute: Attribute, value: str, number: float | None) -> Reading:
    """A value that was kept with its number: where it can be read two ways, the one that was kept."""
    if value == WITHDRAWN:
        return Reading(value)
    try:
        return read_value(attribute, value)
    except AmbiguousError:
        for mark in ".,":
            found = read_value(attribute, value, mark)
            if found.number == number:  # of one that is one-sided no number is kept
                return found
        raise


def read_colour(text: str) -> tuple[float, float, float]:
    """L*, a* and b* of a colour, typed one after the other.

    Between them stand blanks, semicolons, or commas; where a comma is the decimal mark, blanks or semicolons.

    Raises
    ------
    EntryError
        These are not three numbers, or no colour has them.

    Examples
    --------
    >>> read_colour("62,1 4,5 18,0")
    (62.1, 4.5, 18.0)
    >>> read_colour("L* 62.1; a* -4.5; b* 18")
    (62.1, -4.5, 18.0)
    """
    try:
        lightness, red, yellow = (readings(part)[0] for part in _parts(_AXES.sub(" ", text)))
    except ValueError as error:
        msg = f"{text.strip()!r} cannot be read as a colour. {TYPE_A_COLOUR}"
        raise EntryError(msg) from error
    for axis, number, (least, most) in zip("Lab", (lightness, red, yellow), (LIGHTNESS, CHROMA, CHROMA), strict=True):
        if not least <= number <= most:
            msg = f"{text.strip()!r} is not possible: {axis}* lies between {least:g} and {most:g}. {TYPE_A_COLOUR}"
            raise EntryError(msg)
    return lightness, red, yellow


def _parts(text: str) -> list[str]:
    if ";" in text:
        return [part.strip() for part in text.split(";") if part.strip()]
    parts = [part.rstrip(",") for part in text.split()]
    return parts[0].split(",") if len(parts) == 1 else [part for part in parts if part]


def _colour(attribute: Attribute, text: str) -> tuple[float, float, float]:
    try:
        return read_colour(text)
    except EntryError as error:
        msg = f"{attribute.label}: {error}"
        raise EntryError(msg) from error


def says_yes(attribute: Attribute, text: str) -> bool:
    """Whether the answer to a yes/no attribute is yes."""
    answer = text.strip().casefold()
    if answer in YES | NO:
        return answer in YES
    msg = f"{attribute.label}: {text.strip()!r} is neither yes nor no. {_what_to_type(attribute)}"
    raise EntryError(msg)


def _as_text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        return " ".join(str(one) for one in value)
    return "" if value is None else str(value)


def _number(attribute: Attribute, text: str, decimal_mark: str) -> float:
    grade = attribute.kind == "grade"
    least, most = (0, len(attribute.scale) - 1) if grade else (attribute.least, attribute.most)
    low, high = -math.inf if least is None else least, math.inf if most is None else most
    try:
        number = _with_or_without_unit(attribute, text, low, high, decimal_mark)
    except AmbiguousError as error:
        msg = f"{attribute.label}: {error}"
        raise AmbiguousError(msg) from error
    except RangeError:
        number = math.inf
    except KitError as error:
        msg = f"{attribute.label}: {text!r} cannot be read. {_what_to_type(attribute)}"
        raise EntryError(msg) from error
    if not low <= number <= high or math.isinf(number):
        question = "" if grade else " Is a decimal mark missing?"
        msg = f"{attribute.label}: {text!r} is not possible. {_what_to_type(attribute)}{question}"
        raise EntryError(msg)
    if (grade or attribute.whole) and number != int(number):
        msg = f"{attribute.label}: {text!r} is not a whole number. {_what_to_type(attribute)}"
        raise EntryError(msg)
    return number


def _with_or_without_unit(attribute: Attribute, text: str, low: float, high: float, decimal_mark: str) -> float:
    for bare in dict.fromkeys((text, text.removesuffix(attribute.unit))):
        with suppress(EntryError):
            found = readings(bare, decimal_mark)
            break
    else:
        return _with_unit(attribute, text, low, high, decimal_mark)
    whole = tuple(number for number in found if number == int(number)) if attribute.whole else ()
    return settled(text, whole or found, low, high)


def _with_unit(attribute: Attribute, text: str, low: float, high: float, decimal_mark: str) -> float:
    if attribute.whole or not attribute.unit or not _UNIT_LAST.search(text):
        msg = f"{text!r} is not a number"
        raise EntryError(msg)
    return magnitude(text, attribute.unit, name=attribute.label, low=low, high=high, decimal_mark=decimal_mark)


def _what_to_type(attribute: Attribute) -> str:
    if attribute.kind == "grade":
        grades = "; ".join(f"{grade}: {words}" for grade, words in enumerate(attribute.scale))
        return f"Type one grade ({grades})."
    if attribute.kind == "yes/no":
        return "Type yes or no."
    if attribute.kind == "text":
        return "Write a few words."
    if attribute.kind == "colour":
        return TYPE_A_COLOUR
    unit = f" in {attribute.unit}" if attribute.unit else ""
    bounds = [
        f"{word} {bound:g}" for word, bound in (("from", attribute.least), ("to", attribute.most)) if bound is not None
    ]
    kind = "a whole number" if attribute.whole else "a number"
    return f"Type {' '.join([kind + unit, *bounds])}."
