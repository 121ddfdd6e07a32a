"""The batch sheet: what to weigh, in which order, with room for what was really done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from kit.bench.losses import USUAL_WITHIN, expected_yield
from kit.bench.making import HEADSPACE, vessel_for
from kit.errors import KitError
from kit.findings import Finding, worst_first
from kit.formula.expansion import expand
from kit.formula.model import Formula
from kit.label.cautions import cautions_for
from kit.layers.density import layers_of
from kit.layers.density_words import density_sources, density_words
from kit.papers.layout import templates
from kit.rounding import all_digits, decimal_places, percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.bench.scaling import BatchSize
    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials
    from kit.layers.bottle import Bottle, Standing

#: What is looked at before anything is weighed (common practice).
LINE_CHECKS = (
    "Bench cleared: no material, vessel or label of another product is on it.",
    "Tools and vessels are clean, dry and wiped with alcohol, away from flames.",
    "Each material: name, lot, date and look are right.",
    "Balance stands level, reads zero and shows a known weight.",
    "Bottles and labels are those of this product, and counted.",
)


@dataclass(frozen=True, slots=True)
class SheetDetails:
    """What the maker writes on the sheet before printing; anything left empty is printed as a line to write on."""

    lot: str = ""
    made_by: str = ""
    made_on: str = ""


@dataclass(frozen=True, slots=True)
class Control:
    """Something to measure or look at while the batch is made, and what the maker wants to find."""

    what: str
    wanted: str = ""


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """All that a batch sheet prints.

    Attributes
    ----------
    batch
        What to weigh; None where the formula cannot be weighed, which ``formula`` and a finding then stand for.
    standing
        How the layers will stand in the bottle; empty where there is none to show.
    findings
        Printed at the head, so that a formula with a ``stop`` never leaves the desk without it.
    ph
        The pH wanted, in the maker's words, such as "4.5 to 4.8".
    controls
        What else the maker wants looked at.
    lots
        Material → the lot of it that is used; what is not named is printed as room to write.
    yield_within
        How far the yield may lie beside what is expected. [%]
    """

    batch: Batch | None
    size: BatchSize
    materials: Materials
    findings: Sequence[Finding] = ()
    standing: Sequence[Standing] = ()
    bottle: Bottle | None = None
    fill: float = 0.0
    details: SheetDetails = field(default_factory=SheetDetails)
    formula: Formula | None = None
    ph: str = ""
    controls: Sequence[Control] = ()
    lots: Mapping[str, str] = field(default_factory=dict)
    yield_within: float = USUAL_WITHIN

    @property
    def product(self) -> Formula:
        """The formula that is made."""
        return self.batch.formula if self.batch else self.formula or Formula()


def batch_sheet_html(sheet: BatchSheet) -> str:
    """The sheet as one HTML document that needs nothing else, for the browser's own print command."""
    batch = sheet.batch
    formula = sheet.product
    return (
        templates()
        .get_template("batch_sheet.html")
        .render(
            formula=formula,
            phases=_weighed_phases(sheet, batch) if batch else _written_phases(sheet, formula),
            mass=f"{batch.mass:.{decimal_places(batch.balance.readability)}f}" if batch else "",
            total=f"{formula.total:.3f}",
            balance=batch.balance if batch else None,
            tolerance=f"{batch.tolerance:g}" if batch else "",
            size=sheet.size,
            findings=worst_first(sheet.findings),
            equipment=_equipment(sheet),
            line_checks=LINE_CHECKS,
            controls=_controls(sheet),
            standing=list(reversed(sheet.standing)),
            bottle=sheet.bottle,
            fill=sheet.fill,
            densities=[density_words(s.layer.about) for s in sheet.standing if s.layer.about],
            density_sources=density_sources(s.layer for s in sheet.standing),
            expected=_expected(sheet, batch) if batch else None,
            cautions=cautions_for(substances_in(formula, sheet.materials), sheet.materials),
            details=sheet.details,
        )
    )


