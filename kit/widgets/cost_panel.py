"""What the batch in hand costs, line by line, by the bottle and at every ratio; and the price list behind it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import ipywidgets as ipw

from kit.bench.cost import CostSheet, bottles_filled, cost, left_over
from kit.bench.cost_across import cost_across
from kit.bench.price import is_same_currency, read_money
from kit.bench.price_list import PriceList, demo_prices, prices_of, read_prices, save_prices
from kit.errors import EntryError, KitError
from kit.figures.cost import cost_picture
from kit.findings import worst_first
from kit.layers.density import product_density
from kit.numbers import read_likely
from kit.widgets.cost_tables import buying_table, cost_table, in_short
from kit.widgets.html import done, findings_list, heading, problem
from kit.widgets.kept_file import KeptFile
from kit.widgets.panel import Panel, controls, try_to
from kit.widgets.price_form import PriceForm

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding
    from kit.widgets.bench import Bench

Read = TypeVar("Read")

#: How many lists back the panel remembers.
MOST_UNDO = 50


class CostPanel(Panel):
    """Open or write a price list; see what the batch costs.

    Parameters
    ----------
    file
        The maker's price list. It is opened at once where it lies beside the notebook; until there is one, the
        invented demo list is shown.
    """

    watches = ("formula", "library", "order", "bottle", "fill", "prices", "extra_ends", "jurisdiction")

    def __init__(self, bench: Bench, file: str = "prices.csv") -> None:
        style = {"description_width": "initial"}
        wide = {"layout": {"width": "auto"}}
        self.file = ipw.Text(value=file, description="Price list", placeholder="prices.csv", style=style)
        self.open_button = ipw.Button(description="Open", tooltip="Open this price list", **wide)
        self.save_button = ipw.Button(description="Save", tooltip="Save the list to this file", **wide)
        self.upload = ipw.FileUpload(accept=".csv", multiple=False, description="Open from elsewhere", **wide)
        self.demo = ipw.Button(description="Demo list", tooltip="Take the invented list of the demo", **wide)
        self.empty = ipw.Button(description="Empty list", tooltip="Start a list of your own", **wide)
        self.undo = ipw.Button(description="Undo", tooltip="Back to the prices as they were", disabled=True, **wide)
        self.message, self.which = ipw.HTML(), ipw.HTML()
        self.form = PriceForm(bench)
        self.form_box = ipw.Accordion([self.form], titles=("Write or change a price",))
        number = {"value": "0", "continuous_update": False, "style": style, "layout": {"width": "250px"}}
        self.waste = ipw.Text(description="Waste, % of what is taken", **number)
        self.labour = ipw.Text(description="Labour for the batch", **number)
        self.view = ipw.ToggleButtons(
            options=[("what it costs", "cost"), ("what to buy", "buy")], tooltips=["line by line", "whole packs"]
        )
        self.answer, self.table, self.picture, self.findings = (ipw.HTML() for _ in range(4))
        self._demo = demo_prices()
        self._earlier: list[PriceList] = []
        self._saved: PriceList | None = None
        if not bench.prices.currency:
            bench.prices = self._demo
            if Path(file).is_file():
                try_to(self.message, lambda: self._read(bench, Path(file)))
        elif bench.prices.name and Path(bench.prices.name).is_file():
            self._recognise(bench)
        self.kept = KeptFile(
            bench.seen,
            path=self._named,
            save=self._save_to,
            copy=lambda path: save_prices(bench.prices, path),
            reopen=lambda path: self._read(bench, path),
        )
        head = heading("Cost", "of the batch in hand, at the prices of one list in one currency")
        super().__init__(
            bench,
            [
                ipw.HTML(head),
                controls(self.file, self.open_button, self.save_button, self.upload, self.demo, self.empty, self.undo),
                self.message,
                self.kept,
                self.which,
                self.form_box,
                controls(self.waste, self.labour, self.view),
                self.answer,
                self.table,
                self.findings,
                self.picture,
            ],
        )
        self.open_button.on_click(lambda _: self._open())
        self.save_button.on_click(lambda _: self._save())
        self.upload.observe(lambda _: self._uploaded(), names="value")
        self.demo.on_click(lambda _: self._take(self._demo))
        self.empty.on_click(lambda _: self._take(PriceList()))
        self.undo.on_click(lambda _: self._go_back())
        bench.observe(self._remember, names="prices")
        for control in (self.waste, self.labour, self.view):
            control.observe(lambda _: self._changed(), names="value")

    def refresh(self) -> None:
        """Show what the batch in hand costs."""
        self.form.offer_names()
        self.which.value = self._list_in_words()
        self.labour.description = ", ".join(
            part for part in ("Labour for the batch", self.bench.prices.currency) if part
        )
        self.answer.value = self.table.value = self.findings.value = self.picture.value = ""
        try:
            made, notes = self.costed()
        except KitError as error:
            self.answer.value = problem(str(error))
            return
        self.answer.value = f"<b>{in_short(made, self.bench.fill)}</b>"
        self.table.value = buying_table(made) if self.view.value == "buy" else cost_table(made)
        self.findings.value = findings_list(worst_first([*made.findings, *notes]))
        self.picture.value = self._picture()

    def costed(self) -> tuple[CostSheet, list[Finding]]:
        """The cost of the batch in hand, and what there is to say about its bottles.

        Raises
        ------
        KitError
            The formula in hand cannot be weighed yet.
        """
        bench = self.bench
        batch, size, density = bench.batch, bench.batch_size, product_density(bench.layers)
        by_bottles = bench.order.by == "bottles"
        count = bench.order.bottles if by_bottles else bottles_filled(size.product, bench.fill, density)
        made = cost(
            batch,
            bench.materials,
            bench.prices,
            product=size.product,
            bottles=count or None,
            waste_percent=self._waste(),
            labour=self._labour(),
        )
        return made, [] if by_bottles else left_over(size.product, count, bench.fill, density)

    def _waste(self) -> float:
        """As typed; an empty box is none. [%]"""
        text = self.waste.value.strip().removesuffix("%").rstrip()
        return _typed("Waste", lambda typed: read_likely(typed, 0, 100), text) if text else 0.0

    def _labour(self) -> float:
        """As typed; an empty box is none. [currency of the list]"""
        text, unit = self.labour.value.strip(), self.bench.prices.currency
        amount, currency = _typed("Labour", read_money, text) if text else (0.0, "")
        if currency and unit and not is_same_currency(currency, unit):
            msg = f"Labour is in {currency}, and this list is in {unit}. Turn it into {unit}."
            raise EntryError(msg)
        return amount

    def _picture(self) -> str:
        bench = self.bench
        try:
            across = cost_across(bench.path, bench.materials, bench.prices, waste_percent=self._waste())
            window = bench.window
        except KitError:
            return ""  # one layer: there is no ratio to move
        ends = (window.low, window.high) if window.is_open else None
        return cost_picture(across, now=bench.oil, window=ends, title="What the materials of 100 g cost at every ratio")

    # ---- the list ---------------------------------------------------------------------------------------

    def _list_in_words(self) -> str:
        prices = self.bench.prices
        if not prices.currency:
            return done("The list is empty. Write the first price below, with its currency.")
        many = len(prices.prices)
        count = f"{many} price{'s' if many != 1 else ''} of materials and {len(prices.packaging)} of packaging"
        told = f"{prices.name or 'A list of your own'}: {count}, in {prices.currency}."
        return done(told if prices in (self._saved, self._demo) else f"{told} Not saved yet.")

    def _remember(self, change: dict[str, PriceList]) -> None:
        """Let Undo bring back the list that another one takes the place of."""
        if replace(change["old"], name="") != replace(change["new"], name=""):
            self._earlier = [*self._earlier[-MOST_UNDO + 1 :], change["old"]]
        self.undo.disabled = not self._earlier

    def _go_back(self) -> None:
        if self._earlier:
            *rest, before = self._earlier
            self.bench.prices = before
            self._earlier = rest
            self.undo.disabled = not rest
            self.message.value = done("The prices are as they were before.")

    def _take(self, prices: PriceList) -> None:
        left = self.bench.prices
        self.bench.prices = prices
        unsaved = bool(left.currency) and left not in (self._saved, self._demo)
        self.message.value = done("The list before was not saved: Undo brings it back.") if unsaved else ""

    def _read(self, bench: Bench, path: Path) -> str:
        notes: list[Finding] = []
        self._saved = prices = bench.seen.read(path, lambda there: read_prices(there, notes))
        bench.prices = prices
        return " ".join([f"Opened {path.name}.", *(note.sentence for note in notes)])

    def _recognise(self, bench: Bench) -> None:
        """Know the list of the bench again where it was opened from a file by an earlier panel or a script."""
        path = Path(bench.prices.name)
        with suppress(KitError):
            self._saved = read_prices(path, [])
            if self._saved == bench.prices:
                bench.seen.read(path, lambda there: read_prices(there, []))

    def _named(self) -> Path:
        name = self.file.value.strip()
        if not name:
            msg = "Give the price list a file name, such as prices.csv."
            raise EntryError(msg)
        return Path(name if Path(name).suffix else f"{name}.csv")

    def _open(self) -> None:
        try_to(self.message, lambda: self._read(self.bench, self._named()))

    def _save(self) -> None:
        def work() -> str:
            path = self._named()
            if self.bench.prices.name != path.name:
                self.bench.seen.forget(path)
            return self.kept.save(path)

        try_to(self.message, work)

    def _save_to(self, path: Path) -> str:
        prices = replace(self.bench.prices, name=path.name)
        save_prices(prices, path, seen=self.bench.seen)
        self._saved = self.bench.prices = prices
        self.file.value = str(path)
        return f"Saved to {path.name} beside this notebook."

    def _uploaded(self) -> None:
        if not self.upload.value:
            return
        item = self.upload.value[0]
        name, content = Path(item["name"]).name, bytes(item["content"])
        self.upload.value = ()

        def work() -> str:
            notes: list[Finding] = []
            self.bench.prices = prices_of(content, name, notes)
            self.file.value = name
            said = f"Opened {name}. Save keeps a copy beside this notebook."
            return " ".join([said, *(note.sentence for note in notes)])

        try_to(self.message, work)


def _typed(what: str, read: Callable[[str], Read], text: str) -> Read:
    """Read a box, and name it where it cannot be read."""
    try:
        return read(text)
    except EntryError as error:
        msg = f"{what}: {error}"
        raise EntryError(msg) from error
