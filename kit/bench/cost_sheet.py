"""The cost of a batch as it is shown: lines, packaging, labour, and the sums over them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from kit.bench.money import rounded, shared_out

if TYPE_CHECKING:
    import pandas as pd

    from kit.bench.purchases import ToBuy
    from kit.bench.weighing import Batch
    from kit.findings import Finding


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of a batch and what it costs.

    Attributes
    ----------
    grams
        What is taken from the packs: the batch's own target and the waste. [g]
    per_gram
        [currency/g]
    cost
        Exact; of what has a price. [currency]
    is_known
        False where it, or a part of it, has no price.
    how
        Where the cost comes from: the pack, or a stock's contents.
    """

    phase: int
    line: int
    material: str
    percent: float
    grams: float
    per_gram: float
    cost: float
    is_known: bool
    how: str


@dataclass(frozen=True, slots=True)
class PackLine:
    """An item of packaging: how many pieces the bottles take, and what they cost. [-, currency]"""

    name: str
    pieces: float
    cost: float


@dataclass(frozen=True)
class CostSheet:
    """What a batch costs.

    Attributes
    ----------
    batch, currency
        What was costed, in what.
    lines, packaging, labour
        The parts of the total; `shown` has them rounded so that they add up.
    product
        What reaches the bottles; cost per 100 g is of this. [g]
    bottles
        How many are filled; None where none are counted.
    waste_percent
        Of what is taken from the packs. [%]
    to_buy
        The smallest purchase from which the batch can be made.
    findings
        What has no price, and what to know about the list.
    """

    batch: Batch
    currency: str
    lines: tuple[CostLine, ...]
    packaging: tuple[PackLine, ...]
    labour: float
    product: float
    bottles: int | None
    waste_percent: float
    to_buy: tuple[ToBuy, ...]
    findings: tuple[Finding, ...]

    @cached_property
    def shown(self) -> tuple[float, ...]:
        """Each line, each item of packaging, then labour, rounded so that they add to `total_shown`. [currency]"""
        exact = [line.cost for line in self.lines] + [item.cost for item in self.packaging] + [self.labour]
        return tuple(shared_out(exact, self.currency))

    @cached_property
    def total(self) -> float:
        """Of the batch, exact. [currency]"""
        return self.materials_total + sum(item.cost for item in self.packaging) + self.labour

    @property
    def total_shown(self) -> float:
        """The total as it is printed: the sum of what is shown. [currency]"""
        return rounded(sum(self.shown), self.currency)

    @cached_property
    def materials_total(self) -> float:
        """Of the materials alone, exact. [currency]"""
        return sum(line.cost for line in self.lines)

    @property
    def per_bottle(self) -> float | None:
        """Of a filled bottle with its packaging; None where no bottles are counted. [currency]"""
        return self.total / self.bottles if self.bottles else None

    @property
    def per_100_g(self) -> float:
        """Of the product that reaches the bottles, all included. [currency]"""
        return 100.0 * self.total / self.product

    @property
    def materials_per_100_g(self) -> float:
        """The same of the materials alone. [currency]"""
        return 100.0 * self.materials_total / self.product

    @property
    def is_complete(self) -> bool:
        """True where everything has a price; otherwise the totals are "at least"."""
        return all(line.is_known for line in self.lines)

    @property
    def outlay(self) -> float:
        """What the whole packs cost from which the batch can be made, labour left out. [currency]"""
        return sum(item.cost for item in self.to_buy)

    def share(self, cost: float) -> float:
        """A cost as its share of the total. [%]"""
        return 100.0 * cost / self.total if self.total else 0.0

    def table(self) -> pd.DataFrame:
        """Every part of the total as a DataFrame; the column of costs adds to `total_shown`.

        What has no price has no figure per kg.
        """
        import pandas as pd

        phases = self.batch.formula.phases
        rows: list[list[object]] = []
        for line in self.lines:
            per_kg = line.per_gram * 1000 if line.is_known or line.cost else None
            rows.append([phases[line.phase].name, line.material, line.grams, per_kg, self.share(line.cost), line.how])
        rows += [["packaging", item.name, None, None, self.share(item.cost), ""] for item in self.packaging]
        if self.labour:
            rows.append(["labour", "labour", None, None, self.share(self.labour), ""])
        table = pd.DataFrame(rows, columns=["phase", "what", "g", f"{self.currency} per kg", "share %", "from"])
        table.insert(4, f"cost {self.currency}".strip(), list(self.shown[: len(rows)]))
        return table
