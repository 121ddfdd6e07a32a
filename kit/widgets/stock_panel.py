"""Stock solutions: make one, use it in the formula, and see the formula expanded to substances."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.dilution import WATER, StockDetails, stock_for_level
from kit.errors import EntryError, KitError
from kit.formula.asked_stocks import asked_stocks
from kit.formula.editing import add_lines
from kit.formula.expansion import expand, where_from
from kit.formula.model import Line
from kit.inputs import Choice, Input, Number
from kit.layers.density import material_density
from kit.library.ingredient import Stock
from kit.rounding import percent_text
from kit.widgets.form import Button, Form
from kit.widgets.html import problem, sheet
from kit.widgets.panel import Panel, instead_of

if TYPE_CHECKING:
    from kit.widgets.panel import Source

ASKED = (Input("name", "Asked for in the formula", Choice({}), None),)
USE = (
    Input("stock", "Stock", Choice({}), None),
    Input("level", "Active wanted", Number(0, 100), 0.2, "%", help="In the whole formula."),
    Input("phase", "Into", Choice({}), None),
)


class StockPanel(Panel):
    """Make a stock from its strength as the label will state it, and put it to use at a level of its active."""

    title = "Stock solutions"
    subtitle = "made ahead, used like an ingredient, counted by what they hold"

    def __init__(self, source: Source = None) -> None:
        self.details = Form(StockDetails, [Button("make", "Make this stock", self._make, primary=True)])
        self.details.set(active="Citric Acid", strength=20.0, solvent="Aqua")
        over = Button("take", "Take name and strength over", self._take_over, "Into the boxes below, to be made there")
        self.asked = Form(ASKED, [over], wide=("name",))
        self.made = ipw.HTML().add_class("sw-answer")
        self.use = Form(USE, [Button("use", "Add to the formula", self._use)])
        super().__init__(source, [self.asked, self.details, self.made, self.use])

    @property
    def stocks(self) -> list[Stock]:
        """The stocks that travel with the formula."""
        return [material for material in self.bench.formula.materials if isinstance(material, Stock)]

    def refresh(self) -> None:
        """Show the stocks of the formula in hand."""
        rows = [
            [
                stock.name,
                f"{stock.strength:g} % {stock.basis}" if stock.strength is not None else "",
                stock.phase,
                ", ".join(f"{name} {share:.4g} %" for name, share in stock.contents.items()),
                f"{stock.density.value:g}" if stock.density else "",
                stock.keep_until,
            ]
            for stock in self.stocks
        ]
        head = ["stock", "strength", "layer", "contents, % w/w", "g/mL", "keep until"]
        self.made.value = sheet(head, rows, numbers=(4,)) if rows else "No stock travels with this formula yet."
        asked = asked_stocks(self.bench.formula, self.bench.product.materials)
        self.asked.offer("name", {one.name: one.name for one in asked})
        self.asked.show(*(("name", "take") if asked else ()))
        names = [inci for inci, _ in self.bench.library.names()]
        for name in ("active", "solvent", "preservative"):
            self.details.offer(name, names)
        self.use.offer("stock", [stock.name for stock in self.stocks])
        self.use.offer("phase", {p: phase.name for p, phase in enumerate(self.bench.formula.phases)})

    def _take_over(self) -> str:
        """What the name of a line asks for, into the boxes; an earlier preservative, density or day is not its own."""
        asked = asked_stocks(self.bench.formula, self.bench.product.materials)
        one = next(stock for stock in asked if stock.name == self.asked["name"])
        self.details.clear("density", "preservative", "preservative_percent", "keep_until", "phase")
        self.details.set(name=one.name, active=one.active, strength=one.strength, basis=one.basis)
        if one.solvent or one.phase == "water":
            self.details.set(solvent=one.solvent or WATER)
            return f"{one.name} stands in the boxes below. Look at what it is in, then make it."
        self.details.clear("solvent")
        return f"{one.name} stands in the boxes below. Name what it is in, a material of the {one.phase} layer."

    def _make(self) -> str:
        details, materials = StockDetails(**self.details.read()), self.bench.product.materials
        solvent = materials.get(details.solvent)
        stock = details.make(material_density(details.active, materials), solvent.phase if solvent else "water")
        replaced = instead_of(self.bench, stock.name)
        self.bench.add_material(stock)
        tabled = details.basis != "w/w" and details.density is None
        self.details.clear("name")
        share = f"{stock.contents[details.active]:.4g} % w/w by the published density of its solution. "
        said = f"{stock.name} travels with the formula now. {share if tabled else ''}{replaced}{_caution(stock)}"
        return said.strip()

    def _use(self) -> str:
        wanted = self.use.read()
        stock = next((stock for stock in self.stocks if stock.name == wanted["stock"]), None)
        if stock is None:
            msg = "No stock travels with this formula yet. Make one first."
            raise EntryError(msg)
        phase = wanted["phase"]
        if phase is None:
            msg = "The formula has no layer yet to put a stock into. Add one in the formula table."
            raise EntryError(msg)
        percent = stock_for_level(stock, wanted["level"])
        line = Line(stock.name, f"{percent:.6g}")
        self.bench.edit(lambda formula: add_lines(formula, phase, len(formula.phases[phase].lines), [line]))
        return f"{percent:.4g} % of {stock.name} brings {wanted['level']:g} % of {stock.active}."


def _caution(stock: Stock) -> str:
    """A stock in water can grow microbes like any product with water."""
    if stock.contents.get("Aqua", 0) <= 0:
        return ""
    return "It holds water: make little, keep it cold, mark the date, and throw it away when it clouds or smells."


class SubstancesPanel(Panel):
    """The formula expanded through stocks and blends to what is declared and regulated."""

    title = "What is in it"
    subtitle = "stocks and blends opened up, % w/w of the whole"

    def __init__(self, source: Source = None) -> None:
        self.table = ipw.HTML().add_class("sw-answer")
        super().__init__(source, [self.table])

    def refresh(self) -> None:
        """Show the substances of the formula in hand."""
        formula, materials = self.bench.formula, self.bench.product.materials
        try:
            substances, lines = expand(formula, materials), where_from(formula, materials)
        except KitError as error:
            self.table.value = problem(str(error))
            return
        rows = [
            [
                name,
                percent_text(percent),
                ", ".join(
                    f"{line} ({percent_text(part)})"
                    for line, part in lines[name].items()
                    if line != name or len(lines[name]) > 1
                ),
            ]
            for name, percent in substances.items()
        ]
        foot = ["together", f"{sum(substances.values()):.2f}", ""]
        self.table.value = sheet(["substance (INCI)", "% w/w", "by way of"], rows, numbers=(1,), foot=foot)
