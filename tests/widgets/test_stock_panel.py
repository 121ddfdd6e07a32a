from __future__ import annotations

import pytest

from kit.demos import demo
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Stock
from kit.widgets.bench import Bench
from kit.widgets.stock_panel import StockPanel, SubstancesPanel
from tests.widgets.hands import HOSTILE, one_phase, rows, said, two_layers, typed, words


@pytest.fixture
def panel(bench: Bench) -> StockPanel:
    return StockPanel(bench)


def test_a_stock_is_made_and_travels_with_the_formula(panel: StockPanel) -> None:
    assert words(panel.made) == "No stock travels with this formula yet."
    panel.details.type(strength="12,5", keep_until="2026-06-01")
    panel.details.type(preservative="Potassium Sorbate", preservative_percent="0.2")
    panel.details.press("make")
    assert said(panel.details) == (
        "Citric Acid 12.5 % stock travels with the formula now. It holds water: make little, keep it cold, mark "
        "the date, and throw it away when it clouds or smells."
    )
    (stock,) = panel.stocks
    assert stock.contents == {"Citric Acid": 12.5, "Potassium Sorbate": 0.2, "Aqua": 87.3}
    assert rows(panel.made) == [
        [
            "Citric Acid 12.5 % stock",
            "12.5 % w/w",
            "water",
            "Citric Acid 12.5 %, Potassium Sorbate 0.2 %, Aqua 87.3 %",
            "",
            "2026-06-01",
        ]
    ]
    assert panel.use.texts["stock"] == "Citric Acid 12.5 % stock"


def test_a_strength_by_volume_is_turned_by_the_density(panel: StockPanel) -> None:
    panel.details.type(basis="w/v", density="1,08")
    panel.details.press("make")
    (stock,) = panel.stocks
    assert (stock.name, stock.basis) == ("Citric Acid 20 % w/v stock", "w/v")
    assert stock.contents["Citric Acid"] == pytest.approx(20 / 1.08)
    assert rows(panel.made)[0][4] == "1.08"


def test_a_stock_without_water_needs_no_words_about_water(panel: StockPanel) -> None:
    panel.details.type(active="Tocopherol", solvent="Coco-Caprylate")
    panel.details.press("make")
    assert said(panel.details) == "Tocopherol 20 % stock travels with the formula now."
    assert panel.stocks[0].phase == "oil"


def test_a_stock_bears_the_name_that_she_gives_it(panel: StockPanel) -> None:
    panel.details.type(name="  My  lemon drops ", strength="30", phase="other")
    panel.details.press("make")
    (stock,) = panel.stocks
    assert (stock.name, stock.strength, stock.phase) == ("My lemon drops", 30.0, "other")
    assert panel.details.texts["name"] == ""


def test_a_stock_asked_for_in_the_formula_is_taken_over_with_one_press() -> None:
    bench = Bench(one_phase(("Aqua", "q.s."), ("Panthenol 50 % stock", "2"), ("10 % w/v niacinamide solution", "3")))
    panel = StockPanel(bench)
    assert panel.asked.texts["name"] == "Panthenol 50 % stock"
    panel.details.type(preservative="Potassium Sorbate", preservative_percent="0.2", density="1.1")
    panel.asked.press("take")
    assert said(panel.asked) == "Panthenol 50 % stock stands in the boxes below. Look at what it is in, then make it."
    panel.details.press("make")
    (stock,) = panel.stocks
    assert (stock.name, stock.active, stock.strength) == ("Panthenol 50 % stock", "Panthenol", 50.0)
    assert stock.contents == {"Panthenol": 50.0, "Aqua": 50.0}
    assert not any("Panthenol 50 % stock is not in the library" in one.sentence for one in bench.product.findings)
    panel.asked.press("take")
    assert (panel.details["name"], panel.details["basis"]) == ("10 % w/v niacinamide solution", "w/v")
    panel.details.type(density="1.02")
    panel.details.press("make")
    assert (panel.stocks[1].basis, panel.stocks[1].strength) == ("w/v", 10.0)
    assert {"name", "take"} <= {*panel.asked.hidden}


def test_a_stock_asked_for_in_an_oil_layer_is_not_made_with_water() -> None:
    oil = Phase(
        "Oil layer",
        "oil",
        (Line("Squalane", "10"), Line("Tocopherol 10 % in Squalane", "1"), Line("Bisabolol 5 % stock", "1")),
    )
    panel = StockPanel(Bench(Formula("Oil", (oil,))))
    panel.asked.press("take")
    panel.details.press("make")
    assert (panel.stocks[0].contents, panel.stocks[0].phase) == ({"Tocopherol": 10.0, "Squalane": 90.0}, "oil")
    panel.asked.press("take")
    assert "Name what it is in, a material of the oil layer" in said(panel.asked)
    panel.details.press("make")
    assert "In: This is empty." in said(panel.details)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"strength": "strong"}, "'strong' is not a number. Write digits with one decimal mark"),
        ({"strength": "120"}, "The strength comes to 120 % w/w; it must be from 0 to 100 %."),
        (
            {"basis": "w/v", "active": "Sodium Gluconate"},
            "20 % w/v needs the density of the solution in g/mL to become % w/w. Weigh 100 mL of it.",
        ),
        (
            {"basis": "v/v", "density": "0.9", "active": "Moon Dust"},
            "needs the density of the pure active in g/mL",
        ),
        ({"density": "heavy"}, "'heavy' is not a number."),
        ({"active": "  "}, "Active: This is empty. Type it, such as Citric Acid."),
        ({"solvent": ""}, "In: This is empty. Type it, such as Aqua."),
        ({"preservative": "Potassium Sorbate"}, "A preservative in the stock needs its name and its % w/w."),
        ({"preservative_percent": "0.2"}, "A preservative in the stock needs its name and its % w/w."),
        (
            {"strength": "99", "preservative": "Potassium Sorbate", "preservative_percent": "3"},
            "the active and the other contents add to 102 %, which leaves no room for Aqua",
        ),
    ],
)
def test_a_stock_that_cannot_be_made_is_told_and_stays_typed(
    panel: StockPanel, changes: dict[str, str], sentence: str
) -> None:
    panel.details.type(**changes)
    panel.details.press("make")
    assert panel.details.said["severity"] == "stop"
    assert sentence in said(panel.details)
    assert {name: panel.details.texts[name] for name in changes} == changes
    assert panel.stocks == []


