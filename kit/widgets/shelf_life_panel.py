"""Shelf life from the readings of a study: the choices, the estimate in a sentence, and all it was computed from."""

from __future__ import annotations

import math
from datetime import date
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.shelf_life import shelf_life_chart
from kit.figures.theme import STYLES
from kit.inputs import Choice, Input, Number
from kit.stability.q1e import STORAGES, WARM
from kit.stability.series import acceptance, series_of
from kit.stability.shelf_life import shelf_life
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.study_panel import StudyBench, StudyPanel
from kit.widgets.temperature_views import AcrossTemperatures, MeanTemperature

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from kit.stability.log.store import StabilityLog
    from kit.stability.plan import Condition
    from kit.stability.series import Acceptance, Series
    from kit.stability.shelf_life import ShelfLife

SIDES = {"plan": "as the plan limits it", "one": "one side", "two": "two sides"}
MODELS = {
    "tests": "as the tests say",
    "common line": "one line for all",
    "common slope": "a common slope",
    "separate lines": "separate lines",
}
ROOM, COLD_STORAGE = STORAGES
CHOICES = [
    Input("attribute", "Attribute", Choice({}), None),
    Input("condition", "Kept in", Choice({}), None),
    Input("order", "Order", Choice({"zero": "zero: a straight line", "first": "first: a share each day"}), "zero"),
    Input("sides", "Limit asked on", Choice(SIDES), "plan"),
    Input("model", "Lines", Choice(MODELS), "tests"),
    Input("level", "Batches differ below p =", Number(0.01, 0.99), 0.25),
    Input("confidence", "Confidence", Number(50, 99.9), 95.0, "%"),
    Input("warm", "In warm storage", Choice({one: one for one in WARM}), WARM[0]),
    Input("storage", "Meant to be kept", Choice({ROOM: "at room temperature", COLD_STORAGE: "cold"}), ROOM),
]  # fmt: skip
#: A condition colder than this is taken for cold storage. [°C]
COLD = 15.0
LABEL_WORDS = """
<details class="sw-label-words"><summary><b>“Best before” and “period after opening”: what the words mean</b></summary>
<p>The EU asks for one of two things on a cosmetic (Regulation (EC) No 1223/2009, article 19(1)(c)). Where a product
keeps its function for <b>30 months or less</b>, a date of minimum durability: “best used before the end of” month and
year, or day, month and year, with how to store it where that matters. Where it keeps <b>longer than 30 months</b>, no
date is required, and the open jar with months or years after opening stands instead, unless durability once opened has
no meaning, as for a pack used up at once.</p>
<p>The estimate above is neither. It says for how long the mean of one attribute is supported to keep one limit, in
closed bottles, in one storage. A date needs every attribute that matters, microbes above all, and a qualified person
who answers for it. A period after opening needs packs that were opened and used again and again (ISO 11930 and tests
in use). This kit proposes neither of the two.</p>
<p class="sw-subtitle">Read in a copy of the earlier UK text with the same rule; the exception for packs that are not
opened again is from memory. Read the law of your own market.</p></details>
"""


class ShelfLifePanel(StudyPanel):
    """Choose attribute, condition and how to compute; read the estimate, its interval, its cap and its cautions.

    Parameters
    ----------
    source
        An open log, or where one lies.
    today
        For a lesson about a study of the past; the real day otherwise.
    study
        The number of the study to show first; the newest otherwise.
    """

    title = "Shelf life, estimated"
    subtitle = "what the readings so far support, after ICH Q1E; later readings must confirm it"

    def __init__(
        self,
        source: StabilityLog | str | Path = "stability_log.db",
        today: Callable[[], date] = date.today,
        study: int | None = None,
    ) -> None:
        self.result: ShelfLife | None = None
        self.series: list[Series] = []
        self.form = Form(CHOICES, on_change=self._chosen)
        self.sentence, self.chart, self.tests, self.batches = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.checks, self.findings, self.steps = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.sentence.add_class("sw-answer")
        self.across, self.mean_temperature = AcrossTemperatures(), MeanTemperature()
        answers = [self.sentence, self.chart, self.tests, self.batches, self.checks, self.findings, self.steps]
        more = [self.across, self.mean_temperature, ipw.HTML(LABEL_WORDS)]
        super().__init__(StudyBench(source, today), [self.form, *answers, *more], study=study)

    def refresh(self) -> None:
        """Offer what the study in hand has numbers for, and compute."""
        hand = self.bench.hand
        if hand.study is None:
            return
        plan, read = hand.study.plan, {row.attribute for row in hand.readings}
        usable = [one for one in plan.attributes if one.kind in ("number", "colour") and one.key in read]
        self.form.offer("attribute", {one.key: one.title for one in usable})
        self.form.offer("condition", {one.key: one.label for one in plan.conditions})
        self._keep_cold_with_condition()
        self.compute()

    def choose(self, **chosen: Any) -> None:
        """Make choices by the names and values of the form, such as ``condition="fridge"``, and compute with them."""
        self.form.set(**chosen)
        self._chosen(tuple(chosen))

    def _chosen(self, names: tuple[str, ...]) -> None:
        if "condition" in names:
            self._keep_cold_with_condition()
        self.compute()

    def _keep_cold_with_condition(self) -> None:
        """What is read in the cold is meant to be kept cold, until the maker says otherwise."""
        condition = self._condition()
        if condition is not None:
            cold = condition.temperature is not None and condition.temperature < COLD
            self.form.set(storage=COLD_STORAGE if cold else ROOM)

    def _condition(self) -> Condition | None:
        if self.study is None or self.form["condition"] is None:
            return None
        return self.study.plan.condition(self.form["condition"])

    def compute(self) -> None:
        """Compute from what is chosen and show it."""
        study, condition, readings = self.study, self._condition(), self.bench.hand.readings
        if study is None or condition is None or self.form["attribute"] is None:
            self._say_only("No number or colour was read yet in this study, so there is nothing to compute from.")
            return
        attribute, order = study.plan.attribute(self.form["attribute"]), self.form["order"]
        of_colour = attribute.kind == "colour"
        self.form.show(*(name for name in self.form.inputs if name != "order" or not of_colour))
        try:
            self.series = series_of(study, readings, condition.key, attribute.key)
            limits = acceptance(study, attribute.key, readings, condition.key)
            self.result = self._estimate(limits, "zero" if of_colour else order)
        except KitError as error:
            self._say_only(str(error))
            return
        self.across.show(study, readings, attribute, order)
        number = study.plan.conditions.index(condition)
        self._show(
            self.result,
            title=f"{attribute.label}, {condition.label}",
            y_title="CIEDE2000 from the start" if of_colour else attribute.title,
            colour=STYLES[number % len(STYLES)][0],
        )

    def _estimate(self, limits: Acceptance, order: str) -> ShelfLife:
        chosen = self.form.values
        sided = limits.sided if chosen["sides"] == "plan" else chosen["sides"]
        return shelf_life(
            self.series,
            lower=limits.lower,
            upper=limits.upper,
            order=order,  # type: ignore[arg-type]  # a form's value
            sided="one" if sided == "one" else "two",
            confidence=chosen["confidence"] / 100,
            pooling_level=chosen["level"],
            model=None if chosen["model"] == "tests" else chosen["model"],
            warm=chosen["warm"],
            storage=chosen["storage"],
        )

    def _say_only(self, sentence: str) -> None:
        self.result = None
        self.sentence.value = problem(sentence)
        for part in (self.chart, self.tests, self.batches, self.checks, self.findings, self.steps):
            part.value = ""
        self.across.clear()

    def _show(self, result: ShelfLife, title: str, y_title: str, colour: str) -> None:
        self.sentence.value = (
            f'<div class="sw-estimate" style="font-size:1.08em;margin:6px 0">{escape(result.sentence)}</div>'
        )
        self.chart.value = shelf_life_chart(result, self.series, title=title, y_title=y_title, colour=colour)
        self.tests.value = pooling_words(result)
        self.batches.value = batches_table(result)
        self.checks.value = checks_list(result)
        self.findings.value = findings_list(result.findings)
        self.steps.value = steps_list(result)


