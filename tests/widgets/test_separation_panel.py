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
from tests.widgets.hands import one_phase, said


@pytest.fixture
def panel() -> SeparationPanel:
    return SeparationPanel(Bench(demo()))


def most(panel: SeparationPanel) -> float:
    """The end of the slider of the time."""
    return present(panel.at.inputs["at"].slide)[1]


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
    assert [trace.name for trace in present(panel.picture.figure).data][1] == "still mixed"
    assert "oil is the drops" in panel.findings.value
    assert "merge are not modelled" in panel.children[-2].value


def test_a_larger_drop_clears_sooner_everywhere_at_once(panel: SeparationPanel) -> None:
    before, range_before = panel.answer.value, present(panel.picture.figure).layout.xaxis.range[1]
    panel.choices.type(median="200")
    assert panel.answer.value != before
    assert present(panel.picture.figure).layout.xaxis.range[1] < range_before * 4  # seconds now
    assert panel.at.inputs["at"].unit == "min"
    assert "Reynolds number of the middle oil drop: 0.49" in panel.findings.value


def test_the_slider_moves_the_bottle_and_the_mark(panel: SeparationPanel) -> None:
    drawn = panel.drawing.value
    panel.at.type(at=repr(most(panel) / 2))
    assert panel.drawing.value != drawn
    assert present(panel.picture.figure).layout.shapes[0].x0 == pytest.approx(panel.at["at"])


def test_the_slider_keeps_its_part_of_the_time_when_the_time_changes(panel: SeparationPanel) -> None:
    panel.at.type(at=repr(most(panel) / 2))
    for median in ("30", "400", "100"):
        panel.choices.type(median=median)
        assert panel.at["at"] / most(panel) == pytest.approx(0.5, rel=1e-6)


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
    assert len({trace.xaxis for trace in present(panel.picture.figure).data}) == 2
    assert "Reynolds number of the middle water drop" in panel.findings.value
    assert "with oil as the drops" in panel.changes.value
    panel.choices.type(drops="water")
    assert panel.drawing.value.count("<svg") == 1
    assert "You chose water as the drops." in panel.findings.value
    assert "Both are shown" not in panel.findings.value


def test_a_typed_viscosity_takes_the_place_of_the_computed_one(panel: SeparationPanel) -> None:
    base = time_until(panel.choices.product(panel.bench).ways[0])
    computed = panel.choices.product(panel.bench).viscosities["water"].value
    panel.choices.type(water="11,4")
    assert time_until(panel.choices.product(panel.bench).ways[0]) == pytest.approx(base * 11.4 / computed)
    assert panel.choices.product(panel.bench).viscosities["water"].words == "as you typed it"


@pytest.mark.parametrize("typed", ["thick", "-3"])
def test_a_viscosity_that_cannot_be_used_is_said_and_stays_and_the_picture_too(
    panel: SeparationPanel, typed: str
) -> None:
    panel.choices.type(water=typed)
    assert "is not" in panel.choices.faults["water"]
    assert panel.choices.product(panel.bench).viscosities["water"].value == pytest.approx(1.14, abs=0.005)
    assert panel.choices.texts["water"] == typed
    assert "<svg" in panel.drawing.value


def test_computed_viscosities_stand_in_the_empty_boxes(panel: SeparationPanel) -> None:
    assert panel.choices.inputs["water"].example == "1.14, computed"
    assert panel.choices.inputs["oil"].example.endswith(", computed")


def test_a_clean_surface_is_faster_and_cautioned(panel: SeparationPanel) -> None:
    before = time_until(panel.choices.product(panel.bench).ways[0])
    panel.choices.type(clean="yes")
    assert time_until(panel.choices.product(panel.bench).ways[0]) < before
    assert "with any surfactant at all, untick it" in panel.findings.value


def test_thicker_and_saltier_are_compared(panel: SeparationPanel) -> None:
    panel.change.type(thicker="10", salt="4")
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
        (
            Formula("One", (Phase("Water layer", "water", (Line("Aqua", "100"),)),)),
            "this formula has only one, Water layer.",
        ),
        (Formula("None", ()), "this formula has no layer yet."),
        (two_layers(30, oil_name="Aqua"), "nothing rises or sinks, so they do not part"),
    ],
)
def test_what_cannot_part_is_said_and_nothing_is_drawn(formula: Formula, words: str) -> None:
    panel = SeparationPanel(Bench(demo()))
    panel.bench.change(formula)
    assert words in panel.answer.value
    assert panel.drawing.value == panel.findings.value == panel.changes.value == ""
    assert panel.picture.layout.display == "none"
    panel.bench.change(demo())
    assert "<svg" in panel.drawing.value
    assert panel.picture.layout.display == ""


ROWS = "0,5 2,5\n1 5\n2 11\n3 15\n5 26\n8 39"


