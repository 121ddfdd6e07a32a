"""The label of the formula in hand: the text to paste, why each ingredient stands where it does, what is missing."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.label.content import content_of_volume, read_content
from kit.label.declaration import Choices, read_left_out
from kit.label.gathering import scented_materials
from kit.label.label_text import LabelText, label
from kit.label.particulars import particulars_file, read_particulars, save_particulars
from kit.layers.density import product_density, product_density_off
from kit.library.columns import split_list
from kit.library.table import JURISDICTIONS
from kit.saving import file_stem, save_text
from kit.widgets.html import findings_list, heading, problem
from kit.widgets.kept_file import KeptFile
from kit.widgets.label_forms import TICK, AllergenForm, LabelForm
from kit.widgets.label_sheets import missing_list, reasons_sheet
from kit.widgets.panel import Panel, controls, try_to
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.label.content import NetContent
    from kit.library.table import Jurisdiction
    from kit.widgets.bench import Bench

ORDERS = (("by weight, most first", "weight"), ("by the alphabet", "alphabet"), ("in my own order", "own"))

#: What belongs in the box for what is no ingredient.
LEFT_OUT = (
    '<div class="sw-subtitle">Only impurities of raw materials, and aids that are no longer in the product, are left '
    "out of the list. Write each with = and why; it is told beside the label.</div>"
)

#: What is the same on the labels of all products of one maker.
OF_THE_MAKER = ("responsible_person", "contact")

#: Boxes for text of several lines; the other panels have only boxes of one.
STYLE = """<style>
.shakewell-panel .sw-several .widget-inline-hbox textarea { height: auto; min-height: 52px; padding: 4px 6px; }
.shakewell-panel .widget-inline-hbox textarea.sw-label.sw-label {
  height: auto; min-height: 420px; box-sizing: border-box; width: 100%; padding: 14px 16px;
  background: var(--sw-raised); color: var(--sw-ink); border: 1px solid var(--sw-rule); border-radius: 4px;
  font: 13.5px/1.5 var(--jp-ui-font-family, system-ui, sans-serif); resize: vertical;
  field-sizing: content; max-height: 640px; }
