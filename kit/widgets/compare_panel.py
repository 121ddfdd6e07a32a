"""Versions, variants and files side by side: what changed, and what that did to findings, cost, density and label."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.formula.files import read_formula
from kit.formula.versions import named_versions, variant_formula
from kit.papers.compared import MOST, Comparison, compared
from kit.papers.comparison import comparison_html
from kit.saving import file_stem, save_text
from kit.widgets.compare_tables import declared_table, line_table, step_words, substance_table, sums_table
from kit.widgets.html import heading, problem
from kit.widgets.panel import Panel, controls, try_to

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.widgets.bench import Bench

VIEWS = (("what changed", "changes"), ("line by line", "lines"), ("substances", "substances"),
         ("what follows", "sums"), ("list of ingredients", "declared"))  # fmt: skip


class ComparePanel(Panel):
    """Choose two or more; see every difference; write it on paper."""

    watches = ("formula", "start", "library", "jurisdiction", "ph", "prices")

    def __init__(self, bench: Bench) -> None:
        style = {"description_width": "initial"}
        self.chosen = ipw.SelectMultiple(
            description="Compare", rows=6, style=style, layout={"width": "330px"}, tooltip="Hold Ctrl to choose several"
        )
        self.file = ipw.Text(description="or a file", placeholder="my_formula.toml", style=style)
        self.add = ipw.Button(description="Add this file", layout={"width": "auto"})
        self.write = ipw.Button(description="Write the comparison", button_style="primary", layout={"width": "auto"})
        self.view = ipw.ToggleButtons(options=list(VIEWS), tooltips=[words for words, _ in VIEWS])
        self.view.style.button_width = "auto"
        self.message, self.body = ipw.HTML(), ipw.HTML()
        self._files: dict[str, Formula] = {}
        self._asked: tuple[str, ...] = ()
        head = heading("Compare", f"2 to {MOST} of the versions, the variants and other files, the oldest first")
        super().__init__(
            bench,
            [
                ipw.HTML(head),
                controls(
                    self.chosen, ipw.VBox([self.file, self.add, self.write], layout={"align_items": "flex-start"})
                ),
                self.message,
                self.view,
                self.body,
            ],
        )
        self.chosen.observe(lambda _: self._choose(), names="value")
        self.view.observe(lambda _: self._changed(), names="value")
        self.add.on_click(lambda _: self._add())
        self.write.on_click(lambda _: self._write())

    def refresh(self) -> None:
        """Show how the chosen versions differ."""
        named = self.named()
        names = tuple(named)
        if self.chosen.options != names:
            kept = tuple(name for name in self._asked if name in named)
            self.chosen.options = names
            self.chosen.value = kept if len(kept) > 1 else self._usual(names)
        if len(names) < 2:
            self.body.value = "There is only one version so far. Keep a version, pin a variant, or add a file."
            return
        try:
            self.body.value = self._shown(self.comparison())
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
        chosen = {name: named[name] for name in self.chosen.value}
        bench = self.bench
        return compared(chosen, bench.library, bench.product.limits, bench.prices, ph=bench.ph)

    def _usual(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """The two that are compared until others are chosen: the last of the versions and the one before it."""
        versions = [name for name in names if not name.startswith(("variant ", "file "))]
        return tuple(versions[-2:] if len(versions) > 1 else names[:2])

    def _choose(self) -> None:
        if not self.is_refreshing:
            self._asked = tuple(self.chosen.value)
            self._changed()

    def _shown(self, comparison: Comparison) -> str:
        if self.view.value == "lines":
            return line_table(comparison)
        if self.view.value == "substances":
            return problem(comparison.problem) if comparison.problem else substance_table(comparison)
        if self.view.value == "sums":
            return sums_table(comparison)
        if self.view.value == "declared":
            return declared_table(comparison)
        steps = [*comparison.steps, *([comparison.overall] if len(comparison.steps) > 1 else [])]
        return "".join(step_words(step) for step in steps)

    def _add(self) -> None:
        def work() -> str:
            name = self.file.value.strip()
            if not name:
                msg = "Give the name of a formula's file, such as my_formula.toml."
                raise EntryError(msg)
            path = Path(name)
            notes: list[Finding] = []
            self._files[path.name] = read_formula(path, notes)
            self._asked = (*(self._asked or self.chosen.value), f"file {path.name}")[-MOST:]
            return " ".join([f"{path.name} is in the list now.", *(note.sentence for note in notes)])

        if try_to(self.message, work):
            self._changed()

    def _write(self) -> None:
        def work() -> str:
            html = comparison_html(self.comparison())
            path = Path(f"comparison_{file_stem(self.bench.formula.title)}.html")
            save_text(path, html)
            return f"Wrote {path.name} beside this notebook. Open it in a browser and print."

        try_to(self.message, work)
