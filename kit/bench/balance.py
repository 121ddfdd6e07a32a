"""A balance as its plate describes it, and the least it can weigh."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from kit.errors import RangeError
from kit.numbers import split_number
from kit.units import magnitude

#: Repeatability is never taken below this many readabilities: the scatter that two roundings to the step
#: alone give, 1/√6 (USP general chapter 41, official 1 August 2019; JCGM 100:2008 F.2.2.1).
LEAST_REPEATABILITY = 0.41


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
    """

    readability: float = 0.01
    capacity: float = 500.0
    repeatability: float | None = None
    linearity: float | None = None

    def __post_init__(self) -> None:
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

    @classmethod
    def typed(cls, readability: str, capacity: str = "", repeatability: str = "", linearity: str = "") -> Balance:
        """A balance from what is typed in boxes marked g: "0.01", "0,01" or "10 mg"; an empty box is "not known".

        Raises
        ------
        KitError
            A box that cannot be read, an empty one for the readability, or numbers that do not belong together.

        Examples
        --------
        >>> Balance.typed("0,01", "600", "8 mg")
        Balance(readability=0.01, capacity=600.0, repeatability=0.008, linearity=None)
        """
        if not readability.strip():
            msg = "The balance needs its readability, the smallest step it shows. It is printed on it as 'd ='."
            raise RangeError(msg)
        return cls(
            _typed_grams(readability, "readability"),
            _typed_grams(capacity, "capacity") if capacity.strip() else 500.0,
            _typed_grams(repeatability, "repeatability") if repeatability.strip() else None,
            _typed_grams(linearity, "linearity") if linearity.strip() else None,
        )

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


def _typed_grams(text: str, name: str) -> float:
    """A number of grams, or a mass with its unit."""
    number, unit = split_number(text.strip().lstrip("±"))
    return magnitude(text.strip().lstrip("±"), "g", name=name) if unit else number
