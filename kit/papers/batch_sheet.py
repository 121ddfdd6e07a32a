"""The batch sheet: what to weigh, in which order, with room for what was really done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from kit.bench.losses import USUAL_WITHIN, expected_yield
from kit.bench.making import HEADSPACE, vessel_for
from kit.errors import EntryError, KitError
from kit.findings import Finding, Place
from kit.formula.expansion import expand
from kit.inputs import Number, asked
from kit.label.cautions import cautions_for
from kit.layers.density_words import density_sources, density_words
from kit.papers.paper import ByHand, PaperSpec, asked_long, attempt
from kit.rounding import all_digits, decimal_places, percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.bottle import Standing
    from kit.product.product import Product

#: What is looked at before anything is weighed (common practice).
LINE_CHECKS = (
    "Bench cleared: no material, vessel or label of another product is on it.",
    "Tools and vessels are clean, dry and wiped with alcohol, away from flames.",
    "Each material: name, lot, date and look are right.",
    "Balance stands level, reads zero and shows a known weight.",
    "Bottles and labels are those of this product, and counted.",
)


@dataclass(frozen=True, slots=True)
class Control:
    """Something to measure or look at while the batch is made, and what the maker wants to find."""

    what: str
    wanted: str = ""


@dataclass(frozen=True, slots=True)
class MaterialLots:
    """The lots of materials, one "material = lot" on a line; see :func:`read_lots`."""

    kind: str = "lines"

    def read(self, text: str, unit: str = "") -> dict[str, str]:  # noqa: ARG002
        """Material → lot; an EntryError names a line that cannot be read."""
        return read_lots(text.splitlines())

    def write(self, value: Mapping[str, str]) -> str:
        """A line for each."""
        return "\n".join(f"{material} = {lot}" for material, lot in value.items())


def read_lots(lines: Iterable[str]) -> dict[str, str]:
    """Material → lot.

    Raises
    ------
    EntryError
        A line without a material, a lot or the sign between them.

    Examples
    --------
    >>> read_lots(["Glycerin = G-12", "", "Aqua=W 3"])
    {'Glycerin': 'G-12', 'Aqua': 'W 3'}
    """
    found = {}
    for line in lines:
        if not line.strip():
            continue
        material, sign, lot = (part.strip() for part in line.partition("="))
        if not (sign and material and lot):
            msg = f"{line.strip()!r} does not say the lot of a material. Write it like Glycerin = G-12."
            raise EntryError(msg)
        found[material] = lot
    return found


@dataclass(frozen=True, slots=True)
class BatchSheetOptions(ByHand):
    """What is asked for a batch sheet.

    Attributes
    ----------
    ph
        In the maker's words, such as "4.5 to 4.8".
    lots
        Material → the lot of it that is used; what is not named is printed as room to write.
    controls
        What else the maker wants looked at.
    """

    ph: str = asked("pH wanted", example="4.5 to 4.8")
    yield_within: float = asked("Yield may be off", Number(0, 100), USUAL_WITHIN, unit="%")
    lots: Mapping[str, str] = asked(
        "Lots of materials", MaterialLots(), None, option="material-lot", example="Glycerin = G-12"
    )
    long: bool = asked_long()
    controls: Sequence[Control] = field(default=())


def context(product: Product, options: BatchSheetOptions) -> dict[str, Any]:
    """What the sheet prints; where the formula cannot be weighed, it says so at its head and prints no grams."""
    formula = product.formula
    batch, why_not = attempt(lambda: product.batch, None)
    nothing: list[Standing] = []
    standing = attempt(lambda: product.standing, nothing)[0] if batch else nothing
    stops = [Finding("stop", why_not, Place(field="mass"))] if why_not else []
    lots = options.lots or {}
    return {
        "formula": formula,
        "phases": _weighed_phases(batch, lots) if batch else _written_phases(formula, lots),
        "mass": f"{batch.mass:.{batch.places}f}" if batch else "",
        "total": f"{formula.total:.3f}",
        "balance": batch.balance if batch else None,
        "several": batch is not None and batch.apart,
        "tolerance": f"{batch.tolerance:g}" if batch else "",
        "size": product.batch_size if batch else None,
        "bottles": str(product.order.by_bottles) if product.order.by == "bottles" else "",
        "findings": [*stops, *product.findings, *(product.weighing_findings if batch else ())],
        "looked_up": product.looked_up.sentence,
        "equipment": _equipment(product, batch),
        "line_checks": LINE_CHECKS,
        "controls": _controls(product, standing, options),
        "standing": [*reversed(standing)],
        "bottle": product.bottle,
        "fill": product.fill,
        "densities": [density_words(layer.about) for layer in product.layers if layer.about] if standing else [],
        "density_sources": density_sources(product.layers) if standing else [],
        "expected": _expected(batch, product.order.loss, options.yield_within) if batch else None,
        "cautions": cautions_for(substances_in(formula, product.materials), product.materials),
        "details": options,
    }


def substances_in(formula: Formula, materials: Materials) -> list[str]:
    """The substances of a formula, or its materials as written where a blend in it is part of itself."""
    try:
        return list(expand(formula, materials))
    except KitError:
        return list(dict.fromkeys(line.material.strip() for _, _, line, _ in formula.each_line()))


def _weighed_phases(batch: Batch, lots: Mapping[str, str]) -> list[dict[str, Any]]:
    phases = batch.formula.phases
    return [
        {
            "name": phase.name,
            "kind": phase.kind,
            "grams": f"{batch.phase_grams(p):.{batch.places}f}",
            "weighings": [
                {
                    "material": w.material,
                    "note": phases[w.phase].lines[w.line].note,
                    "lot": lots.get(w.material, ""),
                    "percent": percent_on_paper(w.percent),
                    "grams": w.text,
                    "on": f"{w.balance.readability:g}" if batch.apart else "",
                    "tolerance": f"±{w.grams * batch.tolerance / 100:.{max(batch.places + 1, 3)}f}",
                }
                for w in batch.weighings
                if w.phase == p
            ],
        }
        for p, phase in enumerate(phases)
        if any(w.phase == p for w in batch.weighings)
    ]


def _written_phases(formula: Formula, lots: Mapping[str, str]) -> list[dict[str, Any]]:
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
                    "lot": lots.get(line.material, ""),
                    "percent": percent_on_paper(percent) if percent is not None else line.entry or "—",
                    "grams": "—",
                    "on": "",
                    "tolerance": "—",
                }
                for line, percent in zip(phase.lines, percents, strict=True)
                if not line.is_blank
            ],
        }
        for phase, percents in zip(formula.phases, formula.percents, strict=True)
    ]


def _equipment(product: Product, batch: Batch | None) -> list[tuple[str, str]]:
    """What is needed, and what is known of it."""
    found = []
    if batch:
        used = list(dict.fromkeys(w.balance for w in batch.weighings)) if batch.apart else [batch.balance]
        found += [("Balance", f"reads {one.readability:g} g, carries {one.capacity:g} g") for one in used]
        unknown: dict[str, float] = {}
        densities, _ = attempt(lambda: {str(layer.kind): layer.density for layer in product.layers}, unknown)
        for p, phase in enumerate(batch.formula.phases):
            grams = batch.phase_grams(p)
            if grams > 0 and phase.kind in densities:
                size = vessel_for(grams / densities[phase.kind])
                room = f"{size} mL or larger, {HEADSPACE:g} % of it left empty" if size else "in parts: none is large"
                found.append((f"Vessel for {phase.name}", room))
    return [*found, ("Stirrer, thermometer", ""), ("pH meter", "calibrated with")]


def _controls(product: Product, standing: Sequence[Standing], options: BatchSheetOptions) -> list[Control]:
    """What is measured while it is made: pH where there is water, look, smell, the filled mass."""
    found, in_one = [], product.formula.description.is_one_piece
    if options.ph or any(phase.kind == "water" for phase in product.formula.phases):
        found.append(Control("pH" if in_one else "pH of the water layer", options.ph))
    look = "Look: colour, evenness" if in_one else "Look: colour, clearness, layers"
    found += [Control(look), Control("Smell"), Control("Temperature, °C")]
    if standing:
        grams = sum(each.volume * each.layer.density for each in standing)
        sizes = [product.fill, *(size.fill for size in product.order.besides if product.order.by == "bottles")]
        fills = (f"{grams * size / product.fill:.1f} ({size:g} mL)" for size in dict.fromkeys(sizes))
        found += [Control("Fill of a bottle, g", words) for words in fills]
    return [*found, *options.controls]


def _expected(batch: Batch, loss: float, within: float) -> dict[str, str]:
    places = decimal_places(batch.balance.readability)
    found = expected_yield(f"{all_digits(batch.mass)} g", loss, within)
    return {
        "grams": f"{found.grams:.{places}f}",
        "low": f"{found.low:.{places}f}",
        "high": f"{found.high:.{places}f}",
        "within": f"{within:g}",
    }


SPEC = PaperSpec(
    "batch_sheet",
    "Batch sheet",
    "what to weigh and do, in which order, with room for what was done",
    "product",
    BatchSheetOptions,
    context,
    (
        "formula", "phases", "mass", "total", "balance", "several", "tolerance", "size", "findings", "looked_up",
        "equipment", "line_checks", "controls", "standing", "bottle", "bottles", "fill", "densities", "density_sources",
        "expected", "cautions", "details",
    ),
    lambda product, options: (product.formula.title, options.lot),
    command="sheet",
    takes=("batch", "balance"),
    example='my_body_shake.toml --batch "250 g" --lot TL-07 --ph "4.5 to 4.8" --pdf',
)  # fmt: skip
