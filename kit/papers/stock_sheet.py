"""The making sheet of a stock: what to weigh and do, and the label for its bottle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.label.cautions import cautions_for
from kit.papers.paper import ByHand, PaperSpec
from kit.rounding import decimal_places

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.making import Making
    from kit.bench.serial import SerialPlan
    from kit.findings import Finding
    from kit.formula.expansion import Materials


@dataclass(frozen=True, slots=True)
class StockInMaking:
    """A stock that is made, as its sheet is written.

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


def context(about: StockInMaking, options: ByHand) -> dict[str, Any]:
    """What the sheet prints."""
    making = about.making
    places = decimal_places(making.balance.readability)
    substances = [name for part in making.stock.contents for name in about.materials.substances(part)]
    return {
        "stock": making.stock,
        "amount": f"{making.amount:.{places}f}",
        "portions": [
            {
                "material": p.material,
                "target": f"{p.target:.{places + 2}f}",
                "grams": f"{p.grams:.{places}f}",
                "millilitres": f"{p.millilitres:.4g}" if p.millilitres else "",
                "note": p.note,
            }
            for p in making.portions
        ],
        "label": making.label(),
        "steps": making.steps,
        "serial": about.serial.sentences() if about.serial else [],
        "vessel": making.vessel,
        "reached": f"{making.reached:.4g}",
        "balance": making.balance,
        "findings": [*making.findings, *about.findings],
        "cautions": cautions_for(dict.fromkeys(substances), about.materials),
        "details": options,
    }


SPEC = PaperSpec(
    "stock_sheet",
    "Making sheet",
    "what to weigh and do for a stock, and the label for its bottle",
    "stock",
    ByHand,
    context,
    (
        "stock", "amount", "portions", "label", "steps", "serial", "vessel", "reached", "balance",
        "findings", "cautions", "details",
    ),
    lambda about, options: (about.making.stock.name, options.lot),
)  # fmt: skip
