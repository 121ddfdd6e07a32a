"""The pH panel and its figure: readings in, the dose and the next batch's line out."""

from __future__ import annotations

from typing import Any

import pytest

import kit
from kit.bench.titration import Titration
from kit.figures.theme import PAPER
from kit.figures.titration import COMPUTED, MEASURED, TARGET, titration_figure
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Stock
from kit.widgets.bench import Bench
from kit.widgets.ph_panel import ALL, NONE, PhPanel
from tests.present import present
from tests.widgets.hands import html_of, said

LOG = [(0, 5.9), (0.5, 5.42), (1, 4.95), (1.5, 4.61), (2, 4.35)]


def computed(panel: PhPanel) -> Any:
    """The computed curve as it is drawn."""
    return present(panel.picture.figure).data[0]


@pytest.fixture
def panel() -> PhPanel:
    return PhPanel(Bench(kit.demo()), LOG)


def test_the_dose_and_its_interval_in_words(panel: PhPanel) -> None:
    assert panel.dose is not None
    # By hand: 0.5 + 0.5 x (5.42 - 5.0) / (5.42 - 4.95).
    assert panel.dose.grams == pytest.approx(0.5 + 0.5 * 0.42 / 0.47)
    assert "pH 5 lies at about 0.947 g of stock" in panel.result.value
    assert "between 0.5 g (pH 5.42) and 1 g (pH 4.95)" in panel.result.value
    panel.form.type(product="50")
    assert "1.89 g per 100 g of product" in panel.result.value


def test_the_formulas_own_stock_and_substances_are_suggested(panel: PhPanel) -> None:
    assert panel.form.texts["stock"] == "Citric Acid 10 % stock"
    assert (panel.model["adds"], panel.model["adds_percent"]) == ("Citric Acid, anhydrous", 10)
    assert panel.model.texts["holds"] == ALL
    assert "keep it from eyes" in panel.findings.value


def test_lye_brings_its_caution() -> None:
    lye = Stock("Lye 10 %", {"Aqua": 90, "Sodium Hydroxide": 10}, "Sodium Hydroxide", 10)
    lines = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "3"))
    bench = Bench(Formula("Toner", (Phase("Water", "water", lines),), materials=(lye,)))
    panel = PhPanel(bench, [(0, 3.5), (1, 5.5)])
    assert panel.form.texts["stock"] == "Lye 10 %"
    assert "Caustic: goggles and gloves. Add it to water, never water to it" in panel.findings.value


def test_a_target_outside_is_refused_with_the_range(panel: PhPanel) -> None:
    panel.form.type(target="4")
    assert "pH 4 lies outside what was measured, pH 4.35 to 5.9, and nothing is guessed beyond it" in panel.result.value
    assert panel.dose is None
    assert "use" in panel.form.disabled
    panel.form.type(target="4.5")
    assert "use" not in panel.form.disabled


def test_rows_come_and_go_and_keep_what_is_typed(panel: PhPanel) -> None:
    rows = "0 5.9\n0.5 5.42\n1 4.95\n1.5 4.61\n2 4.35\n2,5 4,2x"
    panel.form.type(readings=rows)
    assert "Row 6: '4,2x' is not a number" in panel.form.faults["readings"]
    assert panel.form.texts["readings"] == rows
    assert "between 0.5 g (pH 5.42) and 1 g (pH 4.95)" in panel.result.value
    rows = rows.replace("1 4.95\n", "").replace("4,2x", "4,2")
    panel.form.type(readings=rows)
    assert panel.form.texts["readings"] == rows
    assert panel.form.faults == {}
    assert "between 0.5 g (pH 5.42) and 1.5 g (pH 4.61)" in panel.result.value
    panel.form.type(target="4.25")
    assert "between 2 g (pH 4.35) and 2.5 g (pH 4.2)" in panel.result.value
    panel.form.type(readings=f"{rows}\n3 42")
    assert "Row 6: A pH of 42 is off the scale of a meter" in panel.form.faults["readings"]


def test_too_few_readings_ask_for_more() -> None:
    panel = PhPanel(Bench(kit.demo()))
    assert "Two readings at least are needed" in panel.result.value
    assert panel.picture.figure is None
    assert "use" in panel.form.disabled


def test_the_log_is_checked(panel: PhPanel) -> None:
    panel.form.type(readings=f"{panel.form.texts['readings']}\n1 5.4")
    assert "The readings at 1 g differ by 0.45: their mean is used." in panel.findings.value


def test_the_dose_goes_into_the_formula_once(panel: PhPanel) -> None:
    panel.form.press("use")
    assert "Citric Acid 10 % stock now stands at 4.44681 %, 0.9468 % more than before; Aqua gives way" in said(
        panel.form
    )
    changed = panel.bench.formula
    assert changed.is_complete
    panel.form.press("use")
    assert "This dose is in the formula already" in said(panel.form)
    assert panel.bench.formula is changed
    panel.bench.undo()
    assert panel.bench.formula.phases == kit.demo().phases
    panel.form.press("use")
    assert panel.bench.formula == changed


