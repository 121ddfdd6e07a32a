"""Alligation: mixing what is stronger with what is weaker to a strength between, exactly."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import gcd
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def exactly(number: float | Fraction) -> Fraction:
    """A number as it was written: 0.1 is one tenth, not the nearest binary number to it."""
    return number if isinstance(number, Fraction) else Fraction(Decimal(repr(float(number))))


@dataclass(frozen=True, slots=True)
class Alligation:
    """Two stocks mixed to a strength between; every number is an exact fraction.

    Attributes
    ----------
    strong, weak, wanted
        Strengths on one basis, in one unit.
    amount
        Of the mixture: a mass for w/w; for w/v and v/v a volume, as far as volumes add.
    """

    strong: Fraction
    weak: Fraction
    wanted: Fraction
    amount: Fraction

    @property
    def parts(self) -> tuple[int, int]:
        """Parts of the stronger and of the weaker, in the smallest whole numbers."""
        upper, lower = self.wanted - self.weak, self.strong - self.wanted
        scale = upper.denominator * lower.denominator
        whole = int(upper * scale), int(lower * scale)
        common = gcd(*whole)
        return whole[0] // common, whole[1] // common

    @property
    def stronger_amount(self) -> Fraction:
        """How much of the stronger stock. [as ``amount``]"""
        return self.amount * (self.wanted - self.weak) / (self.strong - self.weak)

    @property
    def weaker_amount(self) -> Fraction:
        """How much of the weaker stock or diluent. [as ``amount``]"""
        return self.amount - self.stronger_amount


def alligate(one: float, other: float, wanted: float, amount: float = 100.0) -> Alligation:
    """How much of two stocks gives a strength between them.

    Each stock takes as many parts as the *other* one lies away from the wanted strength. Parts are never
    rounded before they are multiplied up.

    Parameters
    ----------
    one, other
        Strengths in either order; 0 for a pure diluent. [one basis, one unit]
    amount
        Of the mixture. [a mass for w/w, a volume for the others]

    Raises
    ------
    RangeError
        The wanted strength does not lie between the two, or the amount is not above 0.

    References
    ----------
    .. [1] US Army Medical Department, Subcourse MD0802, Pharmaceutical Calculations, lesson 2.
    .. [2] OpenStax, Elementary Algebra 2e, section 5.5, mixture applications.

    Examples
    --------
    >>> made = alligate(70, 20, 30, 500)
    >>> made.parts, float(made.stronger_amount), float(made.weaker_amount)
    ((1, 4), 100.0, 400.0)
    """
    numbers = (one, other, wanted, amount)
    if not all(0 <= number < float("inf") for number in numbers) or not amount > 0:
        msg = f"Strengths must be 0 or more and the amount above 0; got {', '.join(f'{n:g}' for n in numbers)}."
        raise RangeError(msg)
    strong, weak = max(one, other), min(one, other)
    if strong == weak:
        msg = f"Both stocks are {strong:g}: mixed in any way they stay {strong:g}. Take two of different strengths."
        raise RangeError(msg)
    if not weak <= wanted <= strong:
        side, need = ("above", "stronger") if wanted > strong else ("below", "weaker")
        msg = (
            f"{wanted:g} cannot be mixed from {strong:g} and {weak:g}: it must lie between the two, and it lies "
            f"{side} both. Take a stock that is {need}, of {wanted:g} or {'more' if wanted > strong else 'less'}."
        )
        raise RangeError(msg)
    return Alligation(exactly(strong), exactly(weak), exactly(wanted), exactly(amount))


def medial(portions: Iterable[tuple[float, float]]) -> float:
    """The strength of a mixture of portions: alligation medial, Σ amount x strength ÷ Σ amount.

    Parameters
    ----------
    portions
        (amount, strength) of each. [one unit, one basis]

    Raises
    ------
    RangeError
        Nothing is mixed, or an amount or strength is below 0.

    References
    ----------
    .. [1] US Army Medical Department, Subcourse MD0802, Pharmaceutical Calculations, lesson 2.

    Examples
    --------
    >>> round(medial([(5, 2), (10, 4)]), 2)
    3.33
    """
    pairs = list(portions)
    if any(not (0 <= a < float("inf") and 0 <= s < float("inf")) for a, s in pairs) or not sum(a for a, _ in pairs) > 0:
        msg = "A mixture needs portions of 0 or more, together above 0, each with a strength of 0 or more."
        raise RangeError(msg)
    amounts = sum((exactly(a) for a, _ in pairs), Fraction(0))
    return float(sum((exactly(a) * exactly(s) for a, s in pairs), Fraction(0)) / amounts)


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A stock that may go into a mixture.

    Attributes
    ----------
    strength
        [the basis and unit of the wanted strength]
    most
        How much of it there is. [as the amount wanted]
    cost
        Of one unit of it, in money or in trouble; the cheapest mixture is taken.
    """

    name: str
    strength: float
    most: float = float("inf")
    cost: float = 0.0


