"""Bring a product to a pH with a stock: what was measured, the dose read from it, and that dose in the next batch."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, pairwise
from math import inf
from statistics import fmean
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place
from kit.formula.editing import add_lines, set_line, settled
from kit.formula.model import Line, require_complete
from kit.inputs import Amount, Number, Rows, Text, asked
from kit.rounding import all_digits
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.formula.model import Formula


#: What a pocket pH meter that was set with two buffers agrees with itself to (common practice).
METER = 0.05

#: Above this the pH between two points is hardly a straight line (common practice).
WIDE_STEP = 1.0


@dataclass(frozen=True, slots=True)
class Reading:
    """The pH after so much stock in all. [g, -]"""

    grams: float
    ph: float

    def __post_init__(self) -> None:
        if not 0 <= self.grams < float("inf"):
            msg = f"The stock added must be 0 g or more, got {self.grams:g} g. Count all that has gone in so far."
            raise RangeError(msg)
        if not 0 <= self.ph <= 14:
            msg = f"A pH of {self.ph:g} is off the scale of a meter, 0 to 14. Look at the reading again."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Dose:
    """How much stock reaches a target, and the two readings between which it lies.

    Attributes
    ----------
    grams
        Of stock, into ``product`` grams. [g]
    low, high
        The readings on either side, by amount; the same one twice where the target was itself measured.
    """

    target: float
    grams: float
    product: float
    low: Reading
    high: Reading

    @property
    def percent(self) -> float:
        """Stock in what was mixed: 100 × stock / (product + stock). [% w/w]"""
        return 100.0 * self.grams / (self.product + self.grams)

    @property
    def per_100(self) -> float:
        """Stock per 100 g of product. [g]"""
        return 100.0 * self.grams / self.product

    @property
    def sentence(self) -> str:
        """The result in words."""
        per = f"{self.per_100:.3g} g per 100 g of product"
        if self.low == self.high:
            return f"pH {self.target:g} was measured itself, at {self.grams:.4g} g of stock: {per}."
        return (
            f"pH {self.target:g} lies at about {self.grams:.3g} g of stock ({per}), on the straight line between "
            f"{self.low.grams:g} g (pH {self.low.ph:g}) and {self.high.grams:g} g (pH {self.high.ph:g}). "
            "Add a little less, stir, wait, measure, and creep up."
        )


@dataclass(frozen=True, slots=True)
class Titration:
    """A log of stock added to a known mass of product.

    Attributes
    ----------
    product
        Before anything was added. [g]
    readings
        By amount of stock; readings of one amount are already drawn together into their mean.
    repeats
        Amounts that were read more than once, and how far those readings lie apart. [g, -]
    """

    product: float
    readings: tuple[Reading, ...]
    stock: str = ""
    repeats: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, product: object, readings: Iterable[tuple[float, float]], stock: str = "") -> Titration:
        """A log from pairs of grams of stock added in all and pH, in any order.

        Parameters
        ----------
        product
            Its mass: "100 g" or a pint quantity.

        Raises
        ------
        RangeError
            No product, a pH off the scale, or fewer than two different amounts.

        Examples
        --------
        >>> log = Titration.of("100 g", [(0, 6.2), (1, 5.1), (2, 4.4)])
        >>> round(log.to_reach(4.75).grams, 2)
        1.5
        """
        mass = magnitude(product, "g", name="product")
        if not mass > 0:
            msg = f"The product must weigh more than 0 g, got {mass:g} g."
            raise RangeError(msg)
        ordered = sorted((Reading(grams, ph) for grams, ph in readings), key=lambda one: (one.grams, one.ph))
        found, repeats = [], []
        for grams, group in groupby(ordered, key=lambda one: one.grams):
            values = [one.ph for one in group]
            found.append(Reading(grams, fmean(values) if len(values) > 1 else values[0]))
            if len(values) > 1:
                repeats.append((grams, max(values) - min(values)))
        if len(found) < 2:
            msg = (
                "Two readings at least are needed: the pH before any stock (0 g), and after some. "
                f"There {'is only one amount' if found else 'is none'} yet."
            )
            raise RangeError(msg)
        return cls(mass, tuple(found), stock, tuple(repeats))

    @property
    def measured_range(self) -> tuple[float, float]:
        """The lowest and the highest pH measured."""
        values = [one.ph for one in self.readings]
        return min(values), max(values)

    def to_reach(self, target: float) -> Dose:
        """The stock at which the pH passes the target, on straight lines between neighbouring readings.

        Raises
        ------
        RangeError
            The target lies outside what was measured (nothing is extrapolated), or the readings pass it more
            than once.
        """
        lowest, highest = self.measured_range
        if not lowest <= target <= highest:
            msg = (
                f"pH {target:g} lies outside what was measured, pH {lowest:.4g} to {highest:.4g}, and nothing is "
                "guessed beyond it. Add more stock, or start again with less, and measure until it lies between."
            )
            raise RangeError(msg)
        found = self._crossings(target)
        if len(found) > 1:
            places = " and ".join(f"{low.grams:g} to {high.grams:g} g" for low, high in found)
            msg = (
                f"The readings pass pH {target:g} more than once: at {places}. "
                "One of them is off: stir well, let the meter settle, and measure those points again."
            )
            raise RangeError(msg)
        low, high = found[0]
        if low == high:
            return Dose(target, low.grams, self.product, low, high)
        share = (target - low.ph) / (high.ph - low.ph)
        return Dose(target, low.grams + share * (high.grams - low.grams), self.product, low, high)

    def _crossings(self, target: float) -> list[tuple[Reading, Reading]]:
        """The readings at the target, and the pairs of neighbours that have it strictly between them."""
        exact = [(one, one) for one in self.readings if one.ph == target]
        between = [(low, high) for low, high in pairwise(self.readings) if (low.ph - target) * (high.ph - target) < 0]
        return sorted(exact + between, key=lambda pair: pair[0].grams)

    @property
    def findings(self) -> list[Finding]:
        """What to say about the log: repeats that disagree, steps back, gaps."""
        here = Place(field="readings")
        found = [
            Finding("caution", f"The readings at {grams:g} g differ by {apart:.2g}: their mean is used.", here)
            for grams, apart in self.repeats
            if apart > 2 * METER
        ]
        falls = self.readings[-1].ph < self.readings[0].ph
        for low, high in pairwise(self.readings):
            step = high.ph - low.ph
            if abs(step) > METER and (step < 0) != falls:
                found.append(
                    Finding(
                        "caution",
                        f"From {low.grams:g} to {high.grams:g} g the pH goes {'up' if step > 0 else 'down'} by "
                        f"{abs(step):.2g}, against all the rest. Measure these two again.",
                        here,
                        "common practice",
                    )
                )
            elif abs(step) > WIDE_STEP:
                found.append(
                    Finding(
                        "note",
                        f"Between {low.grams:g} and {high.grams:g} g the pH moves by {abs(step):.2g}: too far for a "
                        "straight line. Measure a point between.",
                        here,
                        "common practice",
                    )
                )
        return found


@dataclass(frozen=True, slots=True)
class Titrating:
    """What a maker says of a sample that is brought to a pH: its mass, the stock, the target and what was read.

    Attributes
    ----------
    product
        Before anything was added. [g]
    readings
        By line: the stock added in all, and the pH then.
    """

    product: float = asked("Sample", Amount("g", 0.1, 1e6), 100.0, unit="g")
    stock: str = asked("Stock added", Text("name"), example="its name")
    target: float = asked("Target pH", Number(0, 14), 5.0)
    readings: tuple[Reading, ...] = asked(
        "Stock in all and pH", Rows(Reading, {"g": (0, inf), "pH": (0, 14)}), (), example="0 6.2",
        help="A line for each reading: all the stock that has gone in so far, in g, then the pH, such as 0.5 5.42.",
    )  # fmt: skip

    @property
    def mass(self) -> str:
        """Of the sample, with its unit."""
        return f"{all_digits(self.product)} g"

    @property
    def log(self) -> Titration:
        """The log of it; raises a RangeError as :meth:`Titration.of`."""
        return Titration.of(self.mass, [(one.grams, one.ph) for one in self.readings], self.stock)


#: A dose is carried over to this many decimals, far finer than any meter reads. [% w/w]
DIGITS = 5


@dataclass(frozen=True, slots=True)
class Adjustment:
    """A dose carried into a formula.

    Attributes
    ----------
    line
        As it stands in the formula now: the stock with its whole percent.
    phase
        The phase it stands in.
    added
        More of the stock than before, and so much less of ``displaced``. [% w/w]
    displaced, left
        The line that gives way, and what is left of it. [-, % w/w]
    formula
        The formula with the line in it.
    """

    line: Line
    phase: int
    added: float
    displaced: str
    left: float
    formula: Formula


def as_line(formula: Formula, dose: Dose, stock: str) -> Adjustment:
    """The line that brings the next batch to the measured pH, and what it displaces.

    The product that was titrated is taken to be this formula as it stands. So much stock is added to 100 % that
    its ratio to every other line is the one that was measured, and the filling line gives way by as much: the
    next batch holds that much less of it (mostly water) than what was measured.

    Raises
    ------
    EntryError
        No stock is named.
    RangeError
        The formula is not complete, no line fills up to 100 %, or there is too little of it.

    Examples
    --------
    >>> from kit.bench.titration import Titration
    >>> from kit.formula.model import Formula, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    >>> dose = Titration.of("100 g", [(0, 6.2), (1, 5.1), (2, 4.4)]).to_reach(4.75)
    >>> made = as_line(toner, dose, "Citric Acid 10 % stock")
    >>> made.line.entry, made.displaced, round(made.left, 2)
    ('1.5', 'Aqua', 95.5)
    """
    if not stock.strip():
        msg = "Name the stock that was added, such as 'Citric Acid 10 % stock'."
        raise EntryError(msg)
    percents = require_complete(formula, "adjusted")
    formula = settled(formula)
    p, i = _filling_line(formula)
    filler, there, added = formula.phases[p].lines[i], percents[p][i], round(dose.per_100, DIGITS)
    if added > there:
        msg = f"{added:.4g} % of {stock} is more than the {there:.4g} % of {filler.material}. Use a stronger stock."
        raise RangeError(msg)
    inferred = formula.resolution.batch_mass is not None and formula.written_for is None
    changed = formula.with_percents(percents) if inferred else formula
    if formula.resolution.rest_at != (p, i):
        changed = set_line(changed, p, i, entry=_entry(there - added))
    old = next(
        ((q, n) for q, n, line, _ in formula.each_line() if line.material.casefold() == stock.strip().casefold()), None
    )
    if old == (p, i):
        msg = f"{stock} is itself the line that fills up to 100 %, so nothing can give way to it. Let water fill up."
        raise RangeError(msg)
    if old is not None:
        changed = set_line(changed, *old, entry=_entry(percents[old[0]][old[1]] + added))
    else:
        old = p, len(formula.phases[p].lines)
        changed = add_lines(changed, p, old[1], [Line(stock.strip(), _entry(added), "share")])
    return Adjustment(changed.phases[old[0]].lines[old[1]], old[0], added, filler.material, there - added, changed)


def _entry(percent: float) -> str:
    """A percent as text without the noise of the last binary digits."""
    return f"{percent:.10f}".rstrip("0").rstrip(".")


def _filling_line(formula: Formula) -> tuple[int, int]:
    """The q.s. line, or else the line that fills the water layer."""
    if formula.resolution.rest_at is not None:
        return formula.resolution.rest_at
    for p, i, line, _ in formula.each_line():
        if line.hold == "fill" and formula.phases[p].kind == "water":
            return p, i
    msg = f"No line of {formula.title} fills up to 100 %, so nothing can give way. Type q.s. for its water."
    raise RangeError(msg)
