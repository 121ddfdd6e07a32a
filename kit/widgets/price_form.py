"""A few boxes in which one price of the bench's list is written, changed or taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.price_list import Typed, name_key, names_in, typed_of, with_typed
from kit.errors import EntryError
from kit.widgets.panel import controls, try_to

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class PriceForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """One purchase: choose or type a name, and the boxes show its price in the list, if it has one."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        style = {"style": {"description_width": "initial"}}
        self.name = ipw.Combobox(description="Bought", placeholder="ingredient or bottle", **style)
        self.pack = ipw.Text(description="Pack holds", placeholder="500 g, 1 L, 24 pieces", **style)
        self.price = ipw.Text(description="Price of the pack", placeholder="12.50 EUR", **style)
        self.per_bottle = ipw.Text(description="Pieces for each bottle", placeholder="packaging only", **style)
        self.bought_on = ipw.Text(description="Bought on", placeholder="2026-03-14", **style)
        self.lot = ipw.Text(description="Lot", **style)
        self.note = ipw.Text(description="Note", placeholder="where the price is from", **style)
        self.put = ipw.Button(description="Set this price", button_style="primary", layout={"width": "auto"})
        self.drop = ipw.Button(description="Take it out of the list", layout={"width": "auto"})
        self.message = ipw.HTML()
        super().__init__(
            [
                controls(self.name, self.pack, self.price, self.put),
                controls(self.per_bottle, self.bought_on, self.lot, self.note, self.drop),
                self.message,
            ]
        )
        for box in (self.name, self.pack, self.price, self.per_bottle, self.bought_on, self.lot, self.note):
            box.layout.width = "auto"
        self.name.observe(lambda _: self.show(), names="value")
        self.put.on_click(lambda _: self._put())
        self.drop.on_click(lambda _: self._drop())

    def offer_names(self) -> None:
        """Offer what the formula buys, then the rest of the list."""
        formula = self.bench.formula
        lines = [line.material.strip() for _, _, line, _ in formula.each_line() if line.material.strip()]
        inside = [part for material in formula.materials for part in material.composition]
        names = tuple(dict.fromkeys([*lines, *inside, *names_in(self.bench.prices)]))
        if self.name.options != names:
            self.name.options = names

    def show(self) -> None:
        """Show what the list has under the name in the box; an unknown name leaves the boxes as they are."""
        known = {name_key(name) for name in names_in(self.bench.prices)}
        if name_key(self.name.value) in known and self.name.value.strip():
            self._fill(typed_of(self.bench.prices, self.name.value))

    def _fill(self, typed: Typed) -> None:
        self.pack.value, self.price.value = typed.pack, typed.price
        self.per_bottle.value, self.bought_on.value = typed.per_bottle, typed.bought_on
        self.lot.value, self.note.value = typed.lot, typed.note

    def _put(self) -> None:
        def work() -> str:
            typed = Typed(
                self.name.value,
                self.pack.value,
                self.price.value,
                self.per_bottle.value,
                self.lot.value,
                self.bought_on.value,
                self.note.value,
            )
            self.bench.prices = with_typed(self.bench.prices, typed)
            self.name.value = ""
            self._fill(Typed())
            return f"{typed.name.strip()}: {typed.pack.strip()} for {typed.price.strip()}. Save the list to keep it."

        try_to(self.message, work)

    def _drop(self) -> None:
        def work() -> str:
            name = self.name.value.strip()
            shorter = self.bench.prices.without(name)
            if not name or shorter == self.bench.prices:
                msg = f"The list has no price for {name or 'an empty name'}. Choose a name that it holds."
                raise EntryError(msg)
            self.bench.prices = shorter
            self.name.value = ""
            self._fill(Typed())
            return f"{name} was taken out of the list."

        try_to(self.message, work)
