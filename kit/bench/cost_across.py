"""What a formula costs at every ratio of its layers.

Each line is affine in the oil layer's share, so the cost is too: two numbers hold its whole story, and the ratios
at which a line would fall below zero are where it ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

from kit.bench.cost import cost
from kit.bench.unit_costs import UnitCosts, taken_per_gram
from kit.bench.weighing import weigh
from kit.errors import KitError, RangeError
from kit.money import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.price_list import PriceList
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import PhaseKind


#: A line so little below zero is taken to be at zero. [% w/w]
NOTHING = 1e-9


class Path(Protocol):
    """A formula at every ratio, percent = base + slope x oil; :class:`kit.layers.ratio.RatioPath` is one."""

    @property
    def formula(self) -> Formula:
        """Where it starts from."""

    @property
    def start(self) -> float:
        """The oil layer there. [% w/w of the whole]"""

    @property
    def most(self) -> float:
        """The oil layer when there is no water layer left. [% w/w of the whole]"""

    @property
    def base(self) -> tuple[float, ...]:
        """One per line, phases in order. [% w/w]"""

    @property
    def slope(self) -> tuple[float, ...]:
        """One per line. [% w/w per % of oil layer]"""


@dataclass(frozen=True, slots=True)
class CostPart:
    """A phase's share in the cost of 100 g: base + slope x oil. [currency, currency per % of oil layer]"""

    name: str
    kind: PhaseKind
    base: float
    slope: float

    def at(self, oil: float) -> float:
        """At this oil layer. [currency]"""
        return self.base + self.slope * oil


@dataclass(frozen=True, slots=True)
class CostAcross:
    """The cost of 100 g of product across the ratios, materials and waste only.

    Attributes
    ----------
    parts
        One for each phase.
    now
        The oil layer the path starts from. [% w/w of the whole]
    low, high
        Between these no line is below zero. [% w/w of the whole]
    missing
        What has no price; where there is any, each cost is "at least".
    """

    currency: str
    parts: tuple[CostPart, ...]
    now: float
    low: float
    high: float
    missing: tuple[str, ...]

    def at(self, oil: float) -> float:
        """Of 100 g at this oil layer. [currency]

        Raises
        ------
        RangeError
            A line would be below zero there.
        """
        if not self.low - NOTHING <= oil <= self.high + NOTHING:
            msg = f"An oil layer of {oil:.4g} % cannot be made: it goes from {self.low:.4g} to {self.high:.4g} %."
            raise RangeError(msg)
        return sum(part.at(oil) for part in self.parts)

    @property
    def slope(self) -> float:
        """How much dearer 100 g get with each percent of oil layer. [currency per %]"""
        return sum(part.slope for part in self.parts)

    def points(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both ends: (oil layer, cost of 100 g); between them the cost runs straight. [% w/w, currency]"""
        return (self.low, self.at(self.low)), (self.high, self.at(self.high))


def cost_across(path: Path, materials: Materials, prices: PriceList, *, waste_percent: float = 0.0) -> CostAcross:
    """The cost of 100 g at every ratio.

    Parameters
    ----------
    path
        See :class:`kit.layers.ratio.RatioPath`.
    waste_percent
        What never reaches the vessel, in % of what is taken from the packs.

    Raises
    ------
    RangeError
        Waste out of its range.
    CompositionError
        A stock that is part of itself.

    Examples
    --------
    >>> from kit.bench.price_list import demo_prices
    >>> from kit.demos import demo
    >>> from kit.formula.expansion import Materials
    >>> from kit.layers.ratio import RatioPath
    >>> from kit.library.library import Library
    >>> across = cost_across(RatioPath.of(demo()), Materials.of(demo(), Library.bundled()), demo_prices())
    >>> [part.name for part in across.parts]
    ['Water layer', 'Oil layer']
    """
    units, taken = UnitCosts(prices, materials), taken_per_gram(waste_percent)
    sums = [[0.0, 0.0] for _ in path.formula.phases]
    missing: dict[str, str] = {}
    for (p, _, line, _), base, slope in zip(path.formula.each_line(), path.base, path.slope, strict=True):
        if line.is_blank or not (base or slope):
            continue
        unit = units.of(line.material)
        missing.update(unit.missing)
        sums[p][0] += base * taken * unit.per_gram
        sums[p][1] += slope * taken * unit.per_gram
    parts = [
        CostPart(phase.name, phase.kind, base, slope)
        for phase, (base, slope) in zip(path.formula.phases, sums, strict=True)
        if phase.lines
    ]
    low, high = _possible(path.base, path.slope, path.most)
    return CostAcross(units.currency, tuple(parts), path.start, low, high, tuple(missing))


def _possible(base: Sequence[float], slope: Sequence[float], most: float) -> tuple[float, float]:
    """Between which oil layers no line is below zero. [% w/w of the whole]"""
    rising = [-b / s for b, s in zip(base, slope, strict=True) if s > NOTHING]
    falling = [-b / s for b, s in zip(base, slope, strict=True) if s < -NOTHING]
    return max([0.0, *rising]), min([most, *falling])


class Cost100(NamedTuple):
    """The cost of 100 g; "at least" that where it is not complete. [currency]"""

    amount: float
    currency: str
    is_complete: bool

    @property
    def text(self) -> str:
        """In words, such as "at least 1.20 EUR"."""
        return ("" if self.is_complete else "at least ") + money(self.amount, self.currency)


def cost_per_100_g(formula: Formula, materials: Materials, prices: PriceList) -> Cost100 | None:
    """The materials of 100 g; None where there are no prices, or the formula cannot be weighed yet.

    Examples
    --------
    >>> from kit.bench.price_list import demo_prices
    >>> from kit.demos import demo
    >>> from kit.formula.expansion import Materials
    >>> from kit.library.library import Library
    >>> cost_per_100_g(demo(), Materials.of(demo(), Library.bundled()), demo_prices()).text
    '0.93 EUR'
    """
    try:
        made = cost(weigh(formula, "100 g"), materials, prices)
    except KitError:
        return None
    return Cost100(made.materials_per_100_g, made.currency, made.is_complete) if made.currency else None
