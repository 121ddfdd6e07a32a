"""Weigh well: how far off each line may be at this batch and on this balance, and the premix that helps."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.balance import PLATE, TOLERANCE, Balance, least_by_sensitivity
from kit.bench.batch_text import BatchAmount, ByBottles
from kit.bench.order import ARRANGEMENTS, WEIGHING_ORDERS, arrangement_findings
from kit.bench.premix import Premix, proposals, with_premix
from kit.bench.uncertainty import Simulated, WeighingUncertainty, simulate, weighing_uncertainty
from kit.bench.weighing import MOST, smallest_sound_batch, sound_in_words
from kit.errors import KitError
from kit.figures.weighing import batch_scale, name_axis, uncertainty_figure, uncertainty_traces
from kit.inputs import Amount, Choice, Input
from kit.rounding import all_digits, in_column
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, heading, problem, sheet, soft
from kit.widgets.panel import Panel, fitting, live

if TYPE_CHECKING:
    from kit.bench.weighing import Batch
    from kit.widgets.chart import Chart
    from kit.widgets.panel import Source

#: Larger batches are typed into the box. [g]
MOST_BY_SLIDER = 2000.0
#: Draws at every change, and at the press of the button; always from the same seed, so that nothing flickers.
QUICK_DRAWS, MANY_DRAWS, SEED = 2000, 100_000, 20
MASS = Input("mass", "Batch", BatchAmount("g", 0.01, 1e6, digits=7), 250.0, unit="g", slide=(1, MOST_BY_SLIDER, 1))
NOT_SAID = "Say what is made and what the balance reads; until then nothing is judged by the kit's own figures."
TO = "\N{NO-BREAK SPACE}to\N{NO-BREAK SPACE}"
SENSITIVITY = Input("sensitivity", "Sensitivity requirement", Amount("g", 0), None, unit="g", example="not known")
WAY = (
    Input("arrangement", "Weighed into", Choice(ARRANGEMENTS), next(iter(ARRANGEMENTS))),
    Input("order", "In the order", Choice({one: one for one in WEIGHING_ORDERS}), WEIGHING_ORDERS[0]),
    Input("vessel", "Empty dish or vessel", Amount("g", 0, 1e5), 0.0, unit="g"),
)


class WeighingPanel(Panel):
    """A batch, a balance and a way of weighing in; how far off each line may be, and premixes, out."""

    watches = ("formula", "library", "order", "balance", "tolerance", "known")
    title = "Weigh well"
    subtitle = "how far off each line may be, and what to do about the small ones"

    def __init__(self, source: Source = None) -> None:
        sound = Button("sound", "Go to the smallest sound batch", self._make_sound)
        self.mass = Form([MASS], [sound], on_change=lambda _: self._make(self.mass["mass"]))
        many = Button("many", f"Draw {MANY_DRAWS:,} batches", self._draw_many)
        self.form = Form([*PLATE, SENSITIVITY, TOLERANCE], on_change=self._set, wide=("others",))
        self.way = Form(WAY, [many], on_change=self._changed)
        use = Button("use", "Use this premix", self._use)
        self.premix = Form([Input("premix", "Premix", Choice({}))], [use])
        self.scale, self.table = ipw.HTML(), ipw.HTML()
        self.rules, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML().add_class("sw-answer")
        self.figure: Chart | None = None
        self.picture, self.premixes = ipw.VBox().add_class("sw-picture"), ipw.HTML()
        self._shown_balance: Balance | None = None
        self._found: tuple[Premix, ...] = ()
        parts = (self.rules, self.way, self.picture, self.findings, self.premixes, self.premix, self.table)
        super().__init__(source, [self.mass, self.scale, self.form, *parts])

    # ---- showing ----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the batch in hand on the balance in hand."""
        bench = self.bench
        self.form.follow(tolerance=bench.tolerance)
        if bench.balance != self._shown_balance:  # what was typed and does not go together stays until then
            self._shown_balance = bench.balance
            self.form.set(**{one.name: getattr(bench.balance, one.name) for one in PLATE})
        self._show_rules()
        try:
            size, batch = bench.product.batch_size, bench.product.batch
            self.mass.follow(mass=size.mass)
            self.show_batch(batch)
        except KitError as error:
            self._show_nothing(str(error))

    def show_batch(self, batch: Batch, draws: int = QUICK_DRAWS) -> None:
        """Show what follows for one batch, with so many draws."""
        way = (self.way["arrangement"], self.way["order"])
        least = smallest_sound_batch(batch.formula, batch.balance, batch.tolerance)
        result, simulated = weighing_uncertainty(batch, *way), _simulate(batch, way, draws)
        self.mass.enable("sound", can=True)
        self.scale.value = batch_scale(batch.mass, least, MOST_BY_SLIDER)
        self.table.value = uncertainty_table(result, simulated)
        said = arrangement_findings(batch, *way, vessel=f"{all_digits(self.way['vessel'])} g")
        known = {"batch", "balance"} <= self.bench.known
        judged = result.findings if known else []
        self.findings.value = findings_list([*judged, *said]) + ("" if known else soft(NOT_SAID))
        helped = proposals(batch, self.bench.product.materials)
        self._show_premixes(helped.premixes, findings_list(helped.findings))
        self._draw(result, simulated)

    def _show_nothing(self, sentence: str) -> None:
        self.findings.value = problem(sentence)
        self.scale.value = self.table.value = self.premixes.value = ""
        self.mass.enable("sound", can=False)
        self.picture.layout.display = self.premix.layout.display = "none"

    def _show_rules(self) -> None:
        """The least that may be weighed, by the newer rule and, where its figure is known, by the older one."""
        tolerance, requirement = self.bench.tolerance, self.form["sensitivity"]
        finest = self.bench.balance.finest
        which = "it" if not self.bench.balance.others else f"the one that reads {finest.readability:g} g"
        said = f"Within {tolerance:g} % {which} weighs {finest.least_weight(tolerance):.4g} g and more (USP 41)"
        if requirement is not None:
            least = least_by_sensitivity(f"{all_digits(requirement)} g", tolerance)
            said += f"; by its sensitivity requirement {least:.4g} g"
        self.rules.value = soft(f"{said}.")

    def _show_premixes(self, found: tuple[Premix, ...], said: str) -> None:
        words = "Premixes for what is too small to weigh" if found else "No line needs a premix here"
        below = "the kit does not know what dissolves in what: try it, and stir well" if found else ""
        told = "".join(f"<li>{escape(one.sentence)}</li>" for one in found)
        self.premixes.value = heading(words, below) + said + (f"<ul>{told}</ul>" if found else "")
        self.premix.layout.display = "" if found else "none"
        self._found = found
        self.premix.offer("premix", {n: one.name for n, one in enumerate(found)})

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
                self.figure.update_layout(yaxis=axis, height=fitting(uncertainty_figure(result)).layout.height)

    # ---- hearing ----------------------------------------------------------------------------------------

    def _make(self, grams: float | ByBottles) -> None:
        """Order the product that makes a batch of this mass [g], or these bottles."""
        if isinstance(grams, ByBottles):
            self.bench.product = self.bench.product.with_batch(grams)
            return
        self.bench.order = self.bench.order.for_batch(grams)

    def _make_sound(self) -> str:
        bench = self.bench
        least = smallest_sound_batch(bench.formula, bench.balance, bench.tolerance)
        if least <= MOST:
            self._make(least)
        return sound_in_words(least, bench.tolerance, bench.balance)

    def _set(self, names: tuple[str, ...]) -> None:
        product, plate = self.bench.product, [one.name for one in PLATE]
        balance = product.balance
        if {*plate} & {*names}:
            balance = self._shown_balance = Balance(**self.form.read(*plate))
        changed = replace(product, balance=balance, tolerance=self.form["tolerance"])
        self.bench.product = changed.knowing("balance") if {*plate} & {*names} else changed
        self._show_rules()

    def _draw_many(self) -> None:
        self.show_batch(self.bench.product.batch, MANY_DRAWS)

    def _use(self) -> str:
        """Let the formula in hand use the premix that was chosen."""
        premix = self._found[self.premix["premix"]]
        self.bench.change(with_premix(self.bench.formula, premix))
        return f"{premix.name} is in the formula now, and stands among its stocks. {premix.sentence}"


