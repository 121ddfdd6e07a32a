"""The smallest purchase from which a batch can be made: whole packs only."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.price import PackItem
    from kit.bench.unit_costs import UnitCosts

#: So small a part of a pack is rounding in the last binary digits.
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Packs of one thing.

    Attributes
    ----------
    needed, left
        For the batch, and over afterwards. [g, or pieces]
    unit
        "g" or "pieces".
    pack
        What one pack holds, in words.
    packs, cost
        How many, and what they cost together. [-, currency]
    """

    name: str
    needed: float
    left: float
    unit: str
    pack: str
    packs: int
    cost: float


def whole_packs(needed: float, content: float) -> int:
    """How many packs hold what is needed.

    Examples
    --------
    >>> whole_packs(250, 100), whole_packs(300, 100), whole_packs(0, 100)
    (3, 3, 0)
    """
    return max(0, ceil(needed / content - HAIR))


def packs_to_buy(
    lines: Sequence[tuple[str, float]], units: UnitCosts, packaging: Sequence[PackItem] = (), bottles: int = 0
) -> tuple[ToBuy, ...]:
    """Whole packs of everything that has a price, stocks through their contents.

    Parameters
    ----------
    lines
        Each material with what is taken of it. [g]
    """
    needed: dict[str, float] = {}
    for material, grams in lines:
        for name, share in units.of(material).bought.items():
            needed[name] = needed.get(name, 0.0) + grams * share
    found = []
    for name, grams in needed.items():
        price = units.price(name)
        content = units.content(price) if price is not None and grams > 0 else None
        if price is not None and content is not None:
            packs = whole_packs(grams, content)
            found.append(ToBuy(name, grams, packs * content - grams, "g", price.pack, packs, packs * price.price))
    for item in packaging:
        pieces = item.per_bottle * bottles
        packs = whole_packs(pieces, item.pieces)
        left = packs * item.pieces - pieces
        found.append(ToBuy(item.name, pieces, left, "pieces", f"{item.pieces:.10g} pieces", packs, packs * item.price))
    return tuple(found)
