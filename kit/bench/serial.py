"""Serial dilution and aliquots: a little of something, measured in steps that the balance or pipette can do."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations_with_replacement
from math import ceil, inf, prod
from typing import TYPE_CHECKING

from kit.bench.alligation import exactly
from kit.errors import RangeError
from kit.rounding import round_to_step
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Factors that are easy to work with and to check.
EASY_FACTORS = (1.25, 1.5, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 20.0, 25.0, 40.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
MOST_STEPS = 8
#: Up to so many steps every set of easy factors is tried; beyond, only equal ones.
MOST_SEARCHED = 3


@dataclass(frozen=True, slots=True)
class DilutionStep:
    """One step: take of the solution before, make up with diluent.

    Attributes
    ----------
    take, diluent, makes
        What is taken of the solution before, what is added, and both together. [g or mL]
    strength
        Of what it makes. [unit of the strengths given]
    left_over
        What the next step (or the one who wanted it) does not use. [g or mL]
    """

    take: float
    diluent: float
    makes: float
    strength: float
    left_over: float

    @property
    def factor(self) -> float:
        """How many times weaker: 1 in ``factor``."""
        return self.makes / self.take


@dataclass(frozen=True, slots=True)
class SerialPlan:
    """Steps from a strong solution to a weak one.

    Attributes
    ----------
    wanted, amount
        What was asked for. [strength; g or mL]
    unit
        "g" or "mL".
    """

    start: float
    wanted: float
    amount: float
    steps: tuple[DilutionStep, ...]
    unit: str = "g"

    @property
    def reached(self) -> float:
        """The strength that the rounded amounts give."""
        return self.steps[-1].strength

    @property
    def waste(self) -> float:
        """What is made and not used, in all. [g or mL]"""
        return sum(step.left_over for step in self.steps)

    def sentences(self, counted: str = "") -> list[str]:
        """The steps in words, with what the strengths count in, such as "% w/w"."""
        said, before = [], "the stock"
        for n, step in enumerate(self.steps, start=1):
            over = f", of which {step.left_over:.6g} {self.unit} stay over" if step.left_over > 1e-9 else ""
            said.append(
                f"Take {step.take:.6g} {self.unit} of {before} and make up to {step.makes:.6g} {self.unit} "
                f"(1 in {step.factor:.6g}): {f'{step.strength:.6g} {counted}'.strip()}{over}."
            )
            before = f"solution {n}"
        return said


@sound(least=("readability",))
def serial_plan(
    from_strength: float,
    to_strength: float,
    amount: float,
    least: float,
    most: float,
    *,
    readability: float = 0.0,
    unit: str = "g",
    steps: int | None = None,
) -> SerialPlan:
    """The steps that dilute so far with few vessels and little thrown away.

    Parameters
    ----------
    from_strength, to_strength
        On one basis, in one unit.
    amount
        Wanted of the weak solution; more is made where the least asks for it. [g or mL]
    least
        The smallest amount that may be measured out: the balance's least weight or the pipette's. [g or mL]
    most
        The largest amount of one step: what vessel or balance holds. [g or mL]
    readability
        What is measured out is rounded to this step; 0 for no rounding. [g or mL]
    steps
        Ask for this many steps instead of the best number.

    Notes
    -----
    Every step takes at least ``least`` and makes at most ``most``, so it weakens at most ``most / least`` times;
    the fewest steps follow from that. A further step is taken only where it throws away so much less that it
    saves more than the wanted amount. All factors but one are easy numbers (2, 5, 10, 20 …) where that costs
    little; the remaining one is whatever makes the strength exact.

    Raises
    ------
    RangeError
        Strengths, amounts or limits that do not fit together.

    References
    ----------
    .. [1] OpenStax, Chemistry 2e, section 3.3, "Dilution of solutions", applied step by step.

    Examples
    --------
    >>> plan = serial_plan(10, 0.01, 100, least=1, most=200)
    >>> [(step.take, step.makes, round(step.strength, 6)) for step in plan.steps]
    [(1.0, 10.0, 1.0), (1.0, 100.0, 0.01)]
    """
    _check(from_strength, to_strength, amount, least, most, unit)
    ratio = exactly(from_strength) / exactly(to_strength)
    low, high, final = exactly(least), exactly(most), exactly(amount)
    fewest = _fewest(ratio, high / low)
    if steps is not None and not fewest <= steps <= MOST_STEPS:
        msg = (
            f"Between {least:g} and {most:g} {unit} one step weakens at most {most / least:.4g} times; diluting "
            f"{float(ratio):.6g} times takes from {fewest} to {MOST_STEPS} steps, not {steps}."
        )
        raise RangeError(msg)
    counts = range(fewest, min(fewest + 2, MOST_STEPS) + 1) if steps is None else (steps,)
    found = [_best(ratio, count, final, low, high) for count in counts]
    factors = min(found, key=lambda plan: (plan[0] + amount * len(plan[1]), len(plan[1])))[1]
    return _rounded(_amounts(factors, final, low), from_strength, to_strength, final, readability, unit)


def _check(start: float, wanted: float, amount: float, least: float, most: float, unit: str) -> None:
    if not all(0 < number < inf for number in (start, wanted, amount, least, most)):
        msg = "Strengths, the amount, the least and the most that can be measured must all be above 0."
        raise RangeError(msg)
    if wanted >= start:
        msg = (
            f"A solution of {start:g} cannot be diluted to {wanted:g}: diluting only weakens. "
            f"Use a stock stronger than {wanted:g}."
        )
        raise RangeError(msg)
    if amount > most or least * 1.2 > most:
        msg = (
            f"{amount:g} {unit} is more than one step can hold, {most:g} {unit}. Make it in parts."
            if amount > most
            else f"The least that can be measured, {least:g} {unit}, is too near the most of one step, {most:g} {unit}."
        )
        raise RangeError(msg)


def _fewest(ratio: Fraction, span: Fraction) -> int:
    count, reach = 1, span
    while reach < ratio:
        count, reach = count + 1, reach * span
        if count > MOST_STEPS:
            msg = (
                f"Diluting {float(ratio):.4g} times would take more than {MOST_STEPS} steps. "
                "Start from a weaker stock, or use a larger vessel."
            )
            raise RangeError(msg)
    return count


def _best(ratio: Fraction, count: int, final: Fraction, low: Fraction, high: Fraction) -> tuple[float, list[Fraction]]:
    """(waste, factors) of the best plan with this many steps; searched in floats, returned exact."""
    whole, span = float(ratio), float(high / low)
    best: tuple[float, float, tuple[float, ...], int] | None = None
    for easy, surcharge in _splits(whole, count, span):
        rest = whole / prod(easy)
        if not 1 < rest <= span * (1 + 1e-12):
            continue
        for place in {0, count - 1}:
            waste = _waste([*easy[:place], rest, *easy[place:]], float(final), float(low), float(high))
            if waste is not None:
                score = (waste * surcharge, max(*easy, rest) / min(*easy, rest) if easy else 1.0, easy, place)
                best = score if best is None or score < best else best
    if best is None:
        return inf, []
    _, _, easy, place = best
    exact = [Fraction(factor) for factor in easy]
    exact.insert(place, ratio / prod(exact, start=Fraction(1)))
    return best[0], exact


def _splits(ratio: float, count: int, span: float) -> Iterator[tuple[tuple[float, ...], float]]:
    """All factors but one of every plan worth trying, and what its waste is counted at.

    An odd factor is accepted only where it saves a tenth of the waste or more.
    """
    usable = [factor for factor in EASY_FACTORS if factor <= span]
    if count <= MOST_SEARCHED:
        yield from ((easy, 1.0) for easy in combinations_with_replacement(usable, count - 1))
    else:
        yield from (((factor,) * (count - 1), 1.0) for factor in usable)
    yield (ratio ** (1 / count),) * (count - 1), 1.1
    stretched: tuple[float, ...] = ()
    for left in range(count - 1, 0, -1):
        stretched = (*stretched, min(span * (1 - 1e-12), ratio / prod(stretched) / 1.0001**left))
    yield stretched, 1.1


def _waste(factors: list[float], final: float, low: float, high: float) -> float | None:
    """What is made and not used; None where a step would not fit its vessel or could not weaken."""
    waste, needed = 0.0, final
    for factor in reversed(factors):
        take = max(needed / factor, low)
        made = take * factor
        if made > high * (1 + 1e-12) or factor <= 1:
            return None
        waste, needed = waste + made - needed, take
    return waste


def _amounts(factors: list[Fraction], final: Fraction, low: Fraction) -> list[tuple[Fraction, Fraction]]:
    """What each step takes and makes, worked backwards from what is wanted."""
    amounts: list[tuple[Fraction, Fraction]] = []
    needed = final
    for factor in reversed(factors):
        take = max(needed / factor, low)
        amounts.insert(0, (take, take * factor))
        needed = take
    return amounts


def _rounded(
    amounts: list[tuple[Fraction, Fraction]],
    start: float,
    wanted: float,
    final: Fraction,
    readability: float,
    unit: str,
) -> SerialPlan:
    takes = [round_to_step(float(take), readability) if readability else float(take) for take, _ in amounts]
    made = [round_to_step(float(make), readability) if readability else float(make) for _, make in amounts]
    steps, strength = [], exactly(start)
    for n, (take, makes) in enumerate(zip(takes, made, strict=True)):
        strength = strength * exactly(take) / exactly(makes)
        used = takes[n + 1] if n + 1 < len(takes) else float(final)
        steps.append(DilutionStep(take, makes - take, makes, float(strength), max(makes - used, 0.0)))
    return SerialPlan(start, wanted, float(final), tuple(steps), unit)


@dataclass(frozen=True, slots=True)
class Aliquot:
    """A small dose of a solid, measured by way of a larger mixture.

    Attributes
    ----------
    weigh, multiple
        What to weigh of the solid, and how many doses that is.
    diluent, total
        What to mix it with, and the whole mixture.
    portion
        The part of the mixture that holds one dose.
    """

    weigh: float
    multiple: int
    diluent: float
    total: float
    portion: float


@sound()
def aliquot(needed: float, least: float, portion: float | None = None) -> Aliquot:
    """Measure less than the balance can weigh: weigh a whole multiple, mix with diluent, take a part.

    Parameters
    ----------
    needed
        The dose. [g, or any unit of mass that the others share]
    least
        The least that the balance may weigh.
    portion
        The part of the mixture that is to hold the dose; at least ``least``, which it is unless given.

    Raises
    ------
    RangeError
        The dose can be weighed directly, or a portion too small to weigh or to hold the dose.

    References
    ----------
    .. [1] "Accurate weighing for prescriptions", textbook chapter: the aliquot method.

    Examples
    --------
    >>> aliquot(2, 120, 125)
    Aliquot(weigh=120.0, multiple=60, diluent=7380.0, total=7500.0, portion=125.0)
    """
    portion = least if portion is None else portion
    if not (0 < needed < inf and 0 < least < inf and 0 < portion < inf):
        msg = "The dose, the least weight and the portion must all be above 0."
        raise RangeError(msg)
    if needed >= least:
        msg = f"{needed:g} can be weighed directly: the balance weighs {least:g} and more. No aliquot is needed."
        raise RangeError(msg)
    if portion < least:
        msg = f"A portion of {portion:g} is below the least weight, {least:g}. Take a portion of {least:g} or more."
        raise RangeError(msg)
    multiple = ceil(exactly(least) / exactly(needed))
    weigh, total = multiple * exactly(needed), multiple * exactly(portion)
    return Aliquot(float(weigh), multiple, float(total - weigh), float(total), float(portion))
