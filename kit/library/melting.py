"""Where butters, waxes and fatty alcohols melt, and whether they are solid at a temperature."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from kit.resources import load_table
from kit.visible_text import plain_letters

#: Below its range a material is solid, above it melted, within it soft.
State = Literal["solid", "soft", "melted"]

#: A room. [°C]
ROOM = 20.0


@dataclass(frozen=True, slots=True)
class Melting:
    """The range over which one material melts, by itself: in a mixture it melts lower.

    Attributes
    ----------
    melts_from, melts_to
        Where it begins to melt and where the last of it is melted; the same for a pure substance. [°C]
    source
        Key of the source.
    """

    inci: str
    melts_from: float
    melts_to: float
    source: str
    note: str = ""

    def state_at(self, celsius: float = ROOM) -> State:
        """Solid, soft or melted at a temperature. [°C]

        Examples
        --------
        >>> butter = Melting("Butyrospermum Parkii Butter", 23, 42, "food-chemistry-fats")
        >>> butter.state_at(20), butter.state_at(30), butter.state_at(45)
        ('solid', 'soft', 'melted')
        """
        if celsius < self.melts_from:
            return "solid"
        return "soft" if celsius < self.melts_to else "melted"

    @property
    def text(self) -> str:
        """The range in words: "23 to 42 °C"."""
        if self.melts_from == self.melts_to:
            return f"{self.melts_from:g} °C"
        return f"{self.melts_from:g} to {self.melts_to:g} °C"


@lru_cache(maxsize=1)
def meltings() -> dict[str, Melting]:
    """Every row of ``data/melting``, by the plain letters of its name."""
    return {
        plain_letters(row["inci"]): Melting(
            row["inci"], float(row["melts_from_degc"]), float(row["melts_to_degc"]), row["source_key"], row["note"]
        )
        for row in load_table("melting").rows
    }


def melting_of(inci: str) -> Melting | None:
    """The melting range of a material by its INCI name; None where the table has none.

    Examples
    --------
    >>> melting_of("cocos nucifera oil").text
    '20 to 28 °C'
    """
    return meltings().get(plain_letters(inci))