def pooling_words(result: ShelfLife) -> str:
    """The tests whether batches may share a line, both p-values, the model and the cap, as HTML."""
    pooling = result.pooling
    rows = [["Equal slopes?", _p(pooling.slopes), _verdict(pooling.slopes, pooling.level)]]
    rows.append(
        ["Equal starts, given a common slope?", _p(pooling.intercepts), _verdict(pooling.intercepts, pooling.level)]
    )
    rows.append(["Lines fitted", "", result.model])
    if result.cap is not None:
        rows.append(["May reach", f"day\u00a0{result.cap.days:.0f}", result.cap.reason])
    return sheet(["Pooling and reach", "", ""], rows)


def _p(p: float | None) -> str:
    if p is None:
        return "not\u00a0tested"
    return f"p\u00a0=\u00a0{p:.3f}" if p >= 0.001 else "p\u00a0<\u00a00.001"


def _verdict(p: float | None, level: float) -> str:
    if p is None:
        return "needs two batches or more"
    return f"below {level:g}: they count as different" if p < level else f"not below {level:g}: not told apart"


def batches_table(result: ShelfLife) -> str:
    """The line of each batch, as HTML."""
    if not result.fits:
        return ""
    per = "per day" if result.asked.order == "zero" else "per day, of the logarithm"
    rows = [
        [
            f"{fit.batch} ◂" if fit.batch == result.governing and len(result.fits) > 1 else fit.batch,
            f"{fit.readings}",
            _with_error(fit.intercept, fit.intercept_error),
            _with_error(fit.slope, fit.slope_error),
            f"{fit.s:.3g}",
            f"{fit.df}",
            "never" if fit.crossing is None else f"{fit.crossing:.1f}",
        ]
        for fit in result.fits
    ]
    head = ["batch", "readings", "line at day 0", f"slope, {per}", "scatter s", "d.f.", "limit met, day"]
    caption = "± is one standard error; ◂ marks the batch that ends first"
    return sheet(head, rows, numbers=range(1, len(head)), caption=caption)


def _with_error(value: float, error: float) -> str:
    """A number and its standard error, both to the second digit of the error."""
    if not 0 < error < math.inf:
        return f"{value:.5g}"
    places = max(1 - math.floor(math.log10(error)), 0)
    return f"{value:.{places}f} ± {error:.{places}f}"


def checks_list(result: ShelfLife) -> str:
    """What the residuals say, one sentence for each look at them."""
    rows = [[check.name, check.words] for check in result.checks]
    return sheet(["What the residuals say", ""], rows) if rows else ""


def steps_list(result: ShelfLife) -> str:
    """What was computed step by step, each with its source, to be unfolded."""
    steps = result.steps[: len(result.steps) - len(result.checks)]
    if not steps:
        return ""
    items = "".join(
        f"<li>{escape(step.words)}"
        + (f' <span class="sw-source">{escape(step.source)}</span>' if step.source else "")
        + "</li>"
        for step in steps
    )
    return f'<details class="sw-steps"><summary>How it was computed, step by step</summary><ol>{items}</ol></details>'
