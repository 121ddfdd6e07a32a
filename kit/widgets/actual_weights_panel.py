"""What actually went in: type each weighing as it is made, and see what the batch really is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.actual import ActualBatch, actual
from kit.errors import EntryError, KitError
from kit.numbers import read_number, split_number
from kit.rounding import decimal_places
from kit.units import magnitude
from kit.widgets.actual_words import advice, line_said, row_label
from kit.widgets.html import done, findings_list, heading, problem, soft
from kit.widgets.on_disk import kept_words
from kit.widgets.panel import Panel, controls, number_box, try_to
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.weighing import Batch, Weighing
    from kit.widgets.bench import Bench

ABOUT = "type each mass as it stands on the balance; an empty box counts as planned"
#: A line that is typed in, and where it stands among lines of the same material in the same phase.
RowKey = tuple[str, str, int]


class WeighedRow(ipw.HBox):  # type: ignore[misc]  # ipywidgets has no types
    """One line of the batch: what to weigh, what was weighed, and what that makes of it."""

    def __init__(self, panel: ActualWeightsPanel) -> None:
        self.entry = ipw.Text(
            placeholder="still to weigh",
            style={"description_width": "300px"},
            layout={"width": "440px", "align_self": "flex-start"},
        )
        self.said = ipw.HTML(layout={"flex": "1 1 280px", "align_self": "center"})
        super().__init__([self.entry, self.said])
        self.add_class("sw-controls")
        self.entry.observe(panel.hear_row, names="value")


class ActualWeightsPanel(Panel):
    """Weighings in, real percents and corrections out.

    What is typed is kept for each line by its phase and material, also while the line is away or the batch
    changes its size, and nothing the panel does ever rewrites it.
    """

    watches = ("formula", "library", "jurisdiction", "order", "balance", "tolerance")

    def __init__(self, bench: Bench) -> None:
        self.typed: dict[RowKey, str] = {}
        self.tolerance = number_box("A line may be off, % of its percent", bench.tolerance, 0.01, 50.0, step=0.1)
        self.column = ipw.HTML()
        self.rows = ipw.VBox()
        self.total, self.findings, self.advice, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.note = ipw.Text(value="as weighed", description="Note", style={"description_width": "initial"})
        self.take = ipw.Button(description="Keep these percents as a version", layout={"width": "auto"})
        self.clear = ipw.Button(description="Start a new sheet", layout={"width": "auto"})
        self.real: ActualBatch | None = None
        self._keys: list[RowKey] = []
        super().__init__(
            bench,
            [
                ipw.HTML(heading("What went in", ABOUT)),
                controls(self.tolerance),
                self.column,
                self.rows,
                self.total,
                self.findings,
                self.advice,
                controls(self.note, self.take, self.clear),
                self.message,
            ],
        )
        on_hand(self.tolerance, self._set_tolerance)
        self.take.on_click(lambda _: self._take_percents())
        self.clear.on_click(lambda _: self._start_anew())

    # ---- showing ----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the batch in hand, with what was typed for it."""
        show_in(self.tolerance, self.bench.tolerance, within=(0.01, 50.0))
        try:
            batch = self.bench.product.batch
        except KitError as error:
            self._show_nothing(str(error))
            return
        self._lay_rows(batch)
        self._show(batch)

    def _show_nothing(self, sentence: str) -> None:
        self.real = None
        self.rows.layout.display = "none"
        self.column.value, self.take.disabled = "", True
        self.total.value, self.findings.value, self.advice.value = problem(sentence), "", ""

    def _lay_rows(self, batch: Batch) -> None:
        """One row for each weighing; each shows what was typed for its line before, if anything was."""
        self.rows.layout.display = ""
        rows = list(self.rows.children[: len(batch.weighings)])
        rows += [WeighedRow(self) for _ in range(len(batch.weighings) - len(rows))]
        self._keys = row_keys(batch)
        places = decimal_places(batch.balance.readability)
        for row, key, weighing in zip(rows, self._keys, batch.weighings, strict=True):
            row.entry.value = self.typed.get(key, "")
            row.entry.description = row_label(weighing.material, weighing.grams, places)
            row.entry.tooltip = weighing.material
        if tuple(rows) != self.rows.children:
            self.rows.children = tuple(rows)
        names = ", ".join(dict.fromkeys(phase.name for phase in batch.formula.phases))
        self.column.value = soft(f"weigh, g → weighed, g · {batch.mass:.10g} g in all · {names}")

    def _show(self, batch: Batch) -> None:
        weighed, troubles = self._read(batch.weighings)
        try:
            self.real = actual(batch, weighed)
            findings = self.real.check(self.bench.product.materials, self.bench.product.limits, self.tolerance.value)
        except KitError as error:
            self.real = None
            self.total.value, self.findings.value, self.advice.value = problem(str(error)), "", ""
            return
        self.take.disabled = bool(troubles)
        for n, (row, line) in enumerate(zip(self.rows.children, self.real.lines, strict=True)):
            beside = [f for f in findings if (f.place.phase, f.place.line) == (line.phase, line.line)]
            said = line_said(line) + findings_list(f for f in beside if f.severity != "note")
            row.said.value = problem(troubles[n]) if n in troubles else said
        placed = {(line.phase, line.line) for line in self.real.lines}
        self.findings.value = findings_list(
            f for f in findings if f.severity != "note" and (f.place.phase, f.place.line) not in placed
        )
        waiting = sum(not line.is_weighed for line in self.real.lines)
        so_far = f"; {waiting} still to weigh, counted as planned" if waiting else ""
        off = len(self.real.outside(self.tolerance.value))
        words = f"{off} outside" if off else "none outside"
        self.total.value = soft(f"{self.real.mass:.6g} g in the vessel{so_far}; {words} {self.tolerance.value:g} %.")
        self.advice.value = advice(self.real, weighed, self.tolerance.value)

    def _read(self, weighings: Sequence[Weighing]) -> tuple[list[float | None], dict[int, str]]:
        """What was typed as grams, and a sentence for each entry that cannot be read."""
        weighed: list[float | None] = []
        troubles = {}
        for n, (key, weighing) in enumerate(zip(self._keys, weighings, strict=True)):
            text = self.typed.get(key, "")
            try:
                weighed.append(read_mass(text, weighing.material) if text.strip() else None)
            except KitError as error:
                weighed.append(None)
                troubles[n] = str(error)
        return weighed, troubles

    # ---- hearing ----------------------------------------------------------------------------------------

    def hear_row(self, _change: object = None) -> None:
        """Take what was typed in any of the rows."""
        if self.is_refreshing:
            return
        for key, row in zip(self._keys, self.rows.children, strict=True):
            if row.entry.value or key in self.typed:
                self.typed[key] = row.entry.value
        self._changed()

    def _set_tolerance(self, percent: float) -> None:
        self.bench.tolerance = percent

    def _take_percents(self) -> None:
        def work() -> str | None:
            if self.real is None:
                return None
            if not self.real.is_finished:
                waiting = ", ".join(line.material for line in self.real.lines if not line.is_weighed)
                msg = f"Weigh the rest first: {waiting}."
                raise EntryError(msg)
            self.bench.change(self.real.formula)
            kept = self.bench.keep(self.note.value.strip() or "as weighed")
            return (
                f"Version {kept.version} holds the percents that really went in. {kept_words(self.bench, kept)} "
                "Undo goes back to the plan."
            )

        try_to(self.message, work)

    def _start_anew(self) -> None:
        self.typed.clear()
        self.message.value = done("The sheet is empty again; the formula was not touched.")
        self._changed()


def row_keys(batch: Batch) -> list[RowKey]:
    """A key for each weighing that survives a change of size or order: phase, material, and which of the same."""
    seen: dict[tuple[str, str], int] = {}
    found = []
    for weighing in batch.weighings:
        place = (batch.formula.phases[weighing.phase].name, weighing.material)
        found.append((*place, seen.get(place, 0)))
        seen[place] = seen.get(place, 0) + 1
    return found


def read_mass(text: str, material: str) -> float:
    """A mass as it is typed beside a line: a bare number is in g here, as the column says; "0,25 kg" works too. [g]

    Raises
    ------
    KitError
        It is not a mass, or is below 0 g.

    Examples
    --------
    >>> read_mass("12,5", "Glycerin"), read_mass("0.25 kg", "Aqua")
    (12.5, 250.0)
    """
    number, unit = split_number(text)
    grams = magnitude(text, "g", name=material) if unit else read_number(text)
    if number < 0:
        msg = f"{material}: {text.strip()} is below zero. Tare the balance and weigh again."
        raise EntryError(msg)
    return grams
