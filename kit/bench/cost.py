"""What a batch costs: by line, by bottle and by 100 g, with waste and packaging, rounded so that it adds up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING

from kit.bench.price_list import PriceList, name_key
from kit.bench.unit_costs import NO_PRICE, UnitCosts, packs_to_buy, taken_per_gram
from kit.errors import RangeError
from kit.findings import Finding, Place, worst_first
from kit.money import rounded, shared_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from kit.bench.batch_text import Filled
    from kit.bench.price import PackItem
    from kit.bench.unit_costs import ToBuy
    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials


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
    sizes
        Those of the bottles, where there are several.
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
    sizes: tuple[Filled, ...] = ()

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
        """Of a filled bottle with its packaging; None where none are counted, or several sizes. [currency]"""
        return self.total / self.bottles if self.bottles and len(self.sizes) < 2 else None

    @property
    def per_size(self) -> list[tuple[Filled, float]]:
        """Of a filled bottle of each size, where there are several: its share by volume, and its packaging. [currency]

        Packaging has one price in the list, which counts for a bottle of any size.
        """
        if len(self.sizes) < 2 or not self.bottles:
            return []
        packaging = sum(item.cost for item in self.packaging)
        per_ml = (self.total - packaging) / sum(size.volume for size in self.sizes)
        return [(size, per_ml * size.fill + packaging / self.bottles) for size in self.sizes]

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


#: Said wherever a cost rests on the prices of the examples.
INVENTED = "The prices are invented for the examples: open or write a list of your own before you rely on a cost."


def cost(
    batch: Batch,
    materials: Materials,
    prices: PriceList,
    *,
    product: float | None = None,
    bottles: int | None = None,
    sizes: Sequence[Filled] = (),
    packaging: Sequence[PackItem] | None = None,
    waste_percent: float = 0.0,
    labour: float = 0.0,
) -> CostSheet:
    """What a batch costs at these prices.

    Parameters
    ----------
    product
        What of the batch reaches the bottles; all of it, unless overage or loss is planned. [g]
    bottles
        How many are filled; without it packaging is left out.
    sizes
        Of the bottles, where they differ.
    packaging
        What goes with each bottle; the list's own packaging where none is given.
    waste_percent
        What never reaches the vessel, in % of what is taken from the packs: a normal loss.
    labour
        Added once for the batch. [currency of the list]

    Raises
    ------
    RangeError
        Waste, labour, product or bottles out of their range.
    CompositionError
        A stock that is part of itself.

    Notes
    -----
    Each line: grams ÷ (1 - waste) x price ÷ content of the pack. A normal loss is borne by what comes out, so that
    cost per good unit = cost of all input ÷ expected good output [1]_.

    References
    ----------
    .. [1] Process costing, normal loss: study text for the ACCA paper F2, Management Accounting, chapter 9,
       section 5.1. The same factor, 100 ÷ yield, in: Vancouver Community College, Learning Centre, "Recipe
       Costing".

    Examples
    --------
    >>> from kit.bench.price import Price
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.expansion import Materials
    >>> from kit.formula.model import Formula, Line, Phase
    >>> from kit.library.library import Library
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> prices = PriceList("EUR", (Price("Glycerin", 1, "kg", 8.0), Price("Aqua", 5, "L", 2.0)))
    >>> sheet = cost(weigh(toner, "250 g"), Materials(Library.bundled()), prices)
    >>> round(sheet.lines[1].cost, 6), sheet.shown, sheet.total_shown
    (0.08, (0.1, 0.08, 0.0), 0.18)
    """
    product = _checked(batch, product, bottles, labour)
    units = UnitCosts(prices, materials)
    taken = taken_per_gram(waste_percent)
    lines = []
    for w in batch.weighings:
        unit = units.of(w.material)
        grams = w.target * taken
        known = unit.is_known or not w.target > 0
        lines.append(
            CostLine(
                w.phase, w.line, w.material, w.percent, grams, unit.per_gram, grams * unit.per_gram, known, unit.how
            )
        )
    items = prices.packaging if packaging is None else tuple(packaging)
    wrapped = [PackLine(i.name, i.per_bottle * bottles, i.each * i.per_bottle * bottles) for i in items if bottles]
    buys = packs_to_buy([(line.material, line.grams) for line in lines], units, items if bottles else (), bottles or 0)
    sheet = CostSheet(
        batch, units.currency, tuple(lines), tuple(wrapped), labour, product, bottles, waste_percent, buys, (),
        tuple(sizes),
    )  # fmt: skip
    return _with_findings(sheet, units)


def bottles_filled(product: float, fill: float, density: float) -> int:
    """How many bottles a mass of product fills. [g, mL, g/mL]

    Examples
    --------
    >>> bottles_filled(500, 90, 0.98), bottles_filled(3 * 90 * 0.98, 90, 0.98)
    (5, 3)
    """
    return int(product / (fill * density) + 1e-9) if fill > 0 and density > 0 else 0


def _checked(batch: Batch, product: float | None, bottles: int | None, labour: float) -> float:
    """The product of a batch, once everything is in its range. [g]"""
    made = batch.mass if product is None else product
    if not 0 < made < float("inf"):
        msg = f"The product must be more than 0 g, got {made:g} g."
        raise RangeError(msg)
    if bottles is not None and bottles < 1:
        msg = f"Count at least one bottle, or none at all; got {bottles}."
        raise RangeError(msg)
    if not (isfinite(labour) and labour >= 0):
        msg = f"Labour must be 0 or more for the batch, got {labour:g}."
        raise RangeError(msg)
    return made


def _with_findings(sheet: CostSheet, units: UnitCosts) -> CostSheet:
    missing: dict[str, Finding] = {}
    used: dict[str, object] = {}
    for line in sheet.lines:
        unit = units.of(line.material)
        used |= {line.material: None, **unit.bought}
        for name, reason in () if line.is_known else unit.missing.items():
            inside = "" if name_key(name) == units.key(line.material) else f", which is in {line.material},"
            sentence = f"{name}{inside} is left out of the cost: {reason}."
            missing.setdefault(name, Finding("note", sentence, Place(line.phase, line.line, "price")))
    found = [finding for finding in missing.values() if not finding.sentence.endswith(f": {NO_PRICE}.")]
    if missing:
        sentence = f"The total is at least what is shown: there is no usable price for {', '.join(missing)}."
        found.insert(0, Finding("caution", sentence, Place(field="price")))
    if sheet.packaging and len(sheet.sizes) > 1:
        sentence = "Packaging is counted alike for bottles of every size, at the price in the list."
        found.append(Finding("note", sentence, Place(field="price")))
    if units.prices.is_invented:
        found.append(Finding("note", INVENTED, Place(field="price")))
    return replace(sheet, findings=tuple(worst_first([*found, *units.check(used)])))


def left_over(product: float, bottles: int, fill: float, density: float) -> list[Finding]:
    """What to say where a product does not fill its bottles evenly. [g, -, mL, g/mL]"""
    rest = product - bottles * fill * density
    if bottles < 1:
        sentence = f"{product:.4g} g do not fill one bottle of {fill:.4g} mL, so nothing is counted by the bottle."
        return [Finding("note", sentence, Place(field="bottles"))]
    if rest > 1e-6 * product:
        sentence = (
            f"{bottles} bottles of {fill:.4g} mL are filled and {rest:.3g} g are left over: "
            "their cost is borne by the bottles."
        )
        return [Finding("note", sentence, Place(field="bottles"))]
    return []
