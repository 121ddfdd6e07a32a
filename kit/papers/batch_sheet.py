"""The batch sheet: what to weigh, in which order, with room for what was really done."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from math import floor, log10
from typing import TYPE_CHECKING

from kit.findings import worst_first
from kit.formula.expansion import expand
from kit.layers.density import IDEAL_VOLUMES
from kit.papers.cautions import cautions_for
from kit.rounding import decimal_places

if TYPE_CHECKING:
    from collections.abc import Sequence

    import jinja2

    from kit.bench.scaling import BatchSize
    from kit.bench.weighing import Batch
    from kit.findings import Finding
    from kit.formula.expansion import Materials
    from kit.layers.bottle import Bottle, Standing


@dataclass(frozen=True, slots=True)
class SheetDetails:
    """What the maker writes on the sheet before printing; anything left empty is printed as a line to write on."""

    lot: str = ""
    made_by: str = ""
    made_on: str = ""


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """All that a batch sheet prints.

    Attributes
    ----------
    standing
        How the layers will stand in the bottle; empty where there is none to show.
    findings
        Printed at the head, so that a formula with a ``stop`` never leaves the desk without it.
    """

    batch: Batch
    size: BatchSize
    materials: Materials
    findings: Sequence[Finding] = ()
    standing: Sequence[Standing] = ()
    bottle: Bottle | None = None
    fill: float = 0.0
    details: SheetDetails = field(default_factory=SheetDetails)


@lru_cache(maxsize=1)
def templates() -> jinja2.Environment:
    """The templates of all papers; every text is escaped."""
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("kit.papers"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _percent(value: float) -> str:
    """Three decimals, and three digits that count where it is small: 4.000, 0.0015."""
    return f"{value:.{3 if value >= 0.1 or value <= 0 else 2 - floor(log10(value))}f}"


def batch_sheet_html(sheet: BatchSheet) -> str:
    """The sheet as one HTML document that needs nothing else, for the browser's own print command."""
    batch = sheet.batch
    formula = batch.formula
    places = decimal_places(batch.balance.readability)
    phases = [
        {
            "name": phase.name,
            "kind": phase.kind,
            "grams": f"{batch.phase_grams(p):.{places}f}",
            "weighings": [
                {
                    "material": w.material,
                    "note": formula.phases[w.phase].lines[w.line].note,
                    "percent": _percent(w.percent),
                    "grams": f"{w.grams:.{places}f}",
                    "tolerance": f"±{w.grams * batch.tolerance / 100:.{places + 1}f}",
                }
                for w in batch.weighings
                if w.phase == p
            ],
        }
        for p, phase in enumerate(formula.phases)
        if any(w.phase == p for w in batch.weighings)
    ]
    substances = expand(formula, sheet.materials)
    return (
        templates()
        .get_template("batch_sheet.html")
        .render(
            formula=formula,
            phases=phases,
            mass=f"{batch.mass:.{places}f}",
            balance=batch.balance,
            tolerance=f"{batch.tolerance:g}",
            size=sheet.size,
            findings=worst_first(sheet.findings),
            standing=list(reversed(sheet.standing)),
            bottle=sheet.bottle,
            fill=sheet.fill,
            ideal_volumes=IDEAL_VOLUMES,
            cautions=cautions_for(substances, sheet.materials),
            details=sheet.details,
        )
    )
