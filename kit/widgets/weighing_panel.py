"""Weigh well: how far off each line may be at this batch and on this balance, and the premix that helps."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.balance import Balance, least_by_sensitivity
from kit.bench.order import ARRANGEMENTS, WEIGHING_ORDERS, arrangement_findings
from kit.bench.premix import Premix, proposals, with_premix
from kit.bench.uncertainty import Simulated, WeighingUncertainty, simulate, weighing_uncertainty
from kit.bench.weighing import MOST, smallest_sound_batch, sound_in_words
from kit.errors import KitError
from kit.figures.weighing import batch_scale, name_axis, uncertainty_figure, uncertainty_traces
from kit.numbers import read_number, split_text
from kit.rounding import all_digits, decimal_places, percent_text
from kit.widgets.html import findings_list, heading, problem, sheet, soft
from kit.widgets.panel import Panel, controls, live, number_box, try_to
from kit.widgets.shown import on_hand, show_in, value_in

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from kit.bench.weighing import Batch
    from kit.widgets.bench import Bench

#: Larger batches are typed into the box. [g]
MOST_BY_SLIDER = 2000.0
#: Draws at every change, and at the press of the button; always from the same seed, so that nothing flickers.
QUICK_DRAWS, MANY_DRAWS, SEED = 2000, 100_000, 20
TOLERANCES, MASSES = (0.01, 50.0), (0.01, 1e6)


class WeighingPanel(Panel):
    """A batch, a balance and a way of weighing in; how far off each line may be, and premixes, out."""

    watches = ("formula", "library", "order", "balance", "tolerance")

    def __init__(self, bench: Bench) -> None:
        auto = {"layout": {"width": "auto"}}
        style = {"style": {"description_width": "initial"}}
        self.mass = ipw.FloatSlider(
            min=1,
            max=MOST_BY_SLIDER,
            step=1,
            readout_format=".0f",
            description="Batch, g",
            style={"description_width": "80px"},
            layout={"width": "520px"},
        )
        self.mass_box = number_box("exactly, g", 250, *MASSES)
        self.sound = ipw.Button(description="Go to the smallest sound batch", **auto)
        self.scale = ipw.HTML()
        self.readability = _box("Balance reads, g", "180px")
        self.repeatability = _box("repeatability, g", "195px")
        self.linearity = _box("linearity, ± g", "185px")
        self.capacity = _box("carries, g", "150px")
        self.sensitivity = _box("sensitivity requirement, g", "275px")
        self.rules = ipw.HTML()
        self.tolerance = number_box("A weighing may be off, %", 1, *TOLERANCES, step=0.1)
        ways = [(words, arrangement) for arrangement, words in ARRANGEMENTS.items()]
        self.arrangement = ipw.Dropdown(options=ways, description="Weighed into", layout={"width": "270px"}, **style)
        orders = list(WEIGHING_ORDERS)
        self.order = ipw.Dropdown(options=orders, description="in the order", layout={"width": "220px"}, **style)
        self.vessel = number_box("Empty dish or vessel, g", 0, 0, 1e5)
        self.many = ipw.Button(description=f"Draw {MANY_DRAWS:,} batches", **auto)
        self.message, self.findings, self.table = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.figure: go.FigureWidget | None = None
        self.picture, self.premix_head, self.premixes = ipw.VBox(), ipw.HTML(), ipw.VBox()
        self._offers: list[PremixOffer] = []
        self._shown_balance: Balance | None = None
        super().__init__(
            bench,
            [
                ipw.HTML(heading("Weigh well", "how far off each line may be, and what to do about the small ones")),
                controls(self.mass, self.mass_box, self.sound),
                self.scale,
                controls(self.readability, self.repeatability, self.linearity, self.capacity, self.sensitivity),
                self.rules,
                controls(self.tolerance, self.arrangement, self.order, self.vessel),
                self.message,
                self.picture,
                self.findings,
                self.premix_head,
                self.premixes,
                controls(self.many),
                self.table,
            ],
        )
        on_hand(self.mass, self._make)
        on_hand(self.mass_box, self._make)
        self.sound.on_click(lambda _: self._make_sound())
        for box in (self.readability, self.repeatability, self.linearity, self.capacity):
            on_hand(box, lambda _: self._set_balance())
        on_hand(self.tolerance, self._set_tolerance)
        for control in (self.arrangement, self.order, self.vessel, self.sensitivity):
            control.observe(self._changed, names="value")
        self.many.on_click(lambda _: self._draw_many())

    # ---- showing ----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the batch in hand on the balance in hand."""
        bench = self.bench
        self._show_balance()
        self._show_rules()
        show_in(self.tolerance, bench.tolerance, within=TOLERANCES)
        try:
            size, batch = bench.product.batch_size, bench.product.batch
            show_in(self.mass_box, size.mass, round(size.mass, 6), within=MASSES)
            show_in(self.mass, size.mass)
            self.show_batch(batch)
        except KitError as error:
            self._show_nothing(str(error))

    def show_batch(self, batch: Batch, draws: int = QUICK_DRAWS) -> None:
        """Show what follows for one batch, with so many draws."""
        way = (self.arrangement.value, self.order.value)
        least = smallest_sound_batch(batch.formula, batch.balance, batch.tolerance)
        result, simulated = weighing_uncertainty(batch, *way), _simulate(batch, way, draws)
        self.sound.disabled = False
        self.scale.value = batch_scale(batch.mass, least, MOST_BY_SLIDER)
        self.table.value = uncertainty_table(result, simulated)
        said = arrangement_findings(batch, *way, vessel=f"{all_digits(self.vessel.value)} g")
        helped = proposals(batch, self.bench.product.materials)
        self.findings.value = findings_list([*result.findings, *said])
        self._show_premixes(helped.premixes)
        if helped.findings:
            self.premix_head.value += findings_list(helped.findings)
        self._draw(result, simulated)

    def _show_nothing(self, sentence: str) -> None:
        self.findings.value = problem(sentence)
        self.scale.value = self.table.value = self.premix_head.value = ""
        self.sound.disabled = True
        self.picture.layout.display = "none"
        for one in self._offers:
            one.layout.display = "none"

    def _show_balance(self) -> None:
        """Write the balance into its boxes, unless it is the one from which they were last written or read."""
        balance = self.bench.balance
        if balance == self._shown_balance:
            return
        self._shown_balance = balance
        boxes = (self.readability, self.capacity, self.repeatability, self.linearity)
        masses = (balance.readability, balance.capacity, balance.repeatability, balance.linearity)
        for box, grams in zip(boxes, masses, strict=True):
            show_in(box, "" if grams is None else repr(grams), "" if grams is None else f"{grams:.10g}")

    def _show_rules(self) -> None:
        """The least that may be weighed, by the newer rule and, where its figure is known, by the older one."""
        tolerance = self.bench.tolerance
        said = f"Within {tolerance:g} % it weighs {self.bench.balance.least_weight(tolerance):.4g} g and more (USP 41)"
        text = self.sensitivity.value.strip()
        try:
            grams = f"{all_digits(read_number(text))} g" if text and not split_text(text)[1] else text
            older = f"; by its sensitivity requirement {least_by_sensitivity(grams, tolerance):.4g} g" if text else ""
            self.rules.value = soft(f"{said}{older}.")
        except KitError as error:
            self.rules.value = problem(str(error))

    def _show_premixes(self, found: tuple[Premix, ...]) -> None:
        words = "Premixes for what is too small to weigh" if found else "No line needs a premix here"
        below = "the kit does not know what dissolves in what: try it, and stir well" if found else ""
        self.premix_head.value = heading(words, below)
        if len(found) > len(self._offers):
            self._offers += [PremixOffer(self) for _ in range(len(found) - len(self._offers))]
            self.premixes.children = tuple(self._offers)
        for n, one in enumerate(self._offers):
            one.show(found[n] if n < len(found) else None)

    def _draw(self, result: WeighingUncertainty, simulated: Simulated) -> None:
        self.picture.layout.display = ""
        if self.figure is None:
            self.figure = live(uncertainty_figure(result, simulated))
            self.picture.children = (self.figure,)
            return
        axis = name_axis(result)
        with self.figure.batch_update():
            for old, new in zip(self.figure.data, uncertainty_traces(result, simulated), strict=True):
                old.update(new)
            if tuple(self.figure.layout.yaxis.ticktext) != tuple(axis["ticktext"]):
                self.figure.update_layout(yaxis=axis, height=uncertainty_figure(result).layout.height)

    # ---- hearing ----------------------------------------------------------------------------------------

    def _make(self, grams: float) -> None:
        """Order the product that makes a batch of this mass. [g]"""

        def work() -> None:
            self.bench.order = self.bench.order.for_batch(grams)

        try_to(self.message, work)

    def _make_sound(self) -> None:
        def work() -> str:
            bench = self.bench
            least = smallest_sound_batch(bench.formula, bench.balance, bench.tolerance)
            if least <= MOST:
                self._make(least)
            return sound_in_words(least, bench.tolerance)

        try_to(self.message, work)

    def _set_balance(self) -> None:
        def work() -> None:
            boxes = (self.readability, self.capacity, self.repeatability, self.linearity)
            self._shown_balance = Balance.typed(*(value_in(box) for box in boxes))
            self.bench.balance = self._shown_balance

        try_to(self.message, work)

    def _set_tolerance(self, percent: float) -> None:
        self.bench.tolerance = percent

    def _draw_many(self) -> None:
        try_to(self.message, lambda: self.show_batch(self.bench.product.batch, MANY_DRAWS))

    def use(self, premix: Premix) -> None:
        """Let the formula in hand use this premix."""

        def work() -> str:
            self.bench.change(with_premix(self.bench.formula, premix))
            return f"{premix.name} is in the formula now, and stands among its stocks. {premix.sentence}"

        try_to(self.message, work)