@sound()
def mix_from_many(shelf: Sequence[OnShelf], wanted: float, amount: float) -> dict[str, float]:
    """The cheapest mixture of many stocks that has the wanted strength. {name: amount}

    A linear programme: what is taken adds to ``amount``, what it holds to ``wanted`` x ``amount``, nothing goes
    below 0 or above what there is. SciPy finds which stocks take part; their amounts are then solved in exact
    fractions. Without costs, it prefers what lies near the wanted strength.

    Raises
    ------
    RangeError
        There is not enough on the shelf, or what there is cannot be mixed so strong or so weak; the sentence
        names the strongest or weakest that can.

    References
    ----------
    .. [1] G. B. Dantzig, "Linear Programming and Extensions" (1963), chapter 3: the blending problem.

    Examples
    --------
    >>> shelf = [OnShelf("water", 0), OnShelf("ten", 10, most=30), OnShelf("fifty", 50)]
    >>> mix_from_many(shelf, 8, 100)
    {'water': 60.0, 'ten': 30.0, 'fifty': 10.0}
    """
    _check_shelf(shelf, wanted, amount)
    strengths, bounds = [exactly(s.strength) for s in shelf], [min(s.most, amount) for s in shelf]
    total, target = exactly(amount), exactly(wanted)
    highest, lowest = (_extreme(shelf, total, strongest=up) for up in (True, False))
    if not lowest <= target <= highest:
        word, end = ("strong", highest) if target > highest else ("weak", lowest)
        msg = (
            f"{wanted:g} is too {word} for what is on the shelf: {amount:g} of it mixed come to {float(end):.4g} at "
            f"{'most' if word == 'strong' else 'least'}. Add a {word}er stock, or make less."
        )
        raise RangeError(msg)
    from scipy.optimize import linprog

    # The solver counts 1e-7 as nothing, so it is given parts of the amount, and strengths and costs as parts of the
    # largest: a gram and a microgram are then mixed alike.
    apart = [float(strength - target) for strength in strengths]
    costs = [s.cost for s in shelf]
    if len(set(costs)) == 1:
        costs = [abs(far) ** 0.5 for far in apart]
    farthest, dearest = max(map(abs, apart)) or 1.0, max(map(abs, costs)) or 1.0
    equal = [[1.0] * len(shelf), [far / farthest for far in apart]]
    parts = [min(most / amount, 1.0) for most in bounds]
    dear = [cost / dearest for cost in costs]
    found = linprog(dear, A_eq=equal, b_eq=[1.0, 0.0], bounds=[(0, part) for part in parts], method="highs-ds")
    if found.x is None:
        msg = f"No mixture of these stocks comes to {wanted:g} closely enough to be computed. Take fewer stocks."
        raise RangeError(msg)
    taken = [float(part) * amount for part in found.x]
    exact = _settle(taken, strengths, [exactly(most) for most in bounds], total, target)
    if min(exact) < 0 or any(x > exactly(most) for x, most in zip(exact, bounds, strict=True)):
        msg = f"No mixture of these stocks comes to {wanted:g} closely enough to be computed. Take fewer stocks."
        raise RangeError(msg)
    return {s.name: float(x) for s, x in zip(shelf, exact, strict=True) if x}


def _check_shelf(shelf: Sequence[OnShelf], wanted: float, amount: float) -> None:
    if not (amount > 0 and 0 <= wanted < float("inf")) or any(not (s.strength >= 0 and s.most >= 0) for s in shelf):
        msg = "Strengths and what there is must be 0 or more, and the amount wanted above 0."
        raise RangeError(msg)
    there = sum(s.most for s in shelf)
    if there < amount:
        msg = f"All stocks together are {there:g}, less than the {amount:g} wanted. Make less, or make more stock."
        raise RangeError(msg)


def _extreme(shelf: Sequence[OnShelf], total: Fraction, *, strongest: bool) -> Fraction:
    """The strongest or weakest that the shelf gives at this amount: fill up from that end."""
    left, held = total, Fraction(0)
    for stock in sorted(shelf, key=lambda s: s.strength, reverse=strongest):
        taken = left if stock.most >= left else exactly(stock.most)
        left, held = left - taken, held + taken * exactly(stock.strength)
    return held / total


def _settle(
    found: list[float], strengths: list[Fraction], most: list[Fraction], total: Fraction, target: Fraction
) -> list[Fraction]:
    """The vertex that the programme found, in exact fractions: all but two amounts stand at a bound."""
    slack = [min(x, float(m) - x) for x, m in zip(found, most, strict=True)]
    inside = sorted(range(len(found)), key=lambda n: -slack[n])
    first = inside[0]
    second = next(n for n in [*inside[1:], first] if strengths[n] != strengths[first] or n == first)
    exact = [m if x > float(m) / 2 else Fraction(0) for x, m in zip(found, most, strict=True)]
    exact[first] = exact[second] = Fraction(0)
    left = total - sum(exact, Fraction(0))
    held = target * total - sum((x * s for x, s in zip(exact, strengths, strict=True)), Fraction(0))
    if first == second:
        exact[first] = left
        return exact
    exact[second] = (held - left * strengths[first]) / (strengths[second] - strengths[first])
    exact[first] = left - exact[second]
    return exact
