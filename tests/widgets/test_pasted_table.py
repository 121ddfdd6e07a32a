"""A table that is pasted over lines: asked once, nothing changes before, and undo brings all back."""

from __future__ import annotations

from typing import Any

import pytest

from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench
from kit.widgets.formula_panel import FormulaPanel
from tests.widgets.hands import HOSTILE, names, two_layers

TABLE = "Phase\tINCI\t%\tFunction\nWater phase\tAqua\t80\tsolvent\nOil phase\tSqualane\t20\temollient\n\tTotal\t100\t"


@pytest.fixture
def panel(bench: Bench) -> FormulaPanel:
    return FormulaPanel(bench)


def paste(panel: FormulaPanel, text: str, **where: Any) -> None:
    """What the browser sends when a hand pastes."""
    content = {"kind": "paste", "phase": 0, "line": 0, "field": "material", "text": text, **where}
    panel.table._handle_custom_msg(content, [])


def test_nothing_changes_before_a_button_is_pressed(panel: FormulaPanel) -> None:
    before = panel.bench.formula
    paste(panel, TABLE)
    assert panel.bench.formula is before
    assert panel.pasted.is_asking
    assert "2 rows were pasted, and 5 lines are here already" in panel.pasted.question.value
    assert [panel.pasted.form.actions[name].words for name in ("replace", "add")] == [
        "Replace all lines",
        "Add as new layers",
    ]
    assert panel.pasted.form.hidden == []


def test_replacing_takes_all_lines_away_and_undo_brings_them_back(panel: FormulaPanel) -> None:
    before = panel.bench.formula
    paste(panel, TABLE)
    panel.pasted.form.press("replace")
    phases = panel.bench.formula.phases
    assert [(phase.name, phase.kind) for phase in phases] == [("Water phase", "water"), ("Oil phase", "oil")]
    assert names(panel.bench.formula) == [["Aqua"], ["Squalane"]]
    assert phases[0].lines[0].more == (("Function", "solvent"),)
    assert panel.bench.formula.title == before.title
    assert "Total 100, is the total and was not taken as a line" in panel.told.value
    assert not panel.pasted.is_asking
    assert panel.pasted.form.hidden == ["replace", "add"]
    panel.bench.undo()
    assert panel.bench.formula.phases == before.phases


def test_adding_puts_new_layers_behind_under_names_that_are_free(panel: FormulaPanel) -> None:
    paste(panel, TABLE.replace("Oil phase", "Oil layer"))
    panel.pasted.form.press("add")
    assert [phase.name for phase in panel.bench.formula.phases] == [
        "Water layer", "Oil layer", "Water phase", "Oil layer (2)",
    ]  # fmt: skip
    panel.bench.undo()
    assert panel.bench.formula.phases == two_layers().phases


def test_rows_without_phases_can_still_be_put_in_where_they_were_pasted(panel: FormulaPanel) -> None:
    paste(panel, "Panthenol\t1\nAllantoin\t0,2", line=1)
    assert panel.pasted.form.actions["add"].words == "Add to this layer"
    panel.pasted.form.press("add")
    assert names(panel.bench.formula)[0] == ["Aqua", "Glycerin", "Panthenol", "Allantoin", "Sodium Benzoate"]


def test_a_question_goes_when_another_paste_needs_none(panel: FormulaPanel) -> None:
    paste(panel, TABLE)
    paste(panel, "80\n5\n1", field="amount")
    assert not panel.pasted.is_asking
    assert [line.entry for line in panel.bench.formula.phases[0].lines] == ["80", "5", "1"]
    panel.pasted.form.press("replace")
    assert [line.entry for line in panel.bench.formula.phases[0].lines] == ["80", "5", "1"]


@pytest.mark.parametrize("line", [(), (Line(),)])
def test_into_an_empty_formula_a_table_comes_as_it_is(line: tuple[Line, ...]) -> None:
    panel = FormulaPanel(Bench(Formula("T", (Phase("Water layer", "water", line),))))
    paste(panel, TABLE)
    assert not panel.pasted.is_asking
    assert [phase.name for phase in panel.bench.formula.phases] == ["Water phase", "Oil phase"]


def test_a_table_pasted_while_the_ratio_is_moved_replaces_it_too(panel: FormulaPanel) -> None:
    panel.bench.move_oil(30)
    paste(panel, TABLE)
    panel.pasted.form.press("replace")
    assert panel.bench.formula.ratio is None
    assert panel.bench.formula.percents == ((80,), (20,))
    panel.bench.undo()
    assert panel.bench.formula.ratio is not None


def test_grams_beside_what_fills_take_the_batch_from_the_total(panel: FormulaPanel) -> None:
    paste(panel, "INCI\tAmount (g)\nAqua\tq.s.\nGlycerin\t10\nTotal\t200")
    panel.pasted.form.press("replace")
    assert panel.bench.formula.written_for == 200
    assert panel.bench.formula.percents == ((95, 5),)


def test_text_that_a_browser_would_run_is_only_shown(panel: FormulaPanel) -> None:
    paste(panel, f"{HOSTILE}\t90\nGlycerin\t10")
    assert HOSTILE not in panel.pasted.question.value
