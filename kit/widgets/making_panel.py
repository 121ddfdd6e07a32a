"""The making: its steps in order, each with phase, temperature, caution and hand, and the formula's note."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.formula.steps import MakingStep, full_step, short_step
from kit.inputs import Choice, Input, Text, inputs_of
from kit.widgets.form import Button, Form
from kit.widgets.html import SIGNS, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.widgets.panel import Source

#: The choice of a step that is not there yet.
NEW = -1
NOTHING = "No step is written yet. Write the first one below and add it."
PARTS = inputs_of(MakingStep)
NAMES = tuple(one.name for one in PARTS)
#: So much of a step stands in the list to choose from.
MOST_WORDS = 60


class MakingPanel(Panel):
    """Write the steps, put them in order, and say what belongs to each; papers print them."""

    watches = ("formula", "library")
    title = "The making"
    subtitle = "its steps in order, as every sheet prints them; what is changed here is changed at once"

    def __init__(self, source: Source = None) -> None:
        note = Input("note", "Note of the formula", Text("lines"), "")
        self.note = Form([note], on_change=self._note, wide=("note",))
        self.steps = ipw.HTML().add_class("sw-answer")
        self.form = Form(
            [Input("step", "Step", Choice({NEW: "a new one"}), NEW), *PARTS],
            [
                Button("add", "Add as a step", self._add, "Below the chosen one, else at the end", primary=True),
                Button("up", "Move up", lambda: self._move(-1)),
                Button("down", "Move down", lambda: self._move(1)),
                Button("delete", "Delete", self._delete, "Take the step out; undo brings it back"),
            ],
            on_change=self._set,
            wide=("step", "do", "caution"),
        )
        self._shown: MakingStep | None = None
        super().__init__(source, [self.note, self.steps, self.form])

    def refresh(self) -> None:
        """Show the steps of the formula in hand."""
        formula = self.bench.formula
        self.note.follow(note=formula.note)
        steps = [full_step(step) for step in formula.steps]
        self.form.offer("phase", dict.fromkeys(phase.name for phase in formula.phases))
        offered = {n: f"{n + 1}. {_brief(step.do)}" for n, step in enumerate(steps)}
        self.form.offer("step", {**offered, NEW: "a new one"})
        marked = {one.place.line: one.severity for one in self.bench.product.findings if one.place.field == "steps"}
        rows = "".join(
            f"<li>{SIGNS[marked[n]] + ' ' if n in marked else ''}{escape(str(step))}</li>"
            for n, step in enumerate(steps)
        )
        self.steps.value = f"<ol>{rows}</ol>" if rows else soft(NOTHING)
        self._show_chosen(steps)

    def _show_chosen(self, steps: list[MakingStep]) -> None:
        at = self.form["step"]
        chosen = steps[at] if at != NEW else None
        self.form.call("add", "Add as a step" if chosen is None else "Add a copy below", primary=chosen is None)
        for name, can in (("up", at > 0), ("down", 0 <= at < len(steps) - 1), ("delete", chosen is not None)):
            self.form.enable(name, can=can)
        if chosen is not None and chosen != self._shown:
            self.form.set(**{name: getattr(chosen, name) for name in NAMES})
        elif chosen is None and self._shown is not None:
            self.form.clear(*NAMES)
        self._shown = chosen

    # ---- hearing ----------------------------------------------------------------------------------------

    def _put(self, steps: list[str | MakingStep], at: int) -> None:
        """Take these steps in hand, the one at this place chosen."""
        if 0 <= at < len(steps):
            offered = {n: f"{n + 1}. {_brief(full_step(step).do)}" for n, step in enumerate(steps)}
            self.form.offer("step", {**offered, NEW: "a new one"})
            self.form.set(step=at)
        self.bench.change(replace(self.bench.formula, steps=tuple(steps)))
        self._changed()

    def _note(self, _names: tuple[str, ...]) -> None:
        self.bench.change(replace(self.bench.formula, note=self.note["note"]))

    def _set(self, names: tuple[str, ...]) -> None:
        at = self.form["step"]
        if "step" in names:
            self._changed()
        elif at != NEW:
            steps = [*self.bench.formula.steps]
            steps[at] = self._read()
            self._put(steps, at)

    def _read(self) -> str | MakingStep:
        said = self.form.read(*NAMES)
        return short_step(MakingStep(**said))

    def _add(self) -> str:
        at, steps = self.form["step"], [*self.bench.formula.steps]
        step = self._read()
        where = len(steps) if at == NEW else at + 1
        steps.insert(where, step)
        self._put(steps, NEW if at == NEW else where)
        if at == NEW:
            self.form.clear(*NAMES)
        return f"Step {where + 1} is in. Undo takes it out again."

    def _move(self, by: int) -> str:
        at, steps = self.form["step"], [*self.bench.formula.steps]
        to = at + by
        if at == NEW or not 0 <= to < len(steps):
            msg = "This step can go no further."
            raise EntryError(msg)
        steps[at], steps[to] = steps[to], steps[at]
        self._put(steps, to)
        return f"It is step {to + 1} now."

    def _delete(self) -> str:
        at, steps = self.form["step"], [*self.bench.formula.steps]
        if at == NEW:
            msg = "Choose the step to delete."
            raise EntryError(msg)
        del steps[at]
        self._put(steps, min(at, len(steps) - 1))
        if not steps:
            self.form.clear(*NAMES)
        return f"Step {at + 1} is out. Undo brings it back."


def _brief(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= MOST_WORDS else f"{line[: MOST_WORDS - 1]}…"
