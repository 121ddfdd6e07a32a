"""All bottles at once, and the file of a trial."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.blends.bottles import weigh_bottles
from kit.blends.designs import Bottle, constrained_design
from kit.blends.desirability import Goal
from kit.blends.into_formula import with_blend
from kit.blends.models import fit_blend
from kit.blends.region import BlendRegion, Part
from kit.blends.trial import BlendTrial
from kit.blends.trial_file import demo_trial, pasted_scores, read_trial, save_trial, trial_csv, trial_of
from kit.errors import ChangedOnDiskError, KitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from kit.saving import Seen

if TYPE_CHECKING:
    from pathlib import Path

TRIAL = demo_trial()
SHORT = "bottle,code,Oil A %,Oil B %,slip\nleast,,0,0,\nmost,,100,100,\n1,100,100,0,5\n2,200,0,100,6\n"


@given(st.floats(5, 400), st.sampled_from([0.001, 0.01, 0.1]), st.floats(0, 30), st.integers(1, 3))
def test_nothing_is_lost_between_bottles_and_need(mass: float, step: float, besides: float, times: int) -> None:
    region = BlendRegion((Part("a", 5, 60), Part("b", 10, 70), Part("c", 0, 50)))
    bottles = constrained_design(region).bottles(times, 3)
    base = {"scent": besides} if besides > 0.5 else {}
    made = weigh_bottles(bottles, region.names, f"{all_digits(mass)} g", Balance(step), base=base, spare=8)
    for row, batch in zip(made.grams, made.batches, strict=True):
        assert sum(row) == pytest.approx(batch.mass, abs=1e-6)
        assert batch.mass == pytest.approx(mass, abs=step)
    assert sum(made.totals.values()) == pytest.approx(sum(batch.mass for batch in made.batches))
    assert sum(made.need.values()) == pytest.approx(1.08 * sum(made.totals.values()))
    for bottle, row in zip(bottles, made.grams, strict=True):
        for share, grams in zip(bottle.point, row, strict=False):
            assert grams == pytest.approx(share / 100 * (1 - sum(base.values()) / 100) * mass, abs=1.6 * step)
    if made.sound_mass < 1e6:  # what is called sound has no small weighing left
        sound = weigh_bottles(bottles, region.names, f"{all_digits(made.sound_mass)} g", Balance(step, 1e7), base=base)
        assert sound.findings == []


def test_small_weighings_are_one_finding_for_each_material() -> None:
    made = weigh_bottles(TRIAL.bottles, TRIAL.region.names, "20 g", base={"Tocopherol": 0.5})
    (finding,) = made.findings
    assert finding.sentence == (
        "Tocopherol in 12 bottles: from 0.1 g it is small for a balance that reads 0.01 g, and can be off by more than "
        "1 %. All weighings are sound from 170 g a bottle, or use a finer balance."
    )
    assert list(made.table().columns)[:3] == ["bottle", "code", "Squalane g"]
    few = [Bottle(n + 1, str(n + 1), (1.0, 99.0) if n < 3 else (50.0, 50.0)) for n in range(12)]
    for bottles, words in ((few, "a in bottles 1, 2 and 3: from 0.2 g"), (few[2:], "a in bottle 3: from 0.2 g")):
        assert weigh_bottles(bottles, ("a", "b"), "20 g").findings[0].sentence.startswith(words)
    trace = weigh_bottles(few[3:], ("a", "b"), "20 g", base={"c": 1e-9}).findings[0].sentence
    assert "c in 9 bottles: from 2e-10 g it is small" in trace
    assert trace.endswith("No bottle up to a tonne would do; use a finer balance, or weigh it as a stock.")
    (heavy,) = weigh_bottles(few[3:], ("a", "b"), "5000 g", Balance(0.01, 600)).findings  # once, not for each bottle
    assert heavy.sentence.startswith("2500 g is more than the balance carries, 600 g")
    pure = [Bottle(1, "1", (100.0, 0.0)), Bottle(2, "2", (0.0, 100.0))]
    for work, words in (
        (lambda: weigh_bottles([], ("a", "b"), "20 g"), "no bottle to make"),
        (lambda: weigh_bottles(pure, ("a", "b"), "20 g", base={"A": 2}), "a is a part of the blend and stands besides"),
        (lambda: weigh_bottles(pure, ("a", "b"), "20 g", base={"c": 100}), "adds to 100 %"),
        (lambda: weigh_bottles(pure, ("a", "b"), "20 g", spare=-1), "A spare of -1 %"),
        (lambda: weigh_bottles(pure, ("a", "b"), "20"), "20"),
    ):
        with pytest.raises(KitError, match=words):
            work()  # type: ignore[no-untyped-call]


def test_a_trial_comes_back_from_its_file(tmp_path: Path) -> None:
    path, seen = tmp_path / "beard.csv", Seen()
    save_trial(TRIAL, path, seen=seen)
    again = seen.read(path, read_trial)
    assert trial_csv(again) == trial_csv(TRIAL)
    assert again.goals == TRIAL.goals
    assert again.scores == TRIAL.scores
    save_trial(again.with_scores("slip", [None] * 12), path, seen=seen)
    assert read_trial(path).scores["slip"] == (None,) * 12
    path.write_text(SHORT, encoding="utf-8")
    with pytest.raises(ChangedOnDiskError):
        save_trial(TRIAL, path, seen=seen)
    comma = SHORT.replace(",", ";").replace("100;0;5", "99,5;0,5;5,25")
    read = trial_of(comma.encode(), "comma.csv")
    assert read.points[0] == (99.5, 0.5)
    assert read.scores == {"slip": (5.25, 6.0)}
    hostile = BlendTrial(
        BlendRegion((Part('=1+1, "a"'), Part("b; c"))),
        (Bottle(1, "7", (50.0, 50.0), '=cloudy, "soon"'),),
        {"<b>slip</b>": (1.5,)},
        {"<b>slip</b>": Goal("target", 1, 3, 2, 0.5, 3)},
    )
    assert trial_of(trial_csv(hostile).encode(), "x.csv") == hostile


def test_every_fault_of_a_file_is_told() -> None:
    for text, words in (
        (SHORT.replace("2,200", "2,100"), r"row 5, column code: 100 is already in row 4"),
        (SHORT.replace("2,200", "1,200"), r"row 5, column bottle: 1 is already in row 4"),
        (SHORT.replace("2,200,0,100", "2,200,0,90"), r"row 5: its shares add to 90 %"),
        (SHORT.replace("most,,100,100", "most,,100,90"), r"row 5: its blend lies outside the bounds"),
        (SHORT.replace("least,,0,0", "least,,60,60"), r"the bounds: The least shares add to 120 %"),
        (SHORT.replace("2,200", "two,200"), r"'two' is neither a bottle's number nor one of least"),
        (SHORT.replace("0,100,6", "0,100,six"), r"row 5, column slip"),
        (SHORT.replace("Oil B %", "Oil A %"), r"column 'oil a %' is there 2 times"),
        (SHORT.replace(" %", ""), r"no column is a part of the blend"),
        (SHORT + "aim,,,,most\n", r"row 6"),
        (SHORT.replace("slip", "oil a"), r"the whole file: oil a is there twice"),
        (SHORT + "aim,,,,more\nlow,,,,3\n", r"a goal needs a number in the rows low and high"),
    ):
        with pytest.raises(KitError, match=words):
            trial_of(text.encode(), "trial.csv")


def test_scores_are_pasted_by_code_or_number() -> None:
    blank = replace(TRIAL, scores={}, goals={})
    codes = [bottle.code for bottle in blank.bottles]
    pasted = "code\tShine\n" + "\n".join(f"{code}\t{n},5" for n, code in enumerate(codes))
    assert pasted_scores(pasted, blank).scores["Shine"] == tuple(n + 0.5 for n in range(12))
    one = pasted_scores(f"code;slip;Note\n{codes[2]};4,5;cloudy", TRIAL)
    assert [bottle.note for bottle in one.bottles if bottle.note] == ["cloudy"]
    assert one.scores["slip"][2] == 4.5
    assert one.scores["slip"][1] == TRIAL.scores["slip"][1]
    assert "slip: 11 of 12 bottles have no score yet" in pasted_scores("bottle;slip\n3;4", blank).findings[0].sentence
    assert TRIAL.findings == []  # every bottle is scored
    assert blank.with_scores("slip", [None] * 12).findings == []  # nothing of it is begun yet
    fit = fit_blend(TRIAL.points, TRIAL.scores["slip"], "linear", TRIAL.region.names, "slip")
    assert list(TRIAL.fit("slip", "linear").coefficients) == pytest.approx(list(fit.coefficients))
    for text, words in (
        (" ", "Nothing was pasted"),
        ("slip\n4", "names neither 'bottle' nor 'code'"),
        ("code;slip\n999999;4", "no bottle has the code '999999'"),
        ("code\n100", "no column of scores"),
        (f"code;slip\n{codes[0]};good", "good"),
        (f"code;slip;slip\n{codes[0]};1;2", "is there 2 times"),
        (f"code;slip\n{codes[0]};1\n{codes[0]};2", "already in row 2"),
    ):
        with pytest.raises(KitError, match=words):
            pasted_scores(text, blank)
    for work, words in (
        (lambda: replace(TRIAL, scores={"Squalane": TRIAL.scores["slip"]}), "Squalane is there twice"),
        (lambda: replace(TRIAL, scores={"slip": (1.0,)}), "slip has 1 scores for 12 bottles"),
        (lambda: replace(TRIAL, bottles=(TRIAL.bottles[0],) * 12), "bear the same code"),
    ):
        with pytest.raises(KitError, match=words):
            work()  # type: ignore[no-untyped-call]


@given(st.lists(st.integers(0, 60), min_size=3, max_size=3).filter(any), st.floats(5, 90), st.booleans())
def test_a_blend_put_into_a_formula_keeps_the_total(weights: list[int], together: float, rest: bool) -> None:
    point = [100 * weight / sum(weights) for weight in weights]
    parts = (Line("a", f"{together / 2:.6f}"), Line("b", f"{together / 2:.6f}"), Line("c", "1.25"))
    other = Line("d", f"{100 - 2 * float(f'{together / 2:.6f}') - 1.25:.6f}")
    lines = (replace(parts[0], entry="q.s."), *parts[1:], other) if rest else (*parts, other)
    formula = Formula("Try", (Phase("Oils", "oil", lines),))
    whole = sum(formula.percents[0][n] or 0.0 for n in range(3))
    found = with_blend(formula, ("a", "b", "c"), point)
    assert found.is_complete
    assert found.percents[0][3] == formula.percents[0][3]
    for share, percent in zip(point, found.percents[0][:3], strict=True):
        assert percent == pytest.approx(whole * share / 100, abs=4e-4)
    assert (found.phases[0].lines[0].entry == "q.s.") == rest
    for names, words in (
        (("a", "x"), "x is in no line of Try"),
        (("a", "a2"), "a2 is in 2 lines"),
        (("a", "w"), "stand in different phases"),
        (("a", "e"), "has no amount"),
    ):
        more = (*lines, Line("a2", "0"), Line("A2", "0"), Line("e", ""))
        odd = Formula("Try", (Phase("Oils", "oil", more), Phase("Water", "water", (Line("w", "0"),))))
        with pytest.raises(KitError, match=words):
            with_blend(odd, names, (50, 50))


@pytest.mark.parametrize("spare", [0.0, 100.0, -0.1, 100.1])
def test_a_spare_is_0_to_100_percent_of_what_the_bottles_hold(spare: float) -> None:
    bottles = [Bottle(1, "417", (60.0, 40.0)), Bottle(2, "418", (100.0, 0.0))]
    if 0 <= spare <= 100:
        made = weigh_bottles(bottles, ("Squalane", "Undecane"), "20 g", spare=spare, base={"Tocopherol": 50.0})
        # half of 20 g is tocopherol; of the blend's 10 g squalane is 6 g and 10 g, and undecane 4 g
        assert made.totals == pytest.approx({"Squalane": 16.0, "Undecane": 4.0, "Tocopherol": 20.0})
        assert made.need["Squalane"] == pytest.approx(16 * (1 + spare / 100))
        assert made.grams[1] == pytest.approx((10.0, 0.0, 10.0))
    else:
        with pytest.raises(KitError, match=r"is none\. Type a number from 0 to 100"):
            weigh_bottles(bottles, ("Squalane", "Undecane"), "20 g", spare=spare)


@pytest.mark.parametrize("percent", [0.0, -1.0, 100.0])
def test_what_every_bottle_holds_besides_leaves_room(percent: float) -> None:
    with pytest.raises(KitError, match="must leave room for the blend"):
        weigh_bottles([Bottle(1, "417", (60.0, 40.0))], ("a", "b"), "20 g", base={"Tocopherol": percent})


@pytest.mark.parametrize(
    ("count", "words"), [(1, "bottle 1: "), (2, "bottles 1 and 2: "), (8, "6, 7 and 8: "), (9, "in 9 bottles: ")]
)
def test_bottles_are_named_up_to_eight(count: int, words: str) -> None:
    bottles = [Bottle(n, str(n), (99.9, 0.1)) for n in range(1, count + 1)]
    made = weigh_bottles(bottles, ("Squalane", "Undecane"), "20 g", Balance(0.01, 600.0))
    assert words in made.findings[0].sentence  # of 20 g 0.1 % is 0.02 g, two steps of the balance
