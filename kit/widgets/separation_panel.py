"""How long the product stays mixed after shaking, and what changes that."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.separation import marked_times, separation_figure, shaken_bottle_svg, time_span
from kit.findings import worst_first
from kit.layers.separation import salted, steps, thickened, time_until
from kit.layers.shaken import NOT_MODELLED
from kit.layers.shaken_product import time_unit, time_words
from kit.widgets.ball_form import BallForm
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls, live, number_box, redraw
from kit.widgets.shaken_choices import ShakenChoices
from kit.widgets.timing_table import TimingTable

if TYPE_CHECKING:
    from collections.abc import Callable

    import plotly.graph_objects as go

    from kit.layers.drop_fit import DropFit
    from kit.layers.shaken import Shaken
    from kit.layers.shaken_product import ShakenProduct
    from kit.widgets.bench import Bench

FOOT = (
    "Speeds by Stokes (1851), crowding by Richardson and Zaki (1954) with (1 − φ)^n as seen from the bottle; n is 4.65 "
    "for slow drops and less for fast ones. "
    f"{NOT_MODELLED} A place counts as clear when 5 % of the drops that were there are left."
)
#: How many steps the slider has over the time that is shown.
STEPS = 200


class SeparationPanel(Panel):
    """Shake the product in hand and watch it part."""

    watches = ("formula", "library", "bottle", "fill")

    def __init__(self, bench: Bench) -> None:
        self.choices = ShakenChoices()
        self.at = ipw.FloatSlider(
            value=0.2,
            min=0,
            max=1,
            step=0.01,
            description="After shaking, min",
            readout_format=".3g",
            style={"description_width": "130px"},
            layout={"width": "480px"},
        )
        self.drawing = ipw.HTML(layout={"width": "auto"})
        self.answer, self.findings = ipw.HTML(), ipw.HTML()
        self.figure: go.FigureWidget | None = None  # heavy, so made only once there is something to draw
        self.pictures = ipw.VBox()
        self.thicker = number_box("Water layer thicker, times", 5.0, 0.01, 100_000.0, step=1.0)
        self.salt = number_box("Salt more, % of the water layer", 3.0, 0.0, 20.0, step=0.5)
        self.changes = ipw.HTML()
        self.timings = TimingTable(lambda: self.choices.product(bench), self._fitted, self._use)
        self.ball = BallForm(lambda: bench.product.layers, self._use_viscosity)
        self.fold = ipw.Accordion(
            [self.timings, self.ball],
            titles=("Time your own bottle and fit the drop size", "Time a ball to measure how thick a layer is"),
        )
        super().__init__(
            bench,
            [
                ipw.HTML(heading("How long it stays mixed", "from shaking to two clear layers")),
                self.choices,
                self.answer,
                self.at,
                controls(self.drawing, self.pictures),
                self.findings,
                controls(self.thicker, self.salt),
                self.changes,
                self.fold,
                ipw.HTML(f'<div class="sw-subtitle">{FOOT}</div>'),
            ],
        )
        self.choices.on_change(self._changed)
        self.at.observe(lambda _: self._mark_time(), names="value")
        for box in (self.thicker, self.salt):
            box.observe(lambda _: self._show_changes(), names="value")

    def refresh(self) -> None:
        """Show the product in hand, shaken as chosen."""
        try:
            product = self.choices.product(self.bench)
        except KitError as error:
            self._product: ShakenProduct | None = None
            self.answer.value = problem(str(error))
            self.drawing.value = self.findings.value = self.changes.value = ""
            self.pictures.layout.display = self.at.layout.display = "none"
            return
        self._product = product
        self.pictures.layout.display = self.at.layout.display = ""
        self.choices.tell(product)
        self.timings.look_again(product.ways)
        self.answer.value = f"<div>{product.doubt()}</div>{numbers_sheet(product)}"
        self.findings.value = findings_list(worst_first(product.findings))
        self._set_time(time_span(product.ways))
        self._draw()
        self._show_changes()

    def _set_time(self, span: float) -> None:
        """Let the slider reach over the time shown; the time marked stays the same part of it."""
        unit, self._size = time_unit(span)
        part = self.at.value / self.at.max
        most = span / self._size
        self.at.description = f"After shaking, {unit}"
        if most > self.at.value:
            self.at.max, self.at.value = most, part * most
        else:
            self.at.value, self.at.max = part * most, most
        self.at.step = most / STEPS

    def _draw(self) -> None:
        product = self._product
        if product is None:
            return
        second = self.at.value * self._size
        self._draw_bottles(product, second)
        figure = separation_figure(product.ways, second, self.timings.fit, self.timings.seen.value)
        if self.figure is None:
            self.figure = live(figure)
            self.pictures.children = (self.figure,)
            return
        redraw(self.figure, figure)

    def _draw_bottles(self, product: ShakenProduct, second: float) -> None:
        drawn = "".join(shaken_bottle_svg(way, second) for way in product.ways)
        level = 70 if len(product.ways) == 1 else 0  # beside one chart, the bottle stands at its floor
        look = f"display: flex; flex-wrap: wrap; gap: 24px; padding-bottom: {level}px"
        self.drawing.value = f'<div style="{look}">{drawn}</div>'

    def _mark_time(self) -> None:
        """Another time is marked: only the bottles and the mark on each chart change."""
        product = self._product
        if product is None or self.figure is None:
            return
        second = self.at.value * self._size
        self._draw_bottles(product, second)
        with self.figure.batch_update():
            marks = marked_times(product.ways, second, self.timings.fit)
            for shape, mark in zip(self.figure.layout.shapes, marks, strict=True):
                shape.x0 = shape.x1 = mark

    def _show_changes(self) -> None:
        if self._product is not None:
            self.changes.value = changes_sheet(self._product.ways[0], self.thicker.value, self.salt.value)

    def _fitted(self, _fit: DropFit | None) -> None:
        self._draw()

    def _use_viscosity(self, kind: str, viscosity: float) -> None:
        box = self.choices.water_viscosity if kind == "water" else self.choices.oil_viscosity
        box.value = f"{viscosity:.4g}"

    def _use(self, median: float) -> None:
        self.choices.median.value = round(median, 1)

    _product: ShakenProduct | None = None
    _size = 60.0


def numbers_sheet(product: ShakenProduct) -> str:
    """The numbers on the way to the answer, for each way it may go."""
    rows = []
    for way in product.ways:
        step = steps(way)
        rows.append(
            [
                f"{way.drops.kind} drops {'rise' if way.rises else 'sink'} in {way.surround.kind}",
                f"{100 * way.share:.1f}",
                f"{step.gap:.3f}",
                f"{step.viscosity:.3g}",
                f"{step.alone:.3g}",
                f"{step.hindrance:.2g}",
                f"{step.speed:.3g}",
            ]
        )
    head = [
        "after shaking",
        "drops, % by volume",
        "density gap, g/mL",
        "surround, mPa·s",
        "one drop alone, mm/s",
        "crowding, times",
        "in the crowd, mm/s",
    ]
    return sheet(head, rows, numbers=range(1, 7), kinds=[way.drops.kind for way in product.ways])


def changes_sheet(shaken: Shaken, times: float, salt: float) -> str:
    """What thickening or salting the water layer does to the time it stays mixed."""
    cases: list[tuple[str, Callable[[], Shaken]]] = [
        ("as it is", lambda: shaken),
        (f"water layer {times:g} times as thick", lambda: thickened(shaken, "water", times)),
        (f"{salt:g} % more salt in the water layer", lambda: salted(shaken, salt)),
    ]
    base = time_until(shaken)
    rows, said = [], ""
    for words, make in cases:
        try:
            case = make()
        except KitError as error:
            said += problem(f"{words}: {error}")
            continue
        step, seconds = steps(case), time_until(case)
        half = time_words(time_until(case, 50))
        change = f"{100 * (seconds / base - 1):+.0f} %" if case is not shaken else ""
        rows.append([words, f"{step.gap:.3f}", f"{step.viscosity:.3g}", half, time_words(seconds), change])
    head = ["the product", "density gap, g/mL", "surround, mPa·s", "half has left after", "95 % after", "change"]
    caption = f"What would change, with {shaken.drops.kind} as the drops"
    return sheet(head, rows, numbers=range(1, 6), caption=caption) + said
