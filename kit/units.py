"""Where quantities with units become plain numbers, and the one unit registry of the kit.

Text such as "250 g", "30 mL" or "12 mm" in the handful of units a bench uses is read here without help;
every other unit ("2 floz", "1 lb") is read by pint, which is loaded on first need because it brings NumPy.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError, UnitError

if TYPE_CHECKING:
    import pint

#: unit -> (base unit, how many base units it is). Checked against pint in the tests.
COMMON_UNITS: dict[str, tuple[str, Decimal]] = {
    "ug": ("g", Decimal("1e-6")),
    "µg": ("g", Decimal("1e-6")),
    "μg": ("g", Decimal("1e-6")),
    "mcg": ("g", Decimal("1e-6")),
    "mg": ("g", Decimal("0.001")),
    "g": ("g", Decimal(1)),
    "kg": ("g", Decimal(1000)),
    "mL": ("mL", Decimal(1)),
    "ml": ("mL", Decimal(1)),
    "cL": ("mL", Decimal(10)),
    "cl": ("mL", Decimal(10)),
    "dL": ("mL", Decimal(100)),
    "L": ("mL", Decimal(1000)),
    "l": ("mL", Decimal(1000)),
    "mm": ("mm", Decimal(1)),
    "cm": ("mm", Decimal(10)),
}

_NUMBER_AND_UNIT = re.compile(r"\s*([-+−]?[\d.,'’ \xa0\u2009\u202f]*\d[.,]?(?:[eE][-+−]?\d+)?)\s*(.*?)\s*", re.DOTALL)
#: What is handed to pint: unit words, each with a one-digit power at most, joined by signs. pint evaluates what it
#: is given, so anything else ("g/0", "g^9^9^9", an open bracket) would fail or hang there.
_UNIT = re.compile(r"°?[^\W\d]+(?:(?:\*\*|\^)?-?\d|[²³])?(?:\s?[*/·\s]\s?°?[^\W\d]+(?:(?:\*\*|\^)?-?\d|[²³])?){0,4}")
#: Units that a maker may write for another one, and what to write instead.
_AMBIGUOUS = {
    "gr": "g for grams, or grain for grains",
    "Mg": "mg for milligrams, or kg for kilograms",
}

_GROUPED = re.compile(r"\d{1,3}(?:[ \xa0\u2009\u202f'’]\d{3})+")


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[float]:
    """The one pint registry of the process, made on first call."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(value: float, unit: str) -> Any:
    """A pint quantity: ``quantity(250, "g")``."""
    return registry().Quantity(value, unit)


def read_number(text: str) -> float:
    """Read a number as people write it: "3.5", "3,5", "1 250", "1'250,5", "1.250,5", "−2", "2e-3".

    A single comma or point is the decimal mark. Where both occur, the last one is. Thousands may be grouped
    by spaces or apostrophes, or by the other mark in groups of three.

    Raises
    ------
    EntryError
        The text is not one number, or could be read as two different numbers.

    Examples
    --------
    >>> read_number("3,5")
    3.5
    >>> read_number("1 250,75")
    1250.75
    """
    plain = text.strip().replace("−", "-")
    sign = -1.0 if plain.startswith("-") else 1.0
    body = plain.lstrip("+-")
    whole = re.split(r"[.,]|[eE]", body, maxsplit=1)[0]
    if _GROUPED.fullmatch(whole):
        body = re.sub(r"[ \xa0\u2009\u202f'’]", "", whole) + body[len(whole) :]
    if "." in body and "," in body:
        mark = max(".", ",", key=body.rfind)
        groups = "," if mark == "." else "."
        if not re.fullmatch(rf"\d{{1,3}}(?:\{groups}\d{{3}})+\{mark}\d+", body):
            msg = f"{text.strip()!r} mixes points and commas so that it cannot be read. Write it with one decimal mark."
            raise EntryError(msg)
        body = body.replace(groups, "")
    body = body.replace(",", ".")
    if not re.fullmatch(r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", body) or (plain[:1] in "+-" and plain[1:2] in "+-"):
        msg = f"{text.strip()!r} is not a number. Write digits with one decimal mark, such as 3.5 or 3,5."
        raise EntryError(msg)
    number = sign * float(body)
    if not isfinite(number):
        msg = f"{text.strip()[:40]!r} is too large a number to reckon with."
        raise EntryError(msg)
    return number


def split_number(text: str) -> tuple[float, str]:
    """Split "12,5 g" into 12.5 and "g". The unit is empty where there is none."""
    found = _NUMBER_AND_UNIT.fullmatch(text)
    if found is None:
        msg = f"{text.strip()!r} does not start with a number."
        raise EntryError(msg)
    return read_number(found[1]), found[2]


def magnitude(value: object, unit: str, *, name: str) -> float:
    """The number of ``value`` in ``unit``, or a sentence that says what is wrong with it.

    Parameters
    ----------
    value
        Text with a unit ("250 g") or a pint quantity. A bare number is refused.
    unit
        The unit in which the number is wanted: "g", "mL", "mm", or any that pint knows.
    name
        What the value is, for the sentence.

    Raises
    ------
    UnitError
        No unit, or one that cannot be turned into ``unit``.
    EntryError
        The text does not hold one readable number.

    Examples
    --------
    >>> magnitude("0.25 kg", "g", name="batch")
    250.0
    """
    if hasattr(value, "m_as"):
        return _from_pint(value, unit, name)
    if not isinstance(value, str):
        msg = f'{name} has no unit (got {value!r}). Write "{value} {unit}".'
        raise UnitError(msg)
    number, written = split_number(value)
    if not written:
        msg = f'{name} has no unit (got {value!r}). Write "{value.strip()} {unit}".'
        raise UnitError(msg)
    known, wanted = COMMON_UNITS.get(written), COMMON_UNITS.get(unit)
    if known and wanted and known[0] == wanted[0]:
        return float(Decimal(repr(number)) * known[1] / wanted[1])
    return _from_pint(_pint_quantity(number, written, name, unit), unit, name)


def _pint_quantity(number: float, written: str, name: str, unit: str) -> Any:
    if written in _AMBIGUOUS:
        msg = f"{name}: {written!r} can mean two things. Write {_AMBIGUOUS[written]}."
        raise UnitError(msg)
    import pint

    try:
        odd = any(sign.isnumeric() and sign not in "0123456789²³" for sign in written)  # such as ¼ or Ⅳ
        if odd or len(written) > 60 or not _UNIT.fullmatch(written):
            raise ValueError(written)
        return quantity(number, written)
    except (pint.errors.PintError, ValueError, AttributeError, SyntaxError, TypeError, AssertionError) as error:
        msg = f'{name}: the unit {written[:60]!r} is not known. Write it in {unit}, such as "{number:g} {unit}".'
        raise UnitError(msg) from error


def _from_pint(value: Any, unit: str, name: str) -> float:
    if not value.is_compatible_with(unit):
        msg = f"{name} must be an amount that can be turned into {unit}, got {value:~P}."
        raise UnitError(msg)
    return float(value.m_as(unit))
