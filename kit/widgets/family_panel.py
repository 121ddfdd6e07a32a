"""The family of a formula: pin what is in hand as a variant, see up to five side by side, export them as one table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.cost_across import Cost100, cost_per_100_g
from kit.errors import EntryError, KitError
from kit.file_names import file_stem
from kit.formula.compare import compare
from kit.formula.versions import variant_formula, with_variant, without_variant
from kit.inputs import Input, Several
from kit.layers.side_by_side import MOST, family_table, side_by_side
from kit.made_for import own_place
from kit.rounding import percent_text
from kit.saving import save_text
from kit.spreadsheet_text import guarded
from kit.widgets.form import Button, Form
from kit.widgets.html import problem, sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.side_by_side import Column
    from kit.widgets.panel import Source

IN_HAND = "in hand"
#: What a variant is pinned with.
PINNED = (
    Input("name", "Pin what is in hand as", default="", example="dry hair"),
    Input("note", "Because", default="", example="a few words"),
)


class FamilyPanel(Panel):
    """Pin, compare, take in hand, take out, export."""

    watches = ("formula", "start", "library", "jurisdiction", "bottle", "fill", "prices")
    title = "Variants"
    subtitle = f"a family saved with the formula; up to {MOST} side by side"

    def __init__(self, source: Source = None) -> None:
        self.form = Form(PINNED, [Button("pin", "Pin", self._pin, primary=True)])
        self.chosen = Form(
            [Input("shown", "Side by side", Several(), (), help="Hold Ctrl to choose several.")],
            [
                Button("take", "Take in hand", self._take),
                Button("drop", "Take out", self._drop),
                Button("export", "Export the table", self._export),
            ],
            on_change=lambda _: self._changed(),
        )
        self.table = ipw.HTML().add_class("sw-answer")
        self._names: list[str] = []
        super().__init__(source, [self.form, self.chosen, self.table])

    def refresh(self) -> None:
        """Show the family of the formula in hand."""
        names = [variant.name for variant in self.bench.formula.variants]
        if self._names != names:
            shown = [name for name in self.chosen["shown"] if name in names]
            added = [name for name in names if name not in self._names]
            self._names = names
            self.chosen.offer("shown", names)
            self.chosen.set(shown=tuple((shown + added)[-(MOST - 1) :]))
        self.chosen.show(*(("shown", "take", "drop") if names else ()), "export")
        if not names:
            self.table.value = "No variant is pinned yet. Move the ratio or change a line, then pin it under a name."
            return
        try:
            self.table.value = family_sheet(self.columns())
        except KitError as error:
            self.table.value = problem(str(error))

    def columns(self) -> list[Column]:
        """What is shown: the formula in hand, and the chosen variants."""
        bench = self.bench
        formulas: dict[str, Formula] = {IN_HAND: bench.formula}
        formulas |= {name: variant_formula(bench.formula, name) for name in self.chosen["shown"]}
        return side_by_side(formulas, bench.library, bench.product.limits, bench.bottle, bench.fill, self._cost)

    def _cost(self, formula: Formula, materials: Materials) -> Cost100 | None:
        return cost_per_100_g(formula, materials, self.bench.prices)

    def _pin(self) -> str:
        name = self.form["name"]
        there = {variant.name.casefold(): variant.name for variant in self.bench.formula.variants}
        self.bench.change(with_variant(self.bench.formula, name, note=self.form["note"]))
        self.form.clear()
        before = there.get(name.casefold())
        instead = f" in place of the variant {before} as it was; undo brings that back" if before else ""
        return f"Pinned {name}{instead}. Save the formula to keep its family on disk."

    def _one_chosen(self) -> str:
        shown: tuple[str, ...] = self.chosen["shown"]
        if len(shown) != 1:
            msg = f"Choose one variant in the list first; {len(shown) or 'none'} of them chosen now."
            raise EntryError(msg)
        return shown[0]

    def _take(self) -> str:
        name = self._one_chosen()
        chosen = variant_formula(self.bench.formula, name)
        self.bench.change(replace(self.bench.formula, phases=chosen.phases, ratio=None))
        return f"{name} is in hand now. Undo brings back what was."

    def _drop(self) -> str:
        name = self._one_chosen()
        self.bench.change(without_variant(self.bench.formula, name))
        return f"{name} was taken out. Undo brings it back."

    def _export(self) -> str:
        title = self.bench.formula.title
        place = own_place(title, Path(f"family_{file_stem(title)}.csv"))
        save_text(place.path, family_table(self.columns()).rename(columns=guarded).map(_cell).to_csv(index=False))
        return f"Wrote {place.words}."


def _cell(cell: object) -> object:
    """A cell as a spreadsheet can take it: text that it would run is guarded, and no digit is one of the computer's."""
    if isinstance(cell, str):
        return guarded(cell)
    return float(f"{cell:.9g}") if isinstance(cell, float) else cell


def family_sheet(columns: list[Column]) -> str:
    """The columns as HTML."""
    lines = compare([column.formula for column in columns])
    kinds = {phase.name: phase.kind for column in columns for phase in column.formula.phases}
    rows = [[line.material, *(percent_text(percent) or "—" for percent in line.percents)] for line in lines]
    marks = [str(kinds[line.phase]) for line in lines]
    for layer in dict.fromkeys(name for column in columns for name in column.sizes):
        rows.append([f"{layer}, % of the whole", *(percent_text(c.sizes.get(layer)) or "—" for c in columns)])
        rows.append([f"{layer}, mm", *(f"{c.heights[layer]:.0f}" if layer in c.heights else "—" for c in columns)])
    rows.append(["density shaken, g/mL", *(f"{c.density:.4f}" if c.density else "—" for c in columns)])
    if any(column.cost for column in columns):
        rows.append(["materials of 100 g", *(Cost100(*c.cost).text if c.cost else "—" for c in columns)])
    rows.append(["first in the list of ingredients", *(", ".join(c.order[:3]) for c in columns)])
    rows.append(["findings", *(_findings_in_words(column) for column in columns)])
    return sheet(["", *(column.name for column in columns)], rows, numbers=range(1, len(columns) + 1), kinds=marks)


def _findings_in_words(column: Column) -> str:
    counts = [(severity, sum(f.severity == severity for f in column.findings)) for severity in ("stop", "caution")]
    return ", ".join(f"{count} {severity}" for severity, count in counts if count) or "none that stops or cautions"
