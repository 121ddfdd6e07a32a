"""The formula in the making: the table, its files, and materials that are not in the library."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.errors import EntryError
from kit.formula.files import SUFFIXES, read_formula, save_formula
from kit.library.ingredient import DENSITIES, PHASE_KINDS, Figure, Ingredient
from kit.library.sources import OWN
from kit.numbers import read_likely
from kit.rounding import all_digits
from kit.saving import file_stem, save_bytes
from kit.units import magnitude
from kit.widgets.formula_table import FormulaTable
from kit.widgets.html import done
from kit.widgets.kept_file import KeptFile
from kit.widgets.panel import Panel, controls, instead_of, try_to
from kit.widgets.shown import on_hand, show_in
from kit.widgets.views import formula_view, materials_names

if TYPE_CHECKING:
    from kit.widgets.bench import Bench
    from kit.widgets.formula_table.table import Edit


class FormulaPanel(Panel):
    """Write the formula; every finding follows beside its line."""

    watches = (
        *("formula", "start", "library", "jurisdiction", "ph", "order", "balance", "tolerance"),
        *("bottle", "fill", "file", "saved", "told"),
    )

    def __init__(self, bench: Bench) -> None:
        self.table = FormulaTable()
        self.message, self.told = ipw.HTML(), ipw.HTML()
        self.file = ipw.Text(
            value=str(bench.file or f"{file_stem(bench.formula.title)}.toml"),
            description="File",
            placeholder="my_formula.toml, .csv or .xlsx",
            continuous_update=False,
        )
        self.save_button = ipw.Button(
            description="Save", tooltip="Save to this file; what it held is kept among its earlier saves"
        )
        self.open_button = ipw.Button(description="Open", tooltip="Open this file")
        self.upload = ipw.FileUpload(
            accept=",".join(SUFFIXES), multiple=False, description="Open from elsewhere", layout={"width": "auto"}
        )
        self.product_kind = ipw.Dropdown(
            options=["leave-on", "rinse-off"], description="Product", value=bench.formula.product_kind
        )
        self.title_box = ipw.Text(value=bench.formula.title, description="Title", continuous_update=False)
        self.written_for = ipw.Text(
            description="Grams are written for",
            placeholder="such as 250 g",
            continuous_update=False,
            style={"description_width": "initial"},
        )
        self.kept = KeptFile(
            bench.seen,
            path=self._named_file,
            save=self._save_to,
            copy=lambda path: save_formula(bench.formula, path),
            reopen=self._open_from,
        )
        self._shown_file = bench.file
        self.own = OwnIngredientForm(bench)
        self.own_box = ipw.Accordion([self.own], titles=("An ingredient that is not in the library",))
        super().__init__(
            bench,
            [
                controls(self.title_box, self.product_kind, self.written_for),
                self.table,
                self.told,
                controls(self.file, self.save_button, self.open_button, self.upload),
                self.message,
                self.kept,
                self.own_box,
            ],
        )
        self.table.on_edit(self._edited)
        self.save_button.on_click(lambda _: self._save())
        self.open_button.on_click(lambda _: self._open())
        self.upload.observe(self._uploaded, names="value")
        on_hand(self.product_kind, lambda kind: self._set(product_kind=kind))
        on_hand(self.title_box, lambda title: self._set(title=title.strip() or "Untitled"))
        on_hand(self.written_for, lambda mass: self._set_written_for(mass.strip()))

    def refresh(self) -> None:
        """Show the formula in hand."""
        bench = self.bench
        self.table.view = dict(formula_view(bench))
        self.told.value = done(bench.told) if bench.told else ""
        names = materials_names(bench)
        if names != self.table.names:
            self.table.names = names
        show_in(self.product_kind, bench.formula.product_kind)
        show_in(self.title_box, bench.formula.title)
        has_grams = bench.formula.written_for is not None or bench.formula.resolution.batch_mass is not None
        needs_it = any("written for" in sentence for *_, sentence in bench.formula.resolution.problems)
        self.written_for.layout.display = "" if has_grams or needs_it else "none"
        mass = bench.formula.written_for
        show_in(self.written_for, mass, "" if mass is None else f"{all_digits(mass)} g")
        if bench.file != self._shown_file:  # a name that is typed and not used yet stays
            self._shown_file = bench.file
            self.file.value = str(bench.file or f"{file_stem(bench.formula.title)}.toml")
        self.save_button.button_style = "" if bench.formula == (bench.saved or bench.start) else "primary"

    def _edited(self, edit: Edit) -> None:
        self.bench.hear(edit)

    def _set(self, **changes: Any) -> None:
        self.bench.change(replace(self.bench.formula, **changes))

    def _set_written_for(self, text: str) -> None:
        def work() -> None:
            mass = magnitude(text, "g", name="The batch mass") if text else None
            if mass is not None and not mass > 0:
                msg = f"The batch mass must be more than 0 g, got {mass:g} g."
                raise EntryError(msg)
            self._set(written_for=mass)

        try_to(self.message, work)

    def _save(self) -> None:
        self.act(self.message, lambda: self.kept.save(self._named_file()))

    def _save_to(self, path: Path) -> str:
        notes = self.bench.save(path)
        return " ".join([f"Saved {path.name}.", *(note.sentence for note in notes)])

    def _open(self) -> None:
        self.act(self.message, lambda: self._open_from(self._named_file()))

    def _open_from(self, path: Path) -> str:
        notes = self.bench.open(path)
        self.kept.list_saves()
        said = f"Opened {path.name}. Undo brings back what was here before."
        return " ".join([said, *(note.sentence for note in notes)])

    def _named_file(self) -> Path:
        name = self.file.value.strip()
        if not name:
            msg = f"Type a file name that ends in one of {', '.join(SUFFIXES)}."
            raise EntryError(msg)
        return Path(name)

    def _uploaded(self, _change: object) -> None:
        """A file from the maker's own disk is put beside the notebook, unless one of that name is there."""
        if not self.upload.value:
            return
        item = self.upload.value[0]
        target, content = Path(Path(item["name"]).name), bytes(item["content"])
        self.upload.value = ()

        def work() -> str:
            with TemporaryDirectory() as folder:  # a file with faults is told of and not left lying about
                trial = Path(folder) / target
                save_bytes(trial, content)
                read_formula(trial, [])
            where = target
            number = 2
            while where.exists() and not (where.is_file() and where.read_bytes() == content):
                where = target.with_stem(f"{target.stem}_{number}")
                number += 1
            save_bytes(where, content)
            notes = self.bench.open(where)
            said = f"Opened {where.name}, which now lies beside this notebook."
            return " ".join([said, *(note.sentence for note in notes)])

        self.act(self.message, work)


class OwnIngredientForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Add an ingredient that travels with the formula."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        style = {"style": {"description_width": "initial"}}
        self.inci = ipw.Text(description="INCI name", **style)
        self.plain = ipw.Text(description="Plain name", **style)
        self.layer = ipw.Dropdown(options=list(PHASE_KINDS), description="Belongs in", **style)
        self.density = ipw.Text(description="Density, g/mL", placeholder="may stay empty", **style)
        self.role = ipw.Text(description="Role", placeholder="emollient, preservative …", **style)
        self.add = ipw.Button(description="Add")
        self.message = ipw.HTML()
        super().__init__([controls(self.inci, self.plain, self.layer, self.density, self.role, self.add), self.message])
        self.add.on_click(lambda _: self._add())

    def _add(self) -> None:
        def work() -> str:
            density = self.density.value.strip()
            ingredient = Ingredient(
                inci=self.inci.value.strip(),
                plain_name=self.plain.value.strip(),
                roles=(self.role.value.strip(),) if self.role.value.strip() else (),
                phase=self.layer.value,
                density=Figure(read_likely(density, *DENSITIES), OWN) if density else None,
                facts_source=OWN,
                own=True,
            )
            replaced = instead_of(self.bench, ingredient.inci)
            self.bench.add_material(ingredient)
            return f"{ingredient.inci} can now be chosen in the table; it is saved with this formula. {replaced}"

        try_to(self.message, work)
