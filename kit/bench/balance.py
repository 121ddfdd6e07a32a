"""A balance as its plate describes it, and the least it can weigh."""

from __future__ import annotations

from dataclasses import dataclass

from kit.errors import RangeError
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
        Standard deviation of repeated weighings of one load; None if not known. [g]
    """

    readability: float = 0.01
    capacity: float = 500.0
    repeatability: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.readability < self.capacity:
            msg = (
                f"The readability, {self.readability:g} g, must lie between 0 and the capacity, {self.capacity:g} g. "
                "It is printed on the balance as 'd ='."
            )
            raise RangeError(msg)
        if self.repeatability is not None and not self.repeatability >= 0:
            msg = f"The repeatability must be 0 g or more, got {self.repeatability:g} g."
            raise RangeError(msg)

    @classmethod
    def of(cls, readability: object, capacity: object = "500 g") -> Balance:
        """A balance from quantities: ``Balance.of("0.01 g", "600 g")``."""
        return cls(magnitude(readability, "g", name="readability"), magnitude(capacity, "g", name="capacity"))

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
        scatter = max(self.repeatability or 0.0, LEAST_REPEATABILITY * self.readability)
        return 2.0 * scatter / (tolerance / 100.0)
