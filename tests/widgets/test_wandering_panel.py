"""The panel of what wanders across the line, without a browser."""

from __future__ import annotations

from kit.in_use.wanderers import read_colours
from kit.widgets.bench import Bench
from kit.widgets.wandering_panel import OTHER, WanderingPanel
from tests.in_use.some_products import layered
from tests.in_use.test_wandering import TYPED

HELD = (
    {"Aqua": "q.s.", "CI 42090": "0.001", "Azelaic Acid": "1", "Phenoxyethanol": "0.8"},
    {"Butyl Acetate": "30", "CI 61565": "0.001"},
)


def panel_of(water: dict[str, str], oil: dict[str, str]) -> WanderingPanel:
    return WanderingPanel(Bench(layered(water, oil)[0]))


def test_it_says_who_may_wander_and_where_the_layers_meet() -> None:
    panel = panel_of(*HELD)
    assert "Dyes: 2; actives: 1." in panel.answer.value
    assert "log D, octanol, uncharged" in panel.table.value
    assert "CI 61565 will bleed cannot be known" in panel.findings.value
    assert "ISO 11930" in panel.meeting.value
    panel.form.type(ph="8")
    assert panel.bench.ph == 8
    assert "log D, octanol, at pH 8" in panel.table.value


def test_typed_colours_become_k_a_course_and_a_caution() -> None:
    panel = panel_of(*HELD)
    panel.form.type(readings=f"{TYPED}\n84; 72.3 -15 -11; 96 -3 0")
    assert panel.form["dye"] == "CI 42090"
    assert "half of the way in" in panel.answer.value
    assert "CI 42090 bleeds: 41 %" in panel.findings.value
    assert panel.days.value.count("<tr>") == 5
    assert "Read in red light" in panel.days.value
    panel.form.type(readings=TYPED)
    assert "do not bound how fast" in panel.answer.value or "half of the way" in panel.answer.value
    panel.form.type(readings="0; 62 -20 -15; 98 0 2\n28; 70 -16 -12; 97 -2 0")
    assert "Four days or more give a course" in panel.answer.value
    panel.form.type(dye=OTHER, home="oil")
    assert "too pale to follow" in panel.form.faults["readings"]
    panel.form.type(readings="0; 62 -20")
    assert "Line 1 is" in panel.form.faults["readings"]
    again = WanderingPanel(panel.bench, read_colours(TYPED))
    assert again.form["readings"].startswith("0; 62 -20 -15; 98 0 2")
    assert "CI 42090 bleeds: 40 %" in again.findings.value
    panel.form.type(readings="")
    assert "readings" not in panel.form.faults


def test_one_layer_an_unfinished_formula_and_hostile_text() -> None:
    plain = panel_of({"Aqua": "q.s.", "CI 42090": "0.001"}, {})
    assert plain.findings.value == plain.meeting.value == ""
    plain.form.type(readings=TYPED)
    assert "not both a water and an oil layer" in plain.form.faults["readings"]
    unfinished = panel_of({"Aqua": "40", "CI 42090": "0.001"}, {"Squalane": "30"})
    assert unfinished.meeting.value == ""
    assert "CI 42090" in unfinished.findings.value
    unfinished.form.type(readings="<script>; 1 2 3; 4 5 6")
    assert "<script>" not in unfinished.answer.value
