"""What a batch costs: by line, by bottle and by 100 g, with waste and packaging."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from kit.bench.cost_sheet import CostLine, CostSheet, PackLine
from kit.bench.price import PriceList, name_key
from kit.bench.purchases import packs_to_buy
from kit.bench.unit_costs import NO_PRICE, UnitCosts
from kit.bench.yields import taken_per_gram
from kit.errors import RangeError
from kit.findings import Finding, Place, worst_first

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.price import PackItem
    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials

#: Said wherever a cost rests on the prices of the examples.
INVENTED = "The prices are invented for the examples: open or write a list of your own before you rely on a cost."

__all__ = ["INVENTED", "CostLine", "CostSheet", "PackLine", "bottles_filled", "cost", "left_over"]


def cost(
    batch: Batch,
    materials: Materials,
    prices: PriceList,
    *,
    product: float | None = None,
    bottles: int | None = None,
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
        batch, units.currency, tuple(lines), tuple(wrapped), labour, product, bottles, waste_percent, buys, ()
    )
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
    if units.prices.is_invented:
        found.append(Finding("note", INVENTED, Place(field="price")))
    return replace(sheet, findings=tuple(worst_first([*found, *units.findings(used)])))


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
