"""What a pump makes of a bottle: strokes before the first dose, how many doses there are, and how even they are."""

from __future__ import annotations

import math
from dataclasses import dataclass

from kit.errors import RangeError
from kit.inputs import Number, asked
from kit.units import magnitude

#: Half width of an interval that covers about 95 %, in standard uncertainties.
COVERAGE = 2.0


@dataclass(frozen=True, slots=True)
class Strokes:
    """A pump as its data sheet describes it, or as ten weighed strokes show it.

    Attributes
    ----------
    volume
        Of one stroke, as stated. [mL]
    tolerance
        How far the mean stroke of one pump may lie from that, either way. [± %]
    scatter
        Standard deviation of single strokes of one pump. [%]
    dead
        What tube and chamber hold: it has to be drawn before the first dose, and stays in them at the end. [mL]
    """

    volume: float
    tolerance: float = asked("A stroke may differ", Number(0, 90), 0.0, unit="± %", help="From pump to pump.")
    scatter: float = asked("Strokes scatter", Number(0, 90), 0.0, unit="%", help="Of one pump: standard deviation.")
    dead: float = asked("Tube and chamber hold", Number(0, 100), 0.0, unit="mL")

    def __post_init__(self) -> None:
        if not (self.volume > 0 and math.isfinite(self.volume)):
            msg = f"One stroke must be more than 0 mL, got {self.volume:g} mL."
            raise RangeError(msg)
        if not (0 <= self.tolerance < 100 and 0 <= self.scatter < 100):
            msg = (
                f"Tolerance and scatter of a stroke are 0 to less than 100 %, got {self.tolerance:g} and "
                f"{self.scatter:g} %."
            )
            raise RangeError(msg)
        if not (self.dead >= 0 and math.isfinite(self.dead)):
            msg = f"Tube and chamber cannot hold {self.dead:g} mL; give 0 or more."
            raise RangeError(msg)

    @property
    def priming(self) -> int:
        """Strokes that move air before the first full dose: what is dead ÷ one stroke, rounded up.

        Examples
        --------
        >>> Strokes(0.5, dead=1.3).priming, Strokes(0.5, dead=1.5).priming, Strokes(0.5).priming
        (3, 3, 0)
        """
        return math.ceil(self.dead / self.volume - 1e-9)

    def dose(self, strokes: int = 1) -> tuple[float, float]:
        """A dose of several strokes, and how far it may lie off. [mL, ± mL]

        The tolerance of the pump shifts all strokes alike (rectangular, GUM type B); the scatter of single strokes
        averages out.

        Raises
        ------
        RangeError
            Less than one stroke.

        References
        ----------
        .. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement, 4.3.7 and 5.1; coverage factor 2.

        Examples
        --------
        >>> one, off = Strokes(1.0, tolerance=10, scatter=3).dose()
        >>> print(f"{one:g} ± {off:.2f} mL")
        1 ± 0.13 mL
        """
        if strokes < 1:
            msg = f"A dose is one stroke or more, not {strokes}."
            raise RangeError(msg)
        shift = strokes * self.volume * self.tolerance / 100 / math.sqrt(3)
        single = math.sqrt(strokes) * self.volume * self.scatter / 100
        return strokes * self.volume, COVERAGE * math.hypot(shift, single)


@dataclass(frozen=True, slots=True)
class DoseCount:
    """How many doses a bottle gives: usually, and from the least to the most (about 95 %)."""

    usual: int
    least: int
    most: int
    priming: int
    left: float

    @property
    def sentence(self) -> str:
        """The answer in words."""
        spread = f", from {self.least} to {self.most}" if self.most > self.least else ""
        primed = (
            f" after {self.priming} stroke{'s' if self.priming != 1 else ''} to prime the pump" if self.priming else ""
        )
        return f"About {self.usual} doses{spread}{primed}; {self.left:.3g} mL stay in bottle, tube and chamber."


def count_doses(fill: object, pump: Strokes, *, strokes: int = 1, unreached: object = "0 mL") -> DoseCount:
    """How many doses a bottle gives, and how far that may lie off.

    Parameters
    ----------
    fill, unreached
        Product in the bottle, and what of it stays below the tip of the tube: "100 mL" or a pint quantity.
    strokes
        Of one dose.

    Raises
    ------
    RangeError
        Nothing to fill, less than one stroke a dose, or less than one dose within reach.

    References
    ----------
    .. [1] JCGM 100:2008, 5.1: of n = V/v the tolerance of v counts in full, the scatter of n strokes by 1/√n.

    Examples
    --------
    >>> found = count_doses("100 mL", Strokes(1.0, tolerance=10, scatter=3, dead=1.5), unreached="2.5 mL")
    >>> found.priming, found.usual, found.least, found.most
    (2, 96, 84, 107)
    """
    full, below = magnitude(fill, "mL", name="fill"), magnitude(unreached, "mL", name="unreached")
    if not full > 0 or not below >= 0:
        msg = f"Fill more than 0 mL and leave 0 mL or more below the tube, got {full:g} and {below:g} mL."
        raise RangeError(msg)
    one, _ = pump.dose(strokes)
    within = full - below - pump.dead
    if within < one * (1 - 1e-9):
        msg = (
            f"Of {full:g} mL only {max(within, 0):.3g} mL can be drawn: less than one dose of {one:g} mL. "
            "Fill more, or choose a smaller dose."
        )
        raise RangeError(msg)
    usual = within / one
    shift, single = pump.tolerance / 100 / math.sqrt(3), pump.scatter / 100 / math.sqrt(usual * strokes)
    off = COVERAGE * usual * math.hypot(shift, single)
    whole = math.floor(usual + 1e-9)
    return DoseCount(
        usual=whole,
        least=math.floor(max(usual - off, 0) + 1e-9),
        most=math.floor(usual + off + 1e-9),
        priming=pump.priming,
        left=full - whole * one,
    )
