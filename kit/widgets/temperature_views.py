"""Two parts of the shelf-life panel: rates across temperatures, and the mean kinetic temperature of a log."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.arrhenius import arrhenius_chart, fit_in_words, plain
from kit.inputs import Input, Number, Text
from kit.stability.arrhenius import rates_of
from kit.stability.storage_temperature import read_temperature_log
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, soft

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.arrhenius import Rates
    from kit.stability.kinetics import Order
    from kit.stability.plan import Attribute
    from kit.stability.storage_temperature import TemperatureLog
    from kit.stability.study import Observation, Study

TOO_FEW = "Rates across temperatures need three conditions with a temperature of their own and readings on three days."
MEAN_CAUTION = (
    "It rests on the activation energy named, excuses no excursion, and means nothing for what freezes, melts or "
    "separates."
)
EXAMPLE = "time; temperature\n2026-07-01 08:00; 19,5\n2026-07-01 14:00; 27,0\n2026-07-01 20:00; 24,5"


class AcrossTemperatures(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Arrhenius' equation through the rates of one attribute, and the rate it gives at a temperature."""

    def __init__(self) -> None:
        self.rates: Rates | None = None
        self.sentence, self.chart, self.findings, self.predicted = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.predicted.add_class("sw-answer")
        asked = Input("temperature", "Rate at", Number(-20, 80), 25.0, "°C")
        self.form = Form([asked], on_change=lambda _: self._predict())
        self.asking = ipw.VBox([self.form, self.predicted])
        head = ipw.HTML("<h4 style='margin:10px 0 2px'>Across temperatures</h4>")
        super().__init__([head, self.sentence, self.chart, self.asking, self.findings])
        self.clear()

    def clear(self, sentence: str = "") -> None:
        """Show nothing but a sentence."""
        self.rates = None
        self.sentence.value = escape(sentence)
        self.chart.value = self.findings.value = self.predicted.value = ""
        self.asking.layout.display = "none"

    def show(self, study: Study, observations: Sequence[Observation], attribute: Attribute, order: Order) -> None:
        """Compute the rates of an attribute and show them."""
        try:
            found = rates_of(study, observations, attribute, order)
        except KitError as error:
            self.clear(str(error))
            return
        if found is None:
            self.clear(TOO_FEW)
            return
        self.rates = found
        self.findings.value = findings_list(found.findings)
        self.asking.layout.display = "none" if found.fit is None else ""
        if found.fit is None:
            self.sentence.value = self.chart.value = self.predicted.value = ""
            return
        direction = "rises" if found.rises else "falls"
        self.sentence.value = escape(f"{attribute.label} {direction} in warmth. {fit_in_words(found.fit)}")
        title = f"{attribute.label}: how fast it {direction}"
        self.chart.value = arrhenius_chart(found.fit, found.rates, title=title, unit=found.unit)
        self._predict()

    def _predict(self) -> None:
        if self.rates is None or self.rates.fit is None:
            return
        found = self.rates.fit.at(self.form["temperature"])
        interval = f" (95 %: {plain(found.lower)} to {plain(found.upper)})" if self.rates.fit.df > 0 else ""
        outside = (
            " Outside the temperatures studied: extrapolated." if len(found.findings) > len(self.rates.findings) else ""
        )
        self.predicted.value = escape(f"{found.k:.3g} {self.rates.unit}{interval}, estimated.{outside}")


class MeanTemperature(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """The mean kinetic temperature of a log that is pasted or picked."""

    def __init__(self) -> None:
        self.log_read: TemperatureLog | None = None
        self.told = ipw.HTML()
        self.told.add_class("sw-answer")
        self.form = Form(
            [Input("text", "Paste a log", Text("lines"), "", example=EXAMPLE)],
            [Button("file", "Or pick a CSV file", self._read_file, file=".csv,.txt")],
            on_change=lambda _: self._read(self.form["text"], ""),
            live=("text",),
        )
        head = ipw.HTML(
            "<h4 style='margin:10px 0 2px'>Mean kinetic temperature of a storage</h4>"
            + soft("A CSV with time and temperature, or with date, min and max, in °C.")
        )
        super().__init__([head, self.form, self.told])

    def _read_file(self, name: str, content: bytes) -> None:
        try:
            self._read(content.decode("utf-8-sig"), name)
        except UnicodeDecodeError:
            self.log_read = None
            self.told.value = problem(f"{name} is not text in UTF-8. Save it as CSV in UTF-8.")

    def _read(self, text: str, name: str) -> None:
        self.log_read = None
        if not text.strip():
            self.told.value = ""
            return
        try:
            self.log_read = read_temperature_log(text.rstrip() + "\n", name)
        except KitError as error:
            self.told.value = "".join(problem(line) for line in str(error).splitlines())
            return
        found = self.log_read
        self.told.value = f"<div>{escape(found.sentence)}</div>{findings_list(found.findings)}{soft(MEAN_CAUTION)}"
