"""Bring a product to a pH with a stock: type what the meter shows, read off what the next batch needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.bench.acids import acid, acids, handling_findings
from kit.bench.neutralise import stock_to_reach
from kit.bench.ph import ESTIMATE, computed_curve, solution_of
from kit.bench.titration import Dose, Reading, Titrating, Titration, as_line
from kit.errors import EntryError, KitError
from kit.figures.titration import axis_title, titration_figure, titration_traces
from kit.formula.expansion import expand
from kit.inputs import Choice, Input, Number, Tick
from kit.library.ingredient import Stock
from kit.library.sources import source_text
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, problem, soft
from kit.widgets.panel import Panel, Picture

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.formula.model import Phase
    from kit.widgets.panel import Source

#: Points of a computed curve; the first entries of the list of what the sample holds.
CURVE_POINTS, NONE, ALL = 60, "nothing that is known", "all acids and bases of the formula"
#: How much more stock than was measured the computed curve shows.
BEYOND = 1.25


def _computes(values: Mapping[str, Any]) -> bool:
    return bool(values["curve"])


def _holds_one(values: Mapping[str, Any]) -> bool:
    return _computes(values) and values["holds"] not in (NONE, ALL)


def _model() -> tuple[Input, ...]:
    """What a computed curve is computed from."""
    known = list(acids())
    choices = {name: name for name in (NONE, ALL, *known)}
    share = Number(0, 100)
    return (
        Input("curve", "Computed curve beside it", Tick(), default=False),
        Input("holds", "The sample holds", Choice(choices), NONE, applies=_computes),
        Input("holds_percent", "Sample, at", share, 0.5, "% w/w", applies=_holds_one),
        Input("adds", "The stock holds", Choice({name: name for name in known}), known[0], applies=_computes),
        Input("adds_percent", "Stock, at", share, 10.0, "% w/w", applies=_computes),
    )


class PhPanel(Panel):
    """Readings and a target in; the dose, its place on the measured line and the next batch's line out.

    Parameters
    ----------
    readings
        (stock in all [g], pH) to start from.
    """

    watches = ("formula", "library")
    title = "Adjust the pH"
    subtitle = "add the stock in small steps to a weighed sample, stir, wait for the meter, note both numbers"

    def __init__(self, source: Source = None, readings: Iterable[tuple[float, float]] = ((0.0, 7.0),)) -> None:
        use = Button("use", "Put it into the formula", self._use)
        self.form = Form(Titrating, [use], on_change=lambda _: self._changed())
        self.form.set(readings=tuple(Reading(*pair) for pair in readings))
        self.model = Form(_model(), on_change=lambda _: self._changed())
        self.result, self.findings, self.computed = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        self.dose: Dose | None = None
        self.picture = Picture()
        self._suggested: tuple[str, str] | None = None
        self._used: tuple[Dose, tuple[Phase, ...]] | None = None
        super().__init__(source, [self.form, self.result, self.findings, self.picture, self.model, self.computed])

    def refresh(self) -> None:
        """Show the dose, and the figure once there is something to draw."""
        self._offer_names()
        asked = Titrating(**self.form.values)
        titration: Titration | None = None
        self.dose = None
        try:
            titration = asked.log
            self.dose = titration.to_reach(asked.target)
            self.result.value = done(self.dose.sentence)
        except KitError as error:
            self.result.value = problem(str(error))
        self.form.enable("use", can=self.dose is not None)
        found = titration.findings if titration else []
        self.findings.value = findings_list([*found, *handling_findings(self._handled())])
        curve = self._computed(asked)
        if self.picture.figure is not None:
            self.picture.put(titration_traces(titration, asked.target, self.dose, curve))
            self.picture.figure.layout.xaxis.title.text = axis_title(titration)
        elif titration is not None or curve:
            self.picture.draw(titration_figure(titration, asked.target, self.dose, curve))

    def _offer_names(self) -> None:
        """Offer the formula's stocks; at first, and with another formula, suggest what fits it."""
        stocks = [material for material in self.bench.formula.materials if isinstance(material, Stock)]
        self.form.offer("stock", [stock.name for stock in stocks])
        known = {each.name for each in acids().values()}
        held = [name for name in self._substances() if name in known]
        active = next((stock for stock in stocks if stock.active in known), None)
        suggested = (active.name if active else "", ", ".join(held))
        if suggested == self._suggested:
            return
        self._suggested = suggested
        if active is not None:
            self.form.set(stock=self.form["stock"] or active.name)
            share = round(active.contents.get(active.active, 0.0), 3)
            self.model.set(adds=acid(active.active).key, adds_percent=share)
        if len(held) > 1:
            self.model.set(holds=ALL)
        elif held:
            self.model.set(holds=acid(held[0]).key, holds_percent=round(self._substances()[held[0]], 3))

    def _substances(self) -> dict[str, float]:
        try:
            return expand(self.bench.formula, self.bench.product.materials)
        except KitError:
            return {}

    def _handled(self) -> list[str]:
        """The substances of the stock, by its name and by what is said to be in it."""
        name = self.form["stock"]
        chosen = [acid(self.model["adds"]).name] if self.model["curve"] else []
        try:
            return [*chosen, *(self.bench.product.materials.substances(name) if name else ())]
        except KitError:
            return chosen

    def _computed(self, asked: Titrating) -> list[tuple[float, float]]:
        """The computed curve, where it is wanted."""
        self.computed.value = ""
        if not self.model["curve"]:
            return []
        product, stock = self._product(), {self.model["adds"]: self.model["adds_percent"]}
        try:
            found = stock_to_reach(asked.target, product, stock, asked.mass)
            dose, said = found.grams, f"<p>{found.sentence}</p>{findings_list(found.findings)}"
        except KitError as error:
            dose, said = 0.0, problem(str(error))
        most = BEYOND * (max((one.grams for one in asked.readings), default=0.0) or dose) or asked.product / 20
        points = [most * n / CURVE_POINTS for n in range(CURVE_POINTS + 1)]
        try:
            values = computed_curve(product, stock, asked.mass, points)
            self.computed.value = said + soft(self._words(product, stock, most))
        except KitError as error:
            self.computed.value = problem(str(error))
            return []
        return list(zip(points, values, strict=True))

    def _product(self) -> dict[str, float]:
        """What the sample is said to hold, by the keys of the table of acids. [% w/w]"""
        if self.model["holds"] == NONE:
            return {}
        if self.model["holds"] != ALL:
            return {self.model["holds"]: self.model["holds_percent"]}
        known = {each.name for each in acids().values()}
        return {acid(name).key: percent for name, percent in self._substances().items() if name in known}

    def _words(self, product: dict[str, float], stock: dict[str, float], most: float) -> str:
        """What the curve was computed from, and how far the buffer formula would be off at its end."""
        keys = dict.fromkeys([*product, *stock])
        cited = dict.fromkeys(acid(key).pka_source for key in keys if acid(key).pka_source)
        counted = ", ".join(f"{key} {percent:.3g} %" for key, percent in product.items()) or "nothing"
        words = [ESTIMATE, f"Counted in the sample: {counted}; all else is left out, and density taken as 1 g/mL."]
        mass = self.form["product"]
        content = {key: product.get(key, 0.0) * mass / 100 + stock.get(key, 0.0) * most / 100 for key in keys}
        solution = solution_of(content, mass + most)
        approximate = solution.approximate_ph
        if approximate is not None:
            off = approximate - solution.equilibrium().ph
            words.append(
                f"At {most:.3g} g the buffer formula alone would say pH {approximate:.2f}, {off:+.2f} from this."
            )
        words += [f"pKa: {source_text(key)}" for key in cited]
        return " ".join(words)

    def _use(self) -> str:
        asked, dose = self.form.read(), self.dose
        assert dose is not None
        if self._used == (dose, self.bench.formula.phases):
            msg = "This dose is in the formula already; undo takes it out again."
            raise EntryError(msg)
        made = as_line(self.bench.formula, dose, asked["stock"])
        self.bench.change(made.formula)
        self._used = (dose, made.formula.phases)
        return (
            f"{made.line.material} now stands at {made.line.entry} %, {made.added:.4g} % more than before; "
            f"{made.displaced} gives way to {made.left:.4g} %. Measure the next batch too."
        )
