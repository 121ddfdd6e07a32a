"""A balance as its plate describes it, those beside it, the least each can weigh, and which of them weighs what."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.inputs import REQUIRED, Amount, Input, Number, asked, inputs_of
from kit.soundness import sound
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Repeatability is never taken below this many readabilities: the scatter that two roundings to the step
#: alone give, 1/√6 (USP general chapter 41, official 1 August 2019; JCGM 100:2008 F.2.2.1).
LEAST_REPEATABILITY = 0.41
#: So little below the least weight is rounding in the last binary digits.
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class EitherWay(Amount):
    """A mass by which a reading may be off either way, with or without its ± sign."""

    def read(self, text: str, unit: str = "") -> float:
        """The number without the sign."""
        return Amount.read(self, text.strip().lstrip("±"), unit)


#: What it reads, a word or sign between, and what it carries.
_PLATE = re.compile(r"(.+?)\s*(?:up to|carries|to|/)\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class MoreBalances:
    """Other balances in one text: what each reads and carries, between semicolons, plus signs or lines.

    Examples
    --------
    >>> MoreBalances().write(MoreBalances().read("0.001 g up to 100 g; 1 g / 5 kg"))
    '0.001 g up to 100 g; 1 g up to 5000 g'
    """

    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[Balance, ...]:  # noqa: ARG002
        """The balances, or a KitError for the first that cannot be read."""
        return tuple(_plate(part) for part in re.split(r"[+;\n]", text) if part.strip())

    def write(self, value: Iterable[Balance]) -> str:
        """The balances as they are typed."""
        return "; ".join(f"{one.readability:.10g} g up to {one.capacity:.10g} g" for one in value)


def _plate(text: str) -> Balance:
    found = _PLATE.fullmatch(text.strip())
    if found is None:
        msg = f"{text.strip()[:40]!r} must say what the balance reads and carries, such as 0.001 g up to 100 g."
        raise EntryError(msg)
    return Balance.of(found[1], found[2])


@dataclass(frozen=True, slots=True)
class Balance:
    """What a balance can do.

    Attributes
    ----------
    readability
        d, the smallest step shown. [g]
    capacity
        The most it may carry, vessel included. [g]
    repeatability
        Standard deviation of repeated net weighings of one load; None if not known. [g]
    linearity
        How far a reading may lie beside the straight line from nothing to the capacity, either way; None if not
        known. [± g]
    others
        More balances at hand, finer or stronger ones; see :meth:`suited`.
    """

    readability: float = asked(
        "Balance reads",
        Amount("g"),
        0.01,
        unit="g",
        example="0.01",
        option="balance",
        help="The smallest step it shows. It is printed on the balance as 'd ='.",
    )
    capacity: float = asked("Carries", Amount("g"), 500.0, unit="g", example="500", help="The vessel included.")
    repeatability: float | None = asked(
        "Repeatability",
        Amount("g", 0),
        None,
        unit="g",
        example="not known",
        help="Standard deviation of repeated net weighings of one load.",
    )
    linearity: float | None = asked(
        "Linearity, ±",
        EitherWay("g", 0),
        None,
        unit="g",
        example="not known",
        help="How far a reading may lie beside the straight line from nothing to the capacity.",
    )
    others: tuple[Balance, ...] = asked(
        "Other balances",
        MoreBalances(),
        (),
        example="0.001 g up to 100 g; 1 g up to 5 kg",
        option="other-balances",
        help="A line that this one weighs badly, or cannot carry, goes to one of them.",
    )

    def __post_init__(self) -> None:
        if any(one.others for one in self.others):
            msg = "A balance beside another has none beside itself: name all of them beside the first."
            raise RangeError(msg)
        if not (0 < self.readability < self.capacity and isfinite(self.capacity)):
            msg = (
                f"The readability, {self.readability:g} g, must lie between 0 and the capacity, {self.capacity:g} g. "
                "It is printed on the balance as 'd ='."
            )
            raise RangeError(msg)
        if self.repeatability is not None and not self.repeatability >= 0:
            msg = f"The repeatability must be 0 g or more, got {self.repeatability:g} g."
            raise RangeError(msg)
        if self.linearity is not None and not self.linearity >= 0:
            msg = f"The linearity must be 0 g or more, got {self.linearity:g} g. Give it without its ± sign."
            raise RangeError(msg)
        for name, grams in (("repeatability", self.repeatability), ("linearity", self.linearity)):
            if grams is not None and grams >= self.capacity:
                msg = (
                    f"A {name} of {grams:g} g cannot belong to a balance that carries {self.capacity:g} g. "
                    "Look at its unit: data sheets often give it in mg."
                )
                raise RangeError(msg)

    @classmethod
    def of(
        cls, readability: object, capacity: object = "500 g", repeatability: object = None, linearity: object = None
    ) -> Balance:
        """A balance from quantities: ``Balance.of("0.01 g", "600 g", "5 mg")``."""
        return cls(
            magnitude(readability, "g", name="readability"),
            magnitude(capacity, "g", name="capacity"),
            None if repeatability is None else magnitude(repeatability, "g", name="repeatability"),
            None if linearity is None else magnitude(linearity, "g", name="linearity"),
        )

    @property
    def alone(self) -> Balance:
        """The first balance without the others."""
        return replace(self, others=()) if self.others else self

    @property
    def finest(self) -> Balance:
        """Of all at hand, the one that weighs the least well."""
        return min((self.alone, *self.others), key=lambda one: (one.scatter, -one.capacity))

    def suited(self, masses: Iterable[float], tolerance: float) -> Balance:
        """The one at hand on which all of these net masses are weighed. [g, %]

        This one, where it carries them and weighs them within the tolerance; else the coarsest of the others that
        does; else, of those that carry them, the finest; else the one that carries most. That a coarse balance is
        enough where it keeps the tolerance is our choice: its dish is larger, and it settles sooner.

        Examples
        --------
        >>> bench = Balance(0.1, 2000, others=(Balance(0.001, 100), Balance(0.01, 300)))
        >>> [bench.suited([grams], 1).readability for grams in (500, 2, 0.5, 0.0001)]
        [0.1, 0.01, 0.001, 0.001]
        """
        if not self.others:
            return self
        weighed = [grams for grams in masses if grams > 0]
        least, most = min(weighed, default=0.0), max(weighed, default=0.0)
        at_hand = [self.alone, *sorted(self.others, key=lambda one: -one.scatter)]
        carrying = [one for one in at_hand if most <= one.capacity]
        keeping = [one for one in carrying if least >= one.least_weight(tolerance) * (1 - HAIR)]
        if keeping or not least:
            return (keeping or at_hand)[0]
        return min(carrying, key=lambda one: one.scatter) if carrying else max(at_hand, key=lambda one: one.capacity)

    @property
    def words(self) -> str:
        """What it reads, and the others, for a sentence.

        Examples
        --------
        >>> Balance().words, Balance(others=(Balance(1, 5000), Balance(0.001, 100))).words
        ('a balance that reads 0.01 g', 'balances that read 0.01, 1 and 0.001 g')
        """
        if not self.others:
            return f"a balance that reads {self.readability:g} g"
        *steps, last = (f"{one.readability:g}" for one in (self, *self.others))
        return f"balances that read {', '.join(steps)} and {last} g"

    @property
    def scatter(self) -> float:
        """The repeatability that counts: what is known of it, but at least 0.41 d. [g]"""
        return max(self.repeatability or 0.0, LEAST_REPEATABILITY * self.readability)

    def least_weight(self, tolerance: float) -> float:
        """The least net mass whose weighing stays within a tolerance. [% → g]

        m = 2 s / tolerance, with s the repeatability but at least 0.41 d. USP general chapter 41 asks for
        0.10 % where a drug is assayed, which gives 820 d for the best balance of its step; a maker chooses
        her own tolerance.

        Raises
        ------
        RangeError
            A tolerance that is not above 0 %.

        References
        ----------
        .. [1] USP general chapter 41, Balances, official 1 August 2019.

        Examples
        --------
        >>> round(Balance(readability=0.001, capacity=200).least_weight(0.10), 6)
        0.82
        """
        if not tolerance > 0:
            msg = f"The tolerance of a weighing must be more than 0 %, got {tolerance:g} %. 1 % is a common choice."
            raise RangeError(msg)
        return 2.0 * self.scatter / (tolerance / 100.0)

    def weighing_error(self, mass: float) -> float:
        """How far off the weighing of a net mass may be: 2 s / m, the other side of the least weight. [g → %]

        Raises
        ------
        RangeError
            A mass that is not above 0 g.

        Examples
        --------
        >>> round(Balance(readability=0.01).weighing_error(0.25), 2)
        3.28
        """
        if not mass > 0:
            msg = f"A weighing must be of more than 0 g, got {mass:g} g."
            raise RangeError(msg)
        return 100.0 * 2.0 * self.scatter / mass


#: What a form asks about a balance: there its readability has to be given.
PLATE = tuple(replace(one, default=REQUIRED) if one.name == "readability" else one for one in inputs_of(Balance))
TOLERANCE = Input("tolerance", "A weighing may be off", Number(0.01, 50), 1.0, "%")


@sound()
def least_by_sensitivity(requirement: object, error: float) -> float:
    """The least mass by the older rule of pharmacy: sensitivity requirement / allowed error. [% → g]

    The sensitivity requirement is the load that moves the pointer of a balance by one mark; a weighing is taken to be
    off by as much. It is another figure than readability or repeatability, and this another rule than that of
    :meth:`Balance.least_weight`.

    Parameters
    ----------
    requirement
        "6 mg", as the balance's papers or a trial say.
    error
        What a weighing may be off; above 0. [%]

    Raises
    ------
    RangeError
        A requirement or an error that is not above 0.

    References
    ----------
    .. [1] A pharmacy laboratory's teaching page "Weighing", University of North Carolina, and a textbook chapter,
       "Accurate weighing for prescriptions".

    Examples
    --------
    >>> least_by_sensitivity("6 mg", 5)
    0.12
    """
    grams = _requirement(requirement)
    if not error > 0:
        msg = f"The allowed error must be more than 0 %, got {error:g} %. 5 % is the rule's usual figure."
        raise RangeError(msg)
    return 100.0 * grams / error


def error_by_sensitivity(requirement: object, mass: object) -> float:
    """How far off a weighing is by the older rule of pharmacy; see :func:`least_by_sensitivity`. [%]

    Raises
    ------
    RangeError
        A requirement or a mass that is not above 0.

    Examples
    --------
    >>> error_by_sensitivity("6 mg", "50 mg")
    12.0
    """
    grams = magnitude(mass, "g", name="mass")
    if not grams > 0:
        msg = f"A weighing must be of more than 0 g, got {grams:g} g."
        raise RangeError(msg)
    return 100.0 * _requirement(requirement) / grams


def _requirement(requirement: object) -> float:
    grams = magnitude(requirement, "g", name="sensitivity requirement")
    if not grams > 0:
        msg = f"The sensitivity requirement must be more than 0 g, got {grams:g} g. 6 mg is common in pharmacy."
        raise RangeError(msg)
    return grams
