"""Dilute a stock, thin what is at hand, or mix two, by moving three sliders; beakers to scale.

Where one step would be too small to measure, the steps are shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.bench.alligation import Alligation, alligate
from kit.bench.conversion import convert
from kit.bench.dilution import Dilution, dilute
from kit.bench.serial import SerialPlan, serial_plan
from kit.bench.strength import read_strength
from kit.bench.thinning import Thinned, diluent_to_add, strength_after
from kit.errors import KitError
from kit.figures.dilution import Filling, alligation_svg, beakers_svg, serial_svg
from kit.findings import Finding
from kit.inputs import Choice, Input, Number, Text
from kit.library.ingredient import DENSITIES
from kit.liquids.aqueous import aqueous_solutions
from kit.rounding import all_digits
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.widgets.panel import Source


def _thins(values: Mapping[str, Any]) -> bool:
    return bool(values["how"] == "have")


def _mixes(values: Mapping[str, Any]) -> bool:
    return bool(values["how"] == "two")


def _pipettes(values: Mapping[str, Any]) -> bool:
    return values["unit"] != "g" and not _thins(values)


UNITS = {"g": "by mass: % w/w, g", "mL": "by volume: % w/v, mL", "v/v": "liquids by volume: % v/v, mL"}
WAYS = {"one": "one stock and diluent", "have": "thin what I have", "two": "two stocks"}
STRENGTH: dict[str, Any] = {"reader": Number(0, 500, digits=6), "unit": "%", "slide": (0, 100, 0.1)}
INPUTS = (
    Input("unit", "Count", Choice(UNITS, "switch"), "g"),
    Input("how", "Do", Choice(WAYS, "switch"), "one"),
    Input("stock", "Stock", default=20.0, **STRENGTH),
    Input("second", "Second stock", default=5.0, **STRENGTH, applies=_mixes),
    Input("wanted", "Wanted", default=8.0, **STRENGTH),
    Input("amount", "Amount", Number(0, 1e6), 250.0, "g", slide=(0, 1000, 5)),
    Input("written", "Wanted, as written", default="", example="800 ppm", help="Such as 800 ppm, 1 in 200 or 5 mg/mL."),
    Input("density", "At a density of", Number(*DENSITIES), None, "g/mL", help="To change basis."),
    Input("dissolved", "Dissolved in water", Text("name"), "", help="Empty where it is not known: by mass only."),
    Input("adds", "Or I add exactly", default="", example="50 g", help="50 g or 50 mL.", applies=_thins),
    Input("pipette", "Pipette, at least", Number(0.001, 100), 1.0, "mL", applies=_pipettes),
    Input("vessel", "Largest flask", Number(1, 1e5), 500.0, "mL", applies=_pipettes),
)


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
    title = "Dilute a stock"
    subtitle = "what to take, what to add, and in which steps"

    def __init__(self, source: Source = None) -> None:
        self.result: Dilution | Thinned | Alligation | None = None
        self.serial: SerialPlan | None = None
        self.form = Form(INPUTS, on_change=self._set)
        self.form.offer("dissolved", sorted({each.substance for each in aqueous_solutions()}))
        self.picture, self.steps, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        super().__init__(source, [self.form, self.picture, self.steps, self.findings])

    def _set(self, changed: tuple[str, ...]) -> None:
        try:
            if {"written", "density", "dissolved"} & set(changed):
                self._read_written()
        finally:
            self._changed()

    @property
    def least(self) -> float:
        """The least that can be measured out, by balance or by pipette. [g or mL]"""
        if self.measure == "g":
            return float(self.bench.balance.least_weight(self.bench.tolerance))
        return float(self.form["pipette"])

    @property
    def most(self) -> float:
        """The most that balance or flask holds. [g or mL]"""
        return self.bench.balance.capacity if self.measure == "g" else float(self.form["vessel"])

    @property
    def measure(self) -> str:
        """In what the amounts are counted."""
        return "g" if self.form["unit"] == "g" else "mL"

    @property
    def basis(self) -> str:
        """What the percents count."""
        return {"g": "% w/w", "mL": "% w/v", "v/v": "% v/v"}[self.form["unit"]]

    def refresh(self) -> None:
        """Show what the sliders ask for."""
        how = self.form["how"]
        what, of_what = ("At hand", "At hand, its strength") if how == "have" else ("Amount", "Stock")
        self.form.describe("amount", words=what, unit=self.measure)
        self.form.describe("stock", words=of_what)
        self.result = self.serial = None
        try:
            pictures = {"one": self._one, "have": self._have, "two": self._two}[how]()
        except KitError as error:
            self.picture.value, self.steps.value, self.findings.value = problem(str(error)), "", ""
            return
        self.picture.value = pictures
        self._show_steps()

    def _one(self) -> str:
        stock, wanted, amount = self.form["stock"], self.form["wanted"], self.form["amount"]
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
        stock, wanted, unit = self.form["stock"], self.form["wanted"], self.measure
        at_hand, basis = f"{all_digits(self.form['amount'])} {unit}", self.basis.removeprefix("% ")
        adds, active = self.form["adds"], self.form["dissolved"]
        if adds:
            made = strength_after(at_hand, stock, adds, basis=basis, active=active)  # type: ignore[arg-type]
        else:
            made = diluent_to_add(at_hand, stock, wanted, basis=basis, active=active)  # type: ignore[arg-type]
        self.result = made
        comes = made.mass if unit == "g" else made.volume
        parts = [Filling("at hand", self.form["amount"], 1.0, f"{stock:.6g} {self.basis}")]
        added = made.diluent if unit == "g" else made.diluent_volume
        if added is not None:
            parts.append(Filling("diluent", added, 0.0, f"0 {self.basis}", "+"))
        if comes is not None:
            parts.append(Filling("it comes to", comes, made.strength / stock, f"{made.strength:.6g} {self.basis}", "="))
        return f"{beakers_svg(parts, unit=unit)}<p>{made.sentence}</p>"

    def _two(self) -> str:
        one, other, wanted = self.form["stock"], self.form["second"], self.form["wanted"]
        self.result = made = alligate(one, other, wanted, self.form["amount"])
        unit, strong, weak = self.measure, float(made.strong), float(made.weak)
        taken = float(made.stronger_amount), float(made.weaker_amount)
        return alligation_svg(made, unit=unit) + beakers_svg(
            [
                Filling("the stronger", taken[0], 1.0, f"{strong:.6g} {self.basis}"),
                Filling("the weaker", taken[1], weak / strong, f"{weak:.6g} {self.basis}", "+"),
                Filling("what it makes", self.form["amount"], wanted / strong, f"{wanted:.6g} {self.basis}", "="),
            ],
            unit=unit,
        )

    def _show_steps(self) -> None:
        """Steps where the stock is too little to measure, and what else there is to say."""
        found = []
        unit, least = self.measure, self.least
        self.steps.value = ""
        if isinstance(self.result, Dilution):
            small = self.result.stock
            by = f"within {self.bench.tolerance:g} % on this balance" if unit == "g" else "with this pipette"
            said = (
                f"{small:.4g} {unit} of stock is too little to measure {by}; it measures {least:.4g} {unit} and more."
            )
            if small < least * (1 - 1e-9):
                self.steps.value = self._serial()
                found.append(Finding("caution", f"{said} Dilute in steps, as shown." if self.serial else said))
        elif isinstance(self.result, Alligation):
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
                self.form["stock"],
                self.form["wanted"],
                self.form["amount"],
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

    def _read_written(self) -> None:
        """Take the wanted strength as it was written, and say how it was taken."""
        self.form.tell("")
        if not self.form["written"]:
            return
        strength = read_strength(self.form["written"])
        found = convert(strength, self.basis, density=self.form["density"], substance=self.form["dissolved"])
        self.form.set(wanted=found.value)
        self.form.tell(f"{strength.meaning} Wanted: {found.value:.6g} {self.basis}.".strip())