class PremixOffer(ipw.HBox):  # type: ignore[misc]  # ipywidgets has no types
    """One premix in words, with a button that uses it."""

    def __init__(self, panel: WeighingPanel) -> None:
        self.words = ipw.HTML(layout={"flex": "1 1 420px"})
        self.use = ipw.Button(description="Use this premix", layout={"width": "auto", "flex": "0 0 auto"})
        self.premix: Premix | None = None
        super().__init__([self.words, self.use], layout={"align_items": "center", "flex_flow": "row wrap"})
        self.use.on_click(lambda _: panel.use(self.premix) if self.premix else None)

    def show(self, premix: Premix | None) -> None:
        """Show this premix, or nothing."""
        self.premix = premix
        self.layout.display = "" if premix else "none"
        if premix:
            self.words.value = escape(premix.sentence)
            self.use.tooltip = f"Use {premix.name}"


def _box(description: str, width: str) -> ipw.Text:
    """A box for a mass that may stay empty; it is read when it is left."""
    return ipw.Text(
        description=description,
        placeholder="not known",
        continuous_update=False,
        style={"description_width": "initial"},
        layout={"width": width},
    )


def _simulate(batch: Batch, way: tuple[str, str], draws: int) -> Simulated:
    import numpy as np

    return simulate(batch, np.random.default_rng(SEED), *way, draws=draws)  # type: ignore[arg-type]


