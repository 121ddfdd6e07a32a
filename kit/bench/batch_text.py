"""A batch as it is typed: a mass, or bottles of one or several sizes, such as "6 x 100 mL + 3 x 30 mL"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.inputs import Amount
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable

#: A count, a sign for "times", and a volume.
_BOTTLES = re.compile(r"(\d{1,6})\s*(?:x|×|\*|bottles of|times)\s*(\S.*)", re.IGNORECASE)

#: Between bottles of several sizes; a comma may also be in a number.
_BETWEEN = re.compile(r"\+|,(?=\s*\d+\s*[x×*])", re.IGNORECASE)

#: What one bottle may be filled with. [mL]
LEAST_EACH, MOST_EACH = 0.1, 5000.0


@dataclass(frozen=True, slots=True)
class Filled:
    """So many bottles, and the volume of product in each. [-, mL]"""

    count: int
    fill: float

    def __str__(self) -> str:
        return f"{self.count} x {self.fill:.10g} mL"

    @property
    def volume(self) -> float:
        """Of product in all of them. [mL]"""
        return self.count * self.fill


@dataclass(frozen=True, slots=True)
class ByBottles:
    """A batch by its bottles: how many, the volume of product in each, and those of other sizes. [-, mL]

    Examples
    --------
    >>> batch = ByBottles(6, 100.0, (Filled(3, 30.0),))
    >>> str(batch), batch.grams(0.95)
    ('6 x 100 mL + 3 x 30 mL', 655.5)
    """

    count: int
    fill: float
    besides: tuple[Filled, ...] = ()

    @property
    def sizes(self) -> tuple[Filled, ...]:
        """Every size, that of the bottle in hand first."""
        return (Filled(self.count, self.fill), *self.besides)

    def __str__(self) -> str:
        return " + ".join(str(size) for size in self.sizes)

    def grams(self, density: float) -> float:
        """The mass of product in all of them. [g/mL → g]"""
        return sum(size.volume for size in self.sizes) * density


def read_bottles(text: str) -> ByBottles | None:
    """The bottles that a text names; None where it does not speak of bottles.

    Raises
    ------
    KitError
        No bottle at all, or a volume that cannot be read or is none of a bottle.

    Examples
    --------
    >>> str(read_bottles("6 × 100 mL + 3 bottles of 30 mL")), read_bottles("250 g")
    ('6 x 100 mL + 3 x 30 mL', None)
    """
    parts = _BETWEEN.split(text)
    if _BOTTLES.fullmatch(parts[0].strip()) is None:
        return None
    first, *besides = (_filled(part) for part in parts)
    return ByBottles(first.count, first.fill, tuple(besides))


def _filled(text: str) -> Filled:
    found = _BOTTLES.fullmatch(text.strip())
    if found is None:
        msg = f"{text.strip()[:40]!r} says no bottles. Write how many of what, such as 3 x 30 mL."
        raise EntryError(msg)
    if int(found[1]) < 1:
        msg = f"{text.strip()[:40]!r} is no bottle. Write at least 1 x {found[2][:20]}."
        raise EntryError(msg)
    return Filled(int(found[1]), magnitude(found[2], "mL", name="each bottle", low=LEAST_EACH, high=MOST_EACH))


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bottles of several sizes in one text, between plus signs, commas, semicolons or lines.

    Examples
    --------
    >>> Sizes().write(Sizes().read("3 x 30 mL; 2 × 0.25 L"))
    '3 x 30 mL + 2 x 250 mL'
    """

    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[Filled, ...]:  # noqa: ARG002
        """The bottles, or a KitError for the first that cannot be read."""
        parts = (part for line in re.split(r"[;\n]", text) for part in _BETWEEN.split(line))
        return tuple(_filled(part) for part in parts if part.strip())

    def write(self, value: Iterable[Filled]) -> str:
        """The bottles as they are typed."""
        return " + ".join(str(size) for size in value)


@dataclass(frozen=True, slots=True)
class BatchAmount(Amount):
    """A mass, or bottles: "250 g", "6 x 100 mL".

    Examples
    --------
    >>> BatchAmount("g").read("250", "g"), BatchAmount("g").read("6 × 100 mL", "g")
    (250.0, ByBottles(count=6, fill=100.0, besides=()))
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
