"""The sheet of actual weights: what is typed stays, and what follows stands beside it."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

import kit
from kit.formula.editing import remove_line
from kit.formula.model import Formula, Line, Phase
from kit.widgets.actual_weights_panel import ActualWeightsPanel, read_mass
from kit.widgets.bench import Bench
from tests.pace import on_this_machine
from tests.widgets.hands import html_of, said


@pytest.fixture
def panel() -> ActualWeightsPanel:
    return ActualWeightsPanel(Bench(kit.demo()))


def fill(panel: ActualWeightsPanel) -> None:
    for n, weighing in enumerate(panel.bench.product.batch.weighings):
        weighed(panel, n, f"{weighing.grams:.2f}".replace(".", ","))


def weighed(panel: ActualWeightsPanel, row: int, text: str) -> None:
    """Type into one row."""
    panel.rows.type(panel.rows.keys_on_show[row], text)


def entry(panel: ActualWeightsPanel, row: int) -> str:
    return str(panel.rows.texts.get(panel.rows.keys_on_show[row], ""))


def labels(panel: ActualWeightsPanel) -> list[str]:
    return [row["label"] for group in panel.rows.view["groups"] for row in group["rows"]]


def beside(panel: ActualWeightsPanel, row: int) -> str:
    """What stands beside one row, findings with their severity in front."""
    said = panel.rows.said[panel.rows.keys_on_show[row]]
    return " ".join([said["words"], *(f"{f['severity']}: {f['sentence']}" for f in said["findings"])])


def test_one_row_for_each_line_with_its_target(panel: ActualWeightsPanel) -> None:
    assert len(labels(panel)) == 11
    assert labels(panel)[0] == "Aqua: 186.00\N{NO-BREAK SPACE}g"
    assert labels(panel)[-1] == "Parfum: 0.25\N{NO-BREAK SPACE}g"
    assert "11 still to weigh" in panel.total.value
    assert "Nothing has been typed yet." in panel.advice.value


def test_a_slip_shows_beside_its_line_and_in_the_correction(panel: ActualWeightsPanel) -> None:
    fill(panel)
    assert "Every line is within 1 %" in panel.advice.value
    weighed(panel, 1, "11,0")
    told = beside(panel, 1)
    assert "4.38 %" in told
    assert "(4.00 % on paper) · +1 g · +9.6 % of it" in told
    assert "Glycerin is really 4.382 %, 9.56 % above its 4 %; you allow 1 %." in told
    assert "exactly back takes 24 g (275 g)" in panel.advice.value
    assert "18.60" in panel.advice.value  # Aqua: 186 g of a batch of 275 g are 204.6 g
    assert "Nothing can be taken out" in panel.advice.value
    panel.form.type(tolerance="10")
    assert panel.bench.tolerance == 10
    assert "Every line is within 10 %" in panel.advice.value


def test_a_broken_limit_stands_beside_the_line_that_broke_it(panel: ActualWeightsPanel) -> None:
    weighed(panel, 4, "1.8")
    told = beside(panel, 4)
    assert "stop: " in told
    assert "the limit in leave-on products is 0.5 %" in told
    assert "stop" not in beside(panel, 0)


@pytest.mark.parametrize(
    ("typed", "words"), [("12 x", "unit"), ("ten", "does not start with a number"), ("-3", "below zero")]
)
def test_what_cannot_be_read_stays_and_is_told(panel: ActualWeightsPanel, typed: str, words: str) -> None:
    weighed(panel, 1, typed)
    assert entry(panel, 1) == typed
    assert words in beside(panel, 1)
    assert "take" in panel.keep.disabled
    assert "11 still to weigh" in panel.total.value
    weighed(panel, 1, "10")
    assert "take" not in panel.keep.disabled


def test_masses_as_people_type_them() -> None:
    assert [read_mass(text, "Aqua") for text in ("12,5", " 12.5 g", "0,0125 kg", "1 250", "0")] == [
        12.5,
        12.5,
        12.5,
        1250,
        0,
    ]


def test_nothing_typed_is_ever_lost(panel: ActualWeightsPanel) -> None:
    bench = panel.bench
    weighed(panel, 0, "186,4")
    weighed(panel, 1, "10,1 x")
    weighed(panel, 8, "12.6")
    bench.order = replace(bench.order, grams=500.0)
    assert labels(panel)[0] == "Aqua: 372.00\N{NO-BREAK SPACE}g"
    without = remove_line(bench.formula, 0, 1)
    bench.change(without)  # Glycerin leaves, all lines below move up
    assert [entry(panel, n) for n in range(2)] == ["186,4", ""]
    assert entry(panel, 7) == "12.6"
    bench.undo()
    assert [entry(panel, n) for n in range(2)] == ["186,4", "10,1 x"]
    assert entry(panel, 8) == "12.6"


def test_a_formula_that_cannot_be_weighed_keeps_what_was_typed(panel: ActualWeightsPanel) -> None:
    weighed(panel, 0, "186,4")
    whole = panel.bench.formula
    panel.bench.change(Formula("Half", (Phase("Water layer", "water", (Line("Aqua", "50"),)),)))
    assert "cannot be weighed yet: it adds to 50 %" in panel.total.value
    assert "take" in panel.keep.disabled
    panel.keep.press("take")
    panel.bench.change(whole)
    assert entry(panel, 0) == "186,4"
    assert "take" not in panel.keep.disabled


def test_the_real_percents_become_a_version(panel: ActualWeightsPanel) -> None:
    panel.keep.press("take")
    assert "Weigh the rest first: Aqua, Glycerin" in said(panel.keep)
    fill(panel)
    weighed(panel, 1, "11")
    panel.keep.type(note="Glycerin slipped <b>")
    panel.keep.press("take")
    formula = panel.bench.formula
    assert "Version 4 holds the percents that really went in" in said(panel.keep)
    kept = panel.bench.kept[-1]
    assert (kept.version, kept.change_note) == (4, "Glycerin slipped <b>")
    assert formula.is_complete
    assert formula.percents[0][1] == pytest.approx(100 * 11 / 251, abs=0.001)
    assert entry(panel, 1) == "11"
    panel.bench.undo()
    panel.bench.undo()
    assert panel.bench.formula.percents[0][1] == 4


def test_a_new_sheet_is_empty_and_the_formula_as_it_was(panel: ActualWeightsPanel) -> None:
    fill(panel)
    before = panel.bench.formula
    panel.keep.press("clear")
    assert {entry(panel, n) for n in range(11)} == {""}
    assert panel.bench.formula is before
    assert "The sheet is empty again" in said(panel.keep)


def test_a_name_is_text_and_not_html() -> None:
    lines = (Line("Aqua", "q.s."), Line("<script>x</script>", "5"))
    panel = ActualWeightsPanel(Bench(Formula("Odd", (Phase("W", "water", lines),))))
    weighed(panel, 0, "<img src=x>")
    weighed(panel, 1, "10")
    shown = panel.advice.value + panel.findings.value + html_of(panel)
    assert "<script>" not in shown
    assert "<img" not in shown
    assert "&lt;script&gt;" in shown
    assert "<img src=x>" in beside(panel, 0)  # as text, not as HTML


def test_twenty_lines_are_shown_at_once() -> None:
    names = [name for name, _ in Bench(kit.demo()).library.names() if name != "Aqua"][:19]
    lines = (Line("Aqua", "q.s.", "fill"), *(Line(name, "1") for name in names))
    panel = ActualWeightsPanel(Bench(Formula("Long", (Phase("Water", "water", lines),))))
    fill(panel)
    times = []
    for step in range(9):
        started = time.perf_counter()
        weighed(panel, 3, f"{2.6 + step / 100:.2f}")
        times.append(time.perf_counter() - started)
    assert sorted(times)[4] < on_this_machine(0.015)
