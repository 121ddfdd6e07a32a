"""The blend panels without a browser: a trial from parts to the next bottle, and emulsifiers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from kit.blends.trial_file import demo_trial, read_trial, trial_csv
from kit.errors import EntryError
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.widgets.bench import Bench
from kit.widgets.blend_design_panel import BlendDesignPanel, besides
from kit.widgets.blend_in_hand import NONE_YET, BlendInHand
from kit.widgets.blend_scores_panel import BlendScoresPanel
from kit.widgets.blend_triangle_panel import TOGETHER, BlendTrianglePanel
from kit.widgets.emulsifier_panel import EmulsifierPanel, own_values

if TYPE_CHECKING:
    from pathlib import Path

HOSTILE = "<script>alert(1)</script>"


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def oil_blend(*lines: Line, **more: object) -> Formula:
    given = lines or (Line("Isoamyl Laurate", "50"), Line("Squalane", "30"), Line("Ricinus Communis Seed Oil", "19.5"),
                      Line("Tocopherol", "0.5"))  # fmt: skip
    return Formula("Pomade base", (Phase("Oils", "oil", given),), **more)  # type: ignore[arg-type]


def scored(bench: Bench) -> tuple[BlendDesignPanel, BlendScoresPanel]:
    """A trial within bounds, each blend twice, with scores for two things."""
    design = BlendDesignPanel(bench)
    design.parts.type(low0="20", high0="70", high1="50", high2="40")
    design.plan.type(times="2", besides="Tocopherol 0,5")
    design.plan.press("take")
    scores = BlendScoresPanel(bench)
    scores.form.type(scored="slip; shine")
    chance = np.random.default_rng(1)
    trial = scores.hand.trial_there
    for bottle in trial.bottles:
        a, b, c = (share / 100 for share in bottle.point)
        slip = f"{4 * a + 7 * b + 5 * c + 16 * a * b + chance.normal(0, 0.2):.1f}"
        shine = f"{8 * a + 3 * b + 5 * c + chance.normal(0, 0.2):.1f}".replace(".", ",")
        scores.boxes.type(**{f"s{bottle.number - 1}_0": slip, f"s{bottle.number - 1}_1": shine})
    return design, scores


def test_a_plan_follows_what_is_typed() -> None:
    panel = BlendDesignPanel(oil_blend())
    assert [panel.parts[f"part{n}"] for n in range(4)] == [
        "Isoamyl Laurate", "Squalane", "Ricinus Communis Seed Oil", "",
    ]  # fmt: skip
    assert "7 bottles of 7 blends" in panel.answer.value
    assert "make each blend twice" in panel.answer.value
    panel.plan.type(how="lattice", degree="3", times="2")
    assert len(panel.bottles) == 20
    panel.plan.type(how="few", bottles="8")
    assert "16 bottles of" in panel.answer.value
    panel.plan.type(bottles="4")
    assert "needs 6 bottles or more; you want 4" in panel.answer.value
    assert panel.table.value == ""
    panel.plan.type(how="centroid")
    panel.parts.type(high0="60")
    assert "would go up to 100 %, above its most share of 60 %" in panel.answer.value
    panel.plan.type(how="bounds")
    panel.parts.type(low1="50", low2="60")
    assert "The least shares add to 110 %" in panel.answer.value
    panel.parts.type(low1="0", low2="0", part1="isoamyl laurate")
    assert "is there twice" in panel.answer.value
    panel.parts.type(part1=HOSTILE)
    assert HOSTILE not in panel.answer.value + panel.picture.value + panel.need.value + panel.table.value
    panel.plan.type(besides="Tocopherol")
    assert "line 1" in panel.answer.value
    panel.plan.type(besides="", grams="20.1250")
    assert panel.made is not None
    assert sum(panel.made.grams[0]) == pytest.approx(20.12, abs=0.011)
    panel.plan.type(grams="30 kg")
    assert panel.made is not None
    assert "balance carries" in panel.findings.value
    panel.parts.type(low2="5", high2="5")
    assert "not enough for any model" in panel.answer.value
    assert "is held at 5 %" in panel.findings.value
    panel.parts.type(part2="")
    assert panel.picture.value == ""  # two parts have no triangle
    for text in ("Tocopherol 0.5\nTocopherol 1", "0.5", "Tocopherol 5 g", "a b"):
        with pytest.raises(EntryError, match="line"):
            besides(text)


def test_a_trial_is_scored_modelled_kept_and_taken_back(tmp_path: Path) -> None:
    bench = Bench(oil_blend())
    assert NONE_YET in BlendScoresPanel(bench).answer.value
    assert NONE_YET in BlendTrianglePanel(bench).answer.value
    design, panel = scored(bench)
    trial = panel.hand.trial_there
    assert design.made is not None
    assert design.made.names[-1] == "Tocopherol"
    assert panel.fit is not None
    assert panel.fit.model == "quadratic"
    assert "A quadratic model of 26 bottles" in panel.answer.value
    panel.shown.type(model="linear")
    assert "A linear model" in panel.answer.value
    assert "Try a richer model" in panel.findings.value
    panel.shown.type(of="shine")
    assert panel.fit.what == "shine"
    # a box that is no number stays as it is, and the others are taken
    code = trial.bottles[3].code
    panel.boxes.type(s3_0="good", s3_1="", s4_0="1.250")
    assert panel.boxes.texts["s3_0"] == "good"
    assert set(panel.boxes.faults) == {"s3_0", "s4_0"}
    assert panel.hand.trial_there.scores["shine"][3] is None
    assert panel.hand.trial_there.scores["slip"][3] == trial.scores["slip"][3]
    assert f"1 of 26 bottles have no score yet: {code}" in panel.findings.value
    panel.form.type(scored="shine")
    assert "slip has scores, so it stays" in panel.form.said["sentence"]
    panel.form.type(scored="slip; shine; Slip")
    assert "is there twice" in panel.form.said["sentence"]
    panel.form.type(scored="slip; shine; feel")
    panel.shown.type(of="feel")
    assert "No bottle has a score of feel yet" in panel.answer.value
    rows = "\n".join(f"{bottle.code};5" for bottle in trial.bottles)
    panel.paste.type(rows=f"code;feel\n{rows}")
    panel.paste.press("take")
    assert "All 26 scores of feel are 5" in panel.answer.value
    panel.paste.type(rows="feel\n5")
    panel.paste.press("take")
    assert "names neither" in panel.paste.said["sentence"]
    panel.file.form.press("save")
    assert trial_csv(read_trial(tmp_path / "blend_trial.csv")) == trial_csv(panel.hand.trial_there)
    design.plan.press("take")
    assert "Undo brings it back" in design.plan.said["sentence"]
    assert BlendInHand.of(bench).trial_there.scores["slip"] == (None,) * 26
    panel.file.form.press("undo")
    assert panel.hand.trial_there.scores["feel"] == (5.0,) * 26
    # another day, the same folder
    again = BlendScoresPanel(oil_blend())
    assert again.hand.trial_there.scores["feel"] == (5.0,) * 26
    assert "Not saved yet" not in again.file.state.value
    (tmp_path / "blend_trial.csv").write_text("bottle,a %\n1,50\n", encoding="utf-8")
    assert "A blend to design has 2 to 5 parts" in BlendScoresPanel(oil_blend()).file.form.said["sentence"]
    again.file.form.press("open")
    assert "A blend to design has 2 to 5 parts" in again.file.form.said["sentence"]


def why_next(panel: BlendTrianglePanel) -> str:
    assert panel.following is not None
    return panel.following.why


def test_goals_the_best_and_the_next() -> None:
    bench = Bench(oil_blend())
    scored(bench)
    panel = BlendTrianglePanel(bench)
    assert "Set a goal" in panel.told.value
    assert why_next(panel) == "learn"
    panel.goal.type(low="5", high="8")
    panel.goal.press("set")
    panel.goal.type(of="shine")
    panel.goal.type(aim="target", low="8", high="3", target="6")
    panel.goal.press("set")
    assert "the lower first" in panel.goal.said["sentence"]
    panel.goal.type(low="3", high="8")
    panel.goal.press("set")
    assert panel.best is not None
    assert "Best for your goals" in panel.told.value
    assert why_next(panel) == "improve"
    panel.shown.type(what=TOGETHER)
    assert f"Lines: {TOGETHER}" in panel.picture.value
    panel.next.press("go")
    assert panel.here == panel.best.point
    before = panel.best
    panel.next.press("into")
    parts = [line[3] or 0.0 for line in bench.formula.each_line()]
    assert parts[:3] == pytest.approx([share * 0.995 for share in panel.here], abs=1e-4)
    assert parts[3] == 0.5
    assert bench.formula.is_complete
    bench.undo()
    assert [line.entry for line in bench.formula.phases[0].lines] == ["50", "30", "19.5", "0.5"]
    panel.sliders.type(share0="60")
    assert panel.best is before  # moving a slider works nothing out anew
    panel.sliders.type(share0="20", share1="5")
    assert "lies outside the bounds" in panel.answer.value
    panel.next.press("add")
    trial = panel.hand.trial_there
    assert trial.bottles[-1].point == panel.hand.trial_there.points[-1]
    assert trial.scores["slip"][-1] is None
    assert len({bottle.code for bottle in trial.bottles}) == 27
    panel.goal.type(of="slip")
    panel.goal.type(low="50", high="60")
    panel.goal.press("set")
    assert "No blend within the bounds is of any use" in panel.told.value
    panel.goal.press("drop")
    assert list(panel.hand.trial_there.goals) == ["shine"]
    panel.next.type(why="learn")
    assert why_next(panel) == "learn"


def test_two_and_four_parts_and_the_invented_trial() -> None:
    two = Bench(oil_blend(Line("Squalane", "60"), Line("Isoamyl Laurate", "40")))
    design = BlendDesignPanel(two)
    design.plan.type(times="3")
    design.plan.press("take")
    scores = BlendScoresPanel(two)
    scores.form.type(scored=HOSTILE)
    for n, bottle in enumerate(scores.hand.trial_there.bottles):
        scores.boxes.type(**{f"s{n}_0": str(bottle.point[0] / 10 + n % 2)})
    panel = BlendTrianglePanel(two)
    assert "<svg" in panel.picture.value
    for part in (panel.picture, panel.answer, panel.told, scores.answer, scores.bottles, scores.coefficients):
        assert HOSTILE not in part.value
    four = BlendDesignPanel(oil_blend())
    four.parts.type(part3="Bisabolol", low3="3", high3="8")
    assert "bottles beside this cut are pale" in four.picture.value
    four.plan.press("take")
    assert len(BlendTrianglePanel(four.bench).shown.inputs["cut"].reader.options) == 4  # type: ignore[attr-defined]
    invented = BlendTrianglePanel()
    assert invented.hand.trial == demo_trial()
    assert invented.best is not None
    assert "Invented for Tern Lane Workshop" in BlendScoresPanel(invented.bench).file.state.value
    invented.next.press("into")
    assert "Squalane is in no line of" in invented.next.said["sentence"]


def test_the_making_sheet_is_written(tmp_path: Path) -> None:
    panel = BlendDesignPanel(oil_blend())
    panel.plan.type(besides="Tocopherol 0.5")
    panel.plan.press("write")
    assert panel.plan.said["sentence"].startswith("Wrote blend_bottles_pomade_base.html")
    html = (tmp_path / "blend_bottles_pomade_base.html").read_text(encoding="utf-8")
    assert all(bottle.code in html for bottle in panel.bottles)
    assert panel.made is not None
    for name, grams in panel.made.need.items():
        assert name in html
        assert f"{grams:.2f}" in html
    assert "small for a balance" in html
    assert "Score sheet" not in html
    bench = panel.bench
    panel.plan.press("take")
    BlendScoresPanel(bench).form.type(scored="slip")
    panel.plan.press("write")
    html = (tmp_path / "blend_bottles_pomade_base.html").read_text(encoding="utf-8")
    _, _, sheet = html.partition("Score sheet")
    assert all(bottle.code in sheet for bottle in panel.bottles)
    assert "Isoamyl Laurate" not in sheet  # who scores sees codes alone
    panel.parts.type(low0="100", low1="5")
    panel.plan.press("write")
    assert "The least shares add to 105 %" in panel.plan.said["sentence"]


def test_emulsifiers_for_the_oils_in_hand() -> None:
    panel = EmulsifierPanel(oil_blend())
    assert panel.required is not None
    assert panel.pair is not None
    assert "The oils ask for HLB 12.1" in panel.answer.value
    assert "is known of Isoamyl Laurate" in panel.findings.value
    panel.form.type(own="Isoamyl Laurate 9,5")
    assert "is known of Isoamyl Laurate" not in panel.findings.value
    assert panel.required.value == pytest.approx((50 * 9.5 + 30 * 11 + 19.5 * 14 + 0.5 * 6) / 100)
    assert "your own" in panel.oils.value
    assert "PMC4137601" in panel.blend.value
    panel.form.type(wanted="16")
    assert "lies outside this pair" in panel.answer.value
    assert panel.pair is None
    panel.form.type(first="Polysorbate 20")
    assert panel.pair is not None
    panel.form.type(first=HOSTILE)
    assert HOSTILE not in panel.answer.value
    assert "No HLB is known of" in panel.answer.value
    for text in ("Squalane", "Squalane 30", "12"):
        with pytest.raises(EntryError, match="HLB that I know, line 1"):
            own_values(text)
    lotion = Formula(
        "Shake", (Phase("Water", "water", (Line("Aqua", "q.s."),)), Phase("Oil", "oil", (Line("Squalane", "20"),)))
    )
    assert (
        "This product has a water layer and an oil layer. It does not apply" in EmulsifierPanel(lotion).findings.value
    )
    cream = Formula(lotion.title, lotion.phases, description=Description(layering="emulsified"))
    assert "This product has a water layer" not in EmulsifierPanel(cream).findings.value
    toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."),)),))
    panel = EmulsifierPanel(toner)
    assert "no oil in the oil phase" in panel.answer.value
    panel.form.type(wanted="12")
    assert panel.pair is not None
