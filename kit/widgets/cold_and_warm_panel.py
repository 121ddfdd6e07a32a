"""A closed bottle on the way from cold to warm: how it stands, what freezes, melts or swaps, how hard it presses."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.cold_and_warm import NOW, bottle_then_svg, density_bands_figure
from kit.findings import worst_first
from kit.formula.model import require_complete
from kit.in_use.cold_and_warm import COLD_END, NOT_BELOW, WARM_END, ColdAndWarm, Journey, cold_and_warm
from kit.in_use.cold_and_warm_findings import cold_and_warm_findings
from kit.in_use.on_the_way import ice_words, on_the_way
from kit.inputs import Input, Number
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel, Picture, in_a_row

if TYPE_CHECKING:
    from kit.in_use.cold_and_warm import BottleThen
    from kit.in_use.on_the_way import Event
    from kit.widgets.panel import Source

TEMPERATURE = Input(
    "celsius", "Temperature", Number(COLD_END, WARM_END), 20.0, unit="°C", slide=(COLD_END, WARM_END, 1)
)


class ColdAndWarmPanel(Panel):
    """Close the product in hand in its bottle, warm and cool it, and see what happens."""

    watches = ("formula", "library", "bottle", "fill")
    unhurried = True
    title = "Cold, warm and the post"
    subtitle = "which layer lies below, what freezes or clouds, and how hard a closed bottle presses"
    foot = (
        "Densities of published tables with ± twice their uncertainty. Freezing by measured curves of solutions, "
        "several solutes by Zdanovskii's rule, the rest by the ideal 1.86 K for a mole in a kilogram of water; nothing "
        "is carried beyond a curve. Melting of each oil by itself. Pressure by the gas law with vapour after Raoult, "
        "for a rigid bottle that does not leak. Computed, not tested: three cycles with bottles of your own decide."
    )
    found: ColdAndWarm | None = None

    def __init__(self, source: Source = None) -> None:
        self.form = Form(Journey, on_change=lambda _: self._changed())
        self.temperature = Form([TEMPERATURE], on_change=lambda _: self._mark())
        self.answer, self.drawing, self.table, self.findings = (ipw.HTML() for _ in range(4))
        self.answer.add_class("sw-answer")
        self.picture = Picture()
        self._events: list[Event] = []
        super().__init__(
            source,
            [
                self.form,
                self.temperature,
                self.answer,
                in_a_row(self.drawing, self.picture),
                self.table,
                self.findings,
            ],
        )

    def refresh(self) -> None:
        """Close the product in hand in its bottle and take it from cold to warm."""
        product = self.bench.product
        try:
            require_complete(product.formula, "taken from cold to warm")
            journey = Journey(**self.form.read())
            self.found = cold_and_warm(
                product.formula, product.materials, product.layers, product.bottle, product.fill, journey
            )
        except KitError as error:
            self.found = None
            self.answer.value = problem(str(error))
            self.drawing.value = self.table.value = self.findings.value = ""
            self.picture.layout.display = self.temperature.layout.display = "none"
            return
        self.temperature.layout.display = ""
        self._events = on_the_way(self.found)
        self.findings.value = findings_list(worst_first(cold_and_warm_findings(self.found)))
        bands = self.found.bands
        if bands is None:
            self.picture.layout.display = "none"
        else:
            self.picture.draw(density_bands_figure(bands, self.temperature["celsius"], COLD_END, WARM_END))
        self._show()

    def _mark(self) -> None:
        """Another temperature: only the bottle, the words and the mark on the chart change."""
        figure = self.picture.figure
        if self.found is None:
            return
        if figure is not None:
            with figure.batch_update():
                for shape in figure.layout.shapes:
                    if shape.name == NOW:
                        shape.x0 = shape.x1 = self.temperature["celsius"]
        self._show()

    def _show(self) -> None:
        found = self.found
        if found is None:
            return
        then = found.at(self.temperature["celsius"])
        self.drawing.value = bottle_then_svg(then, found.bottle)
        self.answer.value = f"<div>{_in_short(found, then)}</div>"
        self.table.value = events_sheet(self._events, then.celsius)


def _in_short(found: ColdAndWarm, then: BottleThen) -> str:
    said = f"<b>{then.celsius:g} °C</b>: {_order(found, then)}"
    if then.ice[1] > 0 and found.freezing is not None:
        said += f" {ice_words(then.ice)} of the water in the {escape(found.freezing.name)} is ice."
    if then.is_overfull:
        return f"{said} The bottle may be full: it leaks or bursts."
    said += f" {then.room:.1f} ± {then.about:.1f} mL of air are left"
    if then.pressure is None or then.pressure_band is None:
        return f"{said}."
    if abs(then.pressure) < 0.5:
        return f"{said}; closed, it presses as the air outside does."
    low, high = then.pressure_band
    way = "over" if then.pressure >= 0 else "under"
    band = f" ({low:.0f} to {high:.0f})" if high - low >= 1 else ""
    return f"{said}; closed, it stands {abs(then.pressure):.0f} kPa{band} {way} the air outside."


def _order(found: ColdAndWarm, then: BottleThen) -> str:
    bands = found.bands
    if bands is None or not then.standing:
        return "one layer."
    below = escape(then.standing[0].name)
    at = max(then.celsius, NOT_BELOW)
    if then.order_is_known:
        as_drawn = "" if then.celsius >= NOT_BELOW else " as at 0 °C"
        return f"the {below} lies below{as_drawn}."
    if not bands.is_known(at):
        return f"which layer lies below is not known; drawn with the {below} below."
    return f"it cannot be told which layer lies below; drawn with the {below} below."


def events_sheet(events: list[Event], celsius: float) -> str:
    """What happens on the way, the coldest first; what holds at this temperature is marked."""
    rows = [[each.where, "now" if each.low <= celsius <= each.high else "", each.what, each.source] for each in events]
    head = ["temperature", "", "what happens", "rests on"]
    return sheet(head, rows) + soft("From the coldest to the warmest of the way, in the order of the temperatures.")
