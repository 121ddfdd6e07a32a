"""Dilute a stock, thin what is at hand, or mix two, by moving three sliders; beakers to scale.

Where one step would be too small to measure, the steps are shown.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.alligation import alligate
from kit.bench.conversion import convert
from kit.bench.dilution import Dilution, dilute
from kit.bench.serial import SerialPlan, serial_plan
from kit.bench.strength import read_strength
from kit.bench.thinning import Thinned, diluent_to_add, strength_after
from kit.errors import KitError
from kit.figures.dilution import Filling, alligation_svg, beakers_svg, serial_svg
from kit.findings import Finding
from kit.library.ingredient import DENSITIES
from kit.liquids.aqueous import aqueous_solutions
from kit.numbers import read_likely
from kit.widgets.bench import Bench
from kit.widgets.html import findings_list, heading, problem
from kit.widgets.panel import Panel, controls, number_box, try_to
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from kit.bench.alligation import Alligation

#: Larger amounts are typed into the box. [g or mL]
MOST_BY_SLIDER = 1000.0


class DilutionPanel(Panel):
    """From a stock's strength to a wanted strength and amount: what to take, what to add, and in which steps.

    Attributes
    ----------
    result
        The dilution, thinning or alligation shown; None where the wish is impossible.
    serial
        The steps shown where the stock would be too little to measure; else None.
    """

    watches = ("balance", "tolerance")

    def __init__(self, bench: Bench | None = None) -> None:
        self.result: Dilution | Thinned | Alligation | None = None
        self.serial: SerialPlan | None = None
        wide = {"style": {"description_width": "150px"}, "layout": ipw.Layout(width="430px")}
        strength = {"min": 0, "max": 100, "step": 0.1, "readout": False, **wide}
        fitting = {"style": {"button_width": "auto"}}
        units = [("by mass: % w/w, g", "g"), ("by volume: % w/v, mL", "mL"), ("liquids by volume: % v/v, mL", "v/v")]
        self.unit = ipw.ToggleButtons(options=units, **fitting)
        ways = [("one stock and diluent", "one"), ("thin what I have", "have"), ("two stocks", "two")]
        self.how = ipw.ToggleButtons(options=ways, **fitting)
        self.stock = ipw.FloatSlider(value=20, description="Stock, %", **strength)
        self.stock_box = number_box("exactly, %", 20, 0, 500)
        self.second = ipw.FloatSlider(value=5, description="Second stock, %", **strength)
        self.second_box = number_box("exactly, %", 5, 0, 500)
        self.wanted = ipw.FloatSlider(value=8, description="Wanted, %", **strength)
        self.wanted_box = number_box("exactly, %", 8, 0, 500)
        self.written = ipw.Text(
            description="or as written",
            placeholder="800 ppm, 1 in 200, 5 mg/mL",
            continuous_update=False,
            style={"description_width": "initial"},
            layout=ipw.Layout(width="305px"),
        )
        self.density = ipw.Text(
            description="at a density of, g/mL",
            placeholder="to change basis",
            continuous_update=False,
            style={"description_width": "initial"},
            layout=ipw.Layout(width="275px"),
        )
        self.amount = ipw.FloatSlider(
            value=250, min=0, max=MOST_BY_SLIDER, step=5, readout=False, description="Amount, g", **wide
        )
        self.amount_box = number_box("exactly, g", 250, 0, 1e6)
        self.dissolved = ipw.Combobox(
            options=tuple(sorted({each.substance for each in aqueous_solutions()})),
            description="Dissolved in water",
            placeholder="not known: by mass only",
            style={"description_width": "initial"},
            layout={"width": "350px"},
        )
        self.adds = ipw.Text(
            description="or I add exactly",
            placeholder="50 g or 50 mL",
            continuous_update=False,
            style={"description_width": "initial"},
            layout={"width": "240px"},
        )
        self.pipette = number_box("The pipette measures at least, mL", 1, 0.001, 100)
        self.vessel = number_box("the largest flask holds, mL", 500, 1, 1e5)
        self.message, self.picture, self.steps, self.findings = (ipw.HTML() for _ in range(4))
        self._rows = (
            (self.stock, self.stock_box),
            (self.second, self.second_box),
            (self.wanted, self.wanted_box),
            (self.amount, self.amount_box),
        )
        self._second_row = controls(self.second, self.second_box)
        self._pipette_row = controls(self.pipette, self.vessel)
        self._have_row = controls(self.adds)
        super().__init__(
            bench if bench is not None else Bench(),
            [
                ipw.HTML(heading("Dilute a stock", "what to take, what to add, and in which steps")),
                controls(self.unit, self.how),
                controls(self.stock, self.stock_box),
                self._second_row,
                controls(self.wanted, self.wanted_box),
                controls(self.written, self.density, self.dissolved),
                controls(self.amount, self.amount_box),
                self._have_row,
                self._pipette_row,
                self.message,
                self.picture,
                self.steps,
                self.findings,
            ],
        )
        for slider, box in self._rows:
            on_hand(slider, partial(setattr, box, "value"))
            box.observe(self._changed, names="value")
        for control in (self.unit, self.how, self.pipette, self.vessel, self.dissolved, self.adds):
            control.observe(self._changed, names="value")
        for text in (self.written, self.density, self.dissolved):
            text.observe(lambda _: self._read(self.written.value), names="value")

    @property
    def least(self) -> float:
        """The least that can be measured out, by balance or by pipette. [g or mL]"""
        if self.measure == "g":
            return float(self.bench.balance.least_weight(self.bench.tolerance))
        return float(self.pipette.value)

    @property
    def most(self) -> float:
        """The most that balance or flask holds. [g or mL]"""
        return self.bench.balance.capacity if self.measure == "g" else float(self.vessel.value)

    @property
    def measure(self) -> str:
        """In what the amounts are counted."""
        return "g" if self.unit.value == "g" else "mL"

    @property
    def basis(self) -> str:
        """What the percents count."""
        return {"g": "% w/w", "mL": "% w/v", "v/v": "% v/v"}[self.unit.value]

    def refresh(self) -> None:
        """Show what the sliders ask for."""
        for slider, box in self._rows:
            show_in(slider, box.value)
        unit, how = self.measure, self.how.value
        what = "At hand" if how == "have" else "Amount"
        self.amount.description, self.amount_box.description = f"{what}, {unit}", f"exactly, {unit}"
        self.stock.description = "At hand, %" if how == "have" else "Stock, %"
        self._second_row.layout.display = "" if how == "two" else "none"
        self._have_row.layout.display = "" if how == "have" else "none"
        self._pipette_row.layout.display = "" if unit == "mL" and how != "have" else "none"
        self.result = self.serial = None
        try:
            pictures = {"one": self._one, "have": self._have, "two": self._two}[how]()
        except KitError as error:
            self.picture.value, self.steps.value, self.findings.value = problem(str(error)), "", ""
            return
        self.picture.value = pictures
        self._show_steps()

    def _one(self) -> str:
        stock, wanted, amount = self.stock_box.value, self.wanted_box.value, self.amount_box.value
        self.result = made = dilute(stock, wanted, amount)
        unit = self.measure
        add = "diluent" if unit == "g" else "make up with diluent, about"
        return beakers_svg(
            [
                Filling("stock", made.stock, 1.0, f"{stock:.6g} {self.basis}"),
                Filling(add, made.diluent, 0.0, f"0 {self.basis}", "+"),
                Filling("what it makes", amount, wanted / stock, f"{wanted:.6g} {self.basis}", "="),
            ],
            unit=unit,
        )

    def _have(self) -> str:
        """What is at hand, what to add to it, and to what it comes."""
        stock, wanted, unit = self.stock_box.value, self.wanted_box.value, self.measure
        at_hand, basis = f"{self.amount_box.value!r} {unit}", self.basis.removeprefix("% ")
        adds, active = self.adds.value.strip(), self.dissolved.value.strip()
        if adds:
            made = strength_after(at_hand, stock, adds, basis=basis, active=active)  # type: ignore[arg-type]
        else:
            made = diluent_to_add(at_hand, stock, wanted, basis=basis, active=active)  # type: ignore[arg-type]
        self.result = made
        comes = made.mass if unit == "g" else made.volume
        parts = [Filling("at hand", self.amount_box.value, 1.0, f"{stock:.6g} {self.basis}")]
        added = made.diluent if unit == "g" else made.diluent_volume
        if added is not None:
            parts.append(Filling("diluent", added, 0.0, f"0 {self.basis}", "+"))
        if comes is not None:
            parts.append(Filling("it comes to", comes, made.strength / stock, f"{made.strength:.6g} {self.basis}", "="))
        return f"{beakers_svg(parts, unit=unit)}<p>{made.sentence}</p>"

    def _two(self) -> str:
        one, other, wanted = self.stock_box.value, self.second_box.value, self.wanted_box.value
        self.result = made = alligate(one, other, wanted, self.amount_box.value)
        unit, strong, weak = self.measure, float(made.strong), float(made.weak)
        taken = float(made.stronger_amount), float(made.weaker_amount)
        return alligation_svg(made, unit=unit) + beakers_svg(
            [
                Filling("the stronger", taken[0], 1.0, f"{strong:.6g} {self.basis}"),
                Filling("the weaker", taken[1], weak / strong, f"{weak:.6g} {self.basis}", "+"),
                Filling("what it makes", self.amount_box.value, wanted / strong, f"{wanted:.6g} {self.basis}", "="),
            ],
            unit=unit,
        )

    def _show_steps(self) -> None:
        """Steps where the stock is too little to measure, and what else there is to say."""
        found = []
        unit, least = self.measure, self.least
        if isinstance(self.result, Dilution):
            small = self.result.stock
            by = f"within {self.bench.tolerance:g} % on this balance" if unit == "g" else "with this pipette"
            said = (
                f"{small:.4g} {unit} of stock is too little to measure {by}; it measures {least:.4g} {unit} and more."
            )
            self.steps.value = self._serial() if small < least * (1 - 1e-9) else ""
            if self.serial:
                found.append(Finding("caution", f"{said} Dilute in steps, as shown."))
            elif small < least * (1 - 1e-9):
                found.append(Finding("caution", said))
        elif isinstance(self.result, Thinned):
            self.steps.value = ""
        elif self.result is not None:
            self.steps.value = ""
            smaller = float(min(self.result.stronger_amount, self.result.weaker_amount))
            if 0 < smaller < least:
                said = (
                    f"{smaller:.4g} {unit} is too little to measure here; {least:.4g} {unit} is the least. Make more."
                )
                found.append(Finding("caution", said))
        if unit == "mL" and not isinstance(self.result, Thinned):
            said = "Volumes can shrink on mixing: measure the stock, then make up to the mark. Weighing avoids it."
            found.append(Finding("note", said))
        self.findings.value = findings_list(found)

    def _serial(self) -> str:
        unit = self.measure
        try:
            self.serial = plan = serial_plan(
                self.stock_box.value,
                self.wanted_box.value,
                self.amount_box.value,
                self.least,
                self.most,
                readability=self.bench.balance.readability if unit == "g" else 0.0,
                unit=unit,
            )
        except KitError as error:
            return problem(str(error))
        items = "".join(f"<li>{sentence}</li>" for sentence in plan.sentences(self.basis))
        waste = f"{plan.waste:.4g} {unit} stay over in all."
        reached = f"The amounts as measured give {plan.reached:.6g} {self.basis}. {waste}"
        return f"{serial_svg(plan, self.basis)}<ol>{items}</ol><div class='sw-subtitle'>{reached}</div>"

    def _read(self, written: str) -> None:
        """Take the wanted strength as it was written, and say how it was taken."""
        if not written.strip():
            self.message.value = ""
            return

        def work() -> str:
            strength, density = read_strength(written), self.density.value.strip()
            known = read_likely(density, *DENSITIES) if density else None
            found = convert(strength, self.basis, density=known, substance=self.dissolved.value.strip())
            self.wanted_box.value = found.value
            return f"{strength.meaning} Wanted: {self.wanted_box.value:.6g} {self.basis}.".strip()

        try_to(self.message, work)
