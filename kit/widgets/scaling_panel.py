"""Scale the formula to what is wanted, and see what to weigh on the balance at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.balance import Balance
from kit.bench.weighing import smallest_sound_batch
from kit.errors import KitError
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls, number_box, try_to
from kit.widgets.views import percent_text

if TYPE_CHECKING:
    from kit.bench.scaling import Order
    from kit.bench.weighing import Batch
    from kit.widgets.bench import Bench

#: Larger batches are typed into the box. [g]
MOST_BY_SLIDER = 2000.0
READABILITIES = (0.0001, 0.001, 0.01, 0.1, 1.0)


class ScalingPanel(Panel):
    """Choose a batch by mass or by bottles; read off the weighing table."""

    watches = ("formula", "library", "order", "balance", "tolerance", "bottle", "fill")

    def __init__(self, bench: Bench) -> None:
        order = bench.order
        wide = {"style": {"description_width": "150px"}, "layout": ipw.Layout(width="430px")}
        self.head = ipw.HTML(heading("What to weigh"))
        self.by = ipw.ToggleButtons(
            options=[("by mass", "mass"), ("by bottles", "bottles")], value=order.by, tooltips=["grams", "bottles"]
        )
        self.grams = ipw.FloatSlider(
            value=order.grams, min=0, max=MOST_BY_SLIDER, step=5, readout_format=".0f", description="Product, g", **wide
        )
        self.grams_box = number_box("exactly, g", order.grams, 0.01, 1e6)
        self.bottles = ipw.IntSlider(value=order.bottles, min=1, max=200, description="Bottles", **wide)
        self.volume = number_box("Bottle, brimful, mL", round(bench.bottle.brimful, 1), 1, 5000, disabled=True)
        self.fill = ipw.FloatSlider(
            value=100 * bench.fill / bench.bottle.brimful,
            min=10,
            max=100,
            step=0.5,
            readout_format=".1f",
            description="Fill, % of brimful",
            **wide,
        )
        self.overage = ipw.FloatSlider(value=order.overage, min=0, max=30, step=0.5, description="Overage, %", **wide)
        self.loss = ipw.FloatSlider(value=order.loss, min=0, max=30, step=0.5, description="Process loss, %", **wide)
        self.readability = ipw.Dropdown(
            options=[(f"{d:g} g", d) for d in READABILITIES],
            value=bench.balance.readability,
            description="Balance reads",
            style={"description_width": "initial"},
        )
        self.capacity = number_box("carries, g", bench.balance.capacity, 1, 1e6)
        self.tolerance = number_box("A weighing may be off, %", bench.tolerance, 0.01, 50, step=0.1)
        self.findings, self.table, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.bottle_row = controls(self.bottles, self.volume, self.fill)
        self.mass_row = controls(self.grams, self.grams_box)
        super().__init__(
            bench,
            [
                self.head,
                self.by,
                self.mass_row,
                self.bottle_row,
                controls(self.overage, self.loss),
                controls(self.readability, self.capacity, self.tolerance),
                self.message,
                self.table,
                self.findings,
            ],
        )
        self.grams.observe(lambda change: self._order(grams=max(change["new"], 1.0)), names="value")
        self.grams_box.observe(lambda change: self._order(grams=change["new"]), names="value")
        self.by.observe(lambda change: self._order(by=change["new"]), names="value")
        self.bottles.observe(lambda change: self._order(bottles=change["new"]), names="value")
        self.overage.observe(lambda change: self._order(overage=change["new"]), names="value")
        self.loss.observe(lambda change: self._order(loss=change["new"]), names="value")
        self.fill.observe(self._set_fill, names="value")
        for box in (self.readability, self.capacity):
            box.observe(lambda _: self._set_balance(), names="value")
        self.tolerance.observe(self._set_tolerance, names="value")

    def refresh(self) -> None:
        """Show the batch in hand."""
        bench, order = self.bench, self.bench.order
        by_bottles = order.by == "bottles"
        self.mass_row.layout.display = "none" if by_bottles else ""
        self.bottle_row.layout.display = "" if by_bottles else "none"
        self.grams.value = min(order.grams, MOST_BY_SLIDER)
        self.grams_box.value = order.grams
        self.volume.value = round(bench.bottle.brimful, 1)
        self.fill.value = round(100 * bench.fill / bench.bottle.brimful, 2)
        if order.fill != bench.fill:
            bench.order = order = _with(order, fill=bench.fill)
        try:
            batch, size = bench.batch, bench.batch_size
            least = smallest_sound_batch(bench.formula, bench.balance, bench.tolerance)
        except KitError as error:
            self.table.value, self.findings.value = problem(str(error)), ""
            return
        self.table.value = weighing_table(batch, self._caption(size.product, batch.mass))
        smallest = f"Every line keeps within {bench.tolerance:g} % from {least:.0f} g upwards on this balance."
        self.findings.value = findings_list(batch.findings()) + f'<div class="sw-subtitle">{smallest}</div>'

    def _caption(self, product: float, mass: float) -> str:
        order = self.bench.order
        made = (
            f"{order.bottles} bottles of {order.fill:g} mL, {product:.1f} g of product"
            if order.by == "bottles"
            else f"{product:g} g of product"
        )
        return f"{made}, with overage {order.overage:g} % and loss {order.loss:g} %: weigh {mass:g} g in all."

    def _order(self, **changes: object) -> None:
        if self.is_refreshing:
            return

        def work() -> None:
            self.bench.order = _with(self.bench.order, **changes)

        try_to(self.message, work)

    def _set_fill(self, change: dict[str, float]) -> None:
        if not self.is_refreshing:
            self.bench.fill = round(self.bench.bottle.brimful * change["new"] / 100, 1)

    def _set_balance(self) -> None:
        if self.is_refreshing:
            return

        def work() -> None:
            self.bench.balance = Balance(self.readability.value, self.capacity.value)

        try_to(self.message, work)

    def _set_tolerance(self, change: dict[str, float]) -> None:
        if not self.is_refreshing:
            self.bench.tolerance = change["new"]


def weighing_table(batch: Batch, caption: str) -> str:
    """The weighing table as HTML."""
    places = max(0, -int(f"{batch.balance.readability:e}".split("e")[1]))
    phases = batch.formula.phases
    rows = [
        [
            phases[w.phase].name,
            w.material,
            percent_text(w.percent),
            f"{w.target:.{places + 2}f}",
            f"{w.grams:.{places}f}",
            f"{w.rounding_error:+.2f}" if abs(w.rounding_error) >= 0.005 else "0",
        ]
        for w in batch.weighings
    ]
    return sheet(
        ["phase", "ingredient", "% w/w", "exact, g", "weigh, g", "rounding, %"],
        rows,
        numbers=range(2, 6),
        kinds=[phases[w.phase].kind for w in batch.weighings],
        foot=["", "together", f"{sum(w.percent for w in batch.weighings):.2f}", "", f"{batch.mass:.{places}f}", ""],
        caption=caption,
    )


def _with(order: Order, **changes: object) -> Order:
    from dataclasses import replace

    return replace(order, **changes)  # type: ignore[arg-type]
