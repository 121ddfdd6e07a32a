"""The cost sheet: what a batch, a bottle and 100 g cost, line by line, and what would have to be bought."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from kit.findings import worst_first
from kit.money import money
from kit.papers.batch_sheet import SheetDetails
from kit.papers.layout import templates
from kit.rounding import decimal_places, percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.cost import CostSheet
    from kit.findings import Finding


@dataclass(frozen=True, slots=True)
class CostPaper:
    """All that a cost sheet prints.

    Attributes
    ----------
    list_name
        The price list it was computed from.
    findings
        About the formula; those of the costs themselves are printed with them.
    """

    sheet: CostSheet
    list_name: str = ""
    findings: Sequence[Finding] = ()
    details: SheetDetails = field(default_factory=SheetDetails)


def cost_sheet_html(paper: CostPaper) -> str:
    """The cost sheet as one HTML document that needs nothing else."""
    sheet = paper.sheet
    parts = [(item.name, f"{item.pieces:.10g} pieces", item.cost) for item in sheet.packaging]
    parts += [("Labour", "", sheet.labour)] if sheet.labour else []
    shown = sheet.shown[len(sheet.lines) :]
    at_least = "" if sheet.is_complete else "at least "
    return (
        templates()
        .get_template("cost_sheet.html")
        .render(
            formula=sheet.batch.formula,
            mass=f"{sheet.batch.mass:.{decimal_places(sheet.batch.balance.readability)}f}",
            product=f"{sheet.product:.10g}",
            currency=sheet.currency,
            waste=f"{sheet.waste_percent:g}",
            bottles=sheet.bottles,
            phases=_phases(sheet),
            others=[
                {"name": name, "what": what, "cost": money(cost), "share": _share(sheet, exact)}
                for (name, what, exact), cost in zip(parts, shown, strict=False)
            ],
            total=money(sheet.total_shown, sheet.currency),
            at_least=at_least,
            per_bottle=money(sheet.per_bottle, sheet.currency) if sheet.per_bottle is not None else "",
            per_100_g=money(sheet.per_100_g, sheet.currency),
            materials_per_100_g=money(sheet.materials_per_100_g, sheet.currency),
            to_buy=[
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
            outlay=money(sheet.outlay, sheet.currency),
            findings=worst_first([*paper.findings, *sheet.findings]),
            list_name=paper.list_name,
            details=paper.details,
        )
    )


def _phases(sheet: CostSheet) -> list[dict[str, Any]]:
    places = decimal_places(sheet.batch.balance.readability)
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
