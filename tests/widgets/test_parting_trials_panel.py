"""The parting trials panel without a browser: the watch fills the boxes, trials are kept, and each answer follows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.figures.layer_line import layer_line_svg, layer_lines_html
from kit.figures.parting import parting_figure, variants_figure
from kit.formula.model import Formula, Line, Phase
from kit.in_use.line_between import LINE_WORDS
from kit.in_use.parting_fit import PartingLaw, fit_parting
from kit.in_use.parting_trial import Reading, Trial
from kit.label.particulars import Particulars, save_particulars
from kit.library.description import Description
from kit.widgets.bench import Bench
from kit.widgets.parting_trials_panel import PartingTrialsPanel
from kit.widgets.still.drawing import drawn
from tests.present import present
from tests.widgets.hands import HOSTILE

if TYPE_CHECKING:
    from pathlib import Path


def spirit(title: str = "Evening hair shake", silk: str = "0") -> Formula:
    """Alcohol, salt and a light oil; nothing of the demo's."""
    water = (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "12"), Line("Sodium Chloride", "1"),
             Line("Hydrolyzed Silk", silk))  # fmt: skip
    oil = (Line("Isopropyl Palmitate", "16"), Line("Squalane", "4"))
    phases = (Phase("Spirit water", "water", water), Phase("Light oil", "oil", oil))
    return Formula(title, phases, description=Description(layering="two layers"))


@pytest.fixture
def panel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PartingTrialsPanel:
    """A panel with an empty folder."""
    monkeypatch.chdir(tmp_path)
    return PartingTrialsPanel(Bench(spirit()))


def keep(panel: PartingTrialsPanel, variant: str, parted: float | None = None, **typed: object) -> str:
    """Type a trial into the boxes and keep it."""
    panel.entry.form.type(variant=variant, parted="" if parted is None else f"{parted:g}", **typed)
    panel.entry.form.press("keep")
    return str(panel.entry.form.said["sentence"])


def test_the_watch_fills_the_boxes_and_a_trial_is_kept(panel: PartingTrialsPanel) -> None:
    assert "No trial yet" in panel.table.value
    entry = panel.entry
    entry.watch.start()
    for seconds in (10.0, 30.04, 60.0, 90.0):
        entry.watch.mark(seconds)
    assert [row["name"] for group in entry.rows.view["groups"] for row in group["rows"]][:2] == [
        "height at 10 s", "height at 30 s",
    ]  # fmt: skip
    for key, text in (("10.0", "6"), ("30.0", "17,5 mm"), ("60.0", "x")):
        entry.rows.type(key, text)
    assert entry.form["readings"] == (Reading(10, 6), Reading(30, 17.5))
    assert entry.rows.said["60.0"]["findings"][0]["severity"] == "stop"
    entry.form.type(variant="plain", mix="mixed", line="haze", stood="7")
    entry.form.press("keep")
    assert "the height at 60 s cannot be read" in entry.form.said["sentence"]
    entry.rows.type("60.0", "33")
    entry.watch.stop(140.2, "parted")
    assert (entry.form["parted"], entry.form["watched"]) == (140.2, None)
    entry.form.press("keep")
    said = entry.form.said["sentence"]
    assert said.startswith("Trial 1 is kept in evening_hair_shake_trials.csv: plain, parted after 140.2 s.")
    assert said.endswith("1 mark without a height left out.")
    assert entry.watch.marks == []
    assert entry.form.texts["variant"] == "plain"
    assert entry.form["readings"] == ()
    assert ">140.2<" in panel.table.value
    assert "95 % of the clear layer is there after" in panel.fitted.value
    assert "One trial tells nothing of how much the next one differs." in panel.fitted.value
    assert panel.picture.figure is not None
    entry.watch.start()
    entry.watch.stop(600.0, "watched")
    assert (entry.form["parted"], entry.form["watched"]) == (None, 600.0)
    assert "Stopped at 600 s" in drawn(entry.watch)


def test_corrections_keep_what_they_replace(panel: PartingTrialsPanel) -> None:
    keep(panel, "plain", 95)
    panel.mend.press("take")
    assert panel.entry.form["parted"] == 95
    panel.entry.form.type(parted="59")
    panel.mend.press("correct")
    assert "Say why" in panel.mend.said["sentence"]
    panel.mend.type(why="digits turned round")
    panel.mend.press("correct")
    assert panel.mend.said["sentence"].startswith("Row 2 takes the place of trial 1")
    assert [trial.parted for trial in panel.trials] == [59]
    assert "corrects 1: digits turned round" in panel.table.value
    assert "1 corrected or withdrawn, still in the file" in panel.table.value
    panel.mend.type(why="bottle fell")
    panel.mend.press("withdraw")
    assert panel.trials == []
    assert "0 trials that count" in panel.table.value