def test_a_computed_curve_beside_it_says_what_it_is(panel: PhPanel) -> None:
    assert "adds" in panel.model.hidden
    panel.model.type(curve="yes")
    panel.model.type(holds="Sodium Benzoate", holds_percent="0.4")
    assert "adds" not in panel.model.hidden
    assert "An estimate at 25 °C with the equation of Davies" in panel.computed.value
    assert "Bates" in panel.computed.value
    assert list(computed(panel).x)[-1] == pytest.approx(2.5)
    assert computed(panel).y[0] > 8 > computed(panel).y[-1]
    panel.model.type(holds="Sodium Citrate, dihydrate", holds_percent="1")
    assert "the buffer formula alone would say pH" in panel.computed.value
    panel.model.type(holds=NONE)
    assert computed(panel).y[0] == pytest.approx(7, abs=1e-6)
    panel.model.type(curve="no")
    assert list(computed(panel).x) == []
    assert panel.computed.value == ""


def test_a_gel_toner_neutralised_with_triethanolamine_gets_a_first_guess() -> None:
    """By hand, per 100 g: 0.98 x 9.99 mmol and 0.97 x 0.82 mmol of anions at pH 5.5, so 10.6 mmol or 1.58 g of base."""
    lines = (
        Line("Aqua", "q.s.", "fill"),
        Line("Glycerin", "4"),
        Line("Lactic Acid", "0.9"),
        Line("Benzoic Acid", "0.1"),
    )
    amine = Stock("TEA 20 %", {"Aqua": 80, "Triethanolamine": 20}, "Triethanolamine", 20)
    panel = PhPanel(Bench(Formula("Gel toner", (Phase("Water", "water", lines),), materials=(amine,))), [(0, 2.4)])
    panel.form.type(target="5.5")
    panel.model.type(curve="yes")
    assert (panel.model.texts["holds"], panel.model.texts["adds"]) == (ALL, "Triethanolamine")
    assert "Computed, pH 5.5 takes about 7.94 g of this stock" in panel.computed.value
    assert "Counted in the sample: Lactic Acid 0.9 %, Benzoic Acid 0.1 %" in panel.computed.value
    assert "holds_percent" in panel.model.hidden
    # With one reading only, the curve goes on to the computed dose and a quarter beyond.
    assert max(computed(panel).x) == pytest.approx(1.25 * 7.94, abs=0.02)
    panel.form.type(target="12")
    assert "mixing them gives nothing outside these two" in panel.computed.value


def test_the_figure_is_made_once_and_moved(panel: PhPanel) -> None:
    figure = present(panel.picture.figure)
    panel.form.type(target="4.7")
    assert panel.picture.children == (figure,)
    assert figure.data[2].name == "target, pH 4.7"
    assert figure.data[3].x[0] == pytest.approx(panel.dose.grams)  # type: ignore[union-attr]
    assert list(figure.data[1].y) == [ph for _, ph in LOG]
    panel.form.type(target="8")
    assert list(figure.data[3].x) == []


def test_a_stock_name_is_text_and_not_html(panel: PhPanel) -> None:
    panel.form.type(stock="<img src=x>")
    assert "&lt;img src=x&gt;" in present(panel.picture.figure).layout.xaxis.title.text
    panel.form.press("use")
    assert "<img" not in html_of(panel)


def test_a_formula_that_is_not_complete_keeps_the_readings(panel: PhPanel) -> None:
    panel.bench.change(Formula("Half", (Phase("Water", "water", (Line("Aqua", "50"),)),)))
    assert panel.dose is not None
    panel.form.press("use")
    assert "Half cannot be adjusted yet" in said(panel.form)
    assert [one.ph for one in panel.form["readings"]] == [ph for _, ph in LOG]


# ---- the figure alone ---------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("colour", [MEASURED, COMPUTED, TARGET])
def test_lines_stand_out_from_the_paper(colour: str) -> None:
    # 3:1 for graphical objects: WCAG 2.2, success criterion 1.4.11
    assert (luminance(PAPER) + 0.05) / (luminance(colour) + 0.05) >= 3


def test_the_lines_differ_without_colour() -> None:
    titration = Titration.of("100 g", LOG, "Citric Acid 10 % stock")
    figure = titration_figure(titration, 5.0, titration.to_reach(5.0), [(0, 8), (2, 4)])
    assert len({trace.line.dash for trace in figure.data[:3]}) == 3
    assert figure.layout.xaxis.title.text == "Citric Acid 10 % stock added in all to 100 g of product [g]"
    assert figure.layout.yaxis.title.text == "pH"
    assert figure.data[3].y[1] == 4
    empty = titration_figure(None, 5.0)
    assert [len(trace.x) for trace in empty.data] == [0, 0, 2, 0]