.shakewell-panel .sw-missing { margin: 4px 0 8px; padding-left: 1.3em; }
.shakewell-panel .sw-missing li { margin: 3px 0; }
</style>"""


class LabelPanel(Panel):
    """Write the label of the formula in hand.

    Parameters
    ----------
    statements
        A file of what suppliers' certificates say about allergens; it is read if it is there.
    """

    watches = ("formula", "library", "jurisdiction", "bottle", "fill", "tolerance")

    def __init__(self, bench: Bench, statements: str | Path = "allergen_statements.csv") -> None:
        wide = {"style": {"description_width": "initial"}}
        places = [(words, key) for key, words in JURISDICTIONS.items()]
        self.place = ipw.ToggleButtons(options=places, value=bench.jurisdiction, description="Whose rules", **wide)
        self.order = ipw.Dropdown(options=list(ORDERS), description="Order below 1 %", **wide)
        self.own_order = ipw.Text(
            description="First of them", placeholder="names with ; between them", layout={"width": "380px"}, **wide
        )
        self.as_perfume = ipw.Checkbox(description="count essential oils as Parfum", **TICK)
        self.nano = ipw.Text(
            description="Nanomaterials", placeholder="names with ; between them", layout={"width": "380px"}, **wide
        )
        self.left_out = ipw.Text(
            description="Not ingredients",
            placeholder="such as: Alcohol = impurity of the extract",
            layout={"width": "440px"},
            **wide,
        )
        rare = ipw.VBox([controls(self.nano), controls(self.left_out), ipw.HTML(LEFT_OUT)])
        self.rare = ipw.Accordion([rare], titles=("Nanomaterials, impurities and aids",), selected_index=None)
        self.form = LabelForm()
        self.allergens = AllergenForm(Path(statements))
        self.content_message, self.preview = ipw.HTML(), ipw.HTML()
        self.missing, self.findings, self.read_message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self._formula: Formula | None = None
        self._kept: dict[str, dict[str, str]] = {}
        self.show_reasons = ipw.Checkbox(description="show why each ingredient stands where it does", **TICK)
        self.reasons = ipw.HTML()
        self.file_name = ipw.Text(description="Save as", layout={"width": "320px"}, **wide)
        self.save_label = ipw.Button(description="Save", button_style="primary", layout={"width": "auto"})
        self.message = ipw.HTML()
        self.result: LabelText | None = None
        self.kept = KeptFile(
            bench.seen,
            path=lambda: particulars_file(bench.formula.title),
            save=self._keep_particulars,
            copy=lambda path: save_particulars(path, self.form.typed()),
            reopen=self._reopen_particulars,
            lists_saves=False,
        )
        column = {"min_width": "340px"}
        left = ipw.VBox(
            [self.form, self.content_message], layout={"flex": "1 1 380px", "margin": "0 18px 0 0", **column}
        )
        save = ipw.VBox([controls(self.file_name, self.save_label), self.message, self.kept])
        right = ipw.VBox([self.preview, save], layout={"flex": "1 1 400px", **column})
        side_by_side = ipw.HBox(
            [left, right], layout={"flex_flow": "row wrap", "align_items": "flex-start", "margin": "6px 0"}
        )
        subtitle = "the text to paste, in the order that the law asks for; click into it, then select all and copy"
        super().__init__(
            bench,
            [
                ipw.HTML(STYLE + heading("Label", subtitle)),
                controls(self.place),
                controls(self.order, self.own_order, self.as_perfume),
                self.read_message,
                side_by_side,
                self.missing,
                self.findings,
                self.allergens,
                self.rare,
                self.show_reasons,
                self.reasons,
            ],
        )
        on_hand(self.place, self._choose_place)
        chosen = (self.order, self.own_order, self.as_perfume, self.nano, self.left_out, self.show_reasons)
        for box in (*chosen, *self.form.boxes):
            box.observe(self._changed, names="value")
        self.allergens.on_change(self._changed)
        self.save_label.on_click(lambda _: self._save())

    def _choose_place(self, place: Jurisdiction) -> None:
        """Whose rules count is one choice for every panel of the bench."""
        self.bench.jurisdiction = place

    def refresh(self) -> None:
        """Write the label anew."""
        bench = self.bench
        show_in(self.place, bench.jurisdiction)
        self.message.value = ""  # what was saved is not what is shown now
        self._turn_to(bench.formula)
        self.own_order.layout.display = "" if self.order.value == "own" else "none"
        self.form.show(self.place.value, bench.formula.title)
        self.file_name.placeholder = f"{file_stem(bench.formula.title)}_label_{self.place.value}.txt"
        try:
            scented = scented_materials(bench.formula, bench.product.materials)
        except KitError:
            scented = []
        self.allergens.show({name: self._made_of(name) for name in scented}, bench.formula.product_kind)
        self.allergens.layout.display = "" if self.place.value == "eu" and scented else "none"
        content = self._content()
        try:
            details = self.form.details()
        except KitError as error:
            self.content_message.value += problem(str(error))
            details = self.form.details(without_months=True)
        self.result = label(
            bench.formula,
            bench.product.materials,
            jurisdiction=self.place.value,
            content=content,
            details=details,
            choices=self._choices(scented),
        )
        self._show(self.result)

    def _turn_to(self, formula: Formula) -> None:
        """Show the particulars of this very product: what was typed for another one is kept for that one."""
        before, self._formula = self._formula, formula
        if before is not None and (before.title == formula.title or before.phases == formula.phases):
            return  # the same product, perhaps under a new title
        typed = self._kept.get(formula.title) or self._particulars(formula.title)
        if before is not None:
            left = self._kept[before.title] = self.form.typed()
            typed = {name: left[name] for name in OF_THE_MAKER if name in left} | typed
        self.form.fill(typed)

    def _particulars(self, title: str) -> dict[str, str]:
        """What was kept beside the notebook at the last saving."""
        path = particulars_file(title)
        try:
            return self.bench.seen.read(path, read_particulars) if path.exists() else {}
        except KitError as error:
            self.read_message.value = problem(str(error))
            return {}

    def _made_of(self, name: str) -> str:
        material = self.bench.product.materials.get(name)
        parts = dict(material.composition) if material is not None else {}
        return "; ".join(f"{part} {percent:.6g}" for part, percent in parts.items() if part != name)

    def _choices(self, scented: list[str]) -> Choices:
        own = split_list(self.own_order.value)
        return Choices(
            small_first=own or "weight" if self.order.value == "own" else self.order.value,
            perfume=tuple(scented) if self.as_perfume.value else (),
            statements=self.allergens.statements,
            nano=split_list(self.nano.value),
            left_out=read_left_out(self.left_out.value),
            weighing_error=self.bench.tolerance,
        )

    def _content(self) -> NetContent | None:
        """What one pack holds: as typed, else the bottle's fill."""
        self.content_message.value = ""
        try:
            layers = self.bench.product.layers
            density = (product_density(layers), product_density_off(layers)) if layers else (0.0, 0.0)
            typed = self.form.content.value
            if typed.strip():
                return read_content(typed, *density)
            content = content_of_volume(self.bench.fill, *density) if layers else None
        except KitError as error:
            self.content_message.value = problem(str(error))
            return None
        self.form.content.placeholder = f"{content.text('eu')}, the bottle's fill" if content else "such as 85 mL"
        return content

    def _show(self, result: LabelText) -> None:
        # Not "readonly": keys pressed in such a box are taken as commands by the notebook, which deletes cells by keys.
        lines = result.text.count("\n") + 1
        self.preview.value = (
            f'<textarea class="sw-label" aria-label="Text of the label" aria-readonly="true" rows="{lines + 6}" '
            f'spellcheck="false" onbeforeinput="event.preventDefault()">{escape(result.text)}</textarea>'
        )
        self.missing.value = missing_list(result)
        self.findings.value = findings_list(result.findings)
        self.reasons.value = reasons_sheet(result.declaration) if self.show_reasons.value else ""

    def _save(self) -> None:
        def work() -> str:
            name = self.file_name.value.strip() or self.file_name.placeholder
            path = Path(name if name.endswith(".txt") else f"{name}.txt")
            save_text(path, f"{self.result.text}\n" if self.result is not None else "")
            left = len(self.result.missing) if self.result is not None else 0
            rest = f" {left} particular{'s' if left != 1 else ''} still missing." if left else ""
            typed, kept = self.form.typed(), particulars_file(self.bench.formula.title)
            if typed or kept.exists():
                rest += f" {self.kept.save(kept)}".rstrip()
            return f"Saved as {path.name} beside this notebook.{rest}"

        try_to(self.message, work)

    def _keep_particulars(self, path: Path) -> str:
        save_particulars(path, self.form.typed(), seen=self.bench.seen)
        return f"What you typed is kept in {path.name} for the next time."

    def _reopen_particulars(self, path: Path) -> str:
        self.form.fill(self.bench.seen.read(path, read_particulars))
        return f"The form shows what is kept in {path.name}."
