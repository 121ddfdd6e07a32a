"""A price: what was paid for how much of a material, and for pieces of packaging."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from kit.errors import RangeError, UnitError
from kit.iso_dates import is_iso_date
from kit.rounding import all_digits
from kit.units import magnitude

#: What one pack may hold and cost: beyond these nothing can be computed. [g or mL; pieces], [currency]
LEAST_PACK, MOST_PACK, MOST_PRICE = 1e-6, 1e9, 1e12

#: The unit of packaging, and other words for it.
PIECES = ("pieces", "piece", "pcs", "pc")


@lru_cache(maxsize=256)
def pack_unit(unit: str) -> tuple[Literal["g", "mL"], float]:
    """A unit in which a material is bought: whether it is by mass or by volume, and its size. [g or mL]

    "oz" is the ounce of mass; a fluid ounce is "fl oz".

    Raises
    ------
    UnitError
        It is a unit of neither.

    Examples
    --------
    >>> pack_unit("kg"), pack_unit("L")
    (('g', 1000.0), ('mL', 1000.0))
    """
    plain = " ".join(unit.split())
    one = f"1 {plain}"
    # "500 g" beside an amount of 1 is no unit: read as one, it would make 1500 g of the two.
    bases: tuple[Literal["g", "mL"], ...] = ("g", "mL") if plain[:1].isalpha() else ()
    for base in bases:
        try:
            size = magnitude(one, base, name="the pack")
        except UnitError:
            continue
        if size > 0:
            return base, size
    msg = (
        f"{plain[:40]!r} is not a unit in which a material is bought. Write g, kg, mL, L, oz, lb or fl oz, "
        "or pieces for packaging."
    )
    raise UnitError(msg)


@dataclass(frozen=True, slots=True)
class Price:
    """One purchase of a material.

    Attributes
    ----------
    material
        Its name as in the library or the formula: INCI, plain or other name, or a stock's.
    amount, unit
        What was bought, in any unit of mass or volume.
    price
        What was paid for it. [currency of the list]
    lot, bought_on
        As printed on the pack; an ISO date, or empty.
    note
        Where the price is from.
    """

    material: str
    amount: float
    unit: str
    price: float
    lot: str = ""
    bought_on: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _check(self.material, self.price, self.bought_on)
        if not LEAST_PACK <= self.amount * pack_unit(self.unit)[1] <= MOST_PACK:
            msg = f"{self.material}: an amount of {self.amount:g} {self.unit} cannot be bought. Give more than 0."
            raise RangeError(msg)

    @property
    def by_volume(self) -> bool:
        """True where a density is needed to know its mass."""
        return pack_unit(self.unit)[0] == "mL"

    def grams(self, density: float | None = None) -> float | None:
        """What the pack holds; None for a volume without a density. [g]

        Parameters
        ----------
        density
            Of the material, needed where it is bought by volume. [g/mL]

        Examples
        --------
        >>> Price("Glycerin", 500, "mL", 6.0).grams(density=1.26)
        630.0
        """
        base, size = pack_unit(self.unit)
        if base == "g":
            return self.amount * size
        return None if density is None else self.amount * size * density

    @property
    def pack(self) -> str:
        """The pack in words, such as "500 g"."""
        return f"{all_digits(self.amount)} {self.unit}"


@dataclass(frozen=True, slots=True)
class PackItem:
    """Something bought by the piece that goes with each bottle.

    Attributes
    ----------
    name
        Such as "bottle 100 mL".
    pieces, price
        How many were bought, and what was paid for them all. [-, currency of the list]
    per_bottle
        How many go with one bottle; 0.04 where a carton holds 25 bottles.
    """

    name: str
    pieces: float
    price: float
    per_bottle: float = 1.0
    lot: str = ""
    bought_on: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _check(self.name, self.price, self.bought_on)
        for number, what in ((self.pieces, "pieces in the pack"), (self.per_bottle, "pieces for each bottle")):
            if not LEAST_PACK <= number <= MOST_PACK:
                msg = f"{self.name}: {number:g} {what} is not possible. Give more than 0."
                raise RangeError(msg)

    @property
    def each(self) -> float:
        """What one piece costs. [currency of the list]"""
        return self.price / self.pieces


def _check(name: str, price: float, bought_on: str) -> None:
    if not name.strip():
        msg = "A price needs the name of what was bought."
        raise RangeError(msg)
    if not 0 <= price <= MOST_PRICE:
        msg = f"{name}: a price of {price:g} is not possible. Give what was paid, 0 or more."
        raise RangeError(msg)
    check_date(bought_on)


def check_date(text: str) -> None:
    """Refuse a date that is neither empty nor written year-month-day.

    Raises
    ------
    RangeError
        It is written in another way, or there is no such day.
    """
    if text and not is_iso_date(text):
        msg = f"{text!r} is not a date. Write year-month-day, such as 2026-03-14."
        raise RangeError(msg)
