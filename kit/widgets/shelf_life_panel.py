"""Shelf life from the readings of a study: the choices, the estimate in a sentence, and all it was computed from."""

from __future__ import annotations

from datetime import date
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.shelf_life import shelf_life_chart
from kit.figures.theme import STYLES
from kit.stability.q1e import STORAGES, WARM
from kit.stability.series import acceptance, series_of
from kit.stability.shelf_life import shelf_life
from kit.widgets.html import findings_list, problem
from kit.widgets.panel import controls, number_box, offer
from kit.widgets.shelf_life_tables import LABEL_WORDS, batches_table, checks_list, pooling_words, steps_list
from kit.widgets.study_view import StudyView
from kit.widgets.temperature_views import AcrossTemperatures, MeanTemperature

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from kit.stability.log.store import StabilityLog
    from kit.stability.plan import Condition
    from kit.stability.series import Acceptance, Series
    from kit.stability.shelf_life import ShelfLife

ORDERS = [("zero: a straight line", "zero"), ("first: a share each day", "first")]
SIDES = [("as the plan limits it", "plan"), ("one side", "one"), ("two sides", "two")]
MODELS = [
    ("as the tests say", "tests"),
    ("one line for all", "common line"),
    ("a common slope", "common slope"),
    ("separate lines", "separate lines"),
]
#: A condition reckoned with less than this is taken for cold storage. [°C]
COLD = 15.0
WIDE = {"description_width": "initial"}


class ShelfLifePanel(StudyView):
    """Choose attribute, condition and how to compute; read the estimate, its interval, its cap and its cautions.

    Parameters
    ----------
    log
        An open log, or where one lies.
    today
        For a lesson about a study of the past; the real day otherwise.
    study
        The number of the study to show first; the newest otherwise.
    """

    def __init__(
        self,
        log: StabilityLog | str | Path = "stability_log.db",
        today: Callable[[], date] = date.today,
        study: int | None = None,
    ) -> None:
        self.result: ShelfLife | None = None
        self.series: list[Series] = []
        self.attribute = ipw.Dropdown(description="Attribute", style=WIDE)
        self.condition = ipw.Dropdown(description="Kept in", style=WIDE)
        self.order = ipw.Dropdown(description="Order", options=ORDERS, style=WIDE)
        self.sides = ipw.Dropdown(description="Limit asked on", options=SIDES, style=WIDE)
        self.model = ipw.Dropdown(description="Lines", options=MODELS, style=WIDE)
        self.level = number_box("Batches differ below p =", 0.25, 0.01, 0.99, step=0.05)
        self.confidence = number_box("Confidence, %", 95.0, 50.0, 99.9, step=1.0)
        self.warm = ipw.Dropdown(description="In warm storage", options=WARM, style=WIDE, layout={"width": "420px"})
        self.storage = ipw.Dropdown(
            description="Meant to be kept", options=[("at room temperature", "room"), ("cold", "cold")], style=WIDE
        )
        self.sentence, self.chart, self.tests, self.batches = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.checks, self.findings, self.steps = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.across, self.mean_temperature = AcrossTemperatures(), MeanTemperature()
        self._choosing = False
        chosen = (
            self.attribute,
            self.condition,
            self.order,
            self.sides,
            self.model,
            self.level,
            self.confidence,
            self.warm,
            self.storage,
        )
        for control in chosen:
            control.observe(lambda change: self._chosen(change.owner), names="value")
        super().__init__(
            log,
            today,
            "Shelf life, estimated",
            "what the readings so far support, after ICH Q1E; later readings must confirm it",
            [
                controls(self.attribute, self.condition, self.order, self.sides),
                controls(self.model, self.level, self.confidence),
                controls(self.warm, self.storage),
                self.sentence,
                self.chart,
                self.tests,
                self.batches,
                self.checks,
                self.findings,
                self.steps,
                self.across,
                self.mean_temperature,
                ipw.HTML(LABEL_WORDS),
            ],
            study,
        )

    def refresh(self) -> None:
        """Offer what the study in hand has numbers for, and compute."""
        study = self.study
        if study is None:
            return
        read = {row.attribute for row in self.readings}
        usable = [a for a in study.plan.attributes if a.kind in ("number", "colour") and a.key in read]
        self._choosing = True
        try:
            offer(self.attribute, [(attribute.title, attribute.key) for attribute in usable])
            offer(self.condition, [(condition.label, condition.key) for condition in study.plan.conditions])
        finally:
            self._choosing = False
        self._keep_cold_with_condition()
        self.compute()

    def _chosen(self, control: ipw.Widget) -> None:
        if self._choosing:
            return
        if control is self.condition:
            self._keep_cold_with_condition()
        self.compute()

    def _keep_cold_with_condition(self) -> None:
        """What is read in the cold is meant to be kept cold, until the maker says otherwise."""
        condition = self._condition()
        if condition is None:
            return
        cold = condition.temperature is not None and condition.temperature < COLD
        self._choosing = True
        try:
            self.storage.value = STORAGES[1] if cold else STORAGES[0]
        finally:
            self._choosing = False

    def _condition(self) -> Condition | None:
        if self.study is None or self.condition.value is None:
            return None
        return self.study.plan.condition(self.condition.value)

    def compute(self) -> None:
        """Compute from what is chosen and show it."""
        study, condition = self.study, self._condition()
        if study is None or condition is None or self.attribute.value is None:
            self._say_only("No number or colour was read yet in this study, so there is nothing to compute from.")
            return
        attribute = study.plan.attribute(self.attribute.value)
        self.order.disabled = attribute.kind == "colour"
        try:
            self.series = series_of(study, self.readings, condition.key, attribute.key)
            limits = acceptance(study, attribute.key, self.readings, condition.key)
            self.result = self._estimate(limits, "zero" if attribute.kind == "colour" else self.order.value)
        except KitError as error:
            self._say_only(str(error))
            return
        self.across.show(study, self.readings, attribute, self.order.value)
        self._show(self.result, f"{attribute.label}, {condition.label}", attribute.title)

    def _estimate(self, limits: Acceptance, order: str) -> ShelfLife:
        sided = limits.sided if self.sides.value == "plan" else self.sides.value
        return shelf_life(
            self.series,
            lower=limits.lower,
            upper=limits.upper,
            order=order,  # type: ignore[arg-type]  # a dropdown's value
            sided="one" if sided == "one" else "two",
            confidence=self.confidence.value / 100,
            pooling_level=self.level.value,
            model=None if self.model.value == "tests" else self.model.value,
            warm=self.warm.value,
            storage=self.storage.value,
        )

    def _say_only(self, sentence: str) -> None:
        self.result = None
        self.sentence.value = problem(sentence)
        for part in (self.chart, self.tests, self.batches, self.checks, self.findings, self.steps):
            part.value = ""
        self.across.clear()

    def _show(self, result: ShelfLife, title: str, y_title: str) -> None:
        study = self.study
        if study is None:
            return
        number = [condition.key for condition in study.plan.conditions].index(self.condition.value)
        kind = study.plan.attribute(self.attribute.value).kind
        self.sentence.value = (
            f'<div class="sw-estimate" style="font-size:1.08em;margin:6px 0">{escape(result.sentence)}</div>'
        )
        self.chart.value = shelf_life_chart(
            result,
            self.series,
            title=title,
            y_title="CIEDE2000 from the start" if kind == "colour" else y_title,
            colour=STYLES[number % len(STYLES)][0],
        )
        self.tests.value = pooling_words(result)
        self.batches.value = batches_table(result)
        self.checks.value = checks_list(result)
        self.findings.value = findings_list(result.findings)
        self.steps.value = steps_list(result)
