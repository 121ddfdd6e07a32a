"""Read a strength as people write it."""

from __future__ import annotations

import re

from kit.bench.strength_units import STRENGTH_UNITS, Strength, most_of
from kit.errors import EntryError, RangeError
from kit.numbers import read_number, readings, settled

_BASIS = r"w/w|m/m|w/v|m/v|v/v|by weight|by mass|by volume|vol\.?"
_BASIS_WORDS = {
    "m/m": "w/w", "by weight": "w/w", "by mass": "w/w", "m/v": "w/v", "by volume": "v/v", "vol": "v/v", "vol.": "v/v",
}  # fmt: skip
_OTHER_NAMES = {
    "m": "mol/L", "molar": "mol/L", "mm": "mmol/L", "n": "N", "normal": "N", "eq/l": "N", "mcg/ml": "µg/mL",
    "ug/ml": "µg/mL", "μg/ml": "µg/mL", "ml/100 ml": "% v/v", "g/100 ml": "% w/v", "g/100 g": "% w/w",
    "‰": "g/kg", **{unit.lower(): unit for unit in STRENGTH_UNITS},
}  # fmt: skip
_NUMBER = r"[\d.,'’ \xa0\u2009\u202f]*\d(?:[.,](?!\d))?(?:[eE][-+]?\d+)?"
_PERCENT = re.compile(rf"(?:%|percent|per cent)?\s*\(?({_BASIS})?\)?\s*(?:%|percent|per cent)?", re.IGNORECASE)
_RATIO = re.compile(
    rf"({_NUMBER})\s*(?:parts?\s*)?(\bin\b|:|\+|\bto\b)\s*({_NUMBER})\s*(?:parts)?\s*\(?({_BASIS})?\)?", re.IGNORECASE
)
_EQUIVALENTS = re.compile(r"[,;(]\s*(\d{1,4})\s*(?:eq\.?|equivalents?)\s*\)?$", re.IGNORECASE)
_SIGNED = re.compile(rf"([-+−]?\s*{_NUMBER})\s*(.*)", re.DOTALL)


def read_strength(text: str, *, equivalents: int | None = None) -> Strength:
    """Understand a strength as people write it.

    "20 % w/w", "20 % w/v", "70 % v/v", "800 ppm", "5 mg/mL", "5 g/L", "1 in 200", "1:200", "3 parts in 10",
    "1 + 9", "0.1 mol/L", "0.1 M", "0.1 N, 3 equivalents"; the decimal mark may be a comma.

    Notes
    -----
    "1 in 200" and "1:200" are parts in the whole: 1 part in 200 parts of the finished mixture, which is how
    pharmacy counts a ratio strength [1]_; "1 + 199" says the same by its parts. A percent without a basis is
    taken by mass. What was taken stands in ``meaning``.

    Raises
    ------
    EntryError
        It cannot be read, or could be read in two ways.
    RangeError
        Below 0, or more than the whole.

    References
    ----------
    .. [1] US Army Medical Department, Subcourse MD0802, Pharmaceutical Calculations, lesson 2.

    Examples
    --------
    >>> print(read_strength("0,5 % w/v"), "|", read_strength("1:200"), "|", read_strength("1 + 9 v/v"))
    0.5 % w/v | 0.5 % w/w | 10 % v/v
    """
    plain = " ".join(text.split())
    if found := _EQUIVALENTS.search(plain):
        equivalents, plain = int(found[1]), plain[: found.start()].strip()
    if equivalents is not None and equivalents < 1:
        msg = f"{text.strip()!r}: the number of equivalents must be 1 or more, such as 3 for citric acid."
        raise RangeError(msg)
    if ratio := _RATIO.fullmatch(plain):
        return _of_ratio(plain, ratio)
    signed = _SIGNED.fullmatch(plain)
    if signed is None:
        raise EntryError(_not_a_strength(plain))
    digits = signed[1].replace(" ", "") if signed[1][0] in "-+−" else signed[1]
    numbers, unit = readings(digits), signed[2].strip()
    if not unit:
        msg = (
            f'{plain!r} has no unit. Write "{plain} % w/w", "{plain} g/L" or another; the number alone says too little.'
        )
        raise EntryError(msg)
    if percent := _PERCENT.fullmatch(unit):
        basis = _basis(percent[1])
        number = settled(plain, numbers, 0, most_of(f"% {basis or 'w/w'}"), unit)
        return Strength(number, f"% {basis or 'w/w'}", "" if basis else _bare_percent(number))
    known = "mol/L" if unit == "M" else "N" if unit == "N" else _OTHER_NAMES.get(unit.lower())
    if known is None or unit in ("m", "n"):
        raise EntryError(_not_a_strength(plain))
    number = settled(plain, numbers, 0, most_of(known), unit)
    return Strength(number, known, "ppm is taken as mg/kg, by mass." if known == "ppm" else "", equivalents)


def _of_ratio(plain: str, ratio: re.Match[str]) -> Strength:
    part, sign, rest, basis = read_number(ratio[1]), ratio[2].lower(), read_number(ratio[3]), _basis(ratio[4])
    if sign == "to":
        one, other = f"{part:g} in {rest:g}", f"{part:g} + {rest:g}"
        msg = f'{plain!r} can mean two things. Write "{one}" for parts in the whole, or "{other}" for parts beside it.'
        raise EntryError(msg)
    whole = part + rest if sign == "+" else rest
    if not whole > 0 or part > whole:
        msg = f"{plain!r} asks for {part:g} parts in a whole of {whole:g}. The part must be the smaller number."
        raise RangeError(msg)
    percent = 100.0 * part / whole
    counted = {"w/w": "by mass", "w/v": "grams in millilitres", "v/v": "by volume"}[basis or "w/w"]
    said = f"{plain} is taken as {part:g} in {whole:g} parts of the whole, {counted}: {percent:.6g} % {basis or 'w/w'}."
    if sign == ":":
        beside = 100 * part / (part + rest)
        said += f" It is not {part:g} part and {rest:g} parts, {beside:.4g} %, which is written {part:g} + {rest:g}."
    if not basis:
        said += " In pharmacy a solid in a liquid would be w/v: write it behind if that is meant."
    return Strength(percent, f"% {basis or 'w/w'}", said)


def _basis(written: str | None) -> str:
    plain = (written or "").lower()
    return _BASIS_WORDS.get(plain, plain)


def _bare_percent(number: float) -> str:
    return (
        f"{number:g} % is taken by mass, w/w, as formulas are. On the label of a solution it can mean w/v (a solid "
        "in a liquid) or v/v (a liquid in a liquid): look, and write the basis behind it."
    )


def _not_a_strength(plain: str) -> str:
    return (
        f"{plain[:60]!r} is not a strength. Write it like 20 % w/w, 20 % w/v, 70 % v/v, 800 ppm, 5 mg/mL, 1 in 200, "
        "3 parts in 10, 0.1 mol/L or 0.1 N."
    )
