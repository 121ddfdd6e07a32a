"""A batch as it is typed: a mass, or so many bottles of so much, such as "6 x 100 mL"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.inputs import Amount
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Sequence

#: A count, a sign for "times", and a volume.
_BOTTLES = re.compile(r"(\d{1,6})\s*(?:x|×|\*|bottles of|times)\s*(\S.*)", re.IGNORECASE)

#: Between bottles of several sizes.
_BETWEEN = re.compile(r"[;+\n]|,(?=\s*\d+\s*[x×*])", re.IGNORECASE)

#: What one bottle may be filled with. [mL]
LEAST_EACH, MOST_EACH = 0.1, 5000.0


@dataclass(frozen=True, slots=True)
class ByBottles:
    """A batch by its bottles: how many, and the volume of product in each. [-, mL]"""

    count: int
    fill: float

    def __str__(self) -> str:
        return f"{self.count} x {self.fill:.10g} mL"

    def grams(self, density: float) -> float:
        """The mass of product in all of them. [g/mL → g]"""
        return self.count * self.fill * density


def read_bottles(text: str) -> ByBottles | None:
    """The bottles that a text names; None where it does not speak of bottles.

    Raises
    ------
    KitError
        No bottle at all, or a volume that cannot be read or is none of a bottle.

    Examples
    --------
    >>> read_bottles("6 x 100 mL"), read_bottles("250 g")
    (ByBottles(count=6, fill=100.0), None)
    """
    found = _BOTTLES.fullmatch(text.strip())
    if found is None:
        return None
    if _BETWEEN.search(found[2]):
        msg = f"{text.strip()[:40]!r} names bottles of several sizes. Type them under “Bottles of several sizes”."
        raise EntryError(msg)
    if int(found[1]) < 1:
        msg = f"{text.strip()[:40]!r} is no bottle. Write at least 1 x {found[2][:20]}."
        raise EntryError(msg)
    return ByBottles(int(found[1]), magnitude(found[2], "mL", name="each bottle", low=LEAST_EACH, high=MOST_EACH))


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bottles of one batch in several sizes.

    Examples
    --------
    >>> Sizes().read("6 x 50 mL; 2 x 100 mL")
    (ByBottles(count=6, fill=50.0), ByBottles(count=2, fill=100.0))
    """

    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[ByBottles, ...]:  # noqa: ARG002
        """The bottles; a KitError says which cannot be read."""
        found = []
        for part in filter(None, map(str.strip, _BETWEEN.split(text))):
            bottles = read_bottles(part)
            if bottles is None:
                msg = f"{part[:40]!r} is no bottle. Write how many of which content, such as 6 x 50 mL; 2 x 100 mL."
                raise EntryError(msg)
            found.append(bottles)
        return tuple(found)

    def write(self, value: Sequence[ByBottles]) -> str:
        """The bottles as they are typed."""
        return "; ".join(map(str, value))


@dataclass(frozen=True, slots=True)
class BatchAmount(Amount):
    """A mass, or bottles: "250 g", "6 x 100 mL".

    Examples
    --------
    >>> BatchAmount("g").read("250", "g"), BatchAmount("g").read("6 × 100 mL", "g")
    (250.0, ByBottles(count=6, fill=100.0))
    """

    def read(self, text: str, unit: str = "") -> float | ByBottles:  # type: ignore[override]
        """The mass, or the bottles; a KitError says what is wrong with it."""
        return read_bottles(text) or Amount.read(self, text, unit)

    def write(self, value: float | ByBottles) -> str:
        """The mass without its unit, or the bottles."""
        return str(value) if isinstance(value, ByBottles) else Amount.write(self, value)


@dataclass(frozen=True, slots=True)
class BatchText(BatchAmount):
    """A batch that says its unit itself.

    Examples
    --------
    >>> BatchText("g").write(250.0), BatchText("g").write(ByBottles(6, 100.0))
    ('250 g', '6 x 100 mL')
    """

    def write(self, value: float | ByBottles) -> str:
        """The batch as it is typed."""
        return str(value) if isinstance(value, ByBottles) else f"{value:.10g} g"
