"""The label of the formula in hand: the text to paste, why each ingredient stands where it does, what is missing."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.file_names import file_stem
from kit.inputs import Choice, FileName, Input, Text, Tick, inputs_of
from kit.label.declaration import Choices, read_left_out
from kit.label.gathering import scented_materials
from kit.label.particulars import PARTICULARS, Particulars, particulars_file, read_particulars, save_particulars
from kit.library.columns import split_list
from kit.library.table import JURISDICTIONS
from kit.made_for import own_place
from kit.saving import save_text
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list
from kit.widgets.kept_file import KeptFile
from kit.widgets.label_forms import AllergenForm
from kit.widgets.label_sheets import missing_list, reasons_sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.label.label_text import LabelText
    from kit.widgets.panel import Source

PLACE = Input("jurisdiction", "Whose rules", Choice(JURISDICTIONS, "switch"), "eu")
#: What is chosen for the list of ingredients.
LIST = (
    Input(
        "order", "Order below 1 %",
        Choice({"weight": "by weight, most first", "alphabet": "by the alphabet", "own": "in my own order"}), "weight",
    ),
    Input("own_order", "First of them", Text(), "", example="names, ; between them",
          applies=lambda values: values["order"] == "own"),
    Input("as_perfume", "Count essential oils as Parfum", Tick(), default=False),
    Input("reasons", "Show why each ingredient stands where it does", Tick(), default=False),
)  # fmt: skip
#: What few products need.
RARE = (
    Input("nano", "Nanomaterials", Text(), "", example="names, ; between them"),
    Input(
        "left_out", "Not ingredients", Text(), "", example="Alcohol = impurity of the extract",
        help="Only impurities of raw materials, and aids that are no longer in the product, are left out of the list. "
        "Write each with = and why; it is told beside the label.",
    ),
)  # fmt: skip
#: What is the same on the labels of all products of one maker.
OF_THE_MAKER = ("responsible_person", "contact")

STYLE = """<style>
.shakewell-panel textarea.sw-label.sw-label {
  height: auto; min-height: 420px; box-sizing: border-box; width: 100%; padding: 14px 16px;
  background: var(--sw-raised); color: var(--sw-ink); border: 1px solid var(--sw-rule); border-radius: 4px;
  font: var(--sw-size)/1.5 var(--jp-ui-font-family, system-ui, sans-serif); resize: vertical;
  field-sizing: content; max-height: 640px; }
