"""The formula card: a formula for readers, in percents and in grams for three batches, and how it bears change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.bench.balance import Balance
from kit.bench.weighing import smallest_sound_batch, weigh
from kit.errors import KitError
from kit.findings import worst_first
from kit.formula.compare import compare
from kit.formula.versions import variant_formula, versions
from kit.label.cautions import cautions_for
from kit.library.ingredient import Stock
from kit.papers.batch_sheet import substances_in
from kit.papers.layout import templates
from kit.rounding import all_digits, decimal_places, percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Finding
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula, Hold
    from kit.layers.ratio import RatioPath
    from kit.layers.window import Window

#: What each way to hold means when the layers change size.
HOLDS_IN_WORDS: dict[Hold, str] = {
    "share": "grows and shrinks with its layer",
    "level": "keeps its percent of the whole",
    "fill": "takes what is left of its layer",
}
#: Batches on a card where none are asked for. [g]
USUAL_BATCHES = (100.0, 250.0, 1000.0)


@dataclass(frozen=True, slots=True)
class FormulaCard:
    """All that a formula card prints.

    Attributes
    ----------
    batches
        The masses for which grams are printed. [g]
    path, window
        The formula at every ratio and the ratios at which every rule holds; None where there is no ratio to move,
        which ``no_window`` then says.
    keeping
        How and how long it keeps, in the maker's words.
    """

    formula: Formula
    materials: Materials
    findings: Sequence[Finding] = ()
    batches: Sequence[float] = USUAL_BATCHES
    balance: Balance | None = None
    tolerance: float = 1.0
    path: RatioPath | None = None
    window: Window | None = None
    no_window: str = ""
    keeping: str = ""


def formula_card_html(card: FormulaCard) -> str:
    """The card as one HTML document that needs nothing else.

    Raises
    ------
    RangeError
        A batch that cannot be weighed on the balance.
    """
    formula = card.formula
    ends = [card.window.low_end, card.window.high_end] if card.window and card.window.is_open else []
    told = [finding.source for finding in card.findings] + [end.source for end in ends]
    return (
        templates()
        .get_template("formula_card.html")
        .render(
            formula=formula,
            findings=worst_first(card.findings),
            batches=[f"{grams:.10g}" for grams in card.batches],
            phases=_phases(card),
            total=f"{formula.total:.3f}",
            weighed=_weighed(card),
            layers=[phase.kind for phase in formula.phases],
            window=_window(card),
            no_window=card.no_window,
            notes=[(line.material, line.note) for _, _, line, _ in formula.each_line() if line.note],
            variants=[_variant(formula, variant.name, variant.note) for variant in formula.variants],
            kept=[*reversed(versions(formula))],
            keeping=card.keeping,
            stocks=[material for material in formula.materials if isinstance(material, Stock)],
            cautions=cautions_for(substances_in(formula, card.materials), card.materials),
            sources=list(dict.fromkeys(source for source in told if source)),
        )
    )


def _phases(card: FormulaCard) -> list[dict[str, Any]]:
    formula = card.formula
    places, columns = _grams(card)
    number = 0
    found = []
    for phase, percents in zip(formula.phases, formula.percents, strict=True):
        lines = []
        for line, percent in zip(phase.lines, percents, strict=True):
            if line.is_blank:
                continue
            grams = [f"{column[number]:.{places}f}" for column in columns] or ["—" for _ in card.batches]
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


def _grams(card: FormulaCard) -> tuple[int, list[list[float]]]:
    """For each batch, the grams of every line; no column at all while the formula is not complete."""
    balance = card.balance or Balance()
    places = decimal_places(balance.readability)
    if not card.formula.is_complete:
        return places, []
    batches = [weigh(card.formula, f"{all_digits(grams)} g", balance, card.tolerance) for grams in card.batches]
    return places, [[weighing.grams for weighing in batch.weighings] for batch in batches]


def _weighed(card: FormulaCard) -> str:
    """From which batch on every weighing is good enough, or why there are no grams."""
    balance = card.balance or Balance()
    try:
        least = smallest_sound_batch(card.formula, balance, card.tolerance)
    except KitError as error:
        return str(error)
    return (
        f"On a balance that reads {balance.readability:g} g, every weighing keeps within {card.tolerance:g} % "
        f"in batches of {least:.10g} g and more; below that, make the smallest parts as a stock."
    )


def _window(card: FormulaCard) -> dict[str, Any] | None:
    """The ratios that are allowed, which rule ends them, and every line at both ends."""
    path, window = card.path, card.window
    if path is None or window is None or not window.is_open:
        return None
    lines = [(line, card.formula.phases[p].kind) for p, _, line, _ in card.formula.each_line()]
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