def substances_in(formula: Formula, materials: Materials) -> list[str]:
    """The substances of a formula, or its materials as written where a blend in it is part of itself."""
    try:
        return list(expand(formula, materials))
    except KitError:
        return list(dict.fromkeys(line.material.strip() for _, _, line, _ in formula.each_line()))


def _weighed_phases(sheet: BatchSheet, batch: Batch) -> list[dict[str, Any]]:
    places = decimal_places(batch.balance.readability)
    phases = batch.formula.phases
    return [
        {
            "name": phase.name,
            "kind": phase.kind,
            "grams": f"{batch.phase_grams(p):.{places}f}",
            "weighings": [
                {
                    "material": w.material,
                    "note": phases[w.phase].lines[w.line].note,
                    "lot": sheet.lots.get(w.material, ""),
                    "percent": percent_on_paper(w.percent),
                    "grams": f"{w.grams:.{places}f}",
                    "tolerance": f"±{w.grams * batch.tolerance / 100:.{places + 1}f}",
                }
                for w in batch.weighings
                if w.phase == p
            ],
        }
        for p, phase in enumerate(phases)
        if any(w.phase == p for w in batch.weighings)
    ]


def _written_phases(sheet: BatchSheet, formula: Formula) -> list[dict[str, Any]]:
    """The lines of a formula that cannot be weighed: as written, without grams."""
    return [
        {
            "name": phase.name,
            "kind": phase.kind,
            "grams": "—",
            "weighings": [
                {
                    "material": line.material,
                    "note": line.note,
                    "lot": sheet.lots.get(line.material, ""),
                    "percent": percent_on_paper(percent) if percent is not None else line.entry or "—",
                    "grams": "—",
                    "tolerance": "—",
                }
                for line, percent in zip(phase.lines, percents, strict=True)
                if not line.is_blank
            ],
        }
        for phase, percents in zip(formula.phases, formula.percents, strict=True)
    ]


def _equipment(sheet: BatchSheet) -> list[tuple[str, str]]:
    """What is needed, and what is known of it."""
    found = []
    batch = sheet.batch
    if batch:
        known = f"reads {batch.balance.readability:g} g, carries {batch.balance.capacity:g} g"
        found.append(("Balance", known))
        densities = {layer.kind: layer.density for layer in layers_of(batch.formula, sheet.materials)}
        for p, phase in enumerate(batch.formula.phases):
            grams = batch.phase_grams(p)
            if grams > 0:
                size = vessel_for(grams / densities[phase.kind])
                room = f"{size} mL or larger, {HEADSPACE:g} % of it left empty" if size else "in parts: none is large"
                found.append((f"Vessel for {phase.name}", room))
    return [*found, ("Stirrer", ""), ("Thermometer", ""), ("pH meter", "calibrated with")]


def _controls(sheet: BatchSheet) -> list[Control]:
    """What is measured while it is made: pH where there is water, look, smell, the filled mass."""
    found = []
    if sheet.ph or any(phase.kind == "water" for phase in sheet.product.phases):
        found.append(Control("pH of the water layer", sheet.ph))
    found += [Control("Look: colour, clearness, layers"), Control("Smell"), Control("Temperature, °C")]
    if sheet.standing and sheet.bottle:
        grams = sum(standing.volume * standing.layer.density for standing in sheet.standing)
        found.append(Control("Fill of a bottle, g", f"{grams:.1f} ({sheet.fill:g} mL)"))
    return [*found, *sheet.controls]


def _expected(sheet: BatchSheet, batch: Batch) -> dict[str, str]:
    places = decimal_places(batch.balance.readability)
    found = expected_yield(f"{all_digits(batch.mass)} g", sheet.size.loss, sheet.yield_within)
    return {
        "grams": f"{found.grams:.{places}f}",
        "low": f"{found.low:.{places}f}",
        "high": f"{found.high:.{places}f}",
        "within": f"{sheet.yield_within:g}",
    }
