"""The panel of what dissolves in what, without a browser: product, own mixture, what is refused or not known."""

from __future__ import annotations

import pytest

from kit.figures.tie_lines import tie_line_figure
from kit.in_use.ternary_systems import Composition, ternary_system
from kit.in_use.tie_lines import settle
from kit.library.ingredient import Ingredient
from kit.widgets.bench import Bench
from kit.widgets.mutual_solubility_panel import BACK, MutualSolubilityPanel
from tests.in_use.some_products import layered
from tests.present import present


def panel_of(water: dict[str, str], oil: dict[str, str]) -> MutualSolubilityPanel:
    return MutualSolubilityPanel(Bench(layered(water, oil)[0]))


@pytest.fixture
def panel() -> MutualSolubilityPanel:
    return panel_of({"Aqua": "q.s.", "Alcohol Denat.": "40", "Sodium Chloride": "0.5"}, {"Limonene": "20"})


def drawn(panel: MutualSolubilityPanel) -> dict[str, list[float]]:
    """What holds points on the triangle: name → their shared liquid. [%]"""
    return {trace.name: list(trace.a) for trace in present(panel.picture.figure).data if trace.a}


def test_it_lays_the_product_on_its_system_and_draws_both_layers(panel: MutualSolubilityPanel) -> None:
    assert panel.form["system"] == "water-alcohol-limonene"
    assert panel.form["shared"] == pytest.approx(40 / 0.995)
    assert "The product in hand. Two layers" in panel.answer.value
    assert "Not counted, 0.5 % of the whole: Sodium Chloride" in panel.answer.value
    assert "water layer at rest" in panel.layers.value
    assert "straight line with R² 0.934" in panel.layers.value
    assert {"its tie line", "water layer now", "oil layer now", "the whole", "as the ratio moves it"} <= set(
        drawn(panel)
    )
    assert panel.ratios.value.count("<td>two</td>") == 9
    assert "Two layers" not in panel.findings.value, "what stands above is not said again"


def test_it_follows_the_bench_until_a_hand_tries_something_else(panel: MutualSolubilityPanel) -> None:
    panel.bench.move_oil(30)
    assert panel.form["oil"] == pytest.approx(30.2, abs=0.2)
    figure = panel.picture.figure
    panel.form.type(shared="5", oil="10")
    assert panel.picture.figure is figure
    assert drawn(panel)["the whole"] == [5]
    assert len(drawn(panel)["its tie line"]) == 2
    panel.form.type(shared="90", oil="5")
    assert "its tie line" not in drawn(panel)
    panel.form.type(shared="5", oil="10")
    assert "The product in hand" not in panel.answer.value
    panel.bench.move_oil(25)
    assert panel.form["oil"] == 10
    panel.form.press(BACK)
    assert panel.form["oil"] == pytest.approx(25.1, abs=0.2)
    assert "The product in hand" in panel.answer.value


def test_another_system_can_be_looked_at_and_too_much_is_told(panel: MutualSolubilityPanel) -> None:
    panel.form.type(system="water-isopropyl-alcohol-ether")
    assert panel.form.inputs["shared"].words == "Isopropyl Alcohol"
    assert "Type how much Isopropyl Alcohol" in panel.answer.value
    assert panel.ratios.value == ""
    panel.form.type(shared="60", oil="10")
    assert "One layer" in panel.answer.value
    assert 'data-severity="caution"' in panel.answer.value
    panel.form.type(shared="37.5", oil="12.5")
    assert "what each holds is not known" in panel.answer.value
    assert "water layer at rest" not in panel.layers.value
    panel.form.type(system="water-acetic-acid-ether")
    panel.form.type(shared="43", oil="29")
    assert "Not known" in panel.answer.value
    panel.form.type(oil="70")
    assert "are more than 100 %" in panel.answer.value
    panel.form.type(system="water-alcohol-limonene")
    assert "The product in hand" in panel.answer.value


def test_a_product_of_no_system_is_told_what_is_known_pair_by_pair() -> None:
    panel = panel_of({"Aqua": "q.s.", "Glycerin": "10"}, {"Butyl Acetate": "30"})
    assert "none of the measured systems" in panel.answer.value
    assert BACK in panel.form.disabled
    assert "Butyl Acetate takes up 1.4 % of Aqua" in panel.findings.value
    assert "Glycerin with Butyl Acetate" in panel.findings.value
    assert not {"the whole", "its tie line"} & set(drawn(panel))


def test_a_name_is_escaped_and_the_figure_stands_alone() -> None:
    name = "<b>Oil</b>"
    formula = layered({"Aqua": "q.s."}, {name: "30"})[0]
    bench = Bench(formula)
    bench.library = bench.library.with_own(Ingredient(name, phase="oil"))
    panel = MutualSolubilityPanel(bench)
    assert name not in panel.findings.value
    ether = ternary_system("water-isopropyl-alcohol-ether")
    alone = tie_line_figure(ether)
    assert "plait point, drawn on" in [trace.name for trace in alone.data]
    one = tie_line_figure(ether, settle(ether, Composition.of(30, 60, 10)))
    assert [list(trace.a) for trace in one.data if trace.name == "its tie line"] == [[]]
    dark = next(trace for trace in alone.data if trace.name == "where two layers become one")
    assert len(dark.a) == len(ether.saturation)
