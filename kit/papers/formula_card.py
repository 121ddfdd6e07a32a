"""The formula card: a formula for readers, in percents and in grams for three batches, and how it bears change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.bench.batch_text import ByBottles, read_bottles
from kit.bench.weighing import smallest_sound_batch, weigh
from kit.formula.compare import compare
from kit.formula.versions import variant_formula, versions
from kit.inputs import asked
from kit.label.cautions import cautions_for
from kit.library.ingredient import Stock
from kit.papers.batch_sheet import substances_in
from kit.papers.paper import PaperSpec, asked_long, attempt
from kit.rounding import all_digits, percent_on_paper
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
class Batches:
    """Masses with their units or bottles, between semicolons; ``between`` tells a command that it takes several.

    Examples
    --------
    >>> Batches().read("250 g; 6 x 100 mL"), Batches().write((1500.0, ByBottles(6, 100.0)))
    ((250.0, ByBottles(count=6, fill=100.0, besides=())), '1.5 kg; 6 x 100 mL')
    """

    between: str = ";"
    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[float | ByBottles, ...]:  # noqa: ARG002
        """The batches, masses in g; a KitError says which cannot be read."""
        parts = [part.strip() for part in text.split(self.between) if part.strip()]
        return tuple(read_bottles(part) or magnitude(part, "g", name="batch") for part in parts)

    def write(self, value: Sequence[float | ByBottles]) -> str:
        """The batches, masses in g and from 1000 g on in kg."""
        return f"{self.between} ".join(map(_as_typed, value))


def _as_typed(batch: float | ByBottles) -> str:
    if isinstance(batch, ByBottles):
        return str(batch)
    return f"{batch / 1000:.10g} kg" if batch >= 1000 else f"{batch:.10g} g"


@dataclass(frozen=True, slots=True)
class FormulaCardOptions:
    """What is asked for a formula card: for which batches grams are printed, masses in g or bottles; how it keeps."""

    batches: tuple[float | ByBottles, ...] = asked(
        "Batches, between ;", Batches(), USUAL_BATCHES, option="for", example="250 g; 6 x 100 mL"
    )
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
    batches = _batches(product, options.batches)
    told = [finding.source for finding in product.findings] + [end.source for end in ends]
    return {
        "formula": formula,
        "findings": product.findings,
        "looked_up": product.looked_up.sentence,
        "batches": [(column.words, column.together) for column in batches],
        "phases": _phases(product, batches),
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
        "part": _part(formula),
    }


@dataclass(frozen=True, slots=True)
class Column:
    """A batch on the card: what it is called, its grams together, and those of every line; "—" where there are none."""

    words: str
    together: str
    grams: tuple[str, ...] = ()


def _batches(product: Product, asked_for: Sequence[float | ByBottles]) -> list[Column]:
    """Each batch weighed, bottles by the product's density; nothing is while the formula does not allow it."""
    none: float | None = None
    density = attempt(lambda: product.density, none)[0]
    formula, balance = product.formula, product.balance
    found = []
    for batch in asked_for:
        by_bottles = isinstance(batch, ByBottles)
        words = str(batch) if by_bottles else f"{batch:.10g} g"
        if not formula.is_complete or (by_bottles and density is None):
            found.append(Column(words, "—" if by_bottles else f"{batch:.10g}"))
            continue
        mass = batch.grams(density or 1.0) if isinstance(batch, ByBottles) else batch
        made = weigh(formula, f"{all_digits(mass)} g", balance, product.tolerance)
        together = f"{made.mass:.{made.places}f}" if by_bottles else f"{mass:.10g}"
        found.append(Column(words, together, tuple(one.text for one in made.weighings)))
    return found


def _phases(product: Product, batches: Sequence[Column]) -> list[dict[str, Any]]:
    formula = product.formula
    number = 0
    found = []
    for phase, percents in zip(formula.phases, formula.percents, strict=True):
        lines = []
        for line, percent in zip(phase.lines, percents, strict=True):
            if line.is_blank:
                continue
            grams = [column.grams[number] if column.grams else "—" for column in batches]
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


def _part(formula: Formula) -> str:
    """What a part of the formula that can change its size is called."""
    return "phase" if formula.description.is_one_piece else "layer"


def _weighed(product: Product) -> str:
    """From which batch on every weighing is good enough, or why there are no grams."""
    balance, tolerance = product.balance, product.tolerance
    least, why_not = attempt(lambda: smallest_sound_batch(product.formula, balance, tolerance), 0.0)
    return why_not or (
        f"On {balance.words}, every weighing keeps within {tolerance:g} % "
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
            "holds": HOLDS_IN_WORDS[line.hold].replace("layer", _part(formula)),
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
        "variants", "kept", "keeping", "stocks", "cautions", "sources", "long", "part",
    ),
    lambda product, _: (product.formula.title,),
    command="card",
    takes=("balance",),
    example='my_body_shake.toml --for "100 g" "250 g" "1 kg"',
)  # fmt: skip
