"""What the batch in hand costs, line by line, by the bottle and at every ratio; and the price list behind it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.cost_across import cost_across
from kit.bench.price_list import PriceList, demo_prices, prices_of, read_prices, save_prices
from kit.errors import KitError
from kit.figures.cost import cost_picture
from kit.file_names import beside
from kit.inputs import REQUIRED, Choice, FileName, Input, inputs_of
from kit.product.beginning import is_demo
from kit.product.costing import Costing
from kit.widgets.bench import Bench
from kit.widgets.cost_tables import buying_table, cost_table, sums_in_words
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, problem
from kit.widgets.kept_file import KeptFile
from kit.widgets.panel import Panel
from kit.widgets.price_form import PriceForm

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.widgets.panel import Source

VIEW = Input("view", "Show", Choice({"cost": "what it costs", "buy": "what to buy"}, "switch"), "cost")
#: How many lists back the panel remembers.
MOST_UNDO = 50


class CostPanel(Panel):
    """Open or write a price list; see what the batch costs.

    Parameters
    ----------
    file
        The maker's price list. It is opened at once where it lies beside the notebook; until there is one, the
        list is empty, but for a demo, which has an invented one.
    """

    watches = ("formula", "library", "order", "bottle", "prices", "costing", "extra_ends", "jurisdiction")
    title = "Cost"
    subtitle = "of the batch in hand, at the prices of one list in one currency"

    def __init__(self, source: Source = None, file: str = "prices.csv") -> None:
        bench = Bench.of(source)
        self.files = Form(
            [Input("file", "Price list", FileName(".csv"), REQUIRED, example="prices.csv")],
            [
                Button("open", "Open", self._open, "Open this price list"),
                Button("save", "Save", self._save, "Save the list to this file"),
                Button("upload", "Open from elsewhere", self._uploaded, file=".csv"),
                Button("demo", "Demo list", lambda: self._take(self._demo), "Take the invented list of the demo"),
                Button("empty", "Empty list", lambda: self._take(PriceList()), "Start a list of your own"),
                Button("undo", "Undo", self._go_back, "Back to the prices as they were"),
            ],
        )
        self.files.set(file=Path(file))
        self.files.enable("undo", can=False)
        self.form = PriceForm(bench)
        self.numbers = Form((*inputs_of(Costing), VIEW), on_change=lambda _: self._set_numbers())
        self.which, self.answer, self.table, self.picture, self.findings = (ipw.HTML() for _ in range(5))
        self._demo = demo_prices()
        self._earlier: list[PriceList] = []
        self._saved: PriceList | None = None
        if not bench.prices.currency:
            if is_demo(bench.formula):
                bench.prices = self._demo
            if Path(file).is_file():
                self.files.do(lambda: self._read(bench, Path(file)))
        elif bench.prices.name and Path(bench.prices.name).is_file():
            self._recognise(bench)
        self.kept = KeptFile(
            bench.seen,
            path=lambda: self.files.read()["file"],
            save=self._save_to,
            copy=lambda path: save_prices(bench.prices, path),
            reopen=lambda path: self._read(bench, path),
        )
        self._list = bench.prices
        self.answer.add_class("sw-answer")
        super().__init__(
            bench,
            [
                self.files,
                self.kept,
                self.which,
                self.form,
                self.numbers,
                self.answer,
                self.table,
                self.findings,
                self.picture,
            ],
        )

    def refresh(self) -> None:
        """Show what the batch in hand costs."""
        self._remember(self.bench.prices)
        self.form.offer_names()
        self.which.value = self._list_in_words()
        self.numbers.describe("labour", unit=self.bench.prices.currency)
        self.numbers.set(waste=self.bench.costing.waste, labour=self.bench.costing.labour)
        self.answer.value = self.table.value = self.findings.value = self.picture.value = ""
        try:
            made = self.bench.product.cost
        except KitError as error:
            self.answer.value = problem(str(error))
            return
        self.answer.value = f"<b>{sums_in_words(made, self.bench.fill)}</b>"
        self.table.value = buying_table(made) if self.numbers["view"] == "buy" else cost_table(made)
        self.findings.value = findings_list(made.findings)
        self.picture.value = self._picture() if made.total else ""

    def _set_numbers(self) -> None:
        self.bench.costing = Costing(self.numbers["waste"], self.numbers["labour"])
        self._changed()

    def _picture(self) -> str:
        bench = self.bench
        try:
            across = cost_across(bench.path, bench.product.materials, bench.prices, waste_percent=bench.costing.waste)
            window = bench.window
        except KitError:
            return ""  # one layer: there is no ratio to move
        ends = (window.low, window.high) if window.is_open else None
        title = "What the materials of 100 g cost at every ratio"
        return cost_picture(across, now=bench.product.oil, window=ends, title=title)

    # ---- the list ---------------------------------------------------------------------------------------

    def _list_in_words(self) -> str:
        prices = self.bench.prices
        if not prices.currency:
            return done("The list is empty. Write the first price below, with its currency.")
        many = len(prices.prices)
        count = f"{many} price{'s' if many != 1 else ''} of materials and {len(prices.packaging)} of packaging"
        told = f"{prices.name or 'A list of your own'}: {count}, in {prices.currency}."
        return done(told if prices in (self._saved, self._demo) else f"{told} Not saved yet.")

    def _remember(self, prices: PriceList) -> None:
        """Let Undo bring back the list that another one takes the place of."""
        before, self._list = self._list, prices
        if replace(before, name="") != replace(prices, name=""):
            self._earlier = [*self._earlier[-MOST_UNDO + 1 :], before]
        self.files.enable("undo", can=bool(self._earlier))

    def _go_back(self) -> str:
        *rest, before = self._earlier
        self.bench.prices = before
        self._earlier = rest
        self.files.enable("undo", can=bool(rest))
        return "The prices are as they were before."

    def _take(self, prices: PriceList) -> str:
        left = self.bench.prices
        self.bench.prices = prices
        unsaved = bool(left.currency) and left not in (self._saved, self._demo)
        return "The list before was not saved: Undo brings it back." if unsaved else ""

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

    def _open(self) -> str:
        return self._read(self.bench, self.files.read()["file"])

    def _save(self) -> str:
        path = self.files.read()["file"]
        if self.bench.prices.name != path.name:
            self.bench.seen.forget(path)
        return self.kept.save(path)

    def _save_to(self, path: Path) -> str:
        prices = replace(self.bench.prices, name=path.name)
        save_prices(prices, path, seen=self.bench.seen)
        self._saved = self.bench.prices = prices
        self.files.set(file=path)
        return f"Saved to {path.name} {beside(path)}."

    def _uploaded(self, name: str, content: bytes) -> str:
        notes: list[Finding] = []
        self.bench.prices = prices_of(content, Path(name).name, notes)
        self.files.set(file=Path(Path(name).name))
        said = f"Opened {Path(name).name}. Save keeps a copy beside this notebook."
        return " ".join([said, *(note.sentence for note in notes)])