def test_timed_rows_are_fitted_shown_and_used(panel: SeparationPanel) -> None:
    panel.timings.type(readings=ROWS)
    panel.timings.press("find")
    fit = panel.timings.fit
    assert fit is not None
    assert fit.sentence() == said(panel.timings)
    assert panel.timings.residuals.value.count("<tr>") == 7
    assert present(panel.picture.figure).data[-1].name == "as you timed it"
    panel.timings.press("take")
    assert panel.choices["median"] == pytest.approx(fit.median, abs=0.05)
    way = panel.choices.product(panel.bench).ways[0]
    assert clearing(way, [480]).lower[0] == pytest.approx(39, abs=2)


def test_what_was_typed_stays_through_everything(panel: SeparationPanel) -> None:
    panel.timings.type(readings=f"{ROWS}\nnine 40")
    panel.timings.press("find")
    assert "Row 7: 'nine' is not a number" in said(panel.timings)
    assert "take" in panel.timings.disabled
    panel.bench.move_oil(20)
    panel.bench.change(Formula("None", ()))
    assert panel.timings.texts["readings"] == f"{ROWS}\nnine 40"
    panel.timings.type(readings=f"{ROWS}\n9 40")
    panel.timings.press("find")
    assert "this formula has no layer yet" in said(panel.timings)
    assert panel.timings.texts["readings"] == f"{ROWS}\n9 40"


def test_a_fit_that_fails_takes_its_points_away(panel: SeparationPanel) -> None:
    panel.timings.type(readings=ROWS)
    panel.timings.press("find")
    panel.timings.type(readings=ROWS.replace("39", "3"))
    panel.timings.press("find")
    assert "contradict one another: 26 mm at 5 min, then only 3 mm at 8 min" in said(panel.timings)
    assert panel.timings.residuals.value == ""
    assert present(panel.picture.figure).data[-1].name != "as you timed it"


def test_a_fit_for_another_product_is_said_to_be_old(panel: SeparationPanel) -> None:
    panel.timings.type(readings=ROWS)
    panel.timings.press("find")
    panel.timings.press("take")
    assert "Effective drop size" in said(panel.timings)  # the size alone makes no other product
    panel.bench.move_oil(20)
    assert "fit again" in said(panel.timings)
    assert panel.timings.fit is None
    assert present(panel.picture.figure).data[-1].name != "as you timed it"
    assert panel.timings.residuals.value == ""
    assert "take" in panel.timings.disabled
    panel.timings.press("find")
    assert "Effective drop size" in said(panel.timings)


def test_a_fit_needs_one_way() -> None:
    panel = SeparationPanel(Bench(two_layers(45)))
    panel.timings.type(readings=ROWS)
    panel.timings.press("find")
    assert "Choose one of them under 'Drops of', then fit" in said(panel.timings)


def test_a_title_with_signs_in_it_is_no_trouble() -> None:
    formula = replace(two_layers(20), title="<b>Mine</b>")
    assert "<b>Mine" not in SeparationPanel(Bench(formula)).answer.value


def test_another_time_moves_only_the_mark_and_the_drops() -> None:
    panel = SeparationPanel(Bench())
    lines, bottle = [list(trace.y) for trace in present(panel.picture.figure).data], panel.drawing.value
    panel.at.type(at=repr(most(panel) / 2))
    assert present(panel.picture.figure).layout.shapes[0].x0 == pytest.approx(panel.at["at"])
    assert [list(trace.y) for trace in present(panel.picture.figure).data] == lines
    assert panel.drawing.value != bottle


def test_a_timed_ball_gives_the_viscosity_of_a_layer_and_is_used_only_when_asked() -> None:
    bench = Bench(demo())
    panel = SeparationPanel(bench)
    form = panel.ball
    form.type(kind="oil")
    form.type(diameter="1,5", density="7.8", distance="100", seconds="0,9")
    form.press("find")
    assert "mPa·s at a Reynolds number of" in said(form)
    oil = next(layer for layer in bench.product.layers if layer.kind == "oil")
    assert form.found == viscosity_from_ball(1.5, 7.8, oil.density, 100, 0.9)
    assert panel.choices.texts["oil"] == ""
    form.press("take")
    assert panel.choices.texts["oil"] == f"{form.found.value:.4g}"
    form.type(seconds="1")
    assert form.found is None
    assert ("take" in form.disabled, said(form)) == (True, "")
    form.type(seconds="soon")
    form.press("find")
    assert "Time: 'soon' is not a number" in said(form)
    assert panel.choices.texts["oil"] != ""


def test_a_ball_needs_a_layer_to_fall_through() -> None:
    panel = SeparationPanel(Bench(one_phase(("Aqua", "q.s."), ("Glycerin", "5"))))
    panel.ball.type(kind="oil", diameter="1,5", density="7.8", distance="100", seconds="0,9")
    panel.ball.press("find")
    assert "This formula has no oil layer for a ball to fall through." in said(panel.ball)
