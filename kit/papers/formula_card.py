"""The formula card: a formula for readers, in percents and in grams for three batches, and how it bears change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.bench.weighing import smallest_sound_batch, weigh
from kit.formula.compare import compare
from kit.formula.versions import variant_formula, versions
from kit.inputs import asked
from kit.label.cautions import cautions_for
from kit.library.ingredient import Stock
from kit.papers.batch_sheet import substances_in
from kit.papers.paper import PaperSpec, asked_long, attempt
from kit.rounding import all_digits, decimal_places, percent_on_paper
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula, Hold
    from kit.layers.window import Window
    from kit.product.product import Product

#: What each way to hold means when the layers change size.
HOLDS_IN_WORDS: dict[Hold, str] = {
    "share": "grows and shrinks with its layer",
    "level": "keeps its percent of the whole",
    "fill": "takes what is left of its layer",
}
#: Batches on a card where none are asked for. [g]
USUAL_BATCHES = (100.0, 250.0, 1000.0)


@dataclass(frozen=True, slots=True)
class Masses:
    """Masses with their units, between semicolons; ``between`` tells a command that it takes several."""

    between: str = ";"
    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[float, ...]:  # noqa: ARG002
        """The masses; a KitError says which cannot be read. [g]"""
        return tuple(magnitude(part.strip(), "g", name="batch") for part in text.split(self.between) if part.strip())

    def write(self, value: Sequence[float]) -> str:
        """The masses in g, from 1000 g on in kg."""
        texts = [f"{grams / 1000:.10g} kg" if grams >= 1000 else f"{grams:.10g} g" for grams in value]
        return f"{self.between} ".join(texts)


@dataclass(frozen=True, slots=True)
class FormulaCardOptions:
    """What is asked for a formula card: the masses for which grams are printed [g], and how it keeps."""

    batches: tuple[float, ...] = asked("Batches, between ;", Masses(), USUAL_BATCHES, option="for")
    keeping: str = asked("Keeping", example="cool and dark", help="How and how long it keeps, in your words.")
    long: bool = asked_long()


def context(product: Product, options: FormulaCardOptions) -> dict[str, Any]:
    """What the card prints.

    Raises
    ------
    RangeError
        A batch that cannot be weighed on the balance.
    """
    formula = product.formula
    allowed, no_window = attempt(lambda: product.window, None)
    if allowed and not allowed.is_open:
        no_window = " ".join(finding.sentence for finding in allowed.findings)
    ends = [allowed.low_end, allowed.high_end] if allowed and allowed.is_open else []
    told = [finding.source for finding in product.findings] + [end.source for end in ends]
    return {
        "formula": formula,
        "findings": product.findings,
        "looked_up": product.looked_up.sentence,
        "batches": [f"{grams:.10g}" for grams in options.batches],
        "phases": _phases(product, options.batches),
        "total": f"{formula.total:.3f}",
        "weighed": _weighed(product),
        "window": _window(product, allowed) if allowed and allowed.is_open else None,
        "no_window": no_window,
        "notes": [(line.material, line.note) for _, _, line, _ in formula.each_line() if line.note],
        "variants": [_variant(formula, variant.name, variant.note) for variant in formula.variants],
        "kept": [*reversed(versions(formula))],
        "keeping": options.keeping,
        "stocks": [material for material in formula.materials if isinstance(material, Stock)],
        "cautions": cautions_for(substances_in(formula, product.materials), product.materials),
        "sources": list(dict.fromkeys(source for source in told if source)),
        "long": options.long,
    }


def _phases(product: Product, batches: Sequence[float]) -> list[dict[str, Any]]:
    formula = product.formula
    places = decimal_places(product.balance.readability)
    columns = _grams(product, batches)
    number = 0
    found = []
    for phase, percents in zip(formula.phases, formula.percents, strict=True):
        lines = []
        for line, percent in zip(phase.lines, percents, strict=True):
            if line.is_blank:
                continue
            grams = [f"{column[number]:.{places}f}" for column in columns] or ["—" for _ in batches]
            number += 1
            lines.append(
                {
                    "material": line.material,
                    "percent": percent_on_paper(percent) if percent is not None else line.entry or "—",
                    "typed": percent is None,
                    "grams": grams,
                    "holds": HOLDS_IN_WORDS[line.hold],
                }
            )
        if lines:
            found.append({"name": phase.name, "kind": phase.kind, "lines": lines})
    return found


def _grams(product: Product, batches: Sequence[float]) -> list[list[float]]:
    """For each batch, the grams of every line; no column at all while the formula is not complete."""
    if not product.formula.is_complete:
        return []
    made = [weigh(product.formula, f"{all_digits(grams)} g", product.balance, product.tolerance) for grams in batches]
    return [[weighing.grams for weighing in batch.weighings] for batch in made]


def _weighed(product: Product) -> str:
    """From which batch on every weighing is good enough, or why there are no grams."""
    balance, tolerance = product.balance, product.tolerance
    least, why_not = attempt(lambda: smallest_sound_batch(product.formula, balance, tolerance), 0.0)
    return why_not or (
        f"On a balance that reads {balance.readability:g} g, every weighing keeps within {tolerance:g} % "
        f"in batches of {least:.10g} g and more; below that, make the smallest parts as a stock."
    )


def _window(product: Product, window: Window) -> dict[str, Any]:
    """The ratios that are allowed, which rule ends them, and every line at both ends."""
    path, formula = product.path, product.formula
    lines = [(line, formula.phases[p].kind) for p, _, line, _ in formula.each_line()]
    columns = [path.percents(oil) for oil in (window.low, path.start, window.high)]
    rows = [
        {
            "material": line.material,
            "kind": kind,
            "holds": HOLDS_IN_WORDS[line.hold],
            "percents": [percent_on_paper(column[n] + 0.0) for column in columns],
        }
        for n, (line, kind) in enumerate(lines)
        if not line.is_blank
    ]
    return {
        "low": f"{window.low:.2f}",
        "now": f"{path.start:.2f}",
        "high": f"{window.high:.2f}",
        "low_end": window.low_end,
        "high_end": window.high_end,
        "beside": window.beside,
        "holds": window.holds(path.start),
        "rows": rows,
    }


def _variant(formula: Formula, name: str, note: str) -> dict[str, Any]:
    """What a member of the family has otherwise: material, here, there. [% w/w]"""
    lines = compare([formula, variant_formula(formula, name)])
    changed = [
        (line.material, *(percent_on_paper(percent) if percent is not None else "—" for percent in line.percents))
        for line in lines
        if abs(line.change) > 5e-4
    ]
    return {"name": name, "note": note, "changed": changed}


SPEC = PaperSpec(
    "formula_card",
    "Formula card",
    "percents, grams for several batches, and how the formula bears another ratio",
    "product",
    FormulaCardOptions,
    context,
    (
        "formula", "findings", "looked_up", "batches", "phases", "total", "weighed", "window", "no_window", "notes",
        "variants", "kept", "keeping", "stocks", "cautions", "sources", "long",
    ),
    lambda product, _: (product.formula.title,),
    command="card",
    takes=("balance",),
    example='my_body_shake.toml --for "100 g" "250 g" "1 kg"',
)  # fmt: skip
