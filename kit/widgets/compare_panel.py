"""Versions, variants and files side by side: what changed, and what that did to findings, cost, density and label."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.formula.files import read_formula
from kit.formula.versions import named_versions, variant_formula
from kit.inputs import Choice, FileName, Input, Several
from kit.made_for import own_place
from kit.papers.compared import MOST, Comparison, compared
from kit.papers.comparison import ComparisonOptions
from kit.papers.registry import make_paper
from kit.saving import save_text
from kit.widgets.compare_tables import declared_table, line_table, step_words, substance_table, sums_table
from kit.widgets.form import Button, Form
from kit.widgets.html import problem
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.widgets.panel import Source

VIEWS = {"changes": "what changed", "lines": "line by line", "substances": "substances", "sums": "what follows",
         "declared": "list of ingredients"}  # fmt: skip
INPUTS = (
    Input("chosen", "Compare", Several(), (), help="Hold Ctrl to choose several."),
    Input("file", "Or a file", FileName(".toml"), None, example="my_formula.toml"),
    Input("view", "Show", Choice(VIEWS, "switch"), "changes"),
)


class ComparePanel(Panel):
    """Choose two or more; see every difference; write it on paper."""

    watches = ("formula", "start", "library", "jurisdiction", "ph", "prices")
    title = "Compare"
    subtitle = f"2 to {MOST} of the versions, the variants and other files, the oldest first"

    def __init__(self, source: Source = None) -> None:
        add, write = Button("add", "Add this file", self._add), Button("write", "Write the comparison", self._write)
        self.form = Form(INPUTS, [add, replace(write, primary=True)], on_change=self._choose)
        self.body = ipw.HTML().add_class("sw-answer")
        self._files: dict[str, Formula] = {}
        self._asked: tuple[str, ...] = ()
        self._names: tuple[str, ...] = ()
        super().__init__(source, [self.form, self.body])

    def refresh(self) -> None:
        """Show how the chosen versions differ."""
        named = self.named()
        if self._names != tuple(named):
            self._names = tuple(named)
            kept = tuple(name for name in self._asked if name in named)
            self.form.offer("chosen", named)
            self.form.set(chosen=kept if len(kept) > 1 else self._usual(self._names))
        if len(named) < 2:
            self.body.value = "There is only one version so far. Keep a version, pin a variant, or add a file."
            return
        try:
            self.body.value = self._tables(self.comparison())
        except KitError as error:
            self.body.value = problem(str(error))

    def named(self) -> dict[str, Formula]:
        """What can be compared, the oldest first: what it is called → the formula."""
        hand = self.bench.formula
        named = named_versions(hand)
        named |= {f"variant {v.name}": variant_formula(hand, v.name) for v in hand.variants}
        return named | {f"file {name}": formula for name, formula in self._files.items()}

    def comparison(self) -> Comparison:
        """The chosen versions compared.

        Raises
        ------
        RangeError
            Fewer than two are chosen, or too many.
        """
        named = self.named()
        chosen = {name: named[name] for name in self.form["chosen"]}
        bench = self.bench
        return compared(chosen, bench.library, bench.product.limits, bench.prices, ph=bench.ph)

    def _usual(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """The two that are compared until others are chosen: the last of the versions and the one before it."""
        versions = [name for name in names if not name.startswith(("variant ", "file "))]
        return tuple(versions[-2:] if len(versions) > 1 else names[:2])

    def _choose(self, names: tuple[str, ...]) -> None:
        if "chosen" in names:
            self._asked = self.form["chosen"]
        self._changed()

    def _tables(self, comparison: Comparison) -> str:
        if self.form["view"] == "lines":
            return line_table(comparison)
        if self.form["view"] == "substances":
            return problem(comparison.problem) if comparison.problem else substance_table(comparison)
        if self.form["view"] == "sums":
            return sums_table(comparison)
        if self.form["view"] == "declared":
            return declared_table(comparison)
        steps = [*comparison.steps, *([comparison.overall] if len(comparison.steps) > 1 else [])]
        return "".join(step_words(step) for step in steps)

    def _add(self) -> str:
        path = self.form["file"]
        if path is None:
            msg = "Give the name of a formula's file, such as my_formula.toml."
            raise EntryError(msg)
        notes: list[Finding] = []
        self._files[path.name] = read_formula(path, notes)
        self._asked = (*(self._asked or self.form["chosen"]), f"file {path.name}")[-MOST:]
        self._changed()
        return " ".join([f"{path.name} is in the list now.", *(note.sentence for note in notes)])

    def _write(self) -> str:
        versions = {version.name: version.formula for version in self.comparison().versions}
        paper = make_paper("comparison", self.bench.product, ComparisonOptions(versions))
        place = own_place(self.bench.formula.title, Path(f"{paper.name}.html"))
        save_text(place.path, paper.html)
        return f"Wrote {place.words}. Open it in a browser and print."
