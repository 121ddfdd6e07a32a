"""HLB: the balance of an emulsifier, and the balance that an oil or wax asks of the emulsifiers beside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, cast

from kit.library.library import Library
from kit.resources import load_table
from kit.visible_text import plain_letters

HlbKind = Literal["emulsifier", "required"]


@dataclass(frozen=True, slots=True)
class Hlb:
    """One figure on Griffin's scale: near 0 loves oil, near 20 loves water.

    Attributes
    ----------
    inci
        Whose it is.
    kind
        emulsifier: what it has; required: what an emulsion of this oil or wax asks for.
    value
        On the scale. [-]
    emulsion
        o/w (oil in water), w/o (water in oil), or empty where it lies between the two.
    source
        Key of ``data/sources``.
    note
        How the figure was got, and how far lists differ.
    """

    inci: str
    kind: HlbKind
    value: float
    emulsion: str
    source: str
    note: str = ""

    @property
    def words(self) -> str:
        """What a person reads: "4.7, makes w/o", "asks for 12 in o/w"."""
        if self.kind == "required":
            return f"asks for {self.value:g} in {self.emulsion}"
        return f"{self.value:g}, makes {self.emulsion}" if self.emulsion else f"{self.value:g}"


def hlb_of(name: str) -> tuple[Hlb, ...]:
    """What ``data/hlb`` has of an ingredient of any name that the library knows: first what it is, then what it asks.

    Empty where it has nothing: most ingredients have no HLB, and the scale was made for nonionic emulsifiers. It
    narrows a choice and proves nothing: only storing an emulsion shows whether it lasts. A product that is meant to
    part into two layers needs none.

    References
    ----------
    .. [1] W. C. Griffin, "Classification of surface-active agents by HLB", Journal of the Society of Cosmetic Chemists
       1 (1949) 311-326; "Calculation of HLB values of non-ionic surfactants", 5 (1954) 249-256.

    Examples
    --------
    >>> [figure.words for figure in hlb_of("Sorbitan Stearate")]
    ['4.7, makes w/o']
    >>> [figure.words for figure in hlb_of("beeswax")]
    ['asks for 12 in o/w', 'asks for 5 in w/o']
    >>> hlb_of("Aqua")
    ()
    """
    known = Library.bundled().get(name)
    return _figures().get(plain_letters(known.inci if known else name), ())


@lru_cache(maxsize=1)
def _figures() -> dict[str, tuple[Hlb, ...]]:
    found: dict[str, tuple[Hlb, ...]] = {}
    for row in load_table("hlb").rows:
        figure = Hlb(
            row["inci"],
            cast("HlbKind", row["kind"]),
            float(row["hlb"]),
            row["for"],
            row["source_key"],
            row["note"],
        )
        key = plain_letters(figure.inci)
        found[key] = (*found.get(key, ()), figure)
    return found