def uncertainty_table(result: WeighingUncertainty, simulated: Simulated) -> str:
    """The lines with their uncertainty, by propagation and by Monte Carlo side by side, as HTML."""
    places = decimal_places(result.batch.balance.readability)
    phases = result.batch.formula.phases
    rows = [
        [
            line.weighing.material,
            f"{line.weighing.grams:.{places}f}",
            percent_text(line.weighing.percent),
            f"{line.made:.4g}",
            f"{line.deviation:+.2g}" if abs(line.deviation) >= 5e-7 else "0",
            f"{line.expanded:.2g}",
            f"{drawn.half_width:.2g}",
            f"{drawn.low:.5g}\N{NO-BREAK SPACE}to\N{NO-BREAK SPACE}{drawn.high:.5g}",
            "" if line.relative is None else f"{line.relative:.2g}",
        ]
        for line, drawn in zip(result.lines, simulated.lines, strict=True)
    ]
    head = [
        "ingredient",
        "weigh, g",
        "paper, %",
        "made, %",
        "rounding, %",
        "± by propagation",
        "± by Monte Carlo",
        "from, to, %",
        "± % of the line",
    ]
    caption = (
        f"Percents of the whole; intervals cover {result.coverage:g} % (k = {result.factor:.2f}; "
        f"{simulated.draws:,} draws). Rounding is known and stands apart. JCGM 100 and 101."
    )
    kinds = [phases[line.weighing.phase].kind for line in result.lines]
    return sheet(head, rows, numbers=range(1, 9), kinds=kinds, caption=caption)
