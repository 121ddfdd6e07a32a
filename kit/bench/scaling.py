"""How much to make: from bottles to a batch mass, with overage and process loss, and whether it fits a vessel."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING, Literal

from kit.bench.batch_text import LEAST_EACH, MOST_EACH, BatchAmount, ByBottles, Filled, Sizes
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.formula.model import require_complete
from kit.inputs import Amount, Choice, Number, asked, count, refuse_unknown_words
from kit.rounding import all_digits
from kit.soundness import sound
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

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


@sound(above=("density",))
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


def _by(way: str) -> Callable[[Mapping[str, object]], bool]:
    """Whether an input belongs to an order by mass or by bottles."""
    return lambda values: values["by"] == way


@dataclass(frozen=True, slots=True)
class Order:
    """What the maker wants to have made, by mass or by bottles.

    Attributes
    ----------
    grams
        Of product, where it is by mass. [g]
    bottles, fill, besides
        How many, the volume of product in each, and those of other sizes, where it is by bottles. [-, mL]
    overage, loss
        See :class:`BatchSize`. [%]
    """

    by: Literal["mass", "bottles"] = asked(
        "What to make", Choice({"mass": "by mass", "bottles": "by bottles"}, "switch"), "mass"
    )
    grams: float = asked(
        "Product",
        BatchAmount("g", 0.01, 1e6),
        250.0,
        unit="g",
        option="batch",
        example="250 g or 6 x 100 mL",
        slide=(5, 2000, 5),
        applies=_by("mass"),
    )
    bottles: int = asked("Bottles", count(1), 6, slide=(1, 200, 1), applies=_by("bottles"))
    fill: float = asked(
        "Filled with",
        Amount("mL", LEAST_EACH, MOST_EACH),
        90.0,
        unit="mL",
        slide=(1, 500, 0.5),
        help="Each bottle: what its label says. To the brim it holds more.",
        applies=_by("bottles"),
    )
    besides: tuple[Filled, ...] = asked(
        "And besides", Sizes(), (), example="3 x 30 mL + 2 x 250 mL", help="Other sizes, filled from the same batch.",
        applies=_by("bottles"),
    )  # fmt: skip
    overage: float = asked(
        "Overage", Number(0, 100), 0.0, unit="%", slide=(0, 30, 0.5), help="Made beyond that on purpose: samples."
    )
    loss: float = asked(
        "Process loss", Number(0, 100), 0.0, unit="%", slide=(0, 30, 0.5), help="What stays in vessels or evaporates."
    )

    def __post_init__(self) -> None:
        refuse_unknown_words(self)

    def taking(self, batch: float | ByBottles) -> Order:
        """The order with this batch: a mass of product [g], or bottles.

        Examples
        --------
        >>> order = Order().taking(ByBottles(6, 100.0))
        >>> order.by, order.bottles, order.fill
        ('bottles', 6, 100.0)
        """
        if isinstance(batch, ByBottles):
            return replace(self, by="bottles", bottles=batch.count, fill=batch.fill, besides=batch.besides)
        return replace(self, by="mass", grams=batch)

    def size(self, density: float) -> BatchSize:
        """The batch for a product of this density. [g/mL]"""
        if self.by == "mass":
            return BatchSize(self.grams, self.overage, self.loss)
        sizes = self.by_bottles.sizes
        grams = (for_bottles(size.count, f"{all_digits(size.fill)} mL", density).product for size in sizes)
        return BatchSize(sum(grams), self.overage, self.loss)

    @property
    def by_bottles(self) -> ByBottles:
        """The bottles that it names, of every size."""
        return ByBottles(self.bottles, self.fill, self.besides)

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


#: Stirring and heating need room above the liquid (common practice). [% of the brimful volume]
MOST_FILL = 80.0

#: Below this a stirrer or stick blender often draws air (common practice). [% of the brimful volume]
LEAST_FILL = 25.0


@dataclass(frozen=True, slots=True)
class Vessel:
    """A beaker, pot or mixer.

    Attributes
    ----------
    volume
        Brimful. [mL]
    most, least
        How full it may be and must be; the maker's own choice. [% of the brimful volume]
    """

    volume: float
    most: float = MOST_FILL
    least: float = LEAST_FILL
    name: str = "the vessel"

    def __post_init__(self) -> None:
        if not self.volume > 0:
            msg = f"{self.name} must hold more than 0 mL, got {self.volume:g} mL. Fill it with water and weigh that."
            raise RangeError(msg)
        if not 0 <= self.least < self.most <= 100:
            msg = (
                f"{self.name}: the least fill must be below the most, both from 0 to 100 %; got {self.least:g} and "
                f"{self.most:g} %."
            )
            raise RangeError(msg)

    @classmethod
    def of(
        cls, volume: object, *, most: float = MOST_FILL, least: float = LEAST_FILL, name: str = "the vessel"
    ) -> Vessel:
        """A vessel from a quantity: ``Vessel.of("600 mL")``."""
        return cls(magnitude(volume, "mL", name="vessel"), most, least, name)

    def most_mass(self, density: float) -> float:
        """The largest batch of a product of this density. [g/mL → g]

        Examples
        --------
        >>> Vessel(600).most_mass(0.95)
        456.0
        """
        return self.volume * self.most / 100.0 * _checked(density)

    def least_mass(self, density: float) -> float:
        """The smallest batch that can be stirred in it. [g/mL → g]"""
        return self.volume * self.least / 100.0 * _checked(density)

    def filling(self, mass: float, density: float) -> Filling:
        """How a batch stands in it. [g, g/mL]

        Examples
        --------
        >>> Vessel(600).filling(522.5, 0.95).findings[0].sentence
        '550 mL fills 91.7 % of the vessel; you allow 80 %. Make 456 g at most, or make it in 2 parts.'
        """
        if not mass > 0:
            msg = f"The batch must weigh more than 0 g, got {mass:g} g."
            raise RangeError(msg)
        return Filling(self, mass / _checked(density), density)


@dataclass(frozen=True, slots=True)
class Filling:
    """A batch in a vessel. [mL, g/mL]"""

    vessel: Vessel
    volume: float
    density: float

    @property
    def percent(self) -> float:
        """How full it is. [% of the brimful volume]"""
        return 100.0 * self.volume / self.vessel.volume

    @property
    def parts(self) -> int:
        """In how many equal parts the batch fits."""
        return max(1, ceil(self.percent / self.vessel.most - 1e-9))

    @property
    def findings(self) -> list[Finding]:
        """Too full to stir without spilling, or too empty for the stirrer."""
        vessel, here = self.vessel, Place(field="vessel")
        if self.percent > vessel.most * (1 + 1e-9):
            sentence = (
                f"{self.volume:.4g} mL fills {self.percent:.3g} % of {vessel.name}; you allow {vessel.most:g} %. "
                f"Make {vessel.most_mass(self.density):.4g} g at most, or make it in {self.parts} parts."
            )
            return [Finding("caution", sentence, here, "common practice")]
        if self.percent < vessel.least * (1 - 1e-9):
            sentence = (
                f"{self.volume:.4g} mL fills only {self.percent:.3g} % of {vessel.name}: too empty to stir well below "
                f"{vessel.least:g} %. Make {vessel.least_mass(self.density):.4g} g or more, or take a smaller one."
            )
            return [Finding("caution", sentence, here, "common practice")]
        return []


@sound()
def bottles_from(batch: object, density: float, fill: object) -> tuple[int, float]:
    """How many bottles a batch fills, and what is left over. [-, g]

    Parameters
    ----------
    batch, fill
        A mass and a volume: "1 kg" and "100 mL", or pint quantities.
    density
        [g/mL]

    Raises
    ------
    RangeError
        No batch, no density or no fill.

    Examples
    --------
    >>> bottles_from("1 kg", 0.95, "100 mL")
    (10, 50.0)
    """
    mass, volume = magnitude(batch, "g", name="batch"), magnitude(fill, "mL", name="fill")
    if not (mass > 0 and volume > 0):
        msg = f"Batch and fill must be more than 0, got {mass:g} g and {volume:g} mL."
        raise RangeError(msg)
    each = volume * _checked(density)
    count = int(mass / each + 1e-9)
    return count, max(mass - count * each, 0.0)


def _checked(density: float) -> float:
    if not density > 0:
        msg = f"The density must be more than 0 g/mL, got {density:g}."
        raise RangeError(msg)
    return density
