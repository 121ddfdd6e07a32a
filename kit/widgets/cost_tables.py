"""The tables of the cost panel, as HTML."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.money import decimals, money
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from kit.bench.cost import CostSheet


def at_least(sheet: CostSheet) -> str:
    """What stands before a sum that leaves something out."""
    return "" if sheet.is_complete else "at least "


def cost_table(made: CostSheet) -> str:
    """Every part of the total; the printed parts add to the printed total."""
    phases = made.batch.formula.phases
    shown = iter(made.shown)
    rows, kinds = [], []
    for line in made.lines:
        amount = f"{next(shown):.{_places(made)}f}"
        per_kg = f"{line.per_gram * 1000:.2f}" if line.is_known or line.cost else "—"
        told = amount if line.is_known else f"at least {amount}" if line.cost else "no price"
        rows.append([line.material, f"{line.grams:.2f}", per_kg, told, _share(made, line.cost), line.how or "—"])
        kinds.append(str(phases[line.phase].kind))
    for item in made.packaging:
        amount = f"{next(shown):.{_places(made)}f}"
        rows.append([item.name, f"{item.pieces:.4g} pieces", "—", amount, _share(made, item.cost), "packaging"])
    if made.labour:
        amount = f"{next(shown):.{_places(made)}f}"
        rows.append(["labour", "", "—", amount, _share(made, made.labour), "as given"])
    grams = sum(line.grams for line in made.lines)
    total = at_least(made) + money(made.total_shown, made.currency)
    foot = ["Together", f"{grams:.2f}", "", total, _share(made, made.total), ""]
    unit = made.currency
    head = ["", "taken, g", f"{unit} per kg", f"cost, {unit}", "share, %", "price of"]
    return sheet(head, rows, numbers=(1, 2, 3, 4), kinds=kinds, foot=foot)


def buying_table(made: CostSheet) -> str:
    """Whole packs from which the batch can be made."""
    rows = [
        [item.name, f"{item.needed:.4g} {item.unit}", f"{item.packs} × {item.pack}", money(item.cost, ""),
         f"{item.left:.4g} {item.unit}"]
        for item in made.to_buy
    ]  # fmt: skip
    foot = ["Together", "", "", at_least(made) + money(made.outlay, made.currency), ""]
    head = ["", "needed", "packs", f"cost, {made.currency}", "left over"]
    caption = "The smallest purchase if nothing is on the shelf: whole packs of the sizes in the list."
    return sheet(head, rows, numbers=(1, 3, 4), foot=foot, caption=caption)


def sums_in_words(made: CostSheet, fill: float) -> str:
    """The three sums in one sentence."""
    before, unit = at_least(made), made.currency
    if not made.total:
        return "There is no price yet of anything in the batch."
    said = [f"The batch costs {before}{money(made.total_shown, unit)}"]
    if made.per_bottle is not None and made.bottles:
        bottles = "1 bottle" if made.bottles == 1 else f"{made.bottles} bottles"
        said.append(f"{before}{money(made.per_bottle, unit)} for each of {bottles} of {fill:.4g} mL")
    said += [
        f"{before}{money(each, unit)} for each of {size.count} of {size.fill:.4g} mL" for size, each in made.per_size
    ]
    said.append(f"{before}{money(made.per_100_g, unit)} for 100 g of product")
    return ", ".join(said) + f"; materials alone {before}{money(made.materials_per_100_g, unit)} for 100 g."


def _places(made: CostSheet) -> int:
    return decimals(made.currency)


def _share(made: CostSheet, cost: float) -> str:
    return f"{made.share(cost):.1f}" if made.total else "—"
