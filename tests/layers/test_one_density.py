"""One density of a layer: every panel, paper and table shows the same, to the last digit, whatever the product."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.formula.model import Formula, Line, Phase
from kit.layers.bottle import Bottle, HeightScale, stand
from kit.layers.density import LayerContents, amounts, layer_density, layers_of, product_density
from kit.layers.density_words import density_text
from kit.layers.dosing import USERS, Pump, use_up
from kit.layers.preservation import Layout
from kit.layers.ratio import RatioPath
from kit.layers.shaken import DropSizes, shake
from kit.layers.side_by_side import side_by_side
from kit.library.library import Library
from kit.papers.compared import compared
from kit.papers.registry import make_paper
from kit.product.product import Product
from kit.visible_text import visible
from kit.widgets.bench import Bench
from kit.widgets.bottle_panel import TEMPERATURES, BottlePanel
from tests.layers.some_formulas import REAL, formulas, materials_of
from tests.present import present

BOTTLE = Bottle.with_shoulder("43 mm", "60 mm", "20 mm", "14 mm", "13 mm")
FILL = 70.0

PRODUCTS = st.one_of(formulas(waters=REAL, level_most=8.0), formulas(waters=REAL, other=True), formulas(heavy=True))


@given(PRODUCTS)
def test_calculations_agree(formula: Formula) -> None:
    materials = materials_of(formula)
    layers = {layer.kind: layer for layer in layers_of(formula, materials)}
    for layer in layers.values():
        assert layer_density(formula, materials, layer.kind).value == layer.density
    for contents in LayerContents.of(formula, materials):
        layer = layers[contents.kind]
        assert contents.volume(amounts(formula)) == pytest.approx(layer.volume_per_100_g, rel=1e-12)
    layout = Layout.of(formula, materials)
    assert layout.water_density(layout.now) == pytest.approx(layers["water"].density, rel=1e-9)
    assert layout.volume("oil", layout.now) == pytest.approx(layers["oil"].volume_per_100_g, rel=1e-9)
    (column,) = side_by_side({"one": formula}, Library.bundled(), (), BOTTLE, FILL)
    assert column.density == product_density(layers.values())


@given(PRODUCTS, st.floats(0.02, 0.98))
def test_at_every_ratio_the_scale_stands_where_the_layers_stand(formula: Formula, part: float) -> None:
    path = RatioPath.of(formula)
    oil = part * path.most
    scale = HeightScale.of(path, materials_of(formula), BOTTLE, FILL)
    if any(x < 0 for x in path.percents(oil)):
        return  # a filling line has run out: no product
    moved = path.at(oil)
    layers = layers_of(moved, materials_of(moved))
    assert scale.volumes(oil) == pytest.approx({each.kind: each.volume_per_100_g for each in layers}, rel=1e-9)
    standing = stand(layers, BOTTLE, FILL)
    (height,) = [each.height for each in standing if each.layer.kind == "oil"]
    assert scale.height_share(oil) == pytest.approx(100 * height / standing[-1].top, rel=1e-9)


@given(PRODUCTS)
def test_the_scale_is_whole_at_its_ends_and_finds_its_way_back(formula: Formula) -> None:
    scale = HeightScale.of(RatioPath.of(formula), materials_of(formula), BOTTLE, FILL)
    assert scale.volume_share(0) == 0
    others = {kind for kind in scale.volumes(scale.most) if kind not in ("oil", "water")}
    if not others:
        assert scale.volume_share(scale.most) == pytest.approx(100, abs=1e-9)
    oils = [scale.most * n / 8 for n in range(9)]
    shares = [scale.volume_share(oil) for oil in oils]
    assert shares == sorted(shares)
    assert [scale.oil_for_volume(share) for share in shares] == pytest.approx(oils, abs=1e-7)


@settings(max_examples=15, deadline=None)
@given(PRODUCTS)
def test_panels_and_papers_show_the_density_of_the_layer(formula: Formula) -> None:
    bench = Bench(formula)
    bench.bottle, bench.fill = BOTTLE, FILL
    layers = layers_of(formula, bench.product.materials)
    assert bench.product.layers == layers
    panel = BottlePanel(bench)
    for layer in layers:
        assert density_text(present(layer.about)) in visible(panel.stands.value)
        for celsius in TEMPERATURES:
            there = layer_density(formula, bench.product.materials, layer.kind, celsius)
            assert density_text(there) in visible(panel.warmth.value)
    sheet = visible(make_paper("batch_sheet", bench.product).html)
    for layer in layers:
        assert f"{layer.density:.3f}" in sheet
        assert density_text(present(layer.about)) in sheet
    product = Product(formula).with_bottle(BOTTLE, FILL)
    assert [s.layer for s in product.standing] == [s.layer for s in bench.product.standing]
    assert [s.volume for s in product.standing] == [s.volume for s in bench.product.standing]
    found = compared({"a": formula, "b": formula}, bench.library, bench.product.limits, bench.prices)
    assert found.versions[0].density == product_density(layers)
    assert bench.order.size(product_density(layers)) == bench.product.batch_size == product.batch_size


@settings(max_examples=10, deadline=None)
@given(formulas(waters=REAL))
def test_shaking_and_dosing_count_with_it(formula: Formula) -> None:
    layers = layers_of(formula, materials_of(formula))
    density = {layer.kind: layer.density for layer in layers}
    shaken = shake(layers, {"oil": 10.0, "water": 1.0}, BOTTLE, FILL, "oil", DropSizes())
    assert {shaken.drops.kind: shaken.drops.density, shaken.surround.kind: shaken.surround.density} == density
    doses = use_up(shaken, Pump(2.0, 5.0), USERS[0])
    assert (doses.oil_density, doses.water_density) == (density["oil"], density["water"])
    oil = next(layer.percent for layer in layers if layer.kind == "oil")
    assert doses.label == pytest.approx(oil, rel=1e-9)


def spirit(level: float) -> Formula:
    """A lotion whose alcohol keeps its level while the water layer shrinks."""
    phases = (
        Phase("W", "water", (Line("Alcohol", repr(level), "level"), Line("Aqua", repr(70 - level), "fill"))),
        Phase("O", "oil", (Line("Prunus Amygdalus Dulcis Oil", "30", "fill"),)),
    )
    return Formula("Spirit", phases)


def test_alcohol_that_keeps_its_level_turns_the_layers_over_on_the_way() -> None:
    # OIML R 22 at 20 °C: almond oil of 0.9143 g/mL weighs as much as 49.7 % w/w ethanol (0.9144), so with 30 % alcohol
    # the water layer of 70 % (42.9 %: 0.9294) sinks, and one of 40 % (75 %: 0.8556) floats.
    formula = spirit(30.0)
    path, materials = RatioPath.of(formula), materials_of(formula)
    scale = HeightScale.of(path, materials, BOTTLE, FILL)
    assert list(scale.volumes(30.0)) == ["water", "oil"]
    assert list(scale.volumes(60.0)) == ["oil", "water"]
    water = {oil: (100 - oil) / scale.volumes(oil)["water"] for oil in (30.0, 60.0)}
    assert water == pytest.approx({30.0: 0.9294, 60.0: 0.8556}, abs=2e-4)


def test_contraction_is_honoured_in_heights_and_fill() -> None:
    # OIML R 22: 31.5 g of ethanol with 38.5 g of water are 45 % w/w, 0.92472 g/mL: 75.70 mL, where ideal volumes
    # would make 31.5 / 0.78924 + 38.5 / 0.99821 = 78.48 mL of them
    formula = spirit(31.5)
    water, oil = layers_of(formula, materials_of(formula))
    assert water.volume_per_100_g == pytest.approx(75.70, abs=0.02)
    standing = stand([water, oil], Bottle.cylinder("40 mm", "200 mL"), 100.0)
    assert standing[0].layer.kind == "water"
    share = 75.70 / (75.70 + 30 / 0.9143)
    assert standing[0].volume == pytest.approx(100 * share, abs=0.02)
