"""What the materials of 100 g of a formula cost, whatever batch it is made in."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from kit.bench.cost import cost
from kit.bench.money import money
from kit.bench.weighing import weigh
from kit.errors import KitError

if TYPE_CHECKING:
    from kit.bench.price import PriceList
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula


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
    >>> from kit.bench.prices import demo_prices
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
