"""What would mend the formula in hand: the smallest change that keeps every rule; done when it is taken."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.blends.repair_wishes import RepairWishes, line_names
from kit.errors import EntryError, KitError
from kit.findings import worst_first
from kit.inputs import Several, inputs_of
from kit.product.mending import repair_of, step_of
from kit.rounding import percent_text
from kit.widgets.effect_tables import effect_html
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.blends.mended import Repair
    from kit.widgets.panel import Source

#: What is asked first; the rest is folded below.
FIRST = ("aim", "bottle", "grams", "reach", "layers", "remove")


class RepairPanel(Panel):
    """The smallest change that keeps every rule, the cheapest or lightest that does, or a bottle used up.

    Attributes
    ----------
    result
        What was found; None where the wishes cannot be read or the formula has no amounts.
    """

    watches = ("formula", "library", "jurisdiction", "on", "prices", "balance", "known")
    title = "What would mend it"
    subtitle = "the smallest change that keeps every limit and rule; nothing is changed until you take it"
    foot = (
        "Least sum of changes under linear rules, by linear and mixed-integer programming (Dantzig 1963; HiGHS, "
        "Huangfu and Hall 2018). A change counts half in what fills its layer, one and a half times in what keeps its "
        "% of the whole, three times in what guards the product; scents and colourants are raised only where a rule "
        "asks for it."
    )

    def __init__(self, source: Source = None) -> None:
        self.result: Repair | None = None
        asked = inputs_of(RepairWishes)
        self.form = Form(
            [one for one in asked if one.name in FIRST],
            [Button("take", "Take it", self._take, "Undo brings back what was.", primary=True)],
            on_change=lambda _: self._changed(),
            wide=("aim",),
        )
        self.stays = Form(
            [one for one in asked if one.name not in FIRST],
            on_change=lambda _: self._changed(),
            fold="What stays, what there is, and what counts",
            wide=("locked", "on_hand"),
        )
        self.answer, self.tables, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        super().__init__(source, [self.form, self.stays, self.answer, self.tables, self.findings])

    def refresh(self) -> None:
        """Show what would mend the formula as it is now."""
        self.result = None
        self.tables.value = self.findings.value = ""
        self._offer()
        try:
            wishes = RepairWishes(**self.form.read(), **self.stays.read())
            self.result = found = repair_of(self.bench.product, wishes)
        except KitError as error:
            self.answer.value = problem(str(error))
            self.form.enable("take", can=False)
            return
        self.form.enable("take", can=bool(found.changes))
        self._show(found)

    def _offer(self) -> None:
        names = line_names(self.bench.formula)
        self.form.offer("bottle", {name: name for name in names})
        options = tuple(dict.fromkeys(names))
        self.stays.describe("locked", reader=Several(options, "ticks"))
        self.stays.set(locked=tuple(name for name in self.stays["locked"] if name in options))
        currency = self.bench.prices.currency
        self.stays.describe("most_cost", unit=f"{currency} per 100 g".strip())

    def _show(self, found: Repair) -> None:
        if found.contradiction:
            self.answer.value = problem(found.sentence)
            self.findings.value = findings_list(worst_first(found.findings))
            return
        is_stopped = any(one.severity == "stop" for one in found.findings)
        whole = "" if is_stopped else "No rule that counts here is broken."
        broken = f"Broken now: {'; '.join(found.broken)}." if found.broken else whole
        self.answer.value = f"<div><b>{escape(found.sentence)}</b></div>{soft(broken)}"
        if found.changes and found.after is not None:
            after = replace(self.bench.product, formula=found.after)
            self.tables.value = change_table(found) + binding_table(found) + effect_html(self.bench.product, after)
        self.findings.value = findings_list(worst_first(found.findings)) + soft(self._steps())

    def _steps(self) -> str:
        product, step = self.bench.product, step_of(self.bench.product)
        if {"batch", "balance"} <= product.known:
            return f"In whole steps of the balance: {step:.3g} % of {product.batch_size.mass:.6g} g."
        return f"In steps of {step:g} %, since batch or balance is not known yet; grams are of the batch as it is set."

    def _take(self) -> str:
        found = self.result
        if found is None or found.after is None or not found.changes:
            msg = "There is nothing to take."
            raise EntryError(msg)
        said = found.sentence
        self.bench.change(found.after)
        return f"Taken: {said} Undo brings back what was."


def change_table(found: Repair) -> str:
    """The lines that change, before and after."""
    phases = found.before.phases
    rows = [
        [
            change.material,
            percent_text(change.before) or "0",
            percent_text(change.after) if change.after else "taken out",
            f"{change.percent:+.4g}",
            f"{change.grams:+.4g}",
        ]
        for change in found.changes
    ]
    kinds = [phases[change.phase].kind for change in found.changes]
    head = ["line", "before, %", "after, %", "change, %", "in the batch, g"]
    return sheet(head, rows, numbers=range(1, 5), kinds=kinds)


def binding_table(found: Repair) -> str:
    """What stands in the way, and what each costs."""
    if not found.bindings:
        return ""
    rows = [[binding.name, f"{binding.price:.3g}"] for binding in found.bindings]
    head = ["what stands in the way", f"each % of room would save, {found.unit}"]
    return sheet(head, rows, numbers=(1,), caption="What each rule costs: changes counted as said at the foot")
