"""Bring a product to a pH with a stock: type what the meter shows, read off what the next batch needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.acids import acid, acids, handling_findings
from kit.bench.neutralise import stock_to_reach
from kit.bench.ph import ESTIMATE, computed_curve, solution_of
from kit.bench.titration import Dose, Reading, Titration, as_line
from kit.errors import EntryError, KitError
from kit.figures.titration import axis_title, titration_figure, titration_traces
from kit.formula.expansion import expand
from kit.library.ingredient import Stock
from kit.library.sources import source_text
from kit.numbers import read_likely, read_number
from kit.rounding import all_digits
from kit.widgets.html import done, findings_list, heading, problem, soft
from kit.widgets.panel import Panel, controls, live, number_box, try_to

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import plotly.graph_objects as go

    from kit.formula.model import Phase
    from kit.widgets.bench import Bench

ABOUT = "add the stock in small steps to a weighed sample, stir, wait for the meter, note both numbers"
#: Points of a computed curve; the first entries of the list of what the sample holds.
CURVE_POINTS, NONE, ALL = 60, "nothing that is known", "all acids and bases of the formula"
#: How much more stock than was measured the computed curve shows.
BEYOND = 1.25


class ReadingRow(ipw.HBox):  # type: ignore[misc]  # ipywidgets has no types
    """The stock added so far, and the pH then."""

    def __init__(self, panel: PhPanel, grams: str = "", ph: str = "") -> None:
        narrow = {"style": {"description_width": "initial"}}
        self.grams = ipw.Text(value=grams, description="Stock in all, g", layout={"width": "190px"}, **narrow)
        self.ph = ipw.Text(value=ph, description="pH", layout={"width": "110px"}, **narrow)
        self.drop = ipw.Button(description="Remove", tooltip="Remove this reading", layout={"width": "auto"})
        self.said = ipw.HTML()
        super().__init__([self.grams, self.ph, self.drop, self.said])
        self.add_class("sw-controls")
        for box in (self.grams, self.ph):
            box.observe(panel.hear, names="value")
        self.drop.on_click(lambda _: panel.remove(self))

    def read(self) -> tuple[float, float] | None:
        """What was typed; None while a box is empty or cannot be read, with a sentence beside it."""
        self.said.value = ""
        if not (self.grams.value.strip() and self.ph.value.strip()):
            return None
        try:
            pair = read_number(self.grams.value), read_likely(self.ph.value, 0, 14)
            Reading(*pair)
        except KitError as error:
            self.said.value = problem(str(error))
            return None
        return pair


class PhPanel(Panel):
    """Readings and a target in; the dose, its place on the measured line and the next batch's line out.

    Parameters
    ----------
    readings
        (stock in all [g], pH) to start from.
    """

    watches = ("formula", "library")

    def __init__(self, bench: Bench, readings: Iterable[tuple[float, float]] = ((0.0, 7.0),)) -> None:
        auto = {"style": {"description_width": "initial"}}
        self.product = number_box("Sample, g", 100.0, 0.1, 1e6)
        self.stock = ipw.Combobox(description="Stock added", placeholder="its name", layout={"width": "330px"}, **auto)
        self.target = number_box("Target pH", 5.0, 0.0, 14.0, step=0.1)
        self.rows = ipw.VBox([ReadingRow(self, f"{grams:g}", f"{ph:g}") for grams, ph in readings])
        self.more = ipw.Button(description="Add a reading", layout={"width": "auto"})
        self.result, self.findings, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.use = ipw.Button(description="Put it into the formula", layout={"width": "auto"})
        choices = [NONE, ALL, *acids()]
        self.curve = ipw.Checkbox(description="Computed curve beside it", indent=False, layout={"width": "210px"})
        self.holds = ipw.Dropdown(options=choices, description="The sample holds", layout={"width": "330px"}, **auto)
        self.holds_percent = number_box("at, % w/w", 0.5, 0.0, 100.0, step=0.1)
        self.adds = ipw.Dropdown(options=choices[2:], description="The stock holds", layout={"width": "330px"}, **auto)
        self.adds_percent = number_box("at, % w/w ", 10.0, 0.0, 100.0, step=1)
        self.computed = ipw.HTML()
        self.dose: Dose | None = None
        self.figure: go.FigureWidget | None = None
        self.picture = ipw.VBox()
        self.model = ipw.VBox([controls(self.holds, self.holds_percent), controls(self.adds, self.adds_percent)])
        self._suggested: tuple[str, str] | None = None
        self._used: tuple[Dose, tuple[Phase, ...]] | None = None
        super().__init__(
            bench,
            [
                ipw.HTML(heading("Adjust the pH", ABOUT)),
                controls(self.product, self.stock, self.target),
                self.rows,
                controls(self.more),
                self.result,
                controls(self.use),
                self.message,
                self.findings,
                self.picture,
                self.curve,
                self.model,
                self.computed,
            ],
        )
        watched = (self.product, self.stock, self.target, self.curve, self.holds, self.holds_percent, self.adds)
        for control in (*watched, self.adds_percent):
            control.observe(self.hear, names="value")
        self.more.on_click(lambda _: self.add())
        self.use.on_click(lambda _: self._use())

    # ---- rows -------------------------------------------------------------------------------------------

    def add(self, grams: str = "", ph: str = "") -> None:
        """One more empty row; the others stay as typed."""
        self.rows.children = (*self.rows.children, ReadingRow(self, grams, ph))
        self._changed()

    def remove(self, row: ReadingRow) -> None:
        """Take one reading out."""
        self.rows.children = tuple(other for other in self.rows.children if other is not row)
        self._changed()

    def hear(self, _change: object = None) -> None:
        """Show what follows from what was typed or chosen."""
        if not self.is_refreshing:
            self._changed()

    # ---- showing ----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the dose, and the figure once there is something to draw."""
        self._offer_names()
        pairs = [pair for row in self.rows.children if (pair := row.read()) is not None]
        titration = self._titration(pairs)
        self.dose = None
        if titration is not None:
            try:
                self.dose = titration.to_reach(self.target.value)
                self.result.value = done(self.dose.sentence)
            except KitError as error:
                self.result.value = problem(str(error))
        self.use.disabled = self.dose is None
        found = titration.findings if titration else []
        self.findings.value = findings_list([*found, *handling_findings(self._handled())])
        self._draw(titration, self._computed(pairs))

    def _titration(self, pairs: Sequence[tuple[float, float]]) -> Titration | None:
        try:
            return Titration.of(f"{all_digits(self.product.value)} g", pairs, self.stock.value.strip())
        except KitError as error:
            self.result.value = problem(str(error))
            return None

    def _offer_names(self) -> None:
        """Offer the formula's stocks; at first, and with another formula, suggest what fits it."""
        stocks = [material for material in self.bench.formula.materials if isinstance(material, Stock)]
        self.stock.options = tuple(stock.name for stock in stocks)
        held = [name for name in self._substances() if name in {each.name for each in acids().values()}]
        active = next((stock for stock in stocks if stock.active in {each.name for each in acids().values()}), None)
        suggested = (active.name if active else "", ", ".join(held))
        if suggested == self._suggested:
            return
        self._suggested = suggested
        if active is not None:
            self.stock.value = self.stock.value or active.name
            self.adds.value = acid(active.active).key
            self.adds_percent.value = round(active.contents.get(active.active, 0.0), 3)
        if len(held) > 1:
            self.holds.value = ALL
        elif held:
            self.holds.value = acid(held[0]).key
            self.holds_percent.value = round(self._substances()[held[0]], 3)

    def _substances(self) -> dict[str, float]:
        try:
            return expand(self.bench.formula, self.bench.product.materials)
        except KitError:
            return {}

    def _handled(self) -> list[str]:
        """The substances of the stock, by its name and by what is said to be in it."""
        name = self.stock.value.strip()
        chosen = [acid(self.adds.value).name] if self.curve.value else []
        try:
            return [*chosen, *(self.bench.product.materials.substances(name) if name else ())]
        except KitError:
            return chosen

    def _computed(self, pairs: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """The computed curve, where it is wanted."""
        self.model.layout.display = "" if self.curve.value else "none"
        self.holds_percent.layout.display = "none" if self.holds.value in (NONE, ALL) else ""
        self.computed.value = ""
        if not self.curve.value:
            return []
        product, stock = self._product(), {self.adds.value: self.adds_percent.value}
        dose, said = self._computed_dose(product, stock)
        most = BEYOND * (max((grams for grams, _ in pairs), default=0.0) or dose) or self.product.value / 20
        points = [most * n / CURVE_POINTS for n in range(CURVE_POINTS + 1)]
        try:
            values = computed_curve(product, stock, f"{all_digits(self.product.value)} g", points)
            self.computed.value = said + soft(self._words(product, stock, most))
        except KitError as error:
            self.computed.value = problem(str(error))
            return []
        return list(zip(points, values, strict=True))

    def _product(self) -> dict[str, float]:
        """What the sample is said to hold, by the keys of the table of acids. [% w/w]"""
        if self.holds.value == NONE:
            return {}
        if self.holds.value != ALL:
            return {self.holds.value: self.holds_percent.value}
        known = {each.name for each in acids().values()}
        return {acid(name).key: percent for name, percent in self._substances().items() if name in known}

    def _computed_dose(self, product: dict[str, float], stock: dict[str, float]) -> tuple[float, str]:
        """The stock that reaches the target by computation, and in words; 0 and the reason where none does. [g]"""
        try:
            dose = stock_to_reach(self.target.value, product, stock, f"{all_digits(self.product.value)} g")
        except KitError as error:
            return 0.0, problem(str(error))
        return dose.grams, f"<p>{dose.sentence}</p>{findings_list(dose.findings)}"

    def _words(self, product: dict[str, float], stock: dict[str, float], most: float) -> str:
        """What the curve was computed from, and how far the buffer formula would be off at its end."""
        keys = dict.fromkeys([*product, *stock])
        cited = dict.fromkeys(acid(key).pka_source for key in keys if acid(key).pka_source)
        counted = ", ".join(f"{key} {percent:.3g} %" for key, percent in product.items()) or "nothing"
        words = [ESTIMATE, f"Counted in the sample: {counted}; all else is left out, and density taken as 1 g/mL."]
        mass = self.product.value
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

    def _draw(self, titration: Titration | None, curve: list[tuple[float, float]]) -> None:
        if titration is None and not curve:
            return
        if self.figure is None:
            self.figure = live(titration_figure(titration, self.target.value, self.dose, curve))
            self.picture.children = (self.figure,)
            return
        traces = titration_traces(titration, self.target.value, self.dose, curve)
        with self.figure.batch_update():
            for old, new in zip(self.figure.data, traces, strict=True):
                old.x, old.y, old.text, old.name = new.x, new.y, new.text, new.name
            self.figure.layout.xaxis.title.text = axis_title(titration)

    def _use(self) -> None:
        def work() -> str:
            if self.dose is None:
                msg = "There is no dose yet: type readings on both sides of the target."
                raise EntryError(msg)
            if self._used == (self.dose, self.bench.formula.phases):
                msg = "This dose is in the formula already; undo takes it out again."
                raise EntryError(msg)
            made = as_line(self.bench.formula, self.dose, self.stock.value)
            dose = self.dose
            self.bench.change(made.formula)
            self._used = (dose, made.formula.phases)
            return (
                f"{made.line.material} now stands at {made.line.entry} %, {made.added:.4g} % more than before; "
                f"{made.displaced} gives way to {made.left:.4g} %. Measure the next batch too."
            )

        try_to(self.message, work)
