"""What each dose of a two-layer product holds, for three kinds of user side by side."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.separation import dosing_figure, shaken_bottle_svg
from kit.findings import Finding, worst_first
from kit.layers.dosing import TRADE, USERS, Doses, Pump, User, use_up
from kit.layers.pump_count import Strokes, count_doses
from kit.layers.shaken import NOT_MODELLED
from kit.rounding import all_digits
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls, live, number_box, redraw
from kit.widgets.shaken_choices import ShakenChoices

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from kit.layers.shaken import Shaken
    from kit.widgets.bench import Bench
    from kit.widgets.separation_panel import SeparationPanel

#: Bottles followed for each user, each with delays of its own.
BOTTLES = 300


class UserRow(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """How one kind of user shakes and waits; one who never shakes has nothing to set."""

    def __init__(self, user: User) -> None:
        self.user = user
        self.delay = number_box("waits, s", user.delay, 0.0, 1e6, step=1.0)
        self.spread = number_box("spread, a factor", user.delay_spread, 1.0, 10.0, step=0.1)
        self.coarser = number_box("drops coarser, times", user.coarser, 0.05, 100.0, step=0.5)
        boxes = (self.delay, self.spread, self.coarser) if user.shakes else ()
        words = user.name if user.shakes else f"{user.name}: the layers stand as they are"
        name = ipw.HTML(f"<b>{words}</b>", layout={"width": "200px" if user.shakes else "auto"})
        super().__init__([controls(name, *boxes)])

    @property
    def now(self) -> User:
        """The user as set."""
        if not self.user.shakes:
            return self.user
        return User(self.user.name, self.delay.value, self.spread.value, self.coarser.value)


class DosingPanel(Panel):
    """Dose the product in hand to the last dose.

    Parameters
    ----------
    separation
        A separation panel whose drop sizes and viscosities hold here too; without one the panel has its own.
    """

    watches = ("formula", "library", "bottle", "fill")

    def __init__(self, bench: Bench, separation: SeparationPanel | None = None) -> None:
        self.choices = separation.choices if separation is not None else ShakenChoices()
        shared = ipw.HTML('<div class="sw-subtitle">Drops and viscosities as in the separation panel.</div>')
        self.tip = number_box("Tip of the tube above the floor, mm", 3.0, 0.0, 1000.0, step=1.0)
        self.dose = number_box("One dose, mL", 1.0, 0.01, 1000.0, step=0.1)
        self.tolerance = number_box("a stroke may differ, ± %", 0.0, 0.0, 90.0, step=1.0)
        self.scatter = number_box("and scatters, %", 0.0, 0.0, 90.0, step=1.0)
        self.dead = number_box("tube and chamber hold, mL", 0.0, 0.0, 100.0, step=0.1)
        self.users = [UserRow(user) for user in USERS]
        self.drawing = ipw.HTML(layout={"width": "auto"})
        self.answer, self.findings = ipw.HTML(), ipw.HTML()
        self.figure: go.FigureWidget | None = None
        self.pictures = ipw.VBox()
        self.runs: list[Doses] = []
        foot = f"{TRADE} {NOT_MODELLED} The three users are invented; set your own numbers."
        super().__init__(
            bench,
            [
                ipw.HTML(heading("What each dose holds", "to the last one the tube reaches")),
                self.choices if separation is None else shared,
                controls(self.tip, self.dose, self.tolerance, self.scatter, self.dead),
                *self.users,
                self.answer,
                controls(self.drawing, self.pictures),
                self.findings,
                ipw.HTML(f'<div class="sw-subtitle">{foot}</div>'),
            ],
        )
        self.choices.on_change(self._changed)
        boxes = [box for row in self.users for box in (row.delay, row.spread, row.coarser)]
        for box in (self.tip, self.dose, self.tolerance, self.scatter, self.dead, *boxes):
            box.observe(lambda _: self._changed(), names="value")

    def refresh(self) -> None:
        """Dose the product in hand."""
        self.runs = []
        try:
            product = self.choices.product(self.bench)
        except KitError as error:
            self._show_nothing(str(error))
            return
        self.choices.tell(product)
        shaken, found = product.ways[0], list(product.findings)
        if len(product.ways) > 1:
            words = f"Either liquid may be the drops; here it is {shaken.drops.kind}. Choose the other and compare."
            found.append(Finding("note", words))
        tip = min(self.tip.value, self.bench.bottle.height)
        drawn = shaken_bottle_svg(shaken, self.users[0].delay.value, tip)
        self.drawing.value = f'<div style="padding-bottom: 70px">{drawn}</div>'
        try:
            pump = Pump(self.tip.value, self.dose.value)
            self.runs = [use_up(shaken, pump, row.now, BOTTLES) for row in self.users]
        except KitError as error:
            self._show_nothing(str(error), keep_drawing=True)
            self.findings.value = findings_list(worst_first(found))
            return
        for run in self.runs:
            found += run.findings
        self.answer.value = self._count() + doses_sheet(self.runs, shaken)
        self.findings.value = findings_list(worst_first(found))
        self._draw()

    def _count(self) -> str:
        """How many doses of what spread the pump makes of the bottle, where something was said of it."""
        bench, tip = self.bench, min(self.tip.value, self.bench.bottle.height)
        if not (self.tolerance.value or self.scatter.value or self.dead.value):
            return ""
        pump = Strokes(self.dose.value, self.tolerance.value, self.scatter.value, self.dead.value)
        try:
            found = count_doses(
                f"{all_digits(bench.fill)} mL", pump, unreached=f"{all_digits(bench.bottle.volume(tip))} mL"
            )
        except KitError as error:
            return problem(str(error))
        one, off = pump.dose()
        return f"<div>One dose is {one:.3g} ± {off:.2g} mL. {escape(found.sentence)}</div>"

    def _show_nothing(self, sentence: str, *, keep_drawing: bool = False) -> None:
        self.answer.value, self.findings.value = problem(sentence), ""
        self.pictures.layout.display = "none"
        if not keep_drawing:
            self.drawing.value = ""

    def _draw(self) -> None:
        self.pictures.layout.display = ""
        figure = dosing_figure(self.runs)
        if self.figure is None:
            self.figure = live(figure)
            self.pictures.children = (self.figure,)
            return
        redraw(self.figure, figure)


def doses_sheet(runs: list[Doses], shaken: Shaken) -> str:
    """First dose, last dose and what is left, for each user, and the same in words."""
    rows = []
    for run in runs:
        low, middle, high = run.percentiles((5, 50, 95))
        least, most = float(low.min()), float(high.max())
        rows.append(
            [
                run.user.name,
                f"{middle[0]:.1f} ({middle[0] - run.label:+z.1f})",
                f"{middle[-1]:.1f} ({middle[-1] - run.label:+z.1f})",
                f"{least:.1f} to {most:.1f}",
                f"{float(run.oil_left.mean()):.1f}",
                f"{float(run.water_left.mean()):.1f}",
            ]
        )
    head = ["who", "first dose, % oil layer", "last dose, %", "nine in ten between", "oil left, mL", "water left, mL"]
    first = runs[0]
    caption = (
        f"{first.count} doses from {shaken.volume:.1f} mL; the label says {first.label:.1f} % oil layer w/w "
        "(difference from it in brackets)"
    )
    return sheet(head, rows, numbers=range(1, 6), caption=caption)
