"""The making: steps are added, moved, edited and deleted by hand, and everything can be undone."""

from __future__ import annotations

import pytest

from kit.formula.steps import MakingStep
from kit.product.beginning import starting_point
from kit.widgets.bench import Bench
from kit.widgets.making_panel import NEW, MakingPanel
from tests.widgets.hands import HOSTILE, said


@pytest.fixture
def panel() -> MakingPanel:
    return MakingPanel(Bench(starting_point("toner")))


def choose(panel: MakingPanel, number: int) -> None:
    panel.form.type(step=panel.form.inputs["step"].reader.write(number))


def test_a_step_is_added_at_the_end_with_all_that_belongs_to_it(panel: MakingPanel) -> None:
    count = len(panel.bench.formula.steps)
    choose(panel, NEW)
    panel.form.type(do="Cool it", phase="Water", celsius="30", caution="Slowly", who="Ana")
    panel.form.press("add")
    assert panel.bench.formula.steps[count:] == (MakingStep("Cool it", "Water", 30.0, "Slowly", "Ana"),)
    assert "Water, 30 °C: Cool it (caution: Slowly; by Ana)" in panel.steps.value
    assert (panel.form["step"], panel.form.texts["do"]) == (NEW, "")
    panel.bench.undo()
    assert len(panel.bench.formula.steps) == count


def test_a_step_is_edited_where_it_stands(panel: MakingPanel) -> None:
    first = panel.bench.formula.steps[0]
    choose(panel, 0)
    assert panel.form["do"] == first
    panel.form.type(celsius="40")
    assert panel.bench.formula.steps[0] == MakingStep(str(first), celsius=40.0)
    panel.form.type(celsius="")
    assert panel.bench.formula.steps[0] == first
    panel.form.type(celsius="900")
    assert "celsius" in panel.form.faults
    assert panel.bench.formula.steps[0] == first


def test_steps_are_moved_and_deleted(panel: MakingPanel) -> None:
    one, two, *rest = panel.bench.formula.steps
    choose(panel, 0)
    assert "up" in panel.form.disabled
    panel.form.press("down")
    assert panel.bench.formula.steps == (two, one, *rest)
    assert (panel.form["step"], panel.form["do"]) == (1, one)
    panel.form.press("up")
    assert panel.bench.formula.steps == (one, two, *rest)
    panel.form.press("delete")
    assert panel.bench.formula.steps == (two, *rest)
    assert panel.form["do"] == two
    for _ in range(len(rest) + 1):
        panel.form.press("delete")
    assert panel.bench.formula.steps == ()
    assert "No step is written yet" in panel.steps.value
    panel.form.press("add")
    assert "What to do" in said(panel.form)


def test_the_note_is_the_formulas(panel: MakingPanel) -> None:
    panel.note.type(note="Try it with less\nglycerin.")
    assert panel.bench.formula.note == "Try it with less\nglycerin."
    panel.bench.undo()
    assert panel.note["note"] == starting_point("toner").note


def test_a_step_that_names_what_is_gone_is_marked_and_hostile_text_is_escaped(panel: MakingPanel) -> None:
    choose(panel, NEW)
    panel.form.type(do=f"Stir in Urea {HOSTILE}")
    panel.form.press("add")
    assert "▲ Stir in Urea" in panel.steps.value
    assert "<img" not in panel.steps.value
