"""Where quantities with units become plain numbers, and the one unit registry of the kit.

Text such as "250 g", "30 mL", "12 mm" or "3.38 fl oz" in the units a bench uses is read here without help; every
other unit ("950 kg/m³") is read by pint, which is loaded on first need because it brings NumPy.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from math import inf, isfinite
from typing import TYPE_CHECKING, Any

from kit.errors import AmbiguousError, PrefixError, RangeError, UnitError
from kit.numbers import beyond, readings, split_text, two_ways

if TYPE_CHECKING:
    import pint

#: unit -> (base unit, how many base units it is). Checked against pint in the tests. The fluid ounce is the one of the
#: United States, as their labels have it.
COMMON_UNITS: dict[str, tuple[str, Decimal]] = {
    "ug": ("g", Decimal("1e-6")),
    "µg": ("g", Decimal("1e-6")),
    "μg": ("g", Decimal("1e-6")),
    "mcg": ("g", Decimal("1e-6")),
    "mg": ("g", Decimal("0.001")),
    "g": ("g", Decimal(1)),
    "kg": ("g", Decimal(1000)),
    "oz": ("g", Decimal("28.349523125")),
    "lb": ("g", Decimal("453.59237")),
    "mL": ("mL", Decimal(1)),
    "ml": ("mL", Decimal(1)),
    "cL": ("mL", Decimal(10)),
    "cl": ("mL", Decimal(10)),
    "dL": ("mL", Decimal(100)),
    "L": ("mL", Decimal(1000)),
    "l": ("mL", Decimal(1000)),
    "floz": ("mL", Decimal("29.5735295625")),
    "mm": ("mm", Decimal(1)),
    "cm": ("mm", Decimal(10)),
}
#: Other words for these units, in small letters, without points and blanks.
_OTHER_WORDS = {
    "microgram": "µg", "micrograms": "µg", "milligram": "mg", "milligrams": "mg",
    "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g", "grammes": "g",
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg",
    "ounce": "oz", "ounces": "oz", "lbs": "lb", "pound": "lb", "pounds": "lb",
    "cc": "mL", "ccm": "mL", "cm3": "mL", "cm³": "mL", "cm^3": "mL", "millilitre": "mL", "millilitres": "mL",
    "milliliter": "mL", "milliliters": "mL", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "ltr": "L",
    "dm3": "L", "dm³": "L", "fluidounce": "floz", "fluidounces": "floz", "ozfl": "floz",
    "millimetre": "mm", "millimetres": "mm", "centimetre": "cm", "centimetres": "cm",
}  # fmt: skip
_IN_SMALL_LETTERS = {unit.casefold(): unit for unit in reversed(COMMON_UNITS)} | _OTHER_WORDS
#: How a temperature's unit may be written, in small letters, without blanks → its name.
_DEGREES = {
    **dict.fromkeys(("c", "°c", "ºc", "degc", "celsius", "degreescelsius"), "degC"),
    **dict.fromkeys(("f", "°f", "ºf", "degf", "fahrenheit", "degreesfahrenheit"), "degF"),
}

#: What is handed to pint: unit words, each with a one-digit power at most, joined by signs. pint evaluates what it
#: is given, so anything else ("g/0", "g^9^9^9", an open bracket) would fail or hang there.
_UNIT = re.compile(r"°?[^\W\d]+(?:(?:\*\*|\^)?-?\d|[²³])?(?:\s?[*/·\s]\s?°?[^\W\d]+(?:(?:\*\*|\^)?-?\d|[²³])?){0,4}")
#: Units that a maker may write for another one, and what to write instead.
_AMBIGUOUS = {
    "gr": "g for grams, or grain for grains",
    "Mg": "mg for milligrams, or kg for kilograms",
}
#: Prefixes that a bench never sees → what was probably meant by the letter.
_NEVER_SEEN = {
    "mega": "m", "giga": "", "tera": "", "peta": "", "exa": "", "zetta": "", "yotta": "", "ronna": "", "quetta": "",
    "pico": "µ", "femto": "", "atto": "", "zepto": "", "yocto": "", "ronto": "", "quecto": "",
    "kibi": "k", "mebi": "m", "gibi": "", "tebi": "", "pebi": "", "exbi": "", "zebi": "", "yobi": "",
}  # fmt: skip
#: What pint raises, besides its own errors, for units that it cannot compute with.
_TROUBLE = (ArithmeticError, AssertionError, AttributeError, KeyError, SyntaxError, TypeError, ValueError)
#: Beyond these nothing of this trade is weighed, filled or measured: 1000 tonnes, 1000 m³, 10 m; no bench is
#: colder or hotter.
SANE: dict[str, tuple[float, float]] = {"g": (-1e9, 1e9), "mL": (-1e9, 1e9), "mm": (-1e4, 1e4), "degC": (-100, 500)}


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[float]:
    """The one pint registry of the process, made on first call."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(value: float, unit: str) -> Any:
    """A pint quantity: ``quantity(250, "g")``."""
    return registry().Quantity(value, unit)


@lru_cache(maxsize=1024)
def known_unit(unit: str) -> tuple[str, Decimal] | None:
    """A unit of the bench as (base unit, how many base units it is), in whatever letters; None for any other.

    Examples
    --------
    >>> known_unit("ML"), known_unit("Kg"), known_unit("fl. oz"), known_unit("Mg")
    (('mL', Decimal('1')), ('g', Decimal('1000')), ('mL', Decimal('29.5735295625')), None)
    """
    if unit in COMMON_UNITS:
        return COMMON_UNITS[unit]
    if unit in _AMBIGUOUS:
        return None
    return COMMON_UNITS.get(_IN_SMALL_LETTERS.get("".join(unit.replace(".", " ").split()).casefold(), ""))


