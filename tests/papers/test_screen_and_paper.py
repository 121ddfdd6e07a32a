"""Whatever the product, a figure that stands on a panel and on a paper is the same on both."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.price_list import demo_prices
from kit.bench.scaling import Order
from kit.findings import Place
from kit.label.particulars import Particulars
from kit.layers.bottle import bundled_bottles, usual_fill
from kit.layers.window import End
from kit.papers.registry import make_paper
from kit.product.costing import Costing
from kit.product.product import Product
from kit.rounding import decimal_places, percent_on_paper
from kit.visible_text import visible
from kit.widgets.bench import Bench
from kit.widgets.bottle_panel import BottlePanel
from kit.widgets.cost_panel import CostPanel
from kit.widgets.label_panel import LabelPanel
from kit.widgets.papers_panel import PapersPanel
from kit.widgets.views import ratio_picture
from kit.widgets.weighing_panel import WeighingPanel
from tests.layers.some_formulas import REAL, formulas
from tests.papers.reading import Page

if TYPE_CHECKING:
    from kit.formula.model import Formula

ORDERS = st.one_of(
    st.builds(Order, st.just("mass"), st.floats(50, 2000), overage=st.floats(0, 20), loss=st.floats(0, 20)),
    st.builds(Order, st.just("bottles"), bottles=st.integers(1, 40), loss=st.floats(0, 20)),
)
BOTTLES = st.sampled_from(sorted(bundled_bottles()))
END = End("least level in the water", 30.0, "to", "invented", Place(field="ratio"))


@st.composite
def products(draw: st.DrawFn) -> Product:
    """A product with everything that stands on a paper drawn at random."""
    formula: Formula = draw(st.one_of(formulas(waters=REAL), formulas(other=True), formulas(heavy=True)))
    bottle = bundled_bottles()[draw(BOTTLES)]
    return Product(
        formula,
        jurisdiction=draw(st.sampled_from(["eu", "us"])),
        order=replace(draw(ORDERS), fill=usual_fill(bottle)),
        balance=Balance(draw(st.sampled_from([0.001, 0.01, 0.1, 1.0])), 5000),
        bottle=bottle,
        prices=demo_prices(),
        costing=Costing(draw(st.floats(0, 30)), draw(st.floats(0, 50))),
        particulars=Particulars(function="body oil", content=draw(st.sampled_from(["", "85 mL", "60 g"]))),
        extra_ends=draw(st.sampled_from([(), (END,)])),
    )


def read(html: str) -> str:
    """What a person reads, with single spaces."""
    return " ".join(re.sub(r"<style.*?</style>|<[^>]+>", " ", visible(html), flags=re.DOTALL).split())


def paper(name: str, product: Product) -> str:
    return " ".join(Page(make_paper(name, product).html).text.split())


@settings(max_examples=12, deadline=None)
@given(products())
def test_batch_and_layers(product: Product) -> None:
    bench = Bench.of(product)
    sheet = paper("batch_sheet", product)
    places = decimal_places(product.balance.readability)
    table = WeighingPanel(bench).table.value
    for weighing in bench.product.batch.weighings:
        row = f"{weighing.material} {percent_on_paper(weighing.percent)} {weighing.grams:.{places}f}"
        assert row in sheet
        assert f"{weighing.grams:.{places}f}" in read(table)
    stands = read(BottlePanel(bench).stands.value)
    assert bench.product.standing
    for layer in bench.product.standing:
        assert f"{layer.layer.name} {layer.height:.1f} {layer.volume:.1f}" in stands
        assert f"{layer.layer.name} {layer.height:.1f} {layer.volume:.1f}" in sheet


@settings(max_examples=12, deadline=None)
@given(products())
def test_window(product: Product) -> None:
    shown = ratio_picture(Bench.of(product), 1)
    card = paper("formula_card", product)
    if shown["is_open"]:
        assert f"{shown['low']['at']:.2f} % to {shown['high']['at']:.2f} %" in card
    else:
        assert "No ratio" in card
    if END in product.extra_ends and shown["is_open"]:
        assert shown["high"]["at"] <= END.at


@settings(max_examples=12, deadline=None)
@given(products())
def test_cost(product: Product) -> None:
    panel = CostPanel(Bench.of(product))
    sums, sheet = read(panel.answer.value), paper("cost_sheet", product)
    total, *rest = re.findall(r"(?:at least )?\d[\d.]* EUR", sums)
    bottle = f"A bottle {rest[0]} " if product.bottles else "A bottle no bottles counted "
    assert f"The batch {total} {bottle}100 g of product {rest[-2]} of that, materials {rest[-1]}" in sheet
    for finding in product.cost.findings:
        assert " ".join(finding.sentence.split()) in read(panel.findings.value)
        assert " ".join(finding.sentence.split()) in sheet


@settings(max_examples=12, deadline=None)
@given(products())
def test_label(product: Product) -> None:
    panel, text = LabelPanel(Bench.of(product)), paper("label_text", product)
    assert panel.result is not None
    assert " ".join(visible(panel.result.text).split()) in text
    assert panel.result.declaration.text in read(panel.preview.value).replace("&#x27;", "'").replace("&amp;", "&")
    if product.net_content is not None:
        said = product.net_content.text(product.jurisdiction)
        assert said in read(panel.preview.value)
        assert said in text


@settings(max_examples=6, deadline=None)
@given(products())
def test_the_papers_panel_prints_what_is_made_of_the_product(product: Product) -> None:
    panel = PapersPanel(Bench.of(product))
    for name in ("batch_sheet", "formula_card", "label_text", "cost_sheet"):
        panel.choice.type(paper=panel.specs[name].title)
        assert panel.paper().html == make_paper(name, panel.bench.product).html
