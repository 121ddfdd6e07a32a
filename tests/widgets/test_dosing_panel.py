"""The dosing panel without a browser: three users, one label, and sentences for what cannot be."""

from __future__ import annotations

import pytest

from kit.demos import demo
from kit.formula.model import Formula, Line, Phase
from kit.layers.pump_count import Strokes, count_doses
from kit.rounding import all_digits
from kit.widgets.bench import Bench
from kit.widgets.dosing_panel import BOTTLES, DosingPanel
from kit.widgets.separation_panel import SeparationPanel
from tests.present import present
from tests.widgets.hands import words


@pytest.fixture
def panel() -> DosingPanel:
    return DosingPanel(Bench(demo()))


def test_three_users_stand_side_by_side_with_the_label(panel: DosingPanel) -> None:
    assert [run.user.name for run in panel.runs] == [
        "shakes well, doses at once",
        "shakes little, dawdles",
        "never shakes",
    ]
    assert panel.runs[0].label == pytest.approx(15.0)
    assert panel.runs[0].oil.shape[1] == BOTTLES
    assert "the label says 15.0 % oil layer w/w" in panel.answer.value
    assert present(panel.picture.figure).data[-1].name == "the label says 15.0 %"
    assert "lands as a jet" in panel.children[-2].value
    assert "common practice" in panel.children[-2].value


def test_first_last_and_what_is_left_are_in_the_table(panel: DosingPanel) -> None:
    never = panel.runs[2]
    assert "0.0 (-15.0)" in panel.answer.value
    assert "100.0 (+85.0)" in panel.answer.value
    assert f">{float(never.water_left.mean()):.1f}<" in panel.answer.value


def test_every_control_changes_the_runs(panel: DosingPanel) -> None:
    good, pump = panel.users[0], panel.pump
    changes = [(pump, "tip", "10"), (pump, "dose", "2"), (good, "delay", "30"), (good, "delay_spread", "3")]
    changes += [(good, "coarser", "2"), (panel.choices, "median", "150")]
    for form, name, text in changes:
        before = panel.answer.value
        form.type(**{name: text})
        assert panel.answer.value != before, name
    before = panel.runs[0].label
    panel.bench.move_oil(20)
    assert panel.runs[0].label == pytest.approx(20.0) != before


def test_the_separation_panel_lends_its_choices() -> None:
    bench = Bench(demo())
    separation = SeparationPanel(bench)
    panel = DosingPanel(bench, separation)
    assert panel.choices is separation.choices
    assert panel.choices not in panel.children
    before = panel.answer.value
    separation.choices.type(median="200")
    assert panel.answer.value != before


@pytest.mark.parametrize(
    ("tip", "dose", "words"),
    [
        (200.0, 1.0, "The tip of the tube at 200 mm is"),
        (70.0, 1.0, "is above the product, which stands at "),
        (3.0, 99.0, "One dose of 99 mL is more than the 9"),
        (3.0, 0.01, "doses in one bottle are too many to follow"),
    ],
)
def test_a_tube_or_dose_that_cannot_be_is_said_beside_the_drawn_bottle(
    panel: DosingPanel, tip: float, dose: float, words: str
) -> None:
    panel.pump.type(tip=f"{tip:g}", dose=f"{dose:g}")
    assert words in panel.answer.value
    assert panel.runs == []
    assert panel.picture.layout.display == "none"
    assert "<svg" in panel.drawing.value
    panel.pump.type(tip="3", dose="1")
    assert len(panel.runs) == 3
    assert panel.picture.layout.display == ""


def test_one_layer_is_said_and_typed_numbers_stay(panel: DosingPanel) -> None:
    panel.pump.type(tip="7")
    panel.bench.change(Formula("One", (Phase("Water layer", "water", (Line("Aqua", "100"),)),)))
    assert "this formula has only one, Water layer." in panel.answer.value
    assert panel.drawing.value == panel.findings.value == ""
    assert panel.pump.texts["tip"] == "7"


def test_a_delay_below_zero_cannot_be_typed(panel: DosingPanel) -> None:
    panel.users[0].type(delay="-5")
    assert "-5 is not possible here: it must not be below 0" in panel.users[0].faults["delay"]
    assert panel.runs[0].user.delay == 2.0


def test_the_user_who_never_shakes_has_nothing_to_set(panel: DosingPanel) -> None:
    never = panel.users[2]
    assert "the layers stand as they are" in never.title.value
    assert never.inputs == {}
    assert not never.now.shakes


def test_where_either_may_be_the_drops_one_is_named() -> None:
    formula = Formula(
        "Half",
        (Phase("Water", "water", (Line("Aqua", "55"),)), Phase("Oil", "oil", (Line("Squalane", "45"),))),
    )
    panel = DosingPanel(Bench(formula))
    assert "Either liquid may be the drops; here it is oil. Choose the other and compare." in panel.findings.value
    panel.choices.type(drops="water")
    assert "here it is oil" not in panel.findings.value


def test_drifting_far_is_cautioned(panel: DosingPanel) -> None:
    panel.users[1].type(delay="300")
    assert "what is left drifts until" in panel.findings.value


def test_what_is_said_of_the_pump_gives_the_count_its_spread(bench: Bench) -> None:
    panel = DosingPanel(bench)
    assert "to prime the pump" not in words(panel.answer)
    panel.pump.type(tolerance="10", scatter="3", dead="1.2")
    pump = Strokes(panel.pump["dose"], 10, 3, 1.2)
    found = count_doses(
        f"{all_digits(bench.fill)} mL", pump, unreached=f"{all_digits(bench.bottle.volume(panel.pump['tip']))} mL"
    )
    assert f"One dose is 1 ± 0.13 mL. {found.sentence}" in words(panel.answer)
    assert found.least < found.usual < found.most
    panel.pump.type(dead="99")
    assert "can be drawn: less than one dose" in words(panel.answer)