def magnitude(
    value: object, unit: str, *, name: str, low: float = -inf, high: float = inf, decimal_mark: str = ""
) -> float:
    """The number of ``value`` in ``unit``, or a sentence that says what is wrong with it.

    Parameters
    ----------
    value
        Text with a unit ("250 g") or a pint quantity. A bare number is refused.
    unit
        The unit in which the number is wanted: "g", "mL", "mm", or any that pint knows.
    name
        What the value is, for the sentence.
    low, high
        What the field allows. It decides where a text can be read two ways, and nothing beyond it, or beyond what any
        bench has (:data:`SANE`), is taken. [``unit``]
    decimal_mark
        "." or "," where a file has shown which of the two is its decimal mark.

    Raises
    ------
    UnitError
        No unit, or one that cannot be turned into ``unit``.
    AmbiguousError
        The number could be two different ones.
    EntryError
        The text does not hold one readable number.
    RangeError
        It is beyond what the field allows.

    Examples
    --------
    >>> magnitude("0.25 kg", "g", name="batch"), magnitude("100 ML", "mL", name="fill")
    (250.0, 100.0)
    """
    if hasattr(value, "m_as"):
        return _allowed(_from_pint(value, unit, name), unit, low, high, name)
    if not isinstance(value, str):
        msg = f'{name} has no unit (got {value!r}). Write "{value} {unit}".'
        raise UnitError(msg)
    digits, behind = split_text(value)
    found = readings(digits, decimal_mark)
    if not behind:
        msg = f'{name} has no unit (got {value!r}). Write "{value.strip()} {unit}".'
        raise UnitError(msg)
    least, most = _sane_range(unit)
    turned = tuple(_turned(number, behind, unit, name) for number in found)
    allowed = [number for number in turned if max(low, least) <= number <= min(high, most)]
    if len(turned) > 1 and len(allowed) != 1:
        raise AmbiguousError(two_ways(value.strip(), found, behind, name))
    return _allowed(turned[0] if len(turned) == 1 else allowed[0], unit, low, high, name)


def _sane_range(unit: str) -> tuple[float, float]:
    """Between what a quantity lies on any bench. [``unit``]"""
    base, factor = known_unit(unit) or (unit, Decimal(1))
    least, most = SANE.get(base, (-inf, inf))
    return least / float(factor), most / float(factor)


def _allowed(number: float, unit: str, low: float, high: float, name: str) -> float:
    """The number, if its field and any bench allow it."""
    least, most = _sane_range(unit)
    if not least <= number <= most:
        msg = (
            f"{name}: {number:g} {unit} is beyond what any bench has, {least:.15g} to {most:.15g} {unit}. Look at the "
            "number and its unit."
        )
        raise RangeError(msg)
    if not low <= number <= high:
        raise RangeError(beyond(number, low, high, unit, name))
    return number


def _turned(number: float, behind: str, unit: str, name: str) -> float:
    """A number of one unit in another."""
    known, wanted = known_unit(behind), known_unit(unit)
    if known and wanted and known[0] == wanted[0]:
        return float(Decimal(repr(number)) * known[1] / wanted[1])
    return _from_pint(_pint_quantity(number, behind, name, unit), unit, name)


def _pint_quantity(number: float, behind: str, name: str, unit: str) -> Any:
    if behind in _AMBIGUOUS:
        msg = f"{name}: {behind!r} can mean two things. Write {_AMBIGUOUS[behind]}."
        raise UnitError(msg)
    import pint

    wanted = _DEGREES.get("".join(unit.split()).casefold())
    degrees = _DEGREES.get("".join(behind.split()).casefold()) if wanted else None
    common = _IN_SMALL_LETTERS.get("".join(behind.split()).casefold()) if behind not in COMMON_UNITS else None
    said = degrees or common or behind
    try:
        odd = any(sign.isnumeric() and sign not in "0123456789²³" for sign in said)  # such as ¼ or Ⅳ
        if odd or len(said) > 60 or not _UNIT.fullmatch(said):
            raise ValueError(said)
        made = quantity(number, said)
        _check_prefixes(made, behind, name, unit)
    except PrefixError:
        raise
    except (
        pint.errors.PintError,
        ValueError,
        AttributeError,
        SyntaxError,
        TypeError,
        AssertionError,
        KeyError,
    ) as error:
        msg = f'{name}: the unit {behind[:60]!r} is not known. Write it in {unit}, such as "{number:g} {unit}".'
        raise UnitError(msg) from error
    return made


def _check_prefixes(made: Any, behind: str, name: str, unit: str) -> None:
    """Refuse mega, pico and others that a bench never sees: a slip of the shift key."""
    for word in made.unit_items():
        for prefix, stem, _ in registry().parse_unit_name(word[0]):
            if prefix in _NEVER_SEEN:
                meant = f"{_NEVER_SEEN[prefix]}{registry().get_symbol(stem)}"
                msg = (
                    f"{name}: {behind!r} reads as {prefix}{stem}, which no bench has. Did you mean {meant}? "
                    f"Write it in {unit} if that is easier."
                )
                raise PrefixError(msg)


def _from_pint(value: Any, unit: str, name: str) -> float:
    import pint

    try:
        number = float(value.m_as(unit)) if value.is_compatible_with(unit) else None
    except (pint.errors.PintError, *_TROUBLE):
        number = None
    if number is None or not isfinite(number):
        msg = f"{name} must be an amount that can be turned into {unit}, got {_shown(value)}."
        raise UnitError(msg)
    return number


def _shown(value: Any) -> str:
    try:
        return f"{value:~P}"
    except KeyError:  # of a difference of decibels pint has no short name
        return "one of another kind"
