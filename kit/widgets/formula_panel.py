"""The formula in the making: the table, its files, and materials that are not in the library."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import RangeError
from kit.file_names import beside, file_stem
from kit.formula.files import SUFFIXES, read_formula, save_formula
from kit.inputs import REQUIRED, Amount, Choice, FileName, Input, Number, Text
from kit.library.description import Description
from kit.library.ingredient import DENSITIES, PHASE_KINDS, Figure, Ingredient
from kit.library.sources import OWN
from kit.rounding import all_digits
from kit.saving import save_bytes
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.formula_table import FormulaTable
from kit.widgets.html import done, soft
from kit.widgets.kept_file import KeptFile
from kit.widgets.on_disk import unsaved_words
from kit.widgets.panel import Panel, instead_of
from kit.widgets.pasted_table import PastedTable
from kit.widgets.views import formula_view, materials_names

if TYPE_CHECKING:
    from kit.widgets.panel import Source


@dataclass(frozen=True, slots=True)
class BatchMass(Amount):
    """The mass for which grams are written, with all its digits."""

    def read(self, text: str, unit: str = "") -> float:
        """The mass; a KitError says what is wrong with it."""
        mass = Amount.read(self, text, unit)
        if not mass > 0:
            msg = f"The batch mass must be more than 0 g, got {mass:g} g."
            raise RangeError(msg)
        return mass

    def write(self, value: float) -> str:
        """The number without its unit."""
        return all_digits(value)


#: Before the words of the description.
DESCRIBED = "What it is"

ABOUT = (
    Input("title", "Title", default="Untitled", example="Untitled"),
    Input("written_for", "Grams are written for", BatchMass("g"), None, "g", "250"),
)
FILE = Input("file", "File", FileName(""), REQUIRED, example="my_formula.toml, .csv or .xlsx")
INGREDIENT = (
    Input("inci", "INCI name", default=""),
    Input("plain_name", "Plain name", default=""),
    Input("phase", "Belongs in", Choice({kind: kind for kind in PHASE_KINDS}), PHASE_KINDS[0]),
    Input("density", "Density", Number(*DENSITIES), None, "g/mL", "may stay empty"),
    Input("role", "Role", Text(), "", example="emollient, preservative …"),
)


class FormulaPanel(Panel):
    """Write the formula; every finding follows beside its line."""

    watches = (
        *("formula", "start", "library", "jurisdiction", "ph", "order", "balance", "tolerance"),
        *("bottle", "fill", "file", "saved", "told", "known"),
    )

    def __init__(self, source: Source = None) -> None:
        bench = Bench.of(source)
        self.about = Form(ABOUT, on_change=self._set)
        self.description = Form(Description, on_change=self._describe, fold=DESCRIBED)
        self.table, self.unsaved = FormulaTable(), ipw.HTML()
        self.told = ipw.HTML().add_class("sw-answer")
        self.pasted = PastedTable(bench)
        self.files = Form(
            [FILE],
            [
                Button("save", "Save", self._save, "Save to this file; what it held is kept among its earlier saves"),
                Button("open", "Open", lambda: self._open_from(self._named_file()), "Open this file"),
                Button("upload", "Open from elsewhere", self._uploaded, file=",".join(SUFFIXES)),
            ],
        )
        self.kept = KeptFile(
            bench.seen,
            path=self._named_file,
            save=self._save_to,
            copy=lambda path: save_formula(bench.formula, path),
            reopen=self._open_from,
        )
        self._shown_file: Path | None = Path()
        self.own = OwnIngredientForm(bench)
        shown = [self.table, self.pasted, self.told, self.unsaved, self.files, self.kept, self.own]
        super().__init__(bench, [self.about, self.description, *shown])
        self.table.on_edit(lambda edit: (self.pasted.take if edit["kind"] == "paste" else bench.apply)(edit))

    def refresh(self) -> None:
        """Show the formula in hand."""
        bench, formula = self.bench, self.bench.formula
        self.table.view = dict(formula_view(bench))
        self.told.value = done(bench.told) if bench.told else ""
        names = materials_names(bench)
        if names != self.table.names:
            self.table.names = names
        has_grams = formula.written_for is not None or formula.resolution.batch_mass is not None
        needs_it = any("written for" in sentence for *_, sentence in formula.resolution.problems)
        self.about.show("title", *(["written_for"] if has_grams or needs_it else []))
        self.about.follow(**{one.name: getattr(formula, one.name) for one in ABOUT})
        self.description.follow(**{name: getattr(formula.description, name) for name in self.description.inputs})
        self.description.fold = f"{DESCRIBED}: {formula.description.words}"
        if bench.file != self._shown_file:  # a name that is typed and not used yet stays
            self._shown_file = bench.file
            self.files.set(file=bench.file or Path(f"{file_stem(formula.title)}.toml"))
        self.files.call("save", "Save", primary=formula != (bench.saved or bench.start))
        self.unsaved.value = soft(unsaved_words(bench))

    def _set(self, names: tuple[str, ...]) -> None:
        self.bench.change(replace(self.bench.formula, **{name: self.about[name] for name in names}))

    def _describe(self, names: tuple[str, ...]) -> None:
        formula = self.bench.formula
        said = {name: self.description[name] for name in names}
        self.bench.change(replace(formula, description=replace(formula.description, **said)))

    # ---- files ------------------------------------------------------------------------------------------

    def _named_file(self) -> Path:
        named: Path = self.files.read()["file"]
        return named

    def _save(self) -> str:
        return self.kept.save(self._named_file())

    def _save_to(self, path: Path) -> str:
        notes = self.bench.save(path)
        where = "" if path.parent == Path() else f" {beside(path)}"
        return " ".join([f"Saved {path.name}{where}.", *(note.sentence for note in notes)])

    def _open_from(self, path: Path) -> str:
        notes = self.bench.open(path)
        self.kept.list_saves()
        said = f"Opened {path.name}. Undo brings back what was here before."
        return " ".join([said, *(note.sentence for note in notes)])

    def _uploaded(self, name: str, content: bytes) -> str:
        """A file from the maker's own disk is put beside the notebook, unless one of that name is there."""
        target = Path(Path(name).name)
        with TemporaryDirectory() as folder:  # a file with faults is told of and not left lying about
            trial = Path(folder) / target
            save_bytes(trial, content)
            read_formula(trial, [])
        where, number = target, 2
        while where.exists() and not (where.is_file() and where.read_bytes() == content):
            where = target.with_stem(f"{target.stem}_{number}")
            number += 1
        save_bytes(where, content)
        notes = self.bench.open(where)
        said = f"Opened {where.name}, which now lies beside this notebook."
        return " ".join([said, *(note.sentence for note in notes)])


class OwnIngredientForm(Form):
    """Add an ingredient that travels with the formula."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        super().__init__(INGREDIENT, [Button("add", "Add", self._add)], fold="An ingredient that is not in the library")

    def _add(self) -> str:
        typed = self.read()
        ingredient = Ingredient(
            inci=typed["inci"],
            plain_name=typed["plain_name"],
            roles=(typed["role"],) if typed["role"] else (),
            phase=typed["phase"],
            density=Figure(typed["density"], OWN) if typed["density"] else None,
            facts_source=OWN,
            own=True,
        )
        replaced = instead_of(self.bench, ingredient.inci)
        self.bench.add_material(ingredient)
        return f"{ingredient.inci} can now be chosen in the table; it is saved with this formula. {replaced}".rstrip()
