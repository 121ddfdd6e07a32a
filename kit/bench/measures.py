"""Spoons, drops and fluid ounces: only as the maker herself has weighed them, and always as an approximation."""

from __future__ import annotations

import re
from dataclasses import dataclass
from statistics import stdev
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.numbers import split_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

#: Words for measures that weigh something else with every material and every hand.
_MEASURES = re.compile(
    r"(?:(?:tea|table|coffee|dessert)\s*spoons?(?:fuls?)?|tsps?|tbsps?|spoons?(?:fuls?)?|scoops?|cups?|pinch(?:es)?"
    r"|drops?|gtts?|dash(?:es)?|fl\.?\s*ozs?|fluid\s+ounces?|floz|oz\.?\s*fl)\.?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Approximate:
    """A mass that is only roughly known. [g]

    Attributes
    ----------
    low, high
        What single measures have ranged over, for so many of them.
    """

    grams: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"about {self.grams:.3g} g ({self.low:.3g} to {self.high:.3g} g)"


@dataclass(frozen=True, slots=True)
class OwnMeasure:
    """A measure as its maker has weighed it with one material.

    Attributes
    ----------
    name
        Such as "level teaspoon" or "drop from the small pipette".
    material
        What was in it: another material weighs something else.
    weighings
        (how many, grams together) of each weighing. [-, g]
    """

    name: str
    material: str
    weighings: tuple[tuple[int, float], ...]

    def __post_init__(self) -> None:
        if not self.name.strip() or not self.material.strip():
            msg = "An own measure needs a name and the material that was in it: 'level teaspoon' of Xanthan Gum."
            raise EntryError(msg)
        if not self.weighings:
            raise RangeError(_not_weighed(self.name, self.material))
        for count, grams in self.weighings:
            if count < 1 or not 0 < grams < float("inf"):
                msg = f"{self.name}: count at least one and weigh more than 0 g; got {count} of {grams:g} g."
                raise RangeError(msg)

    @property
    def each(self) -> float:
        """What one of them holds: all grams over all counts. [g]"""
        return sum(grams for _, grams in self.weighings) / sum(count for count, _ in self.weighings)

    @property
    def single(self) -> list[float]:
        """What one of them held in each weighing. [g]"""
        return [grams / count for count, grams in self.weighings]

    @property
    def spread(self) -> float | None:
        """Standard deviation between the weighings; None from a single one. [% of what one holds]

        Examples
        --------
        >>> spoon = OwnMeasure("level teaspoon", "Xanthan Gum", ((1, 2.4), (1, 2.8), (1, 2.6)))
        >>> round(spoon.spread, 1)
        7.7
        """
        return 100.0 * stdev(self.single) / self.each if len(self.weighings) > 1 else None

    def grams(self, count: float) -> Approximate:
        """About how much so many of them hold.

        Raises
        ------
        RangeError
            A count that is not above 0.

        Examples
        --------
        >>> spoon = OwnMeasure("level teaspoon", "Xanthan Gum", ((1, 2.4), (1, 2.8), (1, 2.6)))
        >>> print(spoon.grams(2))
        about 5.2 g (4.8 to 5.6 g)
        """
        if not count > 0:
            msg = f"Count more than 0 of '{self.name}', got {count:g}."
            raise RangeError(msg)
        return Approximate(count * self.each, count * min(self.single), count * max(self.single))

    def count(self, grams: float) -> float:
        """About how many of them hold a mass. [g → -]"""
        if not grams > 0:
            msg = f"Give more than 0 g of {self.material}, got {grams:g} g."
            raise RangeError(msg)
        return grams / self.each

    @property
    def sentence(self) -> str:
        """What is known about it, and what it is not good for."""
        known = f"One {self.name} of {self.material} holds about {self.each:.3g} g"
        if self.spread is None:
            return f"{known}, weighed once: how much it varies is not known. Weigh it three times, or weigh the dose."
        return (
            f"{known}; {len(self.weighings)} weighings scatter by {self.spread:.2g} %. An approximation of your own: "
            "weigh preservatives, acids, lye and actives, never spoon or drop them."
        )


def own_measure(name: str, material: str, weighings: Iterable[tuple[int, float]]) -> OwnMeasure:
    """A measure from (how many, grams together) of each weighing."""
    return OwnMeasure(name.strip(), material.strip(), tuple(weighings))


def read_measure(text: str, material: str, own: Sequence[OwnMeasure] = ()) -> Approximate:
    """Turn "2 level teaspoon" of a material into about so many grams, by the maker's own weighings.

    Raises
    ------
    RangeError
        It was never weighed with this material.
    EntryError
        It is no count of a measure.

    Examples
    --------
    >>> drop = own_measure("drop", "Parfum", [(20, 0.5), (20, 0.54)])
    >>> print(read_measure("30 drops", "Parfum", [drop]))
    about 0.78 g (0.75 to 0.81 g)
    """
    count, words = split_number(text)
    wanted = _plain(words)
    for measure in own:
        if _plain(measure.name) == wanted and measure.material.casefold() == material.strip().casefold():
            return measure.grams(count)
    if _MEASURES.search(words):
        raise RangeError(_not_weighed(words, material))
    msg = f"{text.strip()!r} is no count of one of your measures. Write such as '2 level teaspoon', or grams."
    raise EntryError(msg)


def _plain(words: str) -> str:
    """The words of a measure without capitals, spare spaces and the s of many."""
    return " ".join(word.rstrip("s") for word in words.casefold().replace(".", " ").split())


def _not_weighed(name: str, material: str) -> str:
    return (
        f"'{name.strip()}' of {material.strip()} has no weight of its own: it differs with the material and the hand. "
        "Weigh what yours holds, three times over, and enter it as your own measure; or weigh the dose."
    )