def test_a_stock_of_a_name_that_is_taken_says_so_and_undo_brings_the_first_back() -> None:
    panel = StockPanel(Bench(demo()))
    before = panel.stocks
    panel.details.type(strength="10")
    panel.details.press("make")
    assert "It takes the place of the one of that name; undo brings that back." in said(panel.details)
    assert panel.stocks != before
    panel.bench.undo()
    assert panel.stocks == before


def test_a_stock_is_put_to_use_at_a_level_of_its_active(panel: StockPanel) -> None:
    panel.details.press("make")
    panel.use.type(level="0.3", phase="Water layer")
    panel.use.press("use")
    assert said(panel.use) == "1.5 % of Citric Acid 20 % stock brings 0.3 % of Citric Acid."
    assert panel.bench.formula.phases[0].lines[-1] == Line("Citric Acid 20 % stock", "1.5")
    substances = {row[0]: row[1] for row in rows(SubstancesPanel(panel.bench).table)}
    assert substances["Citric Acid"] == "0.30"


def test_a_level_that_the_stock_cannot_bring_is_told(panel: StockPanel) -> None:
    panel.details.press("make")
    panel.use.type(level="30")
    before = panel.bench.formula
    panel.use.press("use")
    assert "30 % of Citric Acid would need 150 % of Citric Acid 20 % stock." in said(panel.use)
    assert panel.bench.formula is before


def test_without_a_stock_there_is_none_to_use(panel: StockPanel) -> None:
    panel.use.press("use")
    assert said(panel.use) == "No stock travels with this formula yet. Make one first."


def test_a_stock_that_names_no_active_cannot_be_dosed() -> None:
    panel = StockPanel(Bench(two_layers(materials=(Stock("Mix (invented)", {"Aqua": 100.0}),))))
    assert rows(panel.made)[0][:3] == ["Mix (invented)", "", "water"]
    panel.use.press("use")
    assert said(panel.use).startswith("Mix (invented) states no active")


def test_without_a_layer_there_is_nowhere_to_put_it() -> None:
    panel = StockPanel(Bench(Formula("Nothing yet")))
    panel.details.press("make")
    panel.use.press("use")
    assert said(panel.use) == ("The formula has no layer yet to put a stock into. Add one in the formula table.")


def test_the_layers_offered_are_those_of_the_formula(panel: StockPanel) -> None:
    panel.use.type(phase="Oil layer")
    panel.bench.apply({"kind": "set_phase_name", "phase": 1, "text": "Oils"})
    assert panel.use.inputs["phase"].reader.options == {0: "Water layer", 1: "Oils"}  # type: ignore[attr-defined]
    assert panel.use["phase"] == 1
    panel.bench.apply({"kind": "remove_phase", "phase": 1})
    assert panel.use["phase"] == 0


def test_hostile_names_are_escaped_in_stocks_and_substances() -> None:
    bench = Bench(one_phase(("Aqua", "q.s."), (HOSTILE, "5")))
    stocks, substances = StockPanel(bench), SubstancesPanel(bench)
    stocks.details.type(active=HOSTILE)
    stocks.details.press("make")
    assert HOSTILE in rows(stocks.made)[0][3]
    assert HOSTILE in said(stocks.details)
    assert rows(substances.table)[1][0] == HOSTILE
    assert "<img" not in stocks.made.value + substances.table.value


# ---- what is in it ----------------------------------------------------------------------------------------


def test_stocks_are_opened_up_and_the_way_is_told() -> None:
    panel = SubstancesPanel(Bench(demo()))
    found = {row[0]: row[1:] for row in rows(panel.table)}
    assert found["Citric Acid"] == ["0.35", "Citric Acid 10 % stock (0.35)"]
    assert "Citric Acid 10 % stock" not in found
    assert found["Glycerin"][1] == ""
    assert "together 100.00" in words(panel.table)


def test_a_formula_half_typed_shows_what_it_has_so_far(bench: Bench) -> None:
    panel = SubstancesPanel(bench)
    typed(bench, 0, 0, "a pinch")
    assert "Aqua" not in [row[0] for row in rows(panel.table)]
    assert "together 19.40" in words(panel.table)


def test_a_stock_made_of_itself_is_told() -> None:
    loop = Stock("Loop (invented)", {"Loop (invented)": 50.0, "Aqua": 50.0})
    panel = SubstancesPanel(Bench(one_phase(("Loop (invented)", "100"), materials=(loop,))))
    assert words(panel.table) == (
        "✕ Loop (invented) is made of itself: Loop (invented) → Loop (invented). "
        "Take it out of one of these compositions."
    )
