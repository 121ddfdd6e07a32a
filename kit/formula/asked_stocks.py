"""Stocks that a formula asks for by a name that nobody knows yet, such as "Panthenol 50 % stock"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from kit.library.ingredient import BASES

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import Basis, PhaseKind

_STRENGTH = rf"(?P<strength>\d+(?:[.,]\d+)?)\s*%(?:\s*(?P<basis>{'|'.join(BASES)}))?"
_WORD = r"(?:stock|solution)"
_SOLVENT = r"(?:\s+in\s+(?P<solvent>.+))?"
#: "Panthenol 50 % stock", "citric acid solution 10%", "10 % w/v Tocopherol solution in Squalane".
_NAMES = (
    re.compile(rf"(?P<of>.+?)(?:\s+{_WORD})?\s+{_STRENGTH}(?:\s+{_WORD})?{_SOLVENT}", re.IGNORECASE),
    re.compile(rf"{_STRENGTH}\s+(?P<of>.+?)\s+{_WORD}{_SOLVENT}", re.IGNORECASE),
)


@dataclass(frozen=True, slots=True)
class AskedStock:
    """What the name of a line asks for.

    Attributes
    ----------
    name
        As it stands in the line.
    active, strength, basis
        The material, and how strong. [%]
    solvent
        Its name in the library; empty where the name says none.
    phase
        The layer of the line.
    """

    name: str
    active: str
    strength: float
    basis: Basis = "w/w"
    solvent: str = ""
    phase: PhaseKind = "water"


def asked_stock(name: str, materials: Materials, phase: PhaseKind = "water") -> AskedStock | None:
    """The stock that a name asks for; None where it is known already, or reads like none.

    Examples
    --------
    >>> from kit.formula.expansion import Materials
    >>> from kit.library.library import Library
    >>> found = asked_stock("Panthenol 50 % stock", Materials(Library.bundled()))
    >>> found.active, found.strength, found.basis
    ('Panthenol', 50.0, 'w/w')
    """
    plain = " ".join(name.split())
    if not plain or materials.get(plain) is not None:
        return None
    for pattern in _NAMES:
        read = pattern.fullmatch(plain)
        known = materials.ingredient(read["of"]) if read else None
        solvent = materials.ingredient(read["solvent"]) if read and read["solvent"] else None
        if read and known is not None and (solvent is not None or not read["solvent"]):
            strength = float(read["strength"].replace(",", "."))
            basis = cast("Basis", (read["basis"] or "w/w").casefold())
            return AskedStock(name.strip(), known.inci, strength, basis, solvent.inci if solvent else "", phase)
    return None


def asked_stocks(formula: Formula, materials: Materials) -> list[AskedStock]:
    """Every stock that a line of a formula asks for, each name once."""
    found: dict[str, AskedStock] = {}
    for p, _, line, _ in formula.each_line():
        asked = asked_stock(line.material, materials, formula.phases[p].kind)
        if asked is not None:
            found.setdefault(asked.name.casefold(), asked)
    return list(found.values())
