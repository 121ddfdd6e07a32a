"""The desk where papers are made out: one formula, what it is made for, and each paper on request."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from kit.bench.balance import Balance
from kit.bench.cost import bottles_filled, cost
from kit.bench.price_list import PriceList
from kit.bench.scaling import BatchSize, Order
from kit.bench.weighing import Batch, weigh
from kit.findings import Finding, Place, worst_first
from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.versions import version_label
from kit.label.content import NetContent, content_of_volume, read_content
from kit.label.declaration import Choices
from kit.label.label_text import label
from kit.layers.bottle import Bottle, stand, usual_bottle, usual_fill
from kit.layers.density import layers_of, product_density, product_density_off
from kit.layers.ratio import RatioPath
from kit.layers.window import window
from kit.library.library import Library
from kit.library.table import limits
from kit.papers.batch_sheet import BatchSheet, SheetDetails, batch_sheet_html
from kit.papers.compared import MOST, compared
from kit.papers.comparison import comparison_html
from kit.papers.cost_sheet import CostPaper, cost_sheet_html
from kit.papers.formula_card import USUAL_BATCHES, FormulaCard, formula_card_html
from kit.papers.label_paper import LabelPaper, label_paper_html
from kit.papers.paper import Paper, attempt
from kit.papers.stock_labels import StockLabels, stock_labels_html, stocks_of
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.model import Formula
    from kit.label.particulars import Particulars
    from kit.layers.bottle import Standing
    from kit.layers.density import Layer
    from kit.library.table import Jurisdiction


@dataclass(frozen=True)
class Desk:
    """A formula and what it is made for.

    Attributes
    ----------
    order, balance, tolerance
        What is to be made, weighed on what, within what. [%]
    bottle, fill
        The bottle, and the volume of product in it. [mL]
    place
        Where the product is to be: whose limits are checked, "eu" or "us".
    ph
        Measured in the water layer; None where it was not.
    prices
        What the materials cost; empty where there is no list.
    """

    formula: Formula
    library: Library = field(default_factory=Library.bundled)
    order: Order = field(default_factory=Order)
    balance: Balance = field(default_factory=Balance)
    tolerance: float = 1.0
    bottle: Bottle = field(default_factory=usual_bottle)
    fill: float = 0.0
    place: Jurisdiction = "eu"
    ph: float | None = None
    prices: PriceList = field(default_factory=PriceList)

    @property
    def filled(self) -> float:
        """The volume of product in the bottle; what is usual where nothing was said. [mL]"""
        return self.fill or usual_fill(self.bottle)

    @cached_property
    def materials(self) -> Materials:
        """Where the formula finds its materials."""
        return Materials.of(self.formula, self.library)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Everything to say about the formula, worst first."""
        return tuple(check(self.formula, self.materials, limits(self.place), ph=self.ph))

    @cached_property
    def size(self) -> BatchSize:
        """The batch that the order asks for."""
        layers = _layers(self)
        return self.order.size(product_density(layers) if layers else 1.0)

    @cached_property
    def batch(self) -> tuple[Batch | None, str]:
        """What to weigh, or why nothing can be weighed."""
        mass = f"{all_digits(self.size.mass)} g"
        return attempt(lambda: weigh(self.formula, mass, self.balance, self.tolerance), None)

    @cached_property
    def standing(self) -> Sequence[Standing]:
        """How the layers stand in the bottle; empty where they cannot."""
        nothing: list[Standing] = []
        return attempt(lambda: stand(layers_of(self.formula, self.materials), self.bottle, self.filled), nothing)[0]

    def batch_sheet(
        self,
        details: SheetDetails | None = None,
        *,
        ph: str = "",
        lots: Mapping[str, str] | None = None,
        yield_within: float = 5.0,
    ) -> Paper:
        """The batch sheet; where the formula cannot be weighed, it says so at its head and prints no grams."""
        batch, why_not = self.batch
        found = [*self.findings, *(batch.findings if batch else ())]
        if why_not:
            found = [Finding("stop", why_not, Place(field="mass")), *found]
        sheet = BatchSheet(
            batch,
            self.size,
            self.materials,
            found,
            self.standing if batch else (),
            self.bottle,
            self.filled,
            details or SheetDetails(),
            formula=self.formula,
            ph=ph,
            lots=lots or {},
            yield_within=yield_within,
        )
        return Paper("batch_sheet", batch_sheet_html(sheet), tuple(worst_first(found)))

    def formula_card(self, batches: Sequence[float] = USUAL_BATCHES, *, keeping: str = "") -> Paper:
        """The formula card for these batches. [g]"""
        path, no_path = attempt(lambda: RatioPath.of(self.formula), None)
        allowed, no_window = attempt(lambda: window(self.formula, self.materials, limits(self.place)), None)
        shut = [] if allowed is None or allowed.is_open else allowed.findings
        card = FormulaCard(
            self.formula,
            self.materials,
            self.findings,
            batches,
            self.balance,
            self.tolerance,
            path,
            allowed,
            no_path or no_window or " ".join(finding.sentence for finding in shut),
            keeping,
        )
        return Paper("formula_card", formula_card_html(card), self.findings)

    def label_text(self, details: Particulars | None = None, *, choices: Choices | None = None) -> Paper:
        """The label text for the desk's place; its content is what was typed, or what the bottle is filled with.

        Parameters
        ----------
        choices
            What the maker chose for the list of ingredients, and what certificates say about allergens.

        Raises
        ------
        KitError
            A net content that cannot be read.
        """
        layers = _layers(self)
        net: NetContent | None = None
        content = details.content if details else ""
        if content.strip():
            known = (product_density(layers), product_density_off(layers)) if layers else (0.0, 0.0)
            net = read_content(content, *known)
        elif layers:
            net = content_of_volume(self.filled, product_density(layers), product_density_off(layers))
        choices = choices or Choices(weighing_error=self.tolerance)
        said = label(
            self.formula, self.materials, jurisdiction=self.place, content=net, details=details, choices=choices
        )
        stops = [finding for finding in self.findings if finding.severity == "stop"]
        paper = LabelPaper(self.formula, said, stops)
        return Paper("label_text", label_paper_html(paper), tuple(worst_first([*stops, *said.findings])))

    def comparison(self, others: Mapping[str, Formula] | None = None, *, name: str = "") -> Paper:
        """The formula, under a name or its version, beside others, or beside the versions of it that were kept.

        Raises
        ------
        RangeError
            Nothing to compare with, or more than can be read side by side.
        """
        earlier = {version_label(old): old for old in self.formula.earlier[1 - MOST :]}
        here = name or version_label(self.formula)
        beside = {f"{key} (another)" if key == here else key: one for key, one in (others or {}).items()}
        versions = {**(earlier if others is None else beside), here: self.formula}
        found = compared(versions, self.library, limits(self.place), self.prices, ph=self.ph)
        stops = [finding for version in found.versions for finding in version.findings if finding.severity == "stop"]
        return Paper("comparison", comparison_html(found), tuple(dict.fromkeys(stops)))

    def stock_labels(self, details: SheetDetails | None = None, *, copies: int = 1, only: str = "") -> Paper:
        """Labels of the stocks that travel with the formula, or only of the one named.

        Raises
        ------
        RangeError
            The formula holds no stock, or none of that name.
        """
        sheet = StockLabels(stocks_of(self.formula, only), self.materials, copies, details or SheetDetails())
        return Paper("stock_labels", stock_labels_html(sheet))

    def cost_sheet(
        self,
        details: SheetDetails | None = None,
        *,
        waste_percent: float = 0.0,
        labour: float = 0.0,
    ) -> Paper:
        """What the batch costs at the desk's prices; bottles are counted from the order, or from how many it fills.

        Raises
        ------
        RangeError
            The formula cannot be weighed, so that it has no cost; or waste and labour are out of range.
        """
        batch = weigh(self.formula, f"{all_digits(self.size.mass)} g", self.balance, self.tolerance)
        density = product_density(layers_of(self.formula, self.materials))
        fills = bottles_filled(self.size.product, self.filled, density)
        bottles = self.order.bottles if self.order.by == "bottles" else fills or None
        product = self.size.product
        sheet = cost(
            batch,
            self.materials,
            self.prices,
            product=product,
            bottles=bottles,
            waste_percent=waste_percent,
            labour=labour,
        )
        stops = [finding for finding in self.findings if finding.severity == "stop"]
        paper = CostPaper(sheet, self.prices.name, stops, details or SheetDetails())
        return Paper("cost_sheet", cost_sheet_html(paper), tuple(worst_first([*stops, *sheet.findings])))


def _layers(desk: Desk) -> list[Layer]:
    """The layers, or none where a material is part of itself."""
    nothing: list[Layer] = []
    return attempt(lambda: layers_of(desk.formula, desk.materials), nothing)[0]
