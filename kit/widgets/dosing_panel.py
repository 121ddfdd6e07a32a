"""What each dose of a two-layer product holds, for three kinds of user side by side."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.separation import dosing_figure, shaken_bottle_svg
from kit.findings import Finding, worst_first
from kit.inputs import inputs_of
from kit.layers.dosing import TRADE, USERS, Doses, Pump, User, use_up
from kit.layers.pump_count import Strokes, count_doses
from kit.layers.shaken import NOT_MODELLED
from kit.rounding import all_digits
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel, Picture, in_a_row
from kit.widgets.shaken_choices import ShakenChoices

if TYPE_CHECKING:
    from kit.layers.shaken import Shaken
    from kit.widgets.panel import Source
    from kit.widgets.separation_panel import SeparationPanel

#: Bottles followed for each user, each with delays of its own.
BOTTLES = 300


class UserForm(Form):
    """How one kind of user shakes and waits; one who never shakes has nothing to set."""

    def __init__(self, user: User) -> None:
        self.user = user
        super().__init__(inputs_of(User) if user.shakes else ())
        self.set(**{name: getattr(user, name) for name in self.inputs})

    @property
    def now(self) -> User:
        """The user as set."""
        return replace(self.user, **self.values)

    @property
    def title(self) -> ipw.HTML:
        """Who it is."""
        return ipw.HTML(f"<b>{self.user.name}{'' if self.user.shakes else ': the layers stand as they are'}</b>")


class DosingPanel(Panel):
    """Dose the product in hand to the last dose.

    Parameters
    ----------
    separation
        A separation panel whose drop sizes and viscosities hold here too; without one the panel has its own.
    """

    watches = ("formula", "library", "bottle", "fill")
    unhurried = True
    title = "What each dose holds"
    subtitle = "to the last one the tube reaches"
    foot = f"{TRADE} {NOT_MODELLED} The three users are invented; set your own numbers."

    def __init__(self, source: Source = None, separation: SeparationPanel | None = None) -> None:
        self.choices = separation.choices if separation is not None else ShakenChoices()
        shared = ipw.HTML(soft("Drops and viscosities as in the separation panel."))
        self.pump = Form((*inputs_of(Pump), *inputs_of(Strokes)))
        self.users = [UserForm(user) for user in USERS]
        self.drawing = ipw.HTML(layout={"width": "auto"})
        self.answer, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML()
        self.picture = Picture()
        self.runs: list[Doses] = []
        super().__init__(
            source,
            [
                self.choices if separation is None else shared,
                self.pump,
                *(part for form in self.users for part in (form.title, form)),
                self.answer,
                in_a_row(self.drawing, self.picture),
                self.findings,
            ],
        )
        for form in (self.choices, self.pump, *self.users):
            form.on_change(lambda _: self._changed())

    def refresh(self) -> None:
        """Dose the product in hand."""
        self.runs = []
        self.drawing.value = self.answer.value = self.findings.value = ""
        self.picture.layout.display = "none"
        try:
            product = self.choices.product(self.bench)
        except KitError as error:
            self.answer.value = problem(str(error))
            return
        self.choices.tell_computed(product)
        shaken, found = product.ways[0], list(product.findings)
        if len(product.ways) > 1:
            words = f"Either liquid may be the drops; here it is {shaken.drops.kind}. Choose the other and compare."
            found.append(Finding("note", words))
        pump = Pump(self.pump["tip"], self.pump["dose"])
        drawn = shaken_bottle_svg(shaken, self.users[0]["delay"], min(pump.tip, self.bench.bottle.height))
        self.drawing.value = f'<div style="padding-bottom: 70px">{drawn}</div>'
        try:
            self.runs = [use_up(shaken, pump, form.now, BOTTLES) for form in self.users]
        except KitError as error:
            self.answer.value = problem(str(error))
        else:
            self.answer.value = self._count() + doses_sheet(self.runs, shaken)
            self.picture.draw(dosing_figure(self.runs))
        self.findings.value = findings_list(
            worst_first([*found, *(said for run in self.runs for said in run.findings)])
        )

    def _count(self) -> str:
        """How many doses of what spread the pump makes of the bottle, where something was said of it."""
        said = self.pump.values
        strokes = Strokes(said["dose"], said["tolerance"], said["scatter"], said["dead"])
        if strokes == Strokes(said["dose"]):
            return ""
        bottle = self.bench.bottle
        try:
            found = count_doses(
                f"{all_digits(self.bench.fill)} mL",
                strokes,
                unreached=f"{all_digits(bottle.volume(min(said['tip'], bottle.height)))} mL",
            )
        except KitError as error:
            return problem(str(error))
        one, off = strokes.dose()
        return f"<div>One dose is {one:.3g} ± {off:.2g} mL. {escape(found.sentence)}</div>"


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
