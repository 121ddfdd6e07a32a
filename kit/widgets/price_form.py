"""A form in which one price of the bench's list is written, changed or taken out."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from kit.bench.price_list import Purchase, name_key, names_in, typed_of, with_typed
from kit.errors import EntryError
from kit.widgets.form import Button, Form

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class PriceForm(Form):
    """One purchase: choose or type a name, and the boxes show its price in the list, if it has one."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        put = Button("put", "Set this price", self._put, primary=True)
        drop = Button("drop", "Take it out of the list", self._drop)
        super().__init__(Purchase, (put, drop), on_change=self._show_known, fold="Write or change a price")

    def offer_names(self) -> None:
        """Offer what the formula buys, then the rest of the list."""
        formula = self.bench.formula
        lines = [line.material.strip() for _, _, line, _ in formula.each_line() if line.material.strip()]
        inside = [part for material in formula.materials for part in material.composition]
        self.offer("name", dict.fromkeys([*lines, *inside, *names_in(self.bench.prices)]))

    def _show_known(self, changed: tuple[str, ...]) -> None:
        """Show what the list has under the name in the box; an unknown name leaves the boxes as they are."""
        known = {name_key(name) for name in names_in(self.bench.prices)}
        if changed == ("name",) and self["name"] and name_key(self["name"]) in known:
            self.set(**asdict(typed_of(self.bench.prices, self["name"])) | {"name": self["name"]})

    def _put(self) -> str:
        typed = Purchase(**self.read())
        self.bench.prices = with_typed(self.bench.prices, typed)
        self.clear()
        return f"{typed.name}: {typed.pack} for {typed.price}. Save the list to keep it."

    def _drop(self) -> str:
        name = self["name"]
        shorter = self.bench.prices.without(name)
        if not name or shorter == self.bench.prices:
            msg = f"The list has no price for {name or 'an empty name'}. Choose a name that it holds."
            raise EntryError(msg)
        self.bench.prices = shorter
        self.clear()
        return f"{name} was taken out of the list."
