"""The separation panel without a browser: it follows the bench, keeps what was typed, and says what is missing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.demos import demo
from kit.formula.model import Formula, Line, Phase
from kit.layers.separation import clearing, time_until
from kit.layers.timed import viscosity_from_ball
from kit.widgets.bench import Bench
from kit.widgets.separation_panel import SeparationPanel
from tests.present import present
from tests.widgets.hands import one_phase, words


@pytest.fixture
def panel() -> SeparationPanel:
    return SeparationPanel(Bench(demo()))


def two_layers(oil: float, *, oil_name: str = "Squalane") -> Formula:
    return Formula(
        "Two",
        (
            Phase("Water layer", "water", (Line("Aqua", "q.s.", "fill"),)),
            Phase("Oil layer", "oil", (Line(oil_name, f"{oil:g}", "share"),)),
        ),
    )


def test_it_answers_draws_and_says_how_far_the_answer_moves(panel: SeparationPanel) -> None:
    way = panel.choices.product(panel.bench).ways[0]
    minutes = time_until(way, 95) / 60
    assert f"95 % of them have left after {minutes:.2g} min" in panel.answer.value
    assert f"half or twice as thick, {minutes / 2:.2g} min or {2 * minutes:.2g} min" in panel.answer.value
    assert "<svg" in panel.drawing.value
    assert [trace.name for trace in present(panel.figure).data][1] == "still mixed"
    assert "oil is the drops" in panel.findings.value
    assert "merge are not modelled" in panel.children[-2].value


def test_a_larger_drop_clears_sooner_everywhere_at_once(panel: SeparationPanel) -> None:
    before, range_before = panel.answer.value, present(panel.figure).layout.xaxis.range[1]
    panel.choices.median.value = 200
    assert panel.answer.value != before
    assert present(panel.figure).layout.xaxis.range[1] < range_before * 4  # seconds now
    assert panel.at.description == "After shaking, min"
    assert "Reynolds number of the middle oil drop: 0.49" in panel.findings.value


def test_the_slider_moves_the_bottle_and_the_mark(panel: SeparationPanel) -> None:
    drawn = panel.drawing.value
    panel.at.value = panel.at.max / 2
    assert panel.drawing.value != drawn
    assert present(panel.figure).layout.shapes[0].x0 == pytest.approx(panel.at.value)


def test_the_slider_keeps_its_part_of_the_time_when_the_time_changes(panel: SeparationPanel) -> None:
    panel.at.value = panel.at.max / 2
    for median in (30, 400, 100):
        panel.choices.median.value = median
        assert panel.at.value / panel.at.max == pytest.approx(0.5, rel=1e-6)


def test_the_bench_is_followed(panel: SeparationPanel) -> None:
    before = panel.answer.value
    panel.bench.move_oil(25)
    assert panel.answer.value != before
    assert "29 % of the volume is oil" not in before
    again = panel.drawing.value
    panel.bench.fill = 50.0
    assert panel.drawing.value != again


def test_between_the_two_both_ways_are_shown_until_one_is_chosen() -> None:
    panel = SeparationPanel(Bench(two_layers(45)))
    assert panel.drawing.value.count("<svg") == 2
    assert "Both are shown" in panel.findings.value
    assert len({trace.xaxis for trace in present(panel.figure).data}) == 2
    assert "Reynolds number of the middle water drop" in panel.findings.value
    assert "with oil as the drops" in panel.changes.value
    panel.choices.drops.value = "water"
    assert panel.drawing.value.count("<svg") == 1
    assert "You chose water as the drops." in panel.findings.value
    assert "Both are shown" not in panel.findings.value


def test_a_typed_viscosity_takes_the_place_of_the_computed_one(panel: SeparationPanel) -> None:
    base = time_until(panel.choices.product(panel.bench).ways[0])
    computed = panel.choices.product(panel.bench).viscosities["water"].value
    panel.choices.water_viscosity.value = "11,4"
    assert time_until(panel.choices.product(panel.bench).ways[0]) == pytest.approx(base * 11.4 / computed)
    assert panel.choices.product(panel.bench).viscosities["water"].words == "as you typed it"


@pytest.mark.parametrize("typed", ["thick", "-3"])
def test_a_viscosity_that_cannot_be_used_is_said_and_stays_and_the_picture_too(
    panel: SeparationPanel, typed: str
) -> None:
    panel.choices.water_viscosity.value = typed
    assert "Viscosity of the water layer:" in panel.findings.value
    assert "Until then 1.14 mPa·s is used" in panel.findings.value
    assert panel.choices.water_viscosity.value == typed
    assert "<svg" in panel.drawing.value


def test_computed_viscosities_stand_in_the_empty_boxes(panel: SeparationPanel) -> None:
    assert panel.choices.water_viscosity.placeholder == "1.14, computed"
    assert panel.choices.oil_viscosity.placeholder.endswith(", computed")


def test_a_clean_surface_is_faster_and_cautioned(panel: SeparationPanel) -> None:
    before = time_until(panel.choices.product(panel.bench).ways[0])
    panel.choices.clean.value = True
    assert time_until(panel.choices.product(panel.bench).ways[0]) < before
    assert "with any surfactant at all, untick it" in panel.findings.value


def test_thicker_and_saltier_are_compared(panel: SeparationPanel) -> None:
    panel.thicker.value, panel.salt.value = 10, 4
    assert "water layer 10 times as thick" in panel.changes.value
    assert "+900 %" in panel.changes.value
    assert "4 % more salt in the water layer" in panel.changes.value


def test_missing_figures_are_said_and_still_drawn() -> None:
    panel = SeparationPanel(Bench(two_layers(20, oil_name="My oil (invented)")))
    assert "100 % of the oil layer has no density in the library" in panel.findings.value
    assert "Nothing in the oil layer has a viscosity in the table: 30 mPa·s is assumed" in panel.findings.value
    assert "<svg" in panel.drawing.value


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        (Formula("One", (Phase("Water layer", "water", (Line("Aqua", "100"),)),)), "this formula has water."),
        (Formula("None", ()), "this formula has none."),
        (two_layers(30, oil_name="Aqua"), "nothing rises or sinks, so they do not part"),
    ],
)
def test_what_cannot_part_is_said_and_nothing_is_drawn(formula: Formula, words: str) -> None:
    panel = SeparationPanel(Bench(demo()))
    panel.bench.change(formula)
    assert words in panel.answer.value
    assert panel.drawing.value == panel.findings.value == panel.changes.value == ""
    assert panel.pictures.layout.display == "none"
    panel.bench.change(demo())
    assert "<svg" in panel.drawing.value
    assert panel.pictures.layout.display == ""


ROWS = [("0,5", "2,5"), ("1", "5"), ("2", "11"), ("3", "15"), ("5", "26"), ("8", "39")]


def test_timed_rows_are_fitted_shown_and_used(panel: SeparationPanel) -> None:
    panel.timings.fill(ROWS)
    panel.timings.find.click()
    fit = panel.timings.fit
    assert fit is not None
    assert fit.sentence() in panel.timings.message.value.replace("&#x27;", "'")
    assert panel.timings.residuals.value.count("<tr>") == 7
    assert present(panel.figure).data[-1].name == "as you timed it"
    panel.timings.take.click()
    assert panel.choices.median.value == pytest.approx(fit.median, abs=0.05)
    way = panel.choices.product(panel.bench).ways[0]
    assert clearing(way, [480]).lower[0] == pytest.approx(39, abs=2)


def test_what_was_typed_stays_through_everything(panel: SeparationPanel) -> None:
    panel.timings.fill([*ROWS, ("nine", "40")])
    typed = [(a.value, b.value) for a, b in panel.timings.rows]
    panel.timings.find.click()
    assert "Row 7: &#x27;nine&#x27; is not a number" in panel.timings.message.value
    assert panel.timings.take.disabled
    panel.bench.move_oil(20)
    panel.bench.change(Formula("None", ()))
    panel.timings.rows[6][0].value = "9"
    panel.timings.find.click()
    assert "this formula has none" in panel.timings.message.value
    panel.timings.more.click()
    assert [(a.value, b.value) for a, b in panel.timings.rows] == [*typed[:6], ("9", "40"), ("", "")]


def test_a_fit_that_fails_takes_its_points_away(panel: SeparationPanel) -> None:
    panel.timings.fill(ROWS)
    panel.timings.find.click()
    panel.timings.rows[5][1].value = "3"
    panel.timings.find.click()
    assert "contradict one another: 26 mm at 5 min, then only 3 mm at 8 min" in panel.timings.message.value
    assert panel.timings.residuals.value == ""
    assert present(panel.figure).data[-1].name != "as you timed it"


def test_a_fit_for_another_product_is_said_to_be_old(panel: SeparationPanel) -> None:
    panel.timings.fill(ROWS)
    panel.timings.find.click()
    panel.timings.take.click()
    assert "Effective drop size" in panel.timings.message.value  # the size alone makes no other product
    panel.bench.move_oil(20)
    assert "fit again" in panel.timings.message.value
    assert panel.timings.fit is None
    assert present(panel.figure).data[-1].name != "as you timed it"
    assert panel.timings.residuals.value == ""
    assert panel.timings.take.disabled
    panel.timings.find.click()
    assert "Effective drop size" in panel.timings.message.value


def test_a_fit_needs_one_way() -> None:
    panel = SeparationPanel(Bench(two_layers(45)))
    panel.timings.fill(ROWS)
    panel.timings.find.click()
    assert "Choose one of them under &#x27;Drops of&#x27;, then fit" in panel.timings.message.value


def test_a_title_with_signs_in_it_is_no_trouble() -> None:
    formula = replace(two_layers(20), title="<b>Mine</b>")
    assert "<b>Mine" not in SeparationPanel(Bench(formula)).answer.value


def test_another_time_moves_only_the_mark_and_the_drops() -> None:
    panel = SeparationPanel(Bench())
    lines, bottle = [list(trace.y) for trace in present(panel.figure).data], panel.drawing.value
    panel.at.value = panel.at.max / 2
    assert present(panel.figure).layout.shapes[0].x0 == pytest.approx(panel.at.value)
    assert [list(trace.y) for trace in present(panel.figure).data] == lines
    assert panel.drawing.value != bottle


def test_a_timed_ball_gives_the_viscosity_of_a_layer_and_is_used_only_when_asked() -> None:
    bench = Bench(demo())
    panel = SeparationPanel(bench)
    form = panel.ball
    form.kind.value = "oil"
    for box, text in ((form.diameter, "1,5"), (form.density, "7.8"), (form.distance, "100"), (form.seconds, "0,9")):
        box.value = text
    form.find.click()
    assert "mPa·s at a Reynolds number of" in words(form.message)
    oil = next(layer for layer in bench.product.layers if layer.kind == "oil")
    assert form.found == viscosity_from_ball(1.5, 7.8, oil.density, 100, 0.9)
    assert panel.choices.oil_viscosity.value == ""
    form.take.click()
    assert panel.choices.oil_viscosity.value == f"{form.found.value:.4g}"
    form.seconds.value = "soon"
    assert form.found is None
    assert (form.take.disabled, form.message.value) == (True, "")
    form.find.click()
    assert "Time, s: 'soon' is not a number" in words(form.message)
    assert panel.choices.oil_viscosity.value != ""


def test_a_ball_needs_a_layer_to_fall_through() -> None:
    panel = SeparationPanel(Bench(one_phase(("Aqua", "q.s."), ("Glycerin", "5"))))
    panel.ball.kind.value = "oil"
    panel.ball.find.click()
    assert "This formula has no oil layer for a ball to fall through." in words(panel.ball.message)