.shakewell-panel .sw-missing { margin: 4px 0 8px; padding-left: 1.3em; }
.shakewell-panel .sw-missing li { margin: 3px 0; }
</style>"""


class LabelPanel(Panel):
    """Write the label of the formula in hand.

    Parameters
    ----------
    file
        A file of what suppliers' certificates say about allergens; it is read if it is there.
    """

    watches = ("formula", "library", "jurisdiction", "bottle", "fill", "tolerance", "particulars")
    title = "Label"
    subtitle = "the text to paste, in the order that the law asks for; click into it, then select all and copy"

    def __init__(self, source: Source = None, file: str | Path = "allergen_statements.csv") -> None:
        bench = Bench.of(source)
        self.form = Form((PLACE, *inputs_of(Particulars)), on_change=self._typed, live=PARTICULARS)
        self.choices = Form(LIST, on_change=lambda _: self._changed())
        self.rare = Form(RARE, on_change=lambda _: self._changed(), fold="Nanomaterials, impurities and aids")
        save = Button("save", "Save", self._save, "The text, and what you typed for the next time", primary=True)
        self.files = Form([Input("file", "Save as", FileName(".txt"), None)], [save])
        self.preview, self.missing, self.findings, self.reasons = (ipw.HTML() for _ in range(4))
        self.missing.add_class("sw-answer")
        self.allergens = AllergenForm(Path(file), self._changed)
        self._formula: Formula | None = None
        self._kept: dict[str, dict[str, str]] = {}
        self.result: LabelText | None = None
        self.kept = KeptFile(
            bench.seen,
            path=lambda: particulars_file(bench.formula.title),
            save=self._keep_particulars,
            copy=lambda path: save_particulars(path, self.typed()),
            reopen=self._reopen_particulars,
            lists_saves=False,
        )
        column = {"min_width": "min(100%, 25em)"}
        left = ipw.VBox([self.form], layout={"flex": "1 1 25em", **column})
        right = ipw.VBox([self.preview, self.files, self.kept], layout={"flex": "1 1 30em", **column})
        beside = ipw.HBox([left, right])
        beside.layout = {"flex_flow": "row wrap", "align_items": "flex-start", "grid_gap": "0 18px"}
        shown = [self.missing, self.findings, self.allergens, self.rare, self.reasons]
        super().__init__(bench, [ipw.HTML(STYLE), self.choices, beside, *shown])

    def typed(self) -> dict[str, str]:
        """What stands in the form, under the names of the particulars; only what differs from an empty form."""
        empty = {one.name: one.write(one.default) for one in inputs_of(Particulars)}
        return {name: text for name in PARTICULARS if (text := self.form.texts[name]) != empty[name]}

    def _fill(self, typed: dict[str, str]) -> None:
        """Show what was typed before; the rest of the form becomes empty."""
        empty = {one.name: one.write(one.default) for one in inputs_of(Particulars)}
        self.form.type(**(empty | typed))

    def _typed(self, _names: object) -> None:
        """Whose rules count and what is printed is one choice for every panel of the bench."""
        self.bench.jurisdiction = self.form["jurisdiction"]
        self.bench.particulars = Particulars(**{name: self.form[name] for name in PARTICULARS})

    def refresh(self) -> None:
        """Write the label anew."""
        bench = self.bench
        self.form.set(jurisdiction=bench.jurisdiction)
        self.files.tell("")  # what was saved is not what is shown now
        self._turn_to(bench.formula)
        self.form.set(
            **{name: getattr(bench.particulars, name) for name in PARTICULARS if name not in self.form.faults}
        )
        self.form.describe("product_name", example=bench.formula.title)
        self.files.describe("file", example=f"{file_stem(bench.formula.title)}_label_{bench.jurisdiction}.txt")
        try:
            scented = scented_materials(bench.formula, bench.product.materials)
        except KitError:
            scented = []
        self.allergens.show({name: self._made_of(name) for name in scented}, bench.formula.product_kind)
        self.allergens.layout.display = "" if bench.jurisdiction == "eu" and scented else "none"
        bench.choices = self._choices(scented)
        self.form.mark("content", "")
        try:
            content = bench.product.net_content
            self.form.describe("content", example=content.text("eu") if content else "85 mL")
            self.result = bench.product.label
        except KitError as error:
            self.form.mark("content", str(error))
            self.result = bench.product.label_with(None)
        self._show(self.result)

    def _turn_to(self, formula: Formula) -> None:
        """Show the particulars of this very product: what was typed for another one is kept for that one."""
        before, self._formula = self._formula, formula
        if before is not None and (before.title == formula.title or before.phases == formula.phases):
            return  # the same product, perhaps under a new title
        typed = self._kept.get(formula.title) or self._particulars(formula.title)
        if before is None and self.bench.particulars != Particulars():
            return  # another panel or a script has said them
        if before is not None:
            left = self._kept[before.title] = self.typed()
            typed = {name: left[name] for name in OF_THE_MAKER if name in left} | typed
        self._fill(typed)
        self.bench.particulars = Particulars(**{name: self.form[name] for name in PARTICULARS})

    def _particulars(self, title: str) -> dict[str, str]:
        """What was kept beside the notebook at the last saving."""
        path = particulars_file(title)
        try:
            return self.bench.seen.read(path, read_particulars) if path.exists() else {}
        except KitError as error:
            self.files.tell(str(error), "stop")
            return {}

    def _made_of(self, name: str) -> str:
        material = self.bench.product.materials.get(name)
        parts = dict(material.composition) if material is not None else {}
        return "; ".join(f"{part} {percent:.6g}" for part, percent in parts.items() if part != name)

    def _choices(self, scented: list[str]) -> Choices:
        own, order = split_list(self.choices["own_order"]), self.choices["order"]
        return Choices(
            small_first=own or "weight" if order == "own" else order,
            perfume=tuple(scented) if self.choices["as_perfume"] else (),
            statements=self.allergens.statements,
            nano=split_list(self.rare["nano"]),
            left_out=read_left_out(self.rare["left_out"]),
        )

    def _show(self, result: LabelText) -> None:
        # Not "readonly": keys pressed in such a box are taken as commands by the notebook, which deletes cells by keys.
        lines = result.text.count("\n") + 1
        self.preview.value = (
            f'<textarea class="sw-label" aria-label="Text of the label" aria-readonly="true" rows="{lines + 6}" '
            f'spellcheck="false" onbeforeinput="event.preventDefault()">{escape(result.text)}</textarea>'
        )
        self.missing.value = missing_list(result)
        self.findings.value = findings_list(result.findings)
        self.reasons.value = reasons_sheet(result.declaration) if self.choices["reasons"] else ""

    def _save(self) -> str:
        wanted = self.files.read()["file"] or Path(self.files.inputs["file"].example)
        place = own_place(self.bench.formula.title, wanted)
        path = place.path
        save_text(path, f"{self.result.text}\n" if self.result is not None else "")
        left = len(self.result.missing) if self.result is not None else 0
        rest = f" {left} particular{'s' if left != 1 else ''} still missing." if left else ""
        kept = particulars_file(self.bench.formula.title)
        if self.typed() or kept.exists():
            rest += f" {self.kept.save(kept)}".rstrip()
        return f"Saved as {place.words}.{rest}"

    def _keep_particulars(self, path: Path) -> str:
        save_particulars(path, self.typed(), seen=self.bench.seen)
        own_place(self.bench.formula.title, path)
        return f"What you typed is kept in {path.name} for the next time."

    def _reopen_particulars(self, path: Path) -> str:
        self._fill(self.bench.seen.read(path, read_particulars))
        return f"The form shows what is kept in {path.name}."
