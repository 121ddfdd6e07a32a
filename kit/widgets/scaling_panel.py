"""Scale the formula to what is wanted, and see what to weigh on the balance at hand."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.balance import PLATE, TOLERANCE
from kit.bench.batch_text import ByBottles, Sizes
from kit.bench.scaling import Order
from kit.bench.weighing import SMALL, smallest_sound_batch, sound_in_words
from kit.errors import KitError
from kit.formula.model import require_complete
from kit.inputs import REQUIRED, Input, inputs_of, lines_of
from kit.product.workshop import WORKSHOP, Workshop, save_workshop
from kit.rounding import decimal_places, in_column
from kit.widgets.form import Button, Form
from kit.widgets.html import SIGNS, findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.bench.weighing import Batch
    from kit.widgets.panel import Source


#: Beside a weighing that is small for the balance.
MARK = SIGNS["caution"]


SIZES = Input("sizes", "Bottles of each", Sizes(), REQUIRED, example="6 x 50 mL; 4 x 100 mL; 2 x 250 mL")


class ScalingPanel(Panel):
    """Choose a batch by mass or by bottles; read off the weighing table."""

    watches = ("formula", "library", "order", "balance", "tolerance", "bottle", "known")
    title = "What to weigh"

    def __init__(self, source: Source = None) -> None:
        keep = Button(
            "keep", "Keep as my workshop's", self._keep, "Batch, balance, bottle and tolerance, for next time"
        )
        self.form = Form((*inputs_of(Order), *PLATE[:2], TOLERANCE), [keep], on_change=self._set)
        take = Button("take", "Make what fills them", self._take_sizes, primary=True)
        self.sizes = Form([SIZES], [take], fold="Bottles of several sizes", wide=("sizes",))
        self.findings, self.table = ipw.HTML().add_class("sw-answer"), ipw.HTML().add_class("sw-answer")
        super().__init__(source, [self.form, self.sizes, self.table, self.findings])

    def refresh(self) -> None:
        """Show the batch in hand."""
        bench, order = self.bench, self.bench.order
        brimful = bench.bottle.brimful
        self.form.describe("fill", slide=(round(0.1 * brimful, 1), round(brimful, 1), 0.1))
        plate = {name: getattr(bench.balance, name) for name in ("readability", "capacity")}
        self.form.follow(**asdict(order), **plate, tolerance=bench.tolerance)
        try:
            if order.by == "bottles":
                bench.product.standing  # noqa: B018  # an order of bottles that cannot hold their fill is refused here
            batch, size = bench.product.batch, bench.product.batch_size
            least = smallest_sound_batch(bench.formula, bench.balance, bench.tolerance)
        except KitError as error:
            self.table.value, self.findings.value = problem(str(error)), ""
            return
        found = bench.product.weighing_findings
        small = [f for f in found if f.matter == SMALL]  # told in words at the formula's table, marked here
        self.table.value = weighing_table(batch, self._caption(size.product, batch.mass), mark=bool(small))
        marked = f"{MARK}: small for this balance. " if small else ""
        others = findings_list(f for f in found if f.matter != SMALL)
        self.findings.value = others + soft(marked + sound_in_words(least, bench.tolerance))

    def _set(self, names: tuple[str, ...]) -> None:
        product = self.bench.product
        values = {name: self.form[name] for name in asdict(product.order)}
        bottles = values["grams"] if isinstance(values["grams"], ByBottles) else None
        if bottles:  # "6 x 100 mL" in the box for a mass is an order by bottles
            product = product.with_batch(bottles)
            values |= {"by": "bottles", "grams": product.order.grams, "bottles": bottles.count, "fill": bottles.fill}
        order = Order(**values)
        balance = product.balance
        if {"readability", "capacity"} & {*names}:
            balance = replace(balance, **self.form.read("readability", "capacity"))
        said = ["balance"] if {"readability", "capacity"} & {*names} else []
        said += ["batch"] if {*asdict(order)} - {"fill"} & {*names} else []
        changed = replace(product, order=order, tolerance=self.form["tolerance"], balance=balance)
        self.bench.product = changed.knowing(*said)

    def _take_sizes(self) -> str:
        """Order, by mass, what fills bottles of several sizes."""
        bench, sizes = self.bench, self.sizes.read()["sizes"]
        require_complete(bench.formula, "filled into bottles")
        density = bench.product.density
        grams = round(sum(one.grams(density) for one in sizes), 4)
        bench.product = bench.product.with_batch(grams)
        volume = sum(one.count * one.fill for one in sizes)
        count = sum(one.count for one in sizes)
        return (
            f"{SIZES.write(sizes)}: {volume:.10g} mL in {count} bottles, at {density:.4f} g/mL "
            f"{grams:.1f} g of product. Overage and loss come on top; cost and label stay those of one size, "
            f"{bench.fill:.10g} mL."
        )

    def _keep(self) -> str:
        """Keep the numbers in hand where the workshop's came from, else beside the product."""
        bench = self.bench
        self.form.read()
        path = bench.workshop or (bench.file.parent if bench.file else Path()) / WORKSHOP
        workshop = Workshop.of(bench.product)
        save_workshop(workshop, path, seen=bench.seen)
        bench.workshop = path
        bench.product = bench.product.knowing("batch", "balance")
        kept = ", ".join(f"{words.lower()} {text}" for words, text in lines_of(workshop))
        own = "" if workshop.bottle else " The bottle is one of your own; its measures are not kept there."
        return f"Kept in {path.name}: {kept}. Every product of this folder begins with them from now on.{own}"

    def _caption(self, product: float, mass: float) -> str:
        order, bottle = self.bench.order, self.bench.bottle
        share = f"{100 * order.fill / bottle.brimful:.3g} % of the {bottle.brimful:.1f} mL that {bottle.name} holds"
        made = (
            f"{order.bottles} bottles of {order.fill:g} mL, {share}; {product:.1f} g of product"
            if order.by == "bottles"
            else f"{product:.10g} g of product"
        )
        return f"{made}, with overage {order.overage:g} % and loss {order.loss:g} %: weigh {mass:.10g} g in all."


def weighing_table(batch: Batch, caption: str, *, mark: bool = False) -> str:
    """The weighing table as HTML; with a mark at each line that is small for the balance."""
    small = {(w.phase, w.line) for w in batch.small} if mark else set()
    places = decimal_places(batch.balance.readability)
    phases = batch.formula.phases
    percents = in_column(w.percent for w in batch.weighings)
    rows = [
        [
            phases[w.phase].name,
            w.material,
            percent,
            f"{w.target:.{places + 2}f}",
            f"{w.grams:.{places}f}" + (f" {MARK}" if (w.phase, w.line) in small else ""),
            f"{w.rounding_error:+.2f}" if abs(w.rounding_error) >= 0.005 else "0.00",
        ]
        for w, percent in zip(batch.weighings, percents, strict=True)
    ]
    return sheet(
        ["phase", "ingredient", "% w/w", "exact, g", "weigh, g", "rounding, %"],
        rows,
        numbers=range(2, 6),
        kinds=[phases[w.phase].kind for w in batch.weighings],
        foot=["", "together", f"{sum(w.percent for w in batch.weighings):.2f}", "", f"{batch.mass:.{places}f}", ""],
        caption=caption,
    )
