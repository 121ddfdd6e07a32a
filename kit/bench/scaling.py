"""How much to make: from bottles to a batch mass, with overage and process loss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kit.errors import RangeError
from kit.units import magnitude


@dataclass(frozen=True, slots=True)
class BatchSize:
    """A batch mass and how it came about.

    Attributes
    ----------
    product
        What must reach the bottles. [g]
    overage
        Made on purpose beyond that: samples, a retained bottle. [% of product]
    loss
        What stays in vessels or evaporates. [% of what is weighed in]
    """

    product: float
    overage: float = 0.0
    loss: float = 0.0

    def __post_init__(self) -> None:
        if not self.product > 0:
            msg = f"The amount of product must be more than 0 g, got {self.product:g} g."
            raise RangeError(msg)
        if not self.overage >= 0:
            msg = f"The overage must be 0 % or more, got {self.overage:g} %."
            raise RangeError(msg)
        if not 0 <= self.loss < 100:
            msg = f"The process loss must be from 0 to less than 100 %, got {self.loss:g} %."
            raise RangeError(msg)

    @property
    def mass(self) -> float:
        """What to weigh in: product x (1 + overage) ÷ (1 - loss). [g]

        Examples
        --------
        >>> round(BatchSize(900, overage=5, loss=10).mass, 6)
        1050.0
        """
        return self.product * (1 + self.overage / 100) / (1 - self.loss / 100)


def for_bottles(count: int, fill: object, density: float, *, overage: float = 0.0, loss: float = 0.0) -> BatchSize:
    """The batch that fills a number of bottles.

    Parameters
    ----------
    count
        Number of bottles.
    fill
        Volume of product in each: "90 mL" or a pint quantity.
    density
        Of the product. [g/mL]

    Raises
    ------
    RangeError
        No bottles, or nothing to fill.

    Examples
    --------
    >>> for_bottles(12, "100 mL", 0.95).product
    1140.0
    """
    volume = magnitude(fill, "mL", name="fill")
    if count < 1 or not volume > 0:
        msg = f"Count at least one bottle and fill it with more than 0 mL; got {count} bottles of {volume:g} mL."
        raise RangeError(msg)
    return BatchSize(count * volume * density, overage, loss)


@dataclass(frozen=True, slots=True)
class Order:
    """What the maker wants to have made, by mass or by bottles.

    Attributes
    ----------
    grams
        Of product, where it is by mass. [g]
    bottles, fill
        How many, and the volume of product in each, where it is by bottles. [-, mL]
    overage, loss
        See :class:`BatchSize`. [%]
    """

    by: Literal["mass", "bottles"] = "mass"
    grams: float = 250.0
    bottles: int = 6
    fill: float = 90.0
    overage: float = 0.0
    loss: float = 0.0

    def size(self, density: float) -> BatchSize:
        """The batch for a product of this density. [g/mL]"""
        if self.by == "mass":
            return BatchSize(self.grams, self.overage, self.loss)
        return for_bottles(self.bottles, f"{self.fill!r} mL", density, overage=self.overage, loss=self.loss)
