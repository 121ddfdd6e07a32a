"""From light to rich: one slider that moves the oils along their viscosity, and all else as it is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.blends.lighter_richer import LightOrRich, OilPath
from kit.errors import EntryError, KitError
from kit.findings import worst_first
from kit.product.mending import step_of
from kit.rounding import percent_text
from kit.widgets.effect_tables import effect_html
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.widgets.panel import Source


class LighterPanel(Panel):
    """Move the oil phase from light to rich, see what follows, and take it or not.

    Attributes
    ----------
    result
        The formula where the slider stands; None where no oil can move.
    """

    watches = ("formula", "library", "jurisdiction", "on", "prices", "balance", "known", "bottle")
    title = "Lighter or richer"
    subtitle = "the oils change places along their viscosity; layers, levels and preservatives stay"
    foot = (
        "Blending numbers after Maples (2000), or logarithms after Arrhenius (1887) and Grunberg and Nissan (1949); of "
        "all blends of that viscosity, the one nearest to the formula (least relative entropy, Csiszár 1975)."
    )

    def __init__(self, source: Source = None) -> None:
        self.result: Formula | None = None
        self.path: OilPath | None = None
        self.form = Form(
            LightOrRich,
            [Button("take", "Take it", self._take, "Undo brings back what was.", primary=True)],
            on_change=lambda _: self._changed(),
        )
        self.answer, self.tables, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        super().__init__(source, [self.form, self.answer, self.tables, self.findings])

    def refresh(self) -> None:
        """Show the oils where the slider stands."""
        self.result = self.path = None
        self.tables.value = self.findings.value = ""
        product = self.bench.product
        try:
            wish = LightOrRich(**self.form.read())
            self.path = path = OilPath.of(product.formula, product.materials, wish.rule)
            self.result = path.at(wish.at, step_of(product))
        except KitError as error:
            self.answer.value = problem(str(error))
            self.form.enable("take", can=False)
            return
        self.form.enable("take", can=wish.at != 0)
        now, here = path.kinematic(0), path.kinematic(wish.at)
        ends = f"{path.kinematic(-100):.3g} to {path.kinematic(100):.3g} along the slider"
        self.answer.value = f"<b>{here:.3g} mm²/s</b> for the oils that move, blended; {now:.3g} as they are, {ends}."
        self.tables.value = self._table(path, self.result)
        if wish.at:
            self.tables.value += effect_html(product, replace(product, formula=self.result))
        self.findings.value = findings_list(worst_first(path.findings))

    def _table(self, path: OilPath, after: Formula) -> str:
        rows = [
            [name, f"{kinematic:.3g}", percent_text(before), percent_text(after.percents[p][i] or 0.0) or "0"]
            for (p, i), name, kinematic, before in zip(
                path.places, path.names, path.kinematics, path.shares, strict=True
            )
        ]
        return sheet(["oil", "viscosity, mm²/s", "now, %", "there, %"], rows, numbers=(1, 2, 3))

    def _take(self) -> str:
        if self.result is None or not self.form["at"]:
            msg = "The slider stands at the formula as it is: there is nothing to take."
            raise EntryError(msg)
        taken = self.result
        self.form.set(at=0.0)
        self.bench.change(taken)
        return "Taken. The slider starts anew from here; undo brings back what was."
