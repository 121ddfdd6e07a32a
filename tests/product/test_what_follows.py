"""What follows from a product: its costs, its bottles, and what is refused as a part of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from kit.bench.price import Price
from kit.bench.price_list import PriceList
from kit.bench.scaling import Order
from kit.errors import EntryError, RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.shaken_product import shaken_product
from kit.library.description import Description
from kit.product.costing import Costing, Money
from kit.product.effects import NOT_THERE, _cost, effects
from kit.product.mending import substitutes_of
from kit.product.product import Product

OIL = Phase("Oil", "oil", (Line("Squalane", "30"), Line("Tocopherol", "0.5")))
SHAKE = Formula("Hair shake", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Sodium Chloride", "1"))), OIL))

#: What the other lines cost. [EUR per kg]
REST = {"Tocopherol": 100.0, "Aqua": 0.001, "Sodium Chloride": 0.001}


def test_money_in_another_currency_is_not_taken() -> None:
    assert Money().read("12.50", "EUR") == Money().read("12.50 EUR", "EUR") == 12.5
    with pytest.raises(EntryError, match=r"12 USD is in USD, and this list is in EUR\. Turn it into EUR"):
        Money().read(" 12 USD ", "EUR")
    assert Money().write(0.1 + 0.2) == "0.3"
    assert (Costing().waste, Costing().labour) == (0, 0)


def test_100_g_cost_what_their_lines_cost() -> None:
    # by hand: 30 g of squalane at 40 a kilogram are 1.20; with 0.5 g of tocopherol at 100 a kilogram 1.25
    prices = PriceList("EUR", (Price("Squalane", 1.0, "kg", 40.0),))
    whole = replace(prices, prices=(*prices.prices, *(Price(name, 1.0, "kg", each) for name, each in REST.items())))
    assert _cost(Product(SHAKE)) == NOT_THERE
    assert _cost(Product(SHAKE, prices=prices)).startswith("at least ")
    assert "1.20" in _cost(Product(SHAKE, prices=prices))
    assert "1.25" in _cost(Product(SHAKE, prices=whole))
    found = substitutes_of(Product(SHAKE, prices=whole), (1, 0), count=3)
    assert len(found.found) == 3


def test_a_product_in_one_piece_stands_as_one_liquid_and_parts_nowhere() -> None:
    water = Phase("Water phase", "water", (Line("Aqua", "80"),))
    oil = Phase("Oil phase", "oil", (Line("Squalane", "20"),))
    apart = Product(Formula("Lotion", (water, oil), description=Description(layering="two layers")))
    whole = Product(Formula("Lotion", (water, oil), description=Description(layering="emulsified")))
    assert [each.layer.kind for each in apart.standing] == ["water", "oil"]
    (one,) = whole.standing
    # the volumes of both add: 100 / (80 / ρ(water) + 20 / ρ(oil)); 100 mL of it are in the bottle
    of = {layer.kind: layer.density for layer in apart.layers}
    assert one.layer.density == pytest.approx(100 / (80 / of["water"] + 20 / of["oil"]), rel=1e-12)
    assert one.bottom == 0.0
    assert one.volume == pytest.approx(100.0)
    assert one.top == pytest.approx(apart.standing[-1].top)
    told = {effect.what: effect.before for effect in effects(whole, whole)}
    assert "95 % parted after" not in told
    assert "layers, from below" not in told
    assert "95 % parted after" in {effect.what for effect in effects(apart, apart)}
    with pytest.raises(RangeError, match="Lotion is described as emulsified: it is meant to stay in one piece"):
        shaken_product(whole.formula, whole.materials, whole.layers, whole.bottle, whole.fill)


def test_what_is_no_part_of_a_product_is_refused() -> None:
    wrong: Any = 3
    with pytest.raises(TypeError, match="The 'formula' of a Product cannot be 3: Formula is wanted"):
        Product(wrong)
    assert Product(SHAKE, order=Order(by="bottles", bottles=7)).bottles == 7


def test_a_layer_of_neither_water_nor_oil_is_compared_by_its_own_name() -> None:
    def shampoo(glycerin: str) -> Product:
        base = Phase("Wash base", "other", (Line("Aqua", "q.s."), Line("Glycerin", glycerin)))
        return Product(Formula("Marram shampoo", (base,)))

    told = [one.what for one in effects(shampoo("3"), shampoo("5"))]
    assert "Wash base, % of the whole" in told
    assert not any("other layer" in what for what in told)


def test_a_line_that_the_balance_shows_nothing_of_is_told_before_batch_and_balance_are() -> None:
    lines = (Line("Aqua", "q.s."), Line("Sodium Chloride", "1"), Line("Methylisothiazolinone", "15 ppm"))
    product = Product(Formula("Rinse", (Phase("Water", "water", lines),)))
    assert product.known == frozenset()
    (found,) = product.weighing_findings
    # 15 ppm of 250 g are 0.00375 g, which 0.01 g rounds to nothing
    assert found.sentence == (
        "Nothing to a balance that reads 0.01 g: 0.0037 g of Methylisothiazolinone. Weighed so, it is left out. Make "
        "a bigger batch, weigh it as a stock, or use a finer balance."
    )
    assert (found.place.phase, found.place.line) == (0, 2)
    more = replace(product, order=Order(grams=1000.0))  # 0.015 g: the balance shows 0.02 g, or 0.01 g
    assert replace(more, known=frozenset()).weighing_findings == []


def test_how_lines_hold_is_counted_for_each_way() -> None:
    lines = (Line("Aqua", "q.s.", "fill"), Line("Urea", "5", "level"), Line("Glycerin", "2", "level"), Line("", ""))
    before = Product(replace(SHAKE, phases=(Phase("Water", "water", lines), OIL)))
    told = {one.what: one for one in effects(before, Product(SHAKE))}["how lines hold when the ratio moves"]
    # of the oil layer two lines, of the water layer one that fills and two that keep their percent; blanks are none
    assert told.before == (
        "2 lines: keeps its % of the layer; 2 lines: keeps its % of the whole; 1 line: fills the layer"
    )
    assert told.is_change