def _simulate(batch: Batch, way: tuple[str, str], draws: int) -> Simulated:
    import numpy as np

    return simulate(batch, np.random.default_rng(SEED), *way, draws=draws)  # type: ignore[arg-type]


def uncertainty_table(result: WeighingUncertainty, simulated: Simulated) -> str:
    """The lines with their uncertainty, by propagation and by Monte Carlo side by side, as HTML."""
    phases = result.batch.formula.phases
    lines = list(zip(result.lines, simulated.lines, strict=True))
    ends = in_column([end for _, drawn in lines for end in (drawn.low, drawn.high)], 3)
    rows = [
        list(row)
        for row in zip(
            [line.weighing.material for line, _ in lines],
            [line.weighing.text for line, _ in lines],
            in_column(line.weighing.percent for line, _ in lines),
            in_column((line.made for line, _ in lines), 3),
            in_column((line.deviation if abs(line.deviation) >= 5e-7 else 0.0 for line, _ in lines), sign="+"),
            in_column(line.expanded for line, _ in lines),
            in_column(drawn.half_width for _, drawn in lines),
            [
                f"{low}\N{NO-BREAK SPACE}to\N{NO-BREAK SPACE}{high}"
                for low, high in zip(ends[::2], ends[1::2], strict=True)
            ],
            in_column(line.relative for line, _ in lines),
            strict=True,
        )
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
