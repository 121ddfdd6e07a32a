"""The units of strengths, and a strength as one value."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from kit.errors import EntryError, RangeError

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
