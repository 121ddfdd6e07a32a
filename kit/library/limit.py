"""Limit: how much of a substance a regulation allows, and how a salt or ester is counted as its acid."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable

LimitKind = Literal["leave-on", "rinse-off", "any"]
#: What every list of limits is followed by.
LOCAL_RULES = "Local rules decide."

#: To what the molar masses of the library and of the limits are stated. [g/mol]
MOLAR_MASS_STEP = 0.01

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
        permitted, 100 that only the pH is limited. [% w/w]
    below
        True where the law asks for less than that: a product at exactly ``max_percent`` breaks the limit.
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
    ph_low, ph_high
        The pH of the product must be above the one and not above the other, where they are given.
    needs
        The limit counts only where one of these is there; empty: any of the substances.
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
    ph_low: float | None = None
    ph_high: float | None = None
    needs: tuple[str, ...] = ()
    below: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.max_percent <= 100:
            msg = f"{self.key}: a limit of {self.max_percent:g} % is not between 0 and 100 % w/w."
            raise RangeError(msg)

    def applies_to(self, product_kind: str) -> bool:
        """Whether it holds for a leave-on or a rinse-off product."""
        return self.product_kind in ("any", product_kind)

    @property
    def is_of_percent(self) -> bool:
        """Whether it limits a percent, and not the pH alone."""
        return self.max_percent < 100

    def factor(self, substance_molar_mass: float | None, gives: int = 1) -> float:
        """How much one gram of a substance counts towards the limit. [g/g]

        A limit "as acid" counts a salt or an ester by the acid that the same number of molecules would
        give: n M(acid) / M(substance), where one molecule gives n of the acid. A limit without
        ``expressed_as`` counts grams as they are. Where the molar mass of the substance is not known, the
        whole gram counts: a salt or ester that gives one acid is heavier than it, so this never makes a
        product look further below the limit than it is.

        Parameters
        ----------
        substance_molar_mass
            Of the salt, ester or acid itself; None where it is not known. [g/mol]
        gives
            How many molecules of the acid one molecule gives: 2 for calcium sorbate.

        References
        ----------
        .. [1] Regulation (EC) No 1223/2009, Annex V: limits given "(as acid)". The ratio of molar masses is
           stoichiometry.

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
        return gives * self.expressed_as_molar_mass / substance_molar_mass


def rounded_off(*molar_masses: float | None) -> float:
    """How far a ratio of molar masses may err because each is stated to 0.01 g/mol, as a part of it. [-]

    Examples
    --------
    >>> f"{rounded_off(122.12, 144.10):.1e}"
    '7.6e-05'
    """
    return sum(MOLAR_MASS_STEP / 2 / mass for mass in molar_masses if mass)


class Limits(tuple[Limit, ...]):
    """Limits of one place in the world, with an index by substance, so that a formula meets only those it must.

    Examples
    --------
    >>> acid = Limit("benzoic", ("Sodium Benzoate",), "leave-on", 0.5)
    >>> colour = Limit("blue", ("CI 42090",), "any", 1.0)
    >>> [limit.key for limit in Limits([acid, colour]).concerning(["Aqua", "sodium  benzoate"])]
    ['benzoic']
    """

    @cached_property
    def _numbers(self) -> dict[str, tuple[int, ...]]:
        found: dict[str, tuple[int, ...]] = {}
        for number, limit in enumerate(self):
            for name in limit.needs or limit.substances:
                key = plain_letters(name)
                found[key] = (*found.get(key, ()), number)
        return found

    def concerning(self, names: Iterable[str]) -> list[Limit]:
        """The limits that one of these substances meets, in the order of the table."""
        numbers = {number for name in names for number in self._numbers.get(plain_letters(name), ())}
        return [self[number] for number in sorted(numbers)]
