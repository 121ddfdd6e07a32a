"""How much to make: from bottles to a batch mass, with overage and process loss."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.formula.model import require_complete
from kit.rounding import all_digits
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.model import Formula


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
        return for_bottles(self.bottles, f"{all_digits(self.fill)} mL", density, overage=self.overage, loss=self.loss)

    def for_batch(self, mass: float) -> Order:
        """The order by mass whose batch is this heavy, overage and loss included. [g]

        Raises
        ------
        RangeError
            A mass of 0 g or less.

        Examples
        --------
        >>> order = Order(by="bottles", overage=5, loss=10).for_batch(1050)
        >>> order.by, round(order.grams, 9), Order().for_batch(511).grams
        ('mass', 900.0, 511.0)
        """
        grams = mass / BatchSize(1.0, self.overage, self.loss).mass
        return replace(self, by="mass", grams=BatchSize(grams, self.overage, self.loss).product)


@dataclass(frozen=True, slots=True)
class OnHand:
    """The largest batch that what is on hand allows.

    Attributes
    ----------
    mass
        Of the batch. [g]
    limiting
        The material that is used up.
    left
        Material → what is left of it afterwards. [g]
    """

    mass: float
    limiting: str
    left: Mapping[str, float]


def batch_from_on_hand(formula: Formula, on_hand: Mapping[str, object]) -> OnHand:
    """The largest batch from what is left of several materials, and which of them limits it.

    Parameters
    ----------
    on_hand
        Material → mass: "45 g" or a pint quantity. A material that stands on several lines is counted on all.

    Raises
    ------
    RangeError
        The formula is not complete, a material is not in it or at 0 %, or a mass is not above 0 g.

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> found = batch_from_on_hand(toner, {"Glycerin": "30 g", "Aqua": "1 kg"})
    >>> found.mass, found.limiting, found.left["Aqua"]
    (750.0, 'Glycerin', 280.0)
    """
    percents = require_complete(formula, "scaled")
    if not on_hand:
        msg = "Name at least one material and how much of it is left, such as Glycerin: 45 g."
        raise RangeError(msg)
    shares: dict[str, float] = {}
    masses: dict[str, float] = {}
    for material, mass in on_hand.items():
        name = material.strip()
        shares[name] = sum(
            percents[p][i] for p, i, line, _ in formula.each_line() if line.material.casefold() == name.casefold()
        )
        if not shares[name] > 0:
            known = ", ".join(dict.fromkeys(line.material for _, _, line, percent in formula.each_line() if percent))
            msg = f"{formula.title} holds no {name or 'material without a name'}. It holds: {known}."
            raise RangeError(msg)
        masses[name] = magnitude(mass, "g", name=name)
        if not masses[name] > 0:
            msg = f"{name}: {masses[name]:g} g is nothing to make a batch from. Give what is left of it in g."
            raise RangeError(msg)
    limiting = min(shares, key=lambda name: masses[name] / shares[name])
    batch = 100.0 * masses[limiting] / shares[limiting]
    left = {name: max(masses[name] - batch * share / 100.0, 0.0) for name, share in shares.items()}
    return OnHand(batch, limiting, {**left, limiting: 0.0})


def batch_from_ingredient(formula: Formula, material: str, grams: object) -> float:
    """The batch that uses up what is left of one material. [g]

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> batch_from_ingredient(toner, "Glycerin", "30 g")
    750.0
    """
    return batch_from_on_hand(formula, {material: grams}).mass
