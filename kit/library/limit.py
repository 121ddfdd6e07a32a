"""Limit: how much of a substance a regulation allows, and how a salt or ester is counted as its acid."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.library.condition import read_condition
from kit.library.naming import same_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Severity
    from kit.library.description import Description

#: What a rule is about. A "limit" has a most; of what is "prohibited", a "uv-filter", a "drug", a "colour", a matter of
#: the "pack" or of chemicals law ("reach"), being there at all is told.
LimitKind = Literal["limit", "prohibited", "uv-filter", "drug", "colour", "pack", "reach"]
#: What every list of limits is followed by.
LOCAL_RULES = "Local rules decide."

#: To what the molar masses of the library and of the limits are stated. [g/mol]
MOLAR_MASS_STEP = 0.01

LIMIT_KINDS: tuple[LimitKind, ...] = ("limit", "prohibited", "uv-filter", "drug", "colour", "pack", "reach")


@dataclass(frozen=True, slots=True)
class Limit:
    """The most of a substance, or of several together, that a regulation allows.

    Attributes
    ----------
    key
        A short name for it.
    substances
        INCI names; the limit is on their sum.
    holds_for
        The products for which it holds, as :func:`kit.library.condition.read_condition` reads it; empty: all.
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
        What else its reader has to know, in words.
    entry
        Annex and entry of the regulation.
    source
        The full citation, with the date up to which it was read.
    as_of
        That date, as ISO text.
    conditional
        True where only the scope decides whether the limit applies at all, and no description of the product could.
        A product above it needs a second look, not a refusal.
    ph_low, ph_high
        The pH of the product must be above the one and not above the other, where they are given.
    needs
        The limit counts only where one of these is there; empty: any of the substances.
    purpose
        "preservative" where it holds only for what is there to preserve; empty: for whatever purpose.
    only_for
        The products to which it does not apply, as ``holds_for``: "not permitted outside these".
    kind, severity, said
        What it is about, how grave it is to break it, and what to say then, with ``{name}`` and ``{found}``; where
        ``said`` is empty, the limit itself is said.
    from_day, until_day
        First and last day on which products may be placed on the market under it, as ISO text; empty: open.
    pending
        Whether it is only proposed: told, never applied.
    """

    key: str
    substances: tuple[str, ...]
    holds_for: str
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
    purpose: str = ""
    only_for: str = ""
    kind: LimitKind = "limit"
    severity: Severity = "stop"
    said: str = ""
    from_day: str = ""
    until_day: str = ""
    pending: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.max_percent <= 100:
            msg = f"{self.key}: a limit of {self.max_percent:g} % is not between 0 and 100 % w/w."
            raise RangeError(msg)

    def applies_to(self, description: Description) -> bool | None:
        """Whether it holds for a product; None where the description leaves that open."""
        found = read_condition(self.holds_for).holds(description)
        if found is False or not self.only_for:
            return found
        inside = read_condition(self.only_for).holds(description)
        return False if inside else None if None in (inside, found) else True

    def asks(self, description: Description) -> tuple[str, ...]:
        """The inputs of the description that would settle whether it holds; empty where that is settled."""
        if self.applies_to(description) is not None:
            return ()
        conditions = (read_condition(self.holds_for), read_condition(self.only_for))
        return tuple(dict.fromkeys(axis for condition in conditions for axis in condition.asks(description)))

    def is_in_force(self, day: str) -> bool:
        """Whether a product may be, or may not be, placed on the market under it on a day; see ``from_day``."""
        return not self.pending and self.from_day <= day and (not self.until_day or day <= self.until_day)

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

    Attributes
    ----------
    place, day
        Whose they are, in words, and the day for which they were asked, as ISO text; empty where nobody said.
    later
        Limits of the same place that are proposed, or apply only after that day.

    Examples
    --------
    >>> acid = Limit("benzoic", ("Sodium Benzoate",), "leave-on", 0.5)
    >>> colour = Limit("blue", ("CI 42090",), "", 1.0)
    >>> [limit.key for limit in Limits([acid, colour]).concerning(["Aqua", "sodium  benzoate"])]
    ['benzoic']
    """

    place: str = ""
    day: str = ""
    _later: Limits | None = None

    @classmethod
    def of(cls, limits: Iterable[Limit]) -> Limits:
        """These limits with their index; themselves where they have one."""
        return limits if isinstance(limits, cls) else cls(limits)

    @property
    def later(self) -> Limits:
        """See above; none where nobody said a day."""
        return Limits() if self._later is None else self._later

    @later.setter
    def later(self, limits: Limits) -> None:
        self._later = limits

    @cached_property
    def _numbers(self) -> dict[str, tuple[int, ...]]:
        found: dict[str, tuple[int, ...]] = {}
        for number, limit in enumerate(self):
            for key in {same_name(name) for name in limit.needs or limit.substances}:
                found[key] = (*found.get(key, ()), number)
        return found

    def concerning(self, names: Iterable[str]) -> list[Limit]:
        """The limits that one of these substances meets, in the order of the table."""
        numbers = {number for name in names for number in self._numbers.get(same_name(name), ())}
        return [self[number] for number in sorted(numbers)]
