"""Stock solutions: make one, use it in the formula, and see the formula expanded to substances."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.dilution import make_stock, stock_for_level
from kit.errors import EntryError, KitError
from kit.formula.editing import add_lines
from kit.formula.expansion import expand, where_from
from kit.formula.model import Line
from kit.layers.density import material_density
from kit.library.ingredient import BASES, DENSITIES, PHASE_KINDS, Stock
from kit.numbers import read_likely
from kit.rounding import percent_text
from kit.widgets.html import heading, problem, sheet
from kit.widgets.panel import Panel, controls, instead_of, number_box, offer, try_to

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class StockPanel(Panel):
    """Make a stock from its strength as the label will state it, and put it to use at a level of its active."""

    def __init__(self, bench: Bench) -> None:
        names = [inci for inci, _ in bench.library.names()]
        style = {"style": {"description_width": "initial"}}
        self.active = ipw.Combobox(options=names, value="Citric Acid", description="Active", **style)
        self.strength = ipw.Text(value="20", description="Strength, %", **style)
        self.basis = ipw.Dropdown(options=list(BASES), value="w/w", description="counted", **style)
        self.solvent = ipw.Combobox(options=names, value="Aqua", description="in", **style)
        self.density = ipw.Text(description="Density of the stock, g/mL", placeholder="needed for w/v and v/v", **style)
        self.preservative = ipw.Combobox(
            options=names, description="Its preservative", placeholder="may stay empty", **style
        )
        self.preservative_percent = number_box("at, % w/w", 0.0, 0.0, 5.0, step=0.05)
        self.layer = ipw.Dropdown(options=list(PHASE_KINDS), description="Belongs in", **style)
        self.keep_until = ipw.DatePicker(description="Keep until", **style)
        self.make = ipw.Button(description="Make this stock", button_style="primary", layout={"width": "auto"})
        self.made = ipw.HTML()
        self.stock = ipw.Dropdown(description="Stock", **style)
        self.level = number_box("Active wanted in the formula, %", 0.2, 0.0, 100.0, step=0.05)
        self.phase = ipw.Dropdown(description="Into", **style)
        self.use = ipw.Button(description="Add to the formula", layout={"width": "auto"})
        self.message = ipw.HTML()
        super().__init__(
            bench,
            [
                ipw.HTML(heading("Stock solutions", "made ahead, used like an ingredient, counted by what they hold")),
                controls(self.active, self.strength, self.basis, self.solvent, self.density),
                controls(self.preservative, self.preservative_percent, self.layer, self.keep_until, self.make),
                self.made,
                controls(self.stock, self.level, self.phase, self.use),
                self.message,
            ],
        )
        self.make.on_click(lambda _: self._make())
        self.use.on_click(lambda _: self._use())

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
                ", ".join(f"{name} {share:.4g} %" for name, share in stock.contents.items()),
                f"{stock.density.value:g}" if stock.density else "",
                stock.keep_until,
            ]
            for stock in self.stocks
        ]
        head = ["stock", "strength", "contents, % w/w", "g/mL", "keep until"]
        self.made.value = sheet(head, rows, numbers=(3,)) if rows else "No stock travels with this formula yet."
        offer(self.stock, [(stock.name, stock.name) for stock in self.stocks])
        offer(self.phase, [(phase.name, p) for p, phase in enumerate(self.bench.formula.phases)])

    def _make(self) -> None:
        def work() -> str:
            active, solvent = self.active.value.strip(), self.solvent.value.strip()
            if not active or not solvent:
                msg = "A stock needs its active and its solvent. Choose both by name."
                raise EntryError(msg)
            strength, density = read_likely(self.strength.value, 0, 500), self.density.value.strip()
            extra, share = self.preservative.value.strip(), self.preservative_percent.value
            if bool(extra) != bool(share):
                msg = "A preservative in the stock needs its name and its % w/w. Give both, or no name and 0."
                raise EntryError(msg)
            stock = make_stock(
                f"{active} {strength:g} % {'' if self.basis.value == 'w/w' else self.basis.value + ' '}stock",
                active,
                strength,
                basis=self.basis.value,
                solvent=solvent,
                others={extra: share} if extra else None,
                density=read_likely(density, *DENSITIES) if density else None,
                active_density=material_density(active, self.bench.product.materials),
                phase=self.layer.value,
                keep_until=self.keep_until.value.isoformat() if self.keep_until.value else "",
            )
            replaced = instead_of(self.bench, stock.name)
            self.bench.add_material(stock)
            tabled = self.basis.value != "w/w" and not density
            by = f"{stock.contents[active]:.4g} % w/w by the published density of its solution. " if tabled else ""
            return f"{stock.name} travels with the formula now. {by}{replaced}{_caution(stock)}"

        try_to(self.message, work)

    def _use(self) -> None:
        def work() -> str:
            stock = next((stock for stock in self.stocks if stock.name == self.stock.value), None)
            if stock is None:
                msg = "No stock travels with this formula yet. Make one first."
                raise EntryError(msg)
            if self.phase.value is None:
                msg = "The formula has no layer yet to put a stock into. Add one in the formula table."
                raise EntryError(msg)
            percent = stock_for_level(stock, self.level.value)
            phase = self.phase.value
            at = len(self.bench.formula.phases[phase].lines)
            line = Line(stock.name, f"{percent:.6g}", "level")
            self.bench.edit(lambda formula: add_lines(formula, phase, at, [line]))
            return f"{percent:.4g} % of {stock.name} brings {self.level.value:g} % of {stock.active}."

        try_to(self.message, work)


def _caution(stock: Stock) -> str:
    """A stock in water can grow microbes like any product with water."""
    if stock.contents.get("Aqua", 0) <= 0:
        return ""
    return "It holds water: make little, keep it cold, mark the date, and throw it away when it clouds or smells."


class SubstancesPanel(Panel):
    """The formula expanded through stocks and blends to what is declared and regulated."""

    def __init__(self, bench: Bench) -> None:
        self.table = ipw.HTML()
        super().__init__(
            bench, [ipw.HTML(heading("What is in it", "stocks and blends opened up, % w/w of the whole")), self.table]
        )

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
