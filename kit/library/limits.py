"""Limit: how much of a substance a regulation allows, and how a salt or ester is counted as its acid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kit.errors import RangeError

LimitKind = Literal["leave-on", "rinse-off", "any"]
LIMIT_KINDS: tuple[LimitKind, ...] = ("leave-on", "rinse-off", "any")


@dataclass(frozen=True, slots=True)
class Limit:
    """The most of a substance, or of several together, that a regulation allows.

    Attributes
    ----------
    key
        A short name for it.
    substances
        INCI names; the limit is on their sum.
    product_kind
        The products for which it holds.
    max_percent
        In the product as it is sold, counted as ``expressed_as`` where that is given; 0 means not
        permitted. [% w/w]
    expressed_as
        The substance as which the others are counted, such as the free acid; empty where each counts as
        itself.
    expressed_as_molar_mass
        Of that substance. [g/mol]
    scope
        Conditions that the kit cannot decide, in words.
    entry
        Annex and entry of the regulation.
    source
        The full citation, with the date up to which it was read.
    as_of
        That date, as ISO text.
    conditional
        True where only the scope decides whether the limit applies at all: one part of the body, one
        purpose, a later date. A product above it needs a second look, not a refusal.
    """

    key: str
    substances: tuple[str, ...]
    product_kind: LimitKind
    max_percent: float
    expressed_as: str = ""
    expressed_as_molar_mass: float | None = None
    scope: str = ""
    entry: str = ""
    source: str = ""
    as_of: str = ""
    conditional: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.max_percent <= 100:
            msg = f"{self.key}: a limit of {self.max_percent:g} % is not between 0 and 100 % w/w."
            raise RangeError(msg)

    def applies_to(self, product_kind: str) -> bool:
        """Whether it holds for a leave-on or a rinse-off product."""
        return self.product_kind in ("any", product_kind)

    def factor(self, substance_molar_mass: float | None) -> float:
        """How much one gram of a substance counts towards the limit. [g/g]

        A limit "as acid" counts a salt or an ester by the acid that the same number of molecules would
        give: M(acid) / M(substance), one acid group each. A limit without ``expressed_as`` counts grams as
        they are. Where the molar mass of the substance is not known, the whole gram counts: a salt or ester
        is heavier than its acid, so this never makes a product look further below the limit than it is.

        Parameters
        ----------
        substance_molar_mass
            Of the salt, ester or acid itself; None where it is not known. [g/mol]

        References
        ----------
        .. [1] Regulation (EC) No 1223/2009, Annex V: limits given "(as acid)". The ratio of molar masses is
           stoichiometry, one mole of acid to one mole of salt or ester.

        Examples
        --------
        Sodium benzoate counts 0.8475 g of benzoic acid per gram.

        >>> limit = Limit("benzoic", ("Sodium Benzoate",), "leave-on", 0.5, "Benzoic Acid", 122.12)
        >>> round(limit.factor(144.10), 4)
        0.8475
        """
        if self.expressed_as_molar_mass is None or substance_molar_mass is None:
            return 1.0
        if not substance_molar_mass > 0:
            msg = f"A molar mass of {substance_molar_mass:g} g/mol is not possible. Give it in g/mol, above 0."
            raise RangeError(msg)
        return self.expressed_as_molar_mass / substance_molar_mass
