"""A strength: its value and unit, and how people write it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from kit.errors import EntryError, RangeError
from kit.numbers import read_number, readings, settled

Family = Literal["w/w", "w/v", "v/v", "mol", "eq"]

#: unit -> (family, how many of the family's own unit it is). The families count in % w/w (g in 100 g), % w/v
#: (g in 100 mL of solution), % v/v (mL in 100 mL of solution), mol/L and eq/L.
STRENGTH_UNITS: dict[str, tuple[Family, Fraction]] = {
    "% w/w": ("w/w", Fraction(1)),
    "g/kg": ("w/w", Fraction(1, 10)),
    "mg/g": ("w/w", Fraction(1, 10)),
    "ppm": ("w/w", Fraction(1, 10**4)),
    "mg/kg": ("w/w", Fraction(1, 10**4)),
    "ppb": ("w/w", Fraction(1, 10**7)),
    "% w/v": ("w/v", Fraction(1)),
    "g/L": ("w/v", Fraction(1, 10)),
    "mg/mL": ("w/v", Fraction(1, 10)),
    "mg/L": ("w/v", Fraction(1, 10**4)),
    "µg/mL": ("w/v", Fraction(1, 10**4)),
    "g/mL": ("w/v", Fraction(100)),
    "% v/v": ("v/v", Fraction(1)),
    "mL/L": ("v/v", Fraction(1, 10)),
    "mol/L": ("mol", Fraction(1)),
    "mmol/L": ("mol", Fraction(1, 1000)),
    "N": ("eq", Fraction(1)),
}

#: The most a family can hold, in its own unit: nothing fills more than the whole, and nothing of this trade
#: weighs more than 5 g/mL.
_MOST: dict[Family, float] = {"w/w": 100.0, "v/v": 100.0, "w/v": 500.0}


def most_of(unit: str) -> float:
    """The strongest that anything can be, in a unit of :data:`STRENGTH_UNITS`; even pure water has but 55 mol/L.

    Examples
    --------
    >>> most_of("% w/w"), most_of("ppm")
    (100.0, 1000000.0)
    """
    family, size = STRENGTH_UNITS[unit]
    return _MOST.get(family, 100.0) / float(size)


@dataclass(frozen=True, slots=True)
class Strength:
    """How strong a solution is.

    Attributes
    ----------
    value, unit
        The number, and one of :data:`STRENGTH_UNITS`. ppm is mg/kg here.
    meaning
        Where the writing could mean more than one thing: which meaning was taken, and why.
    equivalents
        Per mole, where it is known; only N needs it.
    """

    value: float
    unit: str = "% w/w"
    meaning: str = ""
    equivalents: int | None = None

    def __post_init__(self) -> None:
        if self.unit not in STRENGTH_UNITS:
            msg = f"The unit {self.unit!r} of a strength is not known. Write one of {', '.join(STRENGTH_UNITS)}."
            raise EntryError(msg)
        if not self.value >= 0:
            msg = f"The strength comes to {self.value:.4g} {self.unit}; nothing can be weaker than 0. Look at the sign."
            raise RangeError(msg)
        most = _MOST.get(self.family, float("inf"))
        if self.base > most * (1 + 1e-12) or self.value == float("inf"):
            whole = (
                "nothing of this trade is heavier than 5 g/mL"
                if self.family == "w/v"
                else f"it must be from 0 to {most:g} %"
            )
            counted = f"{self.base:.4g} % {self.family}" if self.family in _MOST else f"{self.value:g} {self.unit}"
            msg = f"The strength comes to {counted}; {whole}. Look at the number and its basis."
            raise RangeError(msg)

    @property
    def family(self) -> Family:
        """What it counts: w/w, w/v, v/v, moles (mol) or equivalents (eq)."""
        return STRENGTH_UNITS[self.unit][0]

    @property
    def base(self) -> float:
        """The value in the family's own unit: %, mol/L or eq/L."""
        return self.value * float(STRENGTH_UNITS[self.unit][1])

    def __str__(self) -> str:
        tail = f" ({self.equivalents} equivalents)" if self.unit == "N" and self.equivalents else ""
        return f"{self.value:.6g} {self.unit}{tail}"


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
