"""The cost sheet: what a batch, a bottle and 100 g cost, line by line, and what would have to be bought."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from kit.bench.price_list import demo_prices, read_prices
from kit.inputs import FileName, Number, asked
from kit.money import money
from kit.papers.paper import ByHand, PaperSpec, named_or_here
from kit.product.beginning import is_demo
from kit.product.costing import Costing, Money
from kit.rounding import percent_on_paper

if TYPE_CHECKING:
    from pathlib import Path

    from kit.bench.cost import CostSheet
    from kit.findings import Finding
    from kit.product.product import Product


@dataclass(frozen=True, slots=True)
class CostSheetOptions(ByHand):
    """What is asked for a cost sheet; what is empty is the product's own."""

    prices: Path | None = asked(
        "Price list",
        FileName(".csv"),
        None,
        help="Empty: the one in hand, else prices.csv, where there is one here. The demo has an invented one.",
    )
    waste: float | None = asked("Waste", Number(0, 100), None, unit="%", help="Of what is taken from the packs.")
    labour: float | None = asked("Labour", Money(), None, help="Added once for the batch.")


def files(product: Product, options: CostSheetOptions, notes: list[Finding]) -> Product:
    """The product with the prices, waste and labour that were asked for."""
    prices = product.prices
    if options.prices or not prices.prices:
        named = named_or_here(options.prices, "prices.csv")
        invented = demo_prices() if is_demo(product.formula) else prices
        prices = read_prices(named, notes) if named else invented
    waste = product.costing.waste if options.waste is None else options.waste
    labour = product.costing.labour if options.labour is None else options.labour
    return replace(product, prices=prices, costing=Costing(waste, labour))


def context(product: Product, options: CostSheetOptions) -> dict[str, Any]:
    """What the sheet prints.

    Raises
    ------
    KitError
        The formula cannot be weighed, so that it has no cost; or waste and labour are out of range.
    """
    sheet = product.cost
    parts = [(item.name, f"{item.pieces:.10g} pieces", item.cost) for item in sheet.packaging]
    parts += [("Labour", "", sheet.labour)] if sheet.labour else []
    shown = sheet.shown[len(sheet.lines) :]
    at_least = "" if sheet.is_complete else "at least "
    return {
        "formula": sheet.batch.formula,
        "mass": f"{sheet.batch.mass:.{sheet.batch.places}f}",
        "product": f"{sheet.product:.10g}",
        "currency": sheet.currency,
        "waste": f"{sheet.waste_percent:g}",
        "bottles": sheet.bottles,
        "phases": _phases(sheet),
        "others": [
            {"name": name, "what": what, "cost": money(cost), "share": _share(sheet, exact)}
            for (name, what, exact), cost in zip(parts, shown, strict=False)
        ],
        "total": money(sheet.total_shown, sheet.currency),
        "at_least": at_least,
        "per_bottle": money(sheet.per_bottle, sheet.currency) if sheet.per_bottle is not None else "",
        "per_size": [(str(size), money(each, sheet.currency)) for size, each in sheet.per_size],
        "per_100_g": money(sheet.per_100_g, sheet.currency),
        "materials_per_100_g": money(sheet.materials_per_100_g, sheet.currency),
        "to_buy": [
            {
                "name": buy.name,
                "needed": f"{buy.needed:.4g} {buy.unit}",
                "pack": buy.pack,
                "packs": buy.packs,
                "left": f"{buy.left:.4g} {buy.unit}",
                "cost": money(buy.cost),
            }
            for buy in sheet.to_buy
        ],
        "outlay": money(sheet.outlay, sheet.currency),
        "findings": [*product.stops, *sheet.findings],
        "looked_up": product.looked_up.sentence,
        "list_name": product.prices.name,
        "details": options,
    }


def _phases(sheet: CostSheet) -> list[dict[str, Any]]:
    places = sheet.batch.places
    rows: dict[int, list[dict[str, str]]] = {}
    for line, cost in zip(sheet.lines, sheet.shown, strict=False):
        rows.setdefault(line.phase, []).append(
            {
                "material": line.material,
                "percent": percent_on_paper(line.percent),
                "grams": f"{line.grams:.{places}f}",
                "per_kg": money(1000 * line.per_gram) if line.is_known else "no price",
                "cost": money(cost) if line.is_known else f"at least {money(cost)}",
                "share": _share(sheet, line.cost),
                "how": line.how,
            }
        )
    phases = sheet.batch.formula.phases
    return [{"name": phases[p].name, "kind": phases[p].kind, "lines": lines} for p, lines in rows.items()]


def _share(sheet: CostSheet, cost: float) -> str:
    return f"{sheet.share(cost):.1f}"


SPEC = PaperSpec(
    "cost_sheet",
    "Cost sheet",
    "what the batch, a bottle and 100 g cost, line by line, and what would have to be bought",
    "product",
    CostSheetOptions,
    context,
    (
        "formula", "mass", "product", "currency", "waste", "bottles", "phases", "others", "total", "at_least",
        "per_bottle", "per_size", "per_100_g", "materials_per_100_g", "to_buy", "outlay", "findings", "looked_up",
        "list_name", "details",
    ),
    lambda product, options: (product.formula.title, options.lot),
    files,
    command="cost",
    takes=("batch", "balance"),
    example='my_body_shake.toml --prices prices.csv --bottles 6 --fill "90 mL"',
)  # fmt: skip
