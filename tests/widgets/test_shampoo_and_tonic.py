"""A shampoo, one layer that is neither oil nor called water, and a tonic of much alcohol: what panels say of them."""

from __future__ import annotations

import pytest

from kit.bench.price import Price
from kit.bench.price_list import PriceList
from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench
from kit.widgets.bottle_panel import BottlePanel
from kit.widgets.cost_panel import CostPanel
from kit.widgets.life_panel import OverItsLifePanel
from kit.widgets.preservation_panel import PreservationPanel
from kit.widgets.separation_panel import SeparationPanel
from tests.widgets.hands import words

SHAMPOO = Formula(
    "Marram shampoo",
    (
        Phase("Wash base", "other", (
            Line("Aqua", "q.s.", "fill"), Line("Coco-Glucoside", "14"), Line("Sodium Cocoamphoacetate", "9"),
            Line("Glycerin", "3"), Line("Sodium Chloride", "1.8"), Line("Sodium Benzoate", "0.4", "level"),
            Line("Citric Acid", "0.5"), Line("Parfum", "0.6"),
        )),
    ),
)  # fmt: skip

TONIC = Formula(
    "Lighthouse tonic",
    (
        Phase("Spirit", "water", (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "38"))),
        Phase("Float", "oil", (Line("Dimethicone", "12", "fill"),)),
    ),
)


@pytest.fixture
def bench() -> Bench:
    return Bench(SHAMPOO)


def test_its_layer_goes_by_its_own_name(bench: Bench) -> None:
    panel = BottlePanel(bench)
    said = " ".join(map(words, (panel.stands, panel.warmth)))
    assert "9 % of the Wash base has no density in the library" in said
    assert "Wash base: 1.048" in said
    assert "other layer" not in said
    panel.density.type(density="1.04")
    panel.density.press("keep")
    assert panel.density.said["sentence"].startswith("The Wash base counts with 1.04 g/mL at 20 °C")


def test_what_never_parts_is_told_so(bench: Bench) -> None:
    said = words(SeparationPanel(bench).answer)
    assert "this formula has only one, Wash base. If it is to part in two, let each phase be oil or water" in said


def test_where_no_phase_is_water_the_maker_is_told_what_to_do(bench: Bench) -> None:
    said = words(PreservationPanel(bench).message)
    assert "If one of its phases is mostly water, let that be water in the formula table." in said


def test_without_any_price_there_is_no_cost(bench: Bench) -> None:
    bench.prices = PriceList()
    panel = CostPanel(bench)
    assert "There is no price yet of anything in the batch." in words(panel.answer)
    assert words(panel.table).count("—") > len(SHAMPOO.phases[0].lines), "neither a price nor a share"
    assert "100.0" not in words(panel.table)


def test_without_any_price_no_ratio_has_a_cost_to_draw() -> None:
    bench = Bench(TONIC)
    bench.prices = PriceList()
    panel = CostPanel(bench)
    assert panel.picture.value == ""
    bench.prices = PriceList("EUR", (Price("Alcohol", 1000, "g", 12.0),))
    assert "<svg" in panel.picture.value


def test_what_stays_as_it_is_looks_so(bench: Bench) -> None:
    """Else rounding in the last of 16 digits fills the chart."""
    figure = OverItsLifePanel(bench).picture.figure
    assert figure is not None
    assert figure.layout.yaxis.autorangeoptions.include == (99.0, 101.0)
    assert figure.layout.yaxis2.autorangeoptions.include == (99.0, 101.0)


def test_much_alcohol_is_told_beside_the_missing_preservative() -> None:
    said = words(PreservationPanel(Bench(TONIC)).findings)
    assert "No preservative that the library knows is in this formula" in said
    assert "it holds 38 % w/w alcohol, 20 % or more. Whether that holds for this product" in said
