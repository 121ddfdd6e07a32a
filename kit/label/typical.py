"""Usual shares of listed allergens in essential oils: an estimate until the supplier's statement is at hand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from kit.label.allergens import Allergen, allergen_named
from kit.library.columns import number_or_none
from kit.resources import load_table
from kit.visible_text import plain_letters


@dataclass(frozen=True, slots=True)
class TypicalShare:
    """How much of one allergen an essential oil usually holds. [% w/w of the oil]

    Attributes
    ----------
    allergen
        The entry of the list that it belongs to.
    share
        What is typical; ``low`` and ``high`` say how far oils differ, None where no range is known.
    source
        Key of the source.
    """

    allergen: Allergen
    share: float
    low: float | None
    high: float | None
    source: str

    @property
    def text(self) -> str:
        """In words: "Linalool 32.5 % (20 to 45)"."""
        range_ = f" ({self.low:g} to {self.high:g})" if self.low is not None and self.high is not None else ""
        return f"{self.allergen.label_name} {self.share:g} %{range_}"


@lru_cache(maxsize=1)
def _by_oil() -> dict[str, tuple[TypicalShare, ...]]:
    found: dict[str, list[TypicalShare]] = {}
    for row in load_table("essential-oils").rows:
        allergen = allergen_named(row["part"])
        if allergen is not None:
            share = TypicalShare(
                allergen,
                float(row["typical"]),
                number_or_none(row["low"]),
                number_or_none(row["high"]),
                row["source_key"],
            )
            found.setdefault(plain_letters(row["oil"]), []).append(share)
    return {oil: tuple(shares) for oil, shares in found.items()}


def typical_shares(oil: str) -> tuple[TypicalShare, ...]:
    """The allergens that an essential oil usually holds, by its INCI name; empty where the table does not have it.

    Never in place of the supplier's statement: plant, place and year change a share by a factor of two and more.

    Examples
    --------
    >>> [each.text for each in typical_shares("eugenia caryophyllus bud oil")][0]
    'Eugenol 75 % (60 to 90)'
    """
    return _by_oil().get(plain_letters(oil), ())
