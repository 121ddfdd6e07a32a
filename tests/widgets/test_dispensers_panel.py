"""Four dispensers and doses on the balance, in their panel."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from kit.formula.model import Formula, Line, Phase
from kit.in_use.dose_file import read_doses
from kit.library.description import Description
from kit.widgets.bench import Bench
from kit.widgets.dispensers_panel import DispensersPanel
from tests.pace import on_this_machine
from tests.present import present

if TYPE_CHECKING:
    from pathlib import Path

LOW = Phase("Spirit <b>", "water", (Line("Aqua", "q.s."), Line("Alcohol", "42"), Line("Sodium Chloride", "0.6")))
HAZE = Phase("Haze", "oil", (Line("Isopropyl Myristate", "14"), Line("Coco-Caprylate", "8")))


@pytest.fixture
def panel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DispensersPanel:
    monkeypatch.chdir(tmp_path)
    return DispensersPanel(Bench(Formula("Rose mist", (HAZE, LOW))))


def test_four_dispensers_stand_side_by_side_and_nothing_of_hers_runs(panel: DispensersPanel) -> None:
    panel.form.type(tip="20", spray="0.2")
    panel.used.type(used="50")
    assert [run.dispenser.kind for run in panel.runs] == ["pump", "spray", "disc-top", "dropper"]
    assert panel.runs[0].first == "Spirit <b>"
    assert panel.runs[2].first == "Haze"
    shown = panel.answer.value + panel.compared.value + panel.bottles.value + panel.findings.value + panel.singles.value
    assert "Spirit &lt;b&gt;" in shown
    assert "Spirit <b>" not in shown
    for words in ("are breathed in", "Alcohol can burn", "keep it from the eyes", "ISO 11930", "of Haze, pump 0.0 to"):
        assert words in panel.findings.value, words
    figure = present(panel.picture.figure)
    assert [trace.name for trace in figure.data[:4]] == ["pump", "spray", "disc-top", "dropper"]
    assert [shape.x0 for shape in figure.layout.shapes if shape.type == "line"] == [50]
    panel.manner.type(shaking="shaken, and dosed at once")
    assert panel.runs[0].percents == pytest.approx([panel.runs[0].label] * len(panel.runs[0].percents))
    panel.manner.type(shaking="shaken, then waited", delay="45")
    assert "shaken, then 45 s waited" in panel.answer.value
    assert panel.choices.layout.display == ""


def test_a_lotion_comes_out_as_it_was_filled_and_is_told_nothing_of_layers(panel: DispensersPanel) -> None:
    assert panel.picture.layout.display != "none"
    formula = Formula("Lotion", (HAZE, LOW), description=Description(layering="emulsified"))
    panel.bench.formula = formula
    assert panel.picture.layout.display == "none"
    assert [len(run.standing) for run in panel.runs] == [1, 1, 1, 1]
    assert "each as filled" in panel.answer.value
    assert "last tenth" not in panel.answer.value + panel.compared.value
    for words in ("must be shaken", "upper layer", "each layer of it", "window of ratios"):
        assert words not in panel.findings.value, words
    panel.bench.formula = Formula("Lotion", (HAZE, LOW), description=Description(layering="two layers"))
    assert panel.picture.layout.display != "none"
    assert "each layer of it" in panel.findings.value


def test_what_does_not_fit_is_said_and_the_others_stay(panel: DispensersPanel) -> None:
    panel.form.type(depth="400")
    assert [run.dispenser.kind for run in panel.runs] == ["pump", "spray", "disc-top"]
    assert "is longer than" in panel.form.faults["depth"]
    panel.form.type(depth="60", tip="92")
    assert [run.dispenser.kind for run in panel.runs] == ["disc-top", "dropper"]
    assert "The pump takes nothing" in panel.answer.value
    panel.bench.formula = Formula("Empty", (Phase("Water", "water", (Line("Aqua", "40"),)),))
    assert "it adds to 40 %" in panel.answer.value
    assert panel.picture.layout.display == "none"
    one = Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "5")))
    panel.bench.formula = Formula("One layer", (one,))
    assert "All of it comes out" in panel.answer.value
    panel.manner.type(shaking="shaken, then waited")
    assert "Shaking mixes an oil layer with a water layer" in panel.answer.value


def test_weighed_doses_are_judged_kept_and_shown_again(panel: DispensersPanel) -> None:
    panel.form.type(tip="5")
    masses = panel.runs[0].masses
    rows = "\n".join(f"{n} {masses[n - 1] * (1 + 0.004 * (-1) ** n):.4f}" for n in range(1, 60, 6))
    panel.weighed.type(name="bottle 3", grams=rows)
    assert "The model is borne out to within" in panel.agreed.value or "a little off" in panel.agreed.value
    assert len(present(panel.measured.figure).data[2].x) == 10
    panel.weighed.press("keep")
    assert panel.weighed.said == {"severity": "note", "sentence": "bottle 3 is kept."}
    kept = read_doses("rose_mist_doses.csv")
    assert [one.name for one in kept] == ["bottle 3"]
    panel.weighed.type(grams="1 0.5\n2 0.5\n3 0.5\n4 0.51")
    assert "not borne out: 4 of 4" in panel.agreed.value
    assert "had the bottle been" in panel.agreed.value
    panel.weighed.press("keep")
    assert "in the place of the one of that name" in panel.weighed.said["sentence"]
    other = DispensersPanel(panel.bench)
    assert "bottle 3" in other.kept_table.value
    other.shelf.press("show")
    assert other.weighed["grams"] == read_doses("rose_mist_doses.csv")[0].grams
    other.shelf.press("drop")
    assert read_doses("rose_mist_doses.csv") == []
    panel.weighed.press("keep")  # another panel wrote the file
    assert read_doses("rose_mist_doses.csv") == []
    assert "Nothing was written yet" in panel.kept.question.value
    panel.kept.form.press("over")
    assert [one.name for one in read_doses("rose_mist_doses.csv")] == ["bottle 3"]


def test_a_step_of_a_slider_is_quick(panel: DispensersPanel) -> None:
    for form, name in ((panel.form, "tip"), (panel.used, "used")):
        times = []
        for step in range(1, 12):
            start = time.process_time()
            form.type(**{name: str(step)})
            times.append(time.process_time() - start)
        assert sorted(times)[5] < on_this_machine(0.015), name
