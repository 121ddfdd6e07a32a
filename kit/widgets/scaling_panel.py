"""Scale the formula to what is wanted, and see what to weigh on the balance at hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.weighing import smallest_sound_batch, sound_in_words
from kit.errors import KitError
from kit.rounding import decimal_places, percent_text
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls, number_box, try_to
from kit.widgets.shown import on_hand, show_in, value_in

if TYPE_CHECKING:
    from kit.bench.weighing import Batch
    from kit.widgets.bench import Bench

#: Larger batches are typed into the box. [g]
MOST_BY_SLIDER = 2000.0
READABILITIES = (0.0001, 0.001, 0.01, 0.1, 1.0)
#: What the other controls offer; a bench that has more or less widens them. [g, g, %, % of brimful, -, %]
GRAMS, CAPACITIES, TOLERANCES, FILL_SHARES = (0.01, 1e6), (1.0, 1e6), (0.01, 50.0), (10.0, 100.0)
MOST_BOTTLES, MOST_EXTRA = 200, 30.0


class ScalingPanel(Panel):
    """Choose a batch by mass or by bottles; read off the weighing table."""

    watches = ("formula", "library", "order", "balance", "tolerance", "bottle", "fill")

    def __init__(self, bench: Bench) -> None:
        wide = {"style": {"description_width": "150px"}, "layout": ipw.Layout(width="430px")}
        self.head = ipw.HTML(heading("What to weigh"))
        self.by = ipw.ToggleButtons(
            options=[("by mass", "mass"), ("by bottles", "bottles")], tooltips=["grams", "bottles"]
        )
        self.grams = ipw.FloatSlider(
            min=0, max=MOST_BY_SLIDER, step=5, readout_format=".0f", description="Product, g", **wide
        )
        self.grams_box = number_box("exactly, g", 250, *GRAMS)
        self.bottles = ipw.IntSlider(min=1, max=MOST_BOTTLES, description="Bottles", **wide)
        self.volume = number_box("Bottle, brimful, mL", round(bench.bottle.brimful, 1), 1, 5000, disabled=True)
        self.fill = ipw.FloatSlider(
            min=FILL_SHARES[0],
            max=FILL_SHARES[1],
            step=0.5,
            readout_format=".1f",
            description="Fill, % of brimful",
            **wide,
        )
        self.overage = ipw.FloatSlider(min=0, max=MOST_EXTRA, step=0.5, description="Overage, %", **wide)
        self.loss = ipw.FloatSlider(min=0, max=MOST_EXTRA, step=0.5, description="Process loss, %", **wide)
        self.readability = ipw.Dropdown(
            options=[(f"{d:g} g", d) for d in sorted({*READABILITIES, bench.balance.readability})],
            description="Balance reads",
            style={"description_width": "initial"},
        )
        self.capacity = number_box("carries, g", 500, *CAPACITIES)
        self.tolerance = number_box("A weighing may be off, %", 1, *TOLERANCES, step=0.1)
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
        on_hand(self.grams, lambda grams: self._order(grams=max(grams, 1.0)))
        on_hand(self.grams_box, lambda grams: self._order(grams=grams))
        on_hand(self.by, lambda by: self._order(by=by))
        on_hand(self.bottles, lambda bottles: self._order(bottles=bottles))
        on_hand(self.overage, lambda overage: self._order(overage=overage))
        on_hand(self.loss, lambda loss: self._order(loss=loss))
        on_hand(self.fill, self._set_fill)
        for box in (self.readability, self.capacity):
            on_hand(box, lambda _: self._set_balance())
        on_hand(self.tolerance, self._set_tolerance)

    def refresh(self) -> None:
        """Show the batch in hand."""
        bench, order = self.bench, self.bench.order
        by_bottles = order.by == "bottles"
        self.mass_row.layout.display = "none" if by_bottles else ""
        self.bottle_row.layout.display = "" if by_bottles else "none"
        self._show_controls()
        try:
            if by_bottles:
                bench.product.standing  # noqa: B018  # an order of bottles that cannot hold their fill is refused here
            batch, size = bench.product.batch, bench.product.batch_size
            least = smallest_sound_batch(bench.formula, bench.balance, bench.tolerance)
        except KitError as error:
            self.table.value, self.findings.value = problem(str(error)), ""
            return
        self.table.value = weighing_table(batch, self._caption(size.product, batch.mass))
        smallest = sound_in_words(least, bench.tolerance)
        self.findings.value = findings_list(batch.findings) + f'<div class="sw-subtitle">{smallest}</div>'

    def _show_controls(self) -> None:
        bench, order = self.bench, self.bench.order
        show_in(self.by, order.by)
        show_in(self.grams, order.grams)
        show_in(self.grams_box, order.grams, within=GRAMS)
        show_in(self.bottles, order.bottles, within=(1, MOST_BOTTLES))
        show_in(self.volume, bench.bottle.brimful, round(bench.bottle.brimful, 1), within=(1, 5000))
        show_in(self.fill, 100 * bench.fill / bench.bottle.brimful, within=FILL_SHARES)
        show_in(self.overage, order.overage, within=(0, MOST_EXTRA))
        show_in(self.loss, order.loss, within=(0, MOST_EXTRA))
        offered = sorted({*READABILITIES, bench.balance.readability})
        show_in(self.readability, bench.balance.readability, among=[(f"{d:g} g", d) for d in offered])
        show_in(self.capacity, bench.balance.capacity, within=CAPACITIES)
        show_in(self.tolerance, bench.tolerance, within=TOLERANCES)

    def _caption(self, product: float, mass: float) -> str:
        order = self.bench.order
        made = (
            f"{order.bottles} bottles of {order.fill:g} mL, {product:.1f} g of product"
            if order.by == "bottles"
            else f"{product:.10g} g of product"
        )
        return f"{made}, with overage {order.overage:g} % and loss {order.loss:g} %: weigh {mass:.10g} g in all."

    def _order(self, **changes: object) -> None:
        def work() -> None:
            self.bench.order = replace(self.bench.order, **changes)  # type: ignore[arg-type]

        try_to(self.message, work)

    def _set_fill(self, percent: float) -> None:
        self.bench.fill = round(self.bench.bottle.brimful * percent / 100, 1)

    def _set_balance(self) -> None:
        def work() -> None:
            readability, capacity = value_in(self.readability), value_in(self.capacity)
            self.bench.balance = replace(self.bench.balance, readability=readability, capacity=capacity)

        try_to(self.message, work)

    def _set_tolerance(self, percent: float) -> None:
        self.bench.tolerance = percent


def weighing_table(batch: Batch, caption: str) -> str:
    """The weighing table as HTML."""
    places = decimal_places(batch.balance.readability)
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
