"""A bottle over the weeks of its use: how its layers stand, and what drifts as it is dosed and evaporates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.life import life_figure, standing_bottle_svg
from kit.findings import worst_first
from kit.formula.model import require_complete
from kit.in_use.life import Habits, LayerLife, Life, liquids, live
from kit.in_use.life_findings import last_week, life_findings, tracked
from kit.in_use.mass_loss import WEIGHINGS, mass_loss
from kit.inputs import Input, Number
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel, Picture, in_a_row

if TYPE_CHECKING:
    from kit.widgets.panel import Source

WEEK = Input("week", "Week", Number(0, 262, digits=3), 0.0, slide=(0, 52, 1))
WEIGHED = Input(
    "weighings", "Closed bottle weighed", WEIGHINGS, (), example="0 131.42",
    help="A line for each time: days since the first, then grams on the balance, such as 28 131.17.",
)  # fmt: skip


class OverItsLifePanel(Panel):
    """Use and keep the product in hand, and see what stands in the bottle week by week."""

    watches = ("formula", "library", "bottle", "fill")
    unhurried = True
    title = "Over its life"
    subtitle = "what is dosed, what evaporates, and what that leaves"
    foot = (
        "Vapour pressures by Antoine's equation, over mixtures by Raoult's law, alcohol in water by van Laar; out of "
        "an open neck by Stefan's law with diffusion after Fuller and others (1966). Layers shaken up send vapour "
        "into the air together. Bands: nine of ten people who differ as chosen. What a spray loses on its way to the "
        "skin is no loss of the bottle. Computed, not tested: weigh a bottle in use beside it."
    )
    life: Life | None = None

    def __init__(self, source: Source = None) -> None:
        self.form = Form(Habits, on_change=lambda _: self._changed())
        self.week = Form([WEEK], on_change=lambda _: self._mark())
        self.balance = Form(
            [WEIGHED],
            [Button("fit", "Fit the loss", self._fit, primary=True), Button("take", "Use it above", self._take)],
            fold="Weigh a closed bottle and fit what it loses",
        )
        self.balance.enable("take", can=False)
        self.answer, self.drawing, self.table, self.findings = (ipw.HTML() for _ in range(4))
        self.answer.add_class("sw-answer")
        self.picture = Picture()
        self._levels: list[tuple[LayerLife, str]] = []
        self._loss = 0.0
        super().__init__(
            source,
            [
                self.form,
                self.week,
                self.answer,
                in_a_row(self.drawing, self.picture),
                self.table,
                self.findings,
                self.balance,
            ],
        )

    def refresh(self) -> None:
        """Follow the product in hand through its life, and show the chosen week."""
        product = self.bench.product
        try:
            require_complete(product.formula, "followed through its life")
            habits = Habits(**self.form.read())
            filled = liquids(product.formula, product.materials, product.layers, product.fill)
            self.life = live(filled, product.bottle, habits)
        except KitError as error:
            self.life = None
            self.answer.value = problem(str(error))
            self.drawing.value = self.table.value = self.findings.value = ""
            self.picture.layout.display = self.week.layout.display = "none"
            return
        self.picture.layout.display = self.week.layout.display = ""
        self._levels = tracked(self.life, product.materials)
        self.findings.value = findings_list(worst_first(life_findings(self.life, product.materials)))
        last = max(1.0, self.life.days[-1] / 7)
        self.week.describe("week", slide=(0.0, float(round(last)), 1.0))
        if self.week["week"] > last:
            self.week.set(week=float(round(last)))
        self.picture.draw(life_figure(self.life, self._levels, self.week["week"]))
        self._show()

    @property
    def _at(self) -> int:
        """Which of the days shown is nearest to the chosen week."""
        if self.life is None:
            return 0
        day = 7 * self.week["week"]
        return min(range(len(self.life.days)), key=lambda n: abs(self.life.days[n] - day))  # type: ignore[union-attr]

    def _mark(self) -> None:
        """Another week: only the bottle, the numbers and the mark on the charts change."""
        figure = self.picture.figure
        if self.life is None or figure is None:
            return
        with figure.batch_update():
            for shape in figure.layout.shapes:
                shape.x0 = shape.x1 = self.week["week"]
        self._show()

    def _show(self) -> None:
        life, at = self.life, self._at
        if life is None:
            return
        standing = life.standing(at)
        words = ", ".join(f"{each.liquid.name} {top - bottom:.1f} mm" for each, _, bottom, top in reversed(standing))
        said = f"week {life.days[at] / 7:.0f}, from the top: {words or 'empty'}"
        self.drawing.value = standing_bottle_svg(standing, life.bottle, said)
        self.table.value = week_sheet(life, self._levels, at)
        self.answer.value = f"<div>{_in_short(life, at)}</div>"

    def _fit(self) -> str:
        found = mass_loss(self.balance.read("weighings")["weighings"])
        self._loss = max(0.0, found.per_month)
        self.balance.enable("take", can=self._loss > 0)
        return found.sentence()

    def _take(self) -> str:
        self.form.type(storage_loss=f"{self._loss:.4g}")
        return f"{self._loss:.3g} g a month, shared out by how hard each substance presses."


def _in_short(life: Life, at: int) -> str:
    left, gone = float(life.left[at, 0]), float(life.evaporated[at, 0])
    dosed, week = float(life.dosed[at, 0]), life.days[at] / 7
    said = (
        f"<b>Week {week:.0f}</b>: {left:.1f} g left of {life.filled:.1f} g; {dosed:.1f} g dosed, {gone:.3g} g "
        "into the air."
    )
    end = life.lasts()
    if end < life.days[-1]:
        said += f" The usual person has used it up by week {end / 7:.0f}."
    elif last_week(life) == len(life.days) - 1:
        said += f" At the end, day {life.days[-1]:.0f}, {life.left[-1, 0]:.1f} g are left."
    return said


def week_sheet(life: Life, levels: list[tuple[LayerLife, str]], at: int) -> str:
    """The numbers of a week beside those of the day of filling."""
    rows, kinds = [], []
    for layer in life.layers:
        share = life.share(layer.liquid.kind)[:, 0]
        density = layer.density[:, 0]
        rows.append([f"{layer.liquid.name}, % w/w of what is left", _shown(share[0]), _shown(share[at])])
        rows.append([f"{layer.liquid.name}, g/mL", _shown(density[0], 4), _shown(density[at], 4)])
        kinds += [layer.liquid.kind, layer.liquid.kind]
    for layer, name in levels:
        level = layer.percent(name)[:, 0]
        rows.append([f"{name}, % w/w of {layer.liquid.name}", _shown(level[0]), _shown(level[at])])
        kinds.append(layer.liquid.kind)
    head = ["", "when filled", f"week {life.days[at] / 7:.0f}"]
    return sheet(head, rows, numbers=range(1, 3), kinds=kinds) + soft("For the usual person.")


def _shown(value: float, digits: int = 3) -> str:
    return f"{value:.{digits}g}" if value == value else "none left"  # noqa: PLR0124  # not a number: no layer
