"""How long the product stays mixed after shaking, and what changes that."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.separation import marked_times, separation_figure, shaken_bottle_svg, time_span
from kit.findings import worst_first
from kit.inputs import Input, Number
from kit.layers.separation import salted, steps, thickened, time_until
from kit.layers.shaken import NOT_MODELLED
from kit.layers.shaken_product import time_unit, time_words
from kit.widgets.ball_form import BallForm
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.panel import Panel, Picture, in_a_row
from kit.widgets.shaken_choices import ShakenChoices
from kit.widgets.timing_table import TimingTable

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.shaken import Shaken
    from kit.layers.shaken_product import ShakenProduct
    from kit.widgets.panel import Source

AT = Input("at", "After shaking", Number(0, digits=3), 0.2, "min", slide=(0, 1, 0.005))
CHANGES = (
    Input("thicker", "Water layer thicker", Number(0.01, 100_000), 5.0, "times"),
    Input("salt", "More salt in it", Number(0, 20), 3.0, "%"),
)
#: How many steps the slider has over the time that is shown.
STEPS = 200


class SeparationPanel(Panel):
    """Shake the product in hand and watch it part."""

    watches = ("formula", "library", "bottle", "fill")
    unhurried = True
    title = "How long it stays mixed"
    subtitle = "from shaking to two clear layers"
    foot = (
        "Speeds by Stokes (1851), crowding by Richardson and Zaki (1954) with (1 − φ)^n as seen from the bottle; n is "
        f"4.65 for slow drops and less for fast ones. {NOT_MODELLED} "
        "A place counts as clear when 5 % of the drops that were there are left."
    )
    _product: ShakenProduct | None = None
    #: The unit in which the time is marked, and the most of them that is shown. [s, -]
    _size, _most = 60.0, 1.0

    def __init__(self, source: Source = None) -> None:
        self.choices = ShakenChoices()
        self.at = Form([AT], on_change=lambda _: self._mark_time())
        self.drawing = ipw.HTML(layout={"width": "auto"})
        self.answer, self.findings, self.changes = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        self.picture = Picture()
        self.change = Form(CHANGES, on_change=lambda _: self._show_changes())
        self.timings = TimingTable(
            lambda: self.choices.product(self.bench), self._draw, lambda size: self.choices.type(median=f"{size:.1f}")
        )
        self.ball = BallForm(
            lambda: self.bench.product.layers,
            lambda kind, viscosity: self.choices.type(**{kind: f"{viscosity:.4g}"}),
        )
        super().__init__(
            source,
            [
                self.choices,
                self.answer,
                self.at,
                in_a_row(self.drawing, self.picture),
                self.findings,
                self.change,
                self.changes,
                self.timings,
                self.timings.residuals,
                self.ball,
            ],
        )
        self.choices.on_change(lambda _: self._changed())

    def refresh(self) -> None:
        """Show the product in hand, shaken as chosen."""
        try:
            product = self.choices.product(self.bench)
        except KitError as error:
            self._product = None
            self.answer.value = problem(str(error))
            self.drawing.value = self.findings.value = self.changes.value = ""
            self.picture.layout.display = self.at.layout.display = "none"
            return
        self._product = product
        self.at.layout.display = ""
        self.choices.tell_computed(product)
        self.timings.look_again(product.ways)
        self.answer.value = f"<div>{product.doubt()}</div>{numbers_sheet(product)}"
        self.findings.value = findings_list(worst_first(product.findings))
        self._set_time(time_span(product.ways))
        self._draw()
        self._show_changes()

    def _set_time(self, span: float) -> None:
        """Let the slider reach over the time shown; the time marked stays the same part of it."""
        unit, self._size = time_unit(span)
        part, self._most = self.at["at"] / self._most, span / self._size
        self.at.describe("at", unit=unit, slide=(0.0, self._most, self._most / STEPS))
        self.at.set(at=part * self._most)

    @property
    def _second(self) -> float:
        return float(self.at["at"] * self._size)

    def _draw(self) -> None:
        if self._product is not None:
            ways, timings = self._product.ways, self.timings
            self._draw_bottles(self._product)
            self.picture.draw(separation_figure(ways, self._second, timings.fit, timings["seen"]))

    def _draw_bottles(self, product: ShakenProduct) -> None:
        drawn = "".join(shaken_bottle_svg(way, self._second) for way in product.ways)
        level = 70 if len(product.ways) == 1 else 0  # beside one chart, the bottle stands at its floor
        look = f"display: flex; flex-wrap: wrap; gap: 24px; padding-bottom: {level}px"
        self.drawing.value = f'<div style="{look}">{drawn}</div>'

    def _mark_time(self) -> None:
        """Another time is marked: only the bottles and the mark on each chart change."""
        product, figure = self._product, self.picture.figure
        if product is None or figure is None:
            return
        self._draw_bottles(product)
        with figure.batch_update():
            marks = marked_times(product.ways, self._second, self.timings.fit)
            for shape, mark in zip(figure.layout.shapes, marks, strict=True):
                shape.x0 = shape.x1 = mark

    def _show_changes(self) -> None:
        if self._product is not None:
            self.changes.value = changes_sheet(self._product.ways[0], self.change["thicker"], self.change["salt"])


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
