"""The making sheet of a stock: what to weigh and do, and the label for its bottle."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from kit.bench.making import in_order
from kit.findings import worst_first
from kit.label.cautions import cautions_for
from kit.papers.batch_sheet import SheetDetails
from kit.papers.layout import templates

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.making import Making
    from kit.bench.serial import SerialPlan
    from kit.findings import Finding
    from kit.formula.expansion import Materials


@dataclass(frozen=True, slots=True)
class StockSheet:
    """All that a making sheet prints.

    Attributes
    ----------
    serial
        Steps of a serial dilution, printed where there are any.
    findings
        Printed at the head besides those of the making itself, such as the note on w/v and w/w.
    """

    making: Making
    materials: Materials
    serial: SerialPlan | None = None
    findings: Sequence[Finding] = ()
    details: SheetDetails = field(default_factory=SheetDetails)


def stock_sheet_html(sheet: StockSheet) -> str:
    """The sheet as one HTML document that needs nothing else, for the browser's own print command."""
    making = sheet.making
    places = max(0, -int(Decimal(repr(making.balance.readability)).normalize().as_tuple().exponent))
    substances = [name for part in making.stock.contents for name in sheet.materials.substances(part)]
    return (
        templates()
        .get_template("stock_sheet.html")
        .render(
            stock=making.stock,
            amount=f"{making.amount:.{places}f}",
            portions=[
                {
                    "material": p.material,
                    "target": f"{p.target:.{places + 2}f}",
                    "grams": f"{p.grams:.{places}f}",
                    "millilitres": f"{p.millilitres:.4g}" if p.millilitres else "",
                    "note": p.note,
                }
                for p in making.portions
            ],
            contents=in_order(making.stock.contents),
            label=making.label(),
            steps=making.steps,
            serial=sheet.serial.sentences() if sheet.serial else [],
            vessel=making.vessel,
            reached=f"{making.reached:.4g}",
            balance=making.balance,
            findings=worst_first([*making.findings, *sheet.findings]),
            cautions=cautions_for(dict.fromkeys(substances), sheet.materials),
            details=sheet.details,
        )
    )
