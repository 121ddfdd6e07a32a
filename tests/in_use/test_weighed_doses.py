"""Weighed doses against the model: the statistics are those of handbooks, and the file gives back what was kept."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from kit.errors import ChangedOnDiskError, EntryError, FileFaultsError, KitError, RangeError
from kit.in_use.dispensers import Dispenser, Manner
from kit.in_use.dose_file import dose_csv, doses_of, read_doses, save_doses
from kit.in_use.weighed_doses import Agreement, Seen, WeighedDoses, against, agreement, nearest_words, root_mean_square
from kit.inputs import inputs_of
from kit.saving import Seen as SeenFiles
from tests.boxes import check_box
from tests.in_use.dispensing_examples import used_up
from tests.present import present
from tests.published.test_shelf_lives import NORRIS_X, NORRIS_Y
from tests.rows import each_of

if TYPE_CHECKING:
    from pathlib import Path


def of(residuals: list[float], tolerance: float = 0.05) -> Agreement:
    """Doses of 1 g that lie so far off."""
    return agreement(range(1, len(residuals) + 1), [1 + off for off in residuals], [1.0] * len(residuals), tolerance)


def test_the_interval_of_the_heat_flow_meter() -> None:
    # NIST/SEMATECH e-Handbook, 1.3.5.2, ZARR13.DAT: N 195, mean 9.261460, standard deviation 0.022789, t 1.9723,
    # 95 % from 9.258242 to 9.264679 (read where a public repository quotes it); values of just that mean and deviation
    base = np.array([(-1) ** n * (1 + n % 7) for n in range(194)] + [0.0])
    base = (base - base.mean()) / base.std(ddof=1)
    found = agreement(range(1, 196), list(9.261460 + 0.022789 * base), [0.0] * 195, 1.0)
    assert (found.bias, found.scatter) == pytest.approx((9.261460, 0.022789))
    assert (found.low, found.high) == pytest.approx((9.258242, 9.264679), abs=1e-6)
    assert (present(found.high) - found.bias) / present(found.error) == pytest.approx(1.9723, abs=5e-5)


def test_the_drift_of_norris() -> None:
    # NIST Statistical Reference Datasets, Norris: certified slope and its standard deviation, 34 degrees of freedom
    x, y = ([float(one) for one in text.split()] for text in (NORRIS_X, NORRIS_Y))
    found = agreement(x, y, [0.0] * len(x), 1.0)
    assert found.drift == pytest.approx(1.00211681802045, rel=1e-11)
    reach = 2.032244509 * 0.429796848199937e-03  # t of 34: 2.032 in the e-Handbook's table 1.3.6.7.2
    drift = present(found.drift)
    assert (found.drift_low, found.drift_high) == pytest.approx((drift - reach, drift + reach))


@each_of(("count", "t"), [(3, 4.303), (4, 3.182), (6, 2.571), (10, 2.262), (20, 2.093), (30, 2.045)])
def test_the_interval_is_as_wide_as_the_table_of_t_has_it(count: int, t: float) -> None:
    # NIST/SEMATECH e-Handbook, table 1.3.6.7.2, 0.975, by degrees of freedom
    found = of([0.01 * ((n * 7) % 5 - 2) for n in range(count)])
    assert (present(found.high) - found.bias) / present(found.error) == pytest.approx(t, abs=5e-4)


def test_a_gauge_s_bias() -> None:
    # fifteen readings of a part of 6.00 with a mean of 6.0067 and a bias of 0.0067, a worked example of measurement
    # systems analysis (AIAG, third edition, read where a public forum prints it)
    readings = [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1, 6.2, 5.6, 6.0]
    found = agreement(range(1, 16), readings, [6.0] * 15, 0.5)
    assert found.bias == pytest.approx(0.0067, abs=5e-5)
    assert present(found.low) < 0 < present(found.high)  # the example finds no bias


@settings(max_examples=40)
@given(st.lists(st.floats(-0.4, 0.4), min_size=3, max_size=25))
def test_scipy_and_statsmodels_agree(residuals: list[float]) -> None:
    from statsmodels.stats.weightstats import DescrStatsW

    residuals = [one + 0.001 * n * (-1) ** n for n, one in enumerate(residuals)]
    found, numbers = of(residuals), range(1, len(residuals) + 1)
    low, high = stats.ttest_1samp(residuals, 0).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)
    line = stats.linregress(numbers, residuals)
    wide = stats.t.ppf(0.975, len(residuals) - 2) * line.stderr
    assert (found.drift, found.drift_high) == pytest.approx((line.slope, line.slope + wide), abs=1e-9)
    # two one-sided tests at 2.5 % each say "within" just where the whole 95 % interval lies within
    low, high = present(found.low), present(found.high)
    within = max(-low, high) < 0.05
    p = DescrStatsW(residuals).ttost_mean(-0.05, 0.05)[0]
    if abs(p - 0.025) > 1e-6:
        assert within == (p < 0.025)


@each_of(
    ("residuals", "verdict", "words"),
    [
        ([0.01, -0.01, 0.02, -0.02], "borne out", "The model is borne out to within ± 0.05 g"),
        ([0.02, 0.021, 0.02, 0.019, 0.02], "borne out, a little off", "though it is surely not nothing"),
        ([0.2, 0.21, 0.2, 0.19], "not borne out", "not borne out: 4 of 4 lie farther off than ± 0.05 g"),
        ([0.06, -0.06, 0.07, -0.07], "not borne out", "4 of 4 lie farther off"),
        ([0.09, -0.02, 0.03], "cannot tell", "reaches beyond ± 0.05 g, so this cannot tell yet: weigh more doses"),
        ([0.01, 0.02], "cannot tell", "1 more would say how far that is to be trusted"),
        ([-0.04, -0.03, -0.02, -0.01, 0.0, 0.01, 0.02, 0.03, 0.04], "borne out, a little off", "something drifts"),
        ([0.0] * 5, "borne out", "borne out to within"),
    ],
)
def test_the_verdict_is_plain(residuals: list[float], verdict: str, words: str) -> None:
    found = of(residuals)
    assert found.verdict == verdict
    assert words in found.sentence()


def test_doses_made_with_the_model_bear_it_out_and_others_do_not() -> None:
    run = used_up(Dispenser("pump", 1.0, tip=10.0))
    noise = random.Random(4)
    numbers = range(1, len(run.masses), 4)
    weighed = WeighedDoses(
        "bottle 3", grams=tuple(Seen(n, run.masses[n - 1] + noise.gauss(0, 0.01)) for n in numbers),
        percents=(Seen(2, 0.4), Seen(40, 0.9), Seen(80, 99.5), Seen(85, 100.0)),
    )  # fmt: skip
    mass, share = against(run, weighed, 5.0)
    assert (mass.verdict, mass.unit, share.unit) == ("borne out", "g", "%")
    assert share.verdict in ("borne out", "borne out, a little off")
    assert mass.tolerance == pytest.approx(0.05 * sum(run.masses) / sum(run.volumes))
    shaken = used_up(Dispenser("pump", 1.0, tip=10.0), Manner("at once"))
    assert against(shaken, weighed, 5.0)[1].verdict == "not borne out"
    said = nearest_words([shaken, run], weighed)
    assert said.startswith("Off as a rule (root mean square), had the bottle been: not shaken 0.00")
    assert said.endswith("The weights lie nearest to 'not shaken'.")
    off = [one.value - run.masses[int(one.dose) - 1] for one in weighed.grams]
    assert root_mean_square(run, weighed) == pytest.approx(np.sqrt(np.mean(np.square(off))))
    first = WeighedDoses("two", grams=(Seen(1, 0.987), Seen(2, 0.989)))  # between 1 g and 0.976 g
    assert "can hardly be told apart" in nearest_words([shaken, run], first)
    assert nearest_words([run], first) == ""
    longer = WeighedDoses("three", grams=(Seen(2, 1.0), Seen(80, 0.88)))
    short = used_up(Dispenser("pump", 1.0, tip=60.0))  # its tube ends so high that it gives no dose 80
    assert len(short.masses) < 80
    assert root_mean_square(short, longer) == math.inf
    assert nearest_words([short, run], longer).startswith("Off as a rule (root mean square), had the bottle been: not")
    assert "inf" not in nearest_words([short, run], longer)
    with pytest.raises(RangeError, match="Dose 200 is measured, but by the model the bottle gives 88"):
        against(run, WeighedDoses("b", grams=(Seen(200, 1.0),)), 5.0)
    (only,) = against(run, WeighedDoses("c", grams=(Seen(2, 0.97),)), 5.0)  # weighed and not split
    assert only.unit == "g"


texts = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12).filter(str.strip)
doses = st.lists(
    st.builds(Seen, st.integers(1, 4000).map(float), st.floats(0, 100)), min_size=1, max_size=5,
    unique_by=lambda one: one.dose,
).map(tuple)  # fmt: skip
series = st.builds(
    WeighedDoses, texts, st.just("2026-03-14"), st.sampled_from(("pump", "spray", "dropper")), st.just("never"),
    st.just(10.0), doses, doses, texts,
)  # fmt: skip


@settings(max_examples=40)
@given(st.lists(series, max_size=3, unique_by=lambda one: " ".join(one.name.split()).casefold()))
def test_what_is_kept_comes_back(kept: list[WeighedDoses]) -> None:
    assert doses_of(dose_csv(kept).encode(), "doses.csv", []) == kept


def test_a_file_is_saved_whole_and_not_over_another_s(tmp_path: Path) -> None:
    one = WeighedDoses("bottle 3", "2026-03-14", "spray", "waits", 12.5, (Seen(3, 0.12), Seen(1, 0.13)), (), "=1+1")
    path, seen = tmp_path / "doses.csv", SeenFiles()
    save_doses([one], path, seen=seen)
    assert read_doses(path) == [one]
    assert path.read_text("utf-8").splitlines()[1] == "bottle 3,2026-03-14,spray,waits,12.5,1,0.13,,'=1+1"
    path.write_text(path.read_text("utf-8").replace("0.13", "0.31"), "utf-8")
    with pytest.raises(ChangedOnDiskError):
        save_doses([one], path, seen=seen)
    text = "series;date;dispenser;shaking;waited s;dose;g\nb;2026-03-14;pump;waits;2,5;1;0,93\n"  # a decimal comma
    found = doses_of(text.encode(), "doses.csv", [])[0]
    assert (found.delay, found.grams) == (2.5, (Seen(1, 0.93),))


HEAD = "series,date,dispenser,shaking,waited s,dose,g\n"


@each_of(
    ("rows", "words"),
    [
        ("a,2026-03-14,bucket,never,,1,1", "'bucket' is none of the choices"),
        ("a,2026-03-14,pump,never,,,1", "Number the doses from the first"),
        ("a,2026-03-14,pump,never,,1,heavy", "heavy"),
        ("a,2026-03-14,pump,never,,1,1\na,2026-03-14,spray,never,,2,1", "began in row 2 with another one of these"),
        ("a,2026-03-14,pump,never,,1,1\na,2026-03-14,pump,never,,1,2", "Dose 1 is weighed twice"),
        ("a,2026-03-14,pump,never,,1.5,1", "Dose 1.5 is no number of a dose"),
        ("a,,pump,never,,1,1", "it is empty"),
        ("a,2026-03-14,pump,never,,1,10001", "10000"),
        ("a,2026-03-14,pump,never,,5001,1", "5000"),
    ],
)
def test_a_damaged_file_is_told_by_row(rows: str, words: str) -> None:
    with pytest.raises(FileFaultsError) as found:
        doses_of((HEAD + rows + "\n").encode(), "doses.csv", [])
    assert words in str(found.value)


def test_bad_input_is_said_in_words() -> None:
    for make, words in (
        (lambda: WeighedDoses("", grams=(Seen(1, 1),)), "need the name of their series"),
        (lambda: WeighedDoses("a"), "No dose is weighed yet: type a line for each"),
        (lambda: agreement([], [], [], 1.0), "one at least; got 0, 0 and 0"),
        (lambda: agreement([1], [1.0], [1.0], 0.0), "Say how far off is no matter"),
    ):
        with pytest.raises((EntryError, RangeError), match=words):
            make()
    assert issubclass(FileFaultsError, KitError)
    assert math.isnan(used_up(Dispenser("pump", 1.0, tip=15.0)).last_tenth.low)


def test_a_dose_that_was_weighed_again_and_again_tells_no_drift() -> None:
    # by hand: 1.0, 1.1, 0.9 and 1.0 g where 1 g was computed: no bias, not even of the last binary digit, a scatter of
    # (0.02 / 3)^½ = 0.0816 g and an interval of 3.182 x 0.0816 / 2 = 0.13 g (t of three degrees of freedom)
    again = agreement([3.0] * 4, [1.0, 1.1, 0.9, 1.0], [1.0] * 4, 0.5)
    assert (again.bias, again.drift) == (0, None)
    assert again.sentence().startswith("4 doses weighed: on average +0 g off what was computed (-0.13 to +0.13, 95 %)")


def test_what_a_comparison_means_in_words() -> None:
    doses, seen, far = (1.0, 2.0, 3.0, 4.0), (5.0, 5.0, 5.0, 5.0), (5.0, 5.0, 5.0, 6.0)
    drift: dict[str, Any] = {
        "drift": 0.3,
        "drift_low": 0.1,
        "drift_high": 0.5,
    }  # over three doses 0.9 g, more than is no matter
    for told, ends, more, verdict, words in (
        (seen, (-0.1, 0.1), {}, "borne out", "The model is borne out to within ± 0.5 g"),
        (seen, (0.2, 0.4), {}, "borne out, a little off", "though it is surely not nothing."),
        (far, (-0.4, 0.1), {}, "borne out, a little off", "but 1 of 4 lie farther off than ± 0.5 g."),
        (seen, (-0.1, 0.1), drift, "borne out, a little off", "something drifts that the model leaves out."),
        (seen, (-0.6, 0.1), {}, "cannot tell", "so this cannot tell yet: weigh more doses."),
        (seen, (0.6, 0.9), {}, "not borne out", "the bias lies beyond ± 0.5 g."),
        (seen, (0.6, 0.9), drift, "not borne out", "beyond ± 0.5 g. The difference changes from dose to dose"),
    ):
        low, high = ends
        bias = (low + high) / 2
        one = Agreement("g", doses, seen, told, 0.5, bias, 0.05, low, high, 0.1, **more)
        assert one.verdict == verdict, words
        assert words in one.sentence()
    bare = Agreement("%", doses[:2], seen[:2], seen[:2], 0.5, 0.0)
    assert (bare.verdict, bare.is_off, bare.drifts) == ("cannot tell", False, False)
    assert "1 more would say how far that is to be trusted" in bare.sentence()
    known = replace(bare, doses=(1.0, 1.1), **drift)
    assert not known.drifts  # 0.03 g from the first to the last, which is no matter
    for name in drift:
        assert not replace(known, doses=(1.0, 9.0), **{name: None}).drifts  # type: ignore[arg-type]
    assert replace(known, doses=(1.0, 9.0)).drifts


def test_lists_that_do_not_belong_together_are_refused() -> None:
    for doses, seen, told in (([1], [1.0, 2.0], [1.0, 2.0]), ([1, 2], [1.0, 2.0], [1.0]), ([1, 2], [1.0], [1.0])):
        with pytest.raises(RangeError, match=f"got {len(doses)}, {len(seen)} and {len(told)}"):
            agreement(doses, seen, told, 1.0)
    half = Agreement("g", (1.0, 2.0), (1.0, 1.0), (1.0, 1.0), 0.5, 0.0, low=-0.1)
    assert (half.verdict, half.is_off) == ("cannot tell", False)
    for one in (half, replace(half, low=None, high=0.1)):
        assert "1 more would say how far that is to be trusted" in one.sentence()


@each_of(
    ("low", "high", "seen", "verdict"),
    [
        # no matter within 0.5 g: an interval that ends just there is not wholly within, nor wholly beyond
        (-0.49, 0.49, 5.0, "borne out"),
        (-0.5, 0.4, 5.0, "cannot tell"),
        (-0.4, 0.5, 5.0, "cannot tell"),
        (0.5, 0.7, 5.0, "cannot tell"),
        (0.51, 0.7, 5.0, "not borne out"),
        (-0.7, -0.51, 5.0, "not borne out"),
        # two of four doses that lie beyond are half, three are more
        (-0.1, 0.1, 5.5, "borne out"),
        (-0.1, 0.1, 5.6, "borne out, a little off"),
    ],
)
def test_where_a_verdict_ends(low: float, high: float, seen: float, verdict: str) -> None:
    foretold = (5.0,) * 4
    one = Agreement("g", (1.0, 2.0, 3.0, 4.0), (seen, 5.0, seen, 5.0), foretold, 0.5, 0.0, 0.05, low, high, 0.1)
    assert one.verdict == verdict
    three = replace(one, seen=(seen, seen, seen, 5.0))
    assert three.verdict == ("not borne out" if seen == 5.6 else verdict)


@each_of(
    ("bias", "is_off"),
    [(0.05, False), (0.051, True), (-0.051, True)],  # a tenth of what is no matter is not worth a word
)
def test_a_bias_is_told_only_where_it_is_worth_a_word(bias: float, is_off: bool) -> None:
    one = Agreement("g", (1.0, 2.0, 3.0), (1.0,) * 3, (1.0,) * 3, 0.5, bias, 0.001, bias - 0.01, bias + 0.01, 0.001)
    assert one.is_off == is_off
    drift = replace(one, drift=bias / 2, drift_low=bias / 2 - 0.01, drift_high=bias / 2 + 0.01)
    assert drift.drifts == is_off  # over two doses as much as the bias
    assert not replace(drift, drift_low=0.0, drift_high=0.1).drifts  # an interval that ends at 0 holds it
    assert not replace(one, low=0.0, high=0.1).is_off


def test_what_is_typed_of_doses_and_how_it_may_be_read() -> None:
    check_box(WeighedDoses, "kind", "pump", (), ("bucket",))
    check_box(WeighedDoses, "shaking", "not shaken", (), ("kicked",))
    check_box(WeighedDoses, "delay", "10 s", ("0", "1000000"), ("-1", "1000001"))
    box = {one.name: one for one in inputs_of(WeighedDoses)}
    assert [box["delay"].applies({"shaking": word}) for word in ("at once", "waits", "never")] == [False, True, False]
    # "1,500" may be 1.5 or 1500: a dose is 1 to 5000, a mass up to 10,000 g, a share up to 100 %
    assert box["grams"].read("2 0,5") == (Seen(2, 0.5),)
    assert box["percents"].read("2 1,500") == (Seen(2, 1.5),)
    assert box["percents"].read("2 100,000") == (Seen(2, 100.0),)
    for name, text in (("grams", "2 1,500"), ("grams", "2 10,000"), ("grams", "5,000 1"), ("percents", "5,000 1")):
        with pytest.raises(EntryError, match="Row 1"):
            box[name].read(text)
    assert box["grams"].read("5,001 1") == (Seen(5.001, 1.0),)
    one = WeighedDoses(" a  b ", "2026-03-14", grams=(Seen(2, 1), Seen(1, 2)), percents=(Seen(3, 1), Seen(2, 1)))
    assert (one.name, one.day) == ("a b", "2026-03-14")
    assert [row.dose for row in (*one.grams, *one.percents)] == [1, 2, 2, 3]
    assert WeighedDoses("a", grams=(Seen(1, 1),)).day == "2026-12-01"  # as tests/conftest.py has it
    for rows, words in (((Seen(0, 1),), "Dose 0 is no number"), ((Seen(1, 1), Seen(1.5, 1)), "Dose 1.5 is no number")):
        with pytest.raises(RangeError, match=words):
            WeighedDoses("a", grams=rows)
    with pytest.raises(RangeError, match="Dose 2 is split twice"):
        WeighedDoses("a", grams=(Seen(1, 1),), percents=(Seen(2, 1), Seen(2, 3)))


def test_which_way_lies_nearest_is_told_where_another_lies_a_quarter_farther_off() -> None:
    one, other = used_up(Dispenser("pump", 1.0)), used_up(Dispenser("pump", 1.0), Manner("at once"))
    one, other = replace(one, doses=((1.0, 0.0),)), replace(other, doses=((0.5, 0.0),))
    for grams, told in ((0.778, True), (0.777, False)):  # 0.222 and 0.278 g off, 1.252 times; 0.223 and 0.277, 1.242
        said = nearest_words([one, other], WeighedDoses("a", grams=(Seen(1, grams),)))
        assert ("The weights lie nearest to 'not shaken'." in said) == told
        assert ("can hardly be told apart" in said) != told


def test_a_wait_is_written_only_where_one_waited() -> None:
    never, at_once, waits = (
        WeighedDoses(f"b {shaking}", "2026-03-14", "pump", shaking, 12.5, (Seen(1, 0.5),), (Seen(2, 40.0),))
        for shaking in ("never", "at once", "waits")
    )
    rows = dose_csv([never, at_once, waits]).splitlines()[1:]
    assert [row.split(",")[4] for row in rows] == ["", "", "", "", "12.5", "12.5"]
    assert [row.split(",")[5:8] for row in rows[:2]] == [["1", "0.5", ""], ["2", "", "40"]]


@each_of(
    ("head", "row", "delay"),
    [
        ("series;date;dispenser;shaking;waited s;dose;g", "b;2026-03-14;pump;waits;2,5;1;0,93", 2.5),
        ("series,date,dispenser,shaking,waited s,dose,g", "b,2026-03-14,pump,waits,2.5,1,0.93", 2.5),
        ("series,date,dispenser,shaking,waited s,dose,g", "b,2026-03-14,pump,waits,1500.25,1,0.93", 1500.25),
        ("series,date,dispenser,shaking,dose,g", "b,2026-03-14,pump,waits,1,0.93", 10.0),
    ],
)
def test_a_wait_is_read_by_the_mark_of_its_file(head: str, row: str, delay: float) -> None:
    (found,) = doses_of(f"{head}\n{row}\n".encode(), "doses.csv", [])
    assert (found.delay, found.grams) == (delay, (Seen(1, 0.93),))


def test_a_name_or_note_with_a_comma_in_a_file_of_decimal_commas_stays_as_it_is() -> None:
    head = "series;date;dispenser;shaking;waited s;dose;g;note\n"
    (found,) = doses_of(f"{head}b 1,5;2026-03-14;pump;waits;2,5;1;0,93;warm, 25,5\n".encode(), "doses.csv", [])
    assert (found.name, found.note, found.delay) == ("b 1,5", "warm, 25,5", 2.5)
