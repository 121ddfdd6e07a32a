"""What a typed value means: a number, a grade, a yes or no, or words."""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError, KitError
from kit.stability.names import storable
from kit.units import magnitude, read_number

if TYPE_CHECKING:
    from kit.stability.attribute import Attribute

YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})
_UNIT_LAST = re.compile(r"\d[.,]?\s*[A-Za-zµμ]+$")


@dataclass(frozen=True, slots=True)
class Reading:
    """A value as typed, and its number [unit of the attribute] where it is a number or a grade."""

    text: str
    number: float | None = None


def read_value(attribute: Attribute, value: object) -> Reading:
    """Read ``value`` as the attribute wants it.

    A number may carry a decimal comma and a unit that can be turned into the attribute's ("1,2 cm").

    Raises
    ------
    EntryError
        It cannot be read so; the sentence says what to type.

    Examples
    --------
    >>> from kit.stability.plan import plans
    >>> read_value(plans()["home-twelve-weeks"].attribute("pH"), "5,4")
    Reading(text='5,4', number=5.4)
    """
    text = storable(_as_text(value), attribute.label)
    if not text:
        msg = f"{attribute.label} is empty. {_what_to_type(attribute)}"
        raise EntryError(msg)
    if attribute.kind == "text":
        return Reading(text)
    if attribute.kind == "yes/no":
        says_yes(attribute, text)
        return Reading(text)
    return Reading(text, _number(attribute, text))


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
    return "" if value is None else str(value)


def _number(attribute: Attribute, text: str) -> float:
    try:
        number = _with_or_without_unit(attribute, text)
    except KitError as error:
        msg = f"{attribute.label}: {text!r} cannot be read. {_what_to_type(attribute)}"
        raise EntryError(msg) from error
    grade = attribute.kind == "grade"
    least, most = (0, len(attribute.scale) - 1) if grade else (attribute.least, attribute.most)
    believable = (least is None or number >= least) and (most is None or number <= most)
    if not math.isfinite(number) or not believable:
        question = "" if grade else " Is a decimal mark missing?"
        msg = f"{attribute.label}: {text!r} is not possible. {_what_to_type(attribute)}{question}"
        raise EntryError(msg)
    if (grade or attribute.whole) and number != int(number):
        msg = f"{attribute.label}: {text!r} is not a whole number. {_what_to_type(attribute)}"
        raise EntryError(msg)
    return number


def _with_or_without_unit(attribute: Attribute, text: str) -> float:
    for bare in dict.fromkeys((text, text.removesuffix(attribute.unit))):
        with suppress(EntryError):
            return read_number(bare)
    if attribute.whole or not attribute.unit or not _UNIT_LAST.search(text):
        msg = f"{text!r} is not a number"
        raise EntryError(msg)
    return magnitude(text, attribute.unit, name=attribute.label)


def _what_to_type(attribute: Attribute) -> str:
    if attribute.kind == "grade":
        grades = "; ".join(f"{grade}: {words}" for grade, words in enumerate(attribute.scale))
        return f"Type one grade ({grades})."
    if attribute.kind == "yes/no":
        return "Type yes or no."
    if attribute.kind == "text":
        return "Write a few words."
    unit = f" in {attribute.unit}" if attribute.unit else ""
    bounds = [
        f"{word} {bound:g}" for word, bound in (("from", attribute.least), ("to", attribute.most)) if bound is not None
    ]
    kind = "a whole number" if attribute.whole else "a number"
    return f"Type {' '.join([kind + unit, *bounds])}."