def test_variants_are_compared_and_the_label_changes_only_by_a_press(panel: PartingTrialsPanel) -> None:
    for variant, times in (("plain", (100, 108, 97)), ("salt 2 %", (52, 49, 55))):
        for time in times:
            keep(panel, variant, time, shakes="8", mix="mixed", stood="14")
    assert "salt 2 % takes about 0.51 times as long to part" in panel.compared.value
    panel.against.type(base="salt 2 %")
    assert "plain takes about 2 times as long to part" in panel.compared.value
    assert panel.times.figure is not None
    panel.look.type(variant="plain")
    assert "<b>Shake 8 times before each use.</b> 3 of 3 trials" in panel.advice.value
    assert panel.bench.particulars == Particulars()
    panel.label.press("label")
    assert panel.bench.particulars.directions == "Shake 8 times before each use."
    text = panel.bench.product.label.text
    assert "Shake 8 times before each use." in text
    assert "Shake well" not in text
    panel.label.press("label")
    assert panel.bench.particulars.directions == "Shake 8 times before each use."
    keep(panel, "plain", 99, shakes="8", mix="streaks", stood="14")
    assert "bear out no number of shakes" in panel.advice.value
    assert "label" in panel.label.disabled


def test_what_was_kept_for_the_label_stays_behind_the_words(panel: PartingTrialsPanel, tmp_path: Path) -> None:
    save_particulars(
        tmp_path / "evening_hair_shake_label.csv", {"directions": "Spray on damp hair.", "storage": "dark"}
    )
    keep(panel, "plain", 90, mix="mixed", stood="1")
    panel.label.press("label")
    said = panel.bench.particulars
    assert (said.directions, said.storage) == ("Shake 10 times before each use. Spray on damp hair.", "dark")


def test_cautions_are_the_products_and_another_product_has_another_book(panel: PartingTrialsPanel) -> None:
    assert panel.cautions.value == ""
    law = PartingLaw(panel.bench.product.standing[0].height, 0.5, 0.5)
    pairs = "\n".join(f"{t} {law.height(t):.1f}" for t in (10, 30, 60, 90, 140))
    keep(panel, "plain", 160, readings=pairs)
    fit = present(panel.fit)
    assert fit.final_known
    panel.bench.change(spirit(silk="0.6"))
    assert "gather on drops of oil" in panel.cautions.value
    panel.bench.move_oil(35.0)
    assert panel.fit is None
    assert "another one since the fit" in panel.fitted.value
    panel.look.type(known="no")
    assert not present(panel.fit).final_known
    panel.bench.change(spirit(title="Another shake"))
    assert "another_shake_trials.csv" in panel.table.value
    assert panel.trials == []


def test_a_book_that_cannot_be_read_is_told_and_nothing_else_breaks(panel: PartingTrialsPanel, tmp_path: Path) -> None:
    (tmp_path / "evening_hair_shake_trials.csv").write_text("number,what,variant\n1,trial,plain\n", encoding="utf-8")
    other = PartingTrialsPanel(panel.bench)
    assert "row 2, column date" in other.table.value
    assert "faults" in keep(other, "plain", 90)
    flat = PartingTrialsPanel(Bench(Formula("One", (Phase("Water", "water", (Line("Aqua", "100"),)),))))
    keep(flat, "plain", 90, readings="10 3\n20 6\n30 9")
    assert "By settling alone, with one drop size: Shaking mixes an oil layer with a water layer" in flat.fitted.value


def test_hostile_names_are_words(panel: PartingTrialsPanel) -> None:
    keep(panel, HOSTILE, 90, note=HOSTILE, mix="mixed")
    keep(panel, "plain", 95)
    shown = "".join(w.value for w in (panel.table, panel.compared, panel.advice, panel.fitted))
    assert "<img" not in shown


def test_plan_and_tension(panel: PartingTrialsPanel) -> None:
    panel.design.press("draw")
    assert "12 trials in an order drawn by number 1" in panel.design.said["sentence"]
    assert "not advice" in panel.plan.value
    assert "salt 3 %" in panel.plan.value
    panel.design.type(salt="0; 200")
    panel.design.press("draw")
    assert "from 0 to 100 %" in panel.design.said["sentence"]
    panel.tensions.type(tension="5", base="40")
    assert "0.29 times as large" in panel.effect.value
    assert "The line is bent within about" in panel.effect.value


def test_pictures_show_what_they_are_given() -> None:
    law = PartingLaw(40.0, 0.5, 0.4)
    readings = tuple(Reading(t, law.height(t)) for t in (10, 30, 60, 100))
    trials = [Trial("plain", readings=readings, parted=150), Trial("plain", readings=readings[:2], watched=600)]
    figure = parting_figure(fit_parting([*readings, *readings[:2]], 40.0, 2), trials)
    assert [trace.name for trace in figure.data][1:3] == ["95 % region of the law", "fitted law"]
    assert [len(trace.x) for trace in figure.data[-2:]] == [4, 2]
    times = variants_figure(trials)
    assert {trace.name for trace in times.data} == {"parted", "not parted yet"}
    assert [10**x for x in times.data[1].x] == pytest.approx([10.0])  # of 600 s, in minutes
    assert times.layout.yaxis.ticktext == ("plain",)
    drawings = {layer_line_svg(word) for word in LINE_WORDS}
    assert len(drawings) == len(LINE_WORDS)
    assert all(word in layer_lines_html() for word in LINE_WORDS)
