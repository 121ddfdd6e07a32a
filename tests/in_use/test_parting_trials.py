"""Trials of parting: the book that only grows, the fit with its region, sentences that claim no more than they may."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kit.errors import EntryError, FileFaultsError, KitError, RangeError, StoreError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.in_use import parting_fit
from kit.in_use.line_between import ATTRIBUTE, LINE_WORDS, line_cautions, line_grade
from kit.in_use.parting_compare import compare_variants, welch_ratio
from kit.in_use.parting_fit import PartingFit, PartingLaw, fit_parting
from kit.in_use.parting_trial import MIXES, Reading, Trial, variants_of
from kit.in_use.shake_share import least_share, remix_words, shake_advice, trials_for_share
from kit.in_use.trial_book import COLUMNS, TrialBook
from kit.in_use.trial_design import Design, evenly_drawn, trial_plan, variants
from kit.library.description import Description
from kit.stability.plan import every_attribute
from tests.boxes import check_box
from tests.formula.made import LIBRARY
from tests.present import present
from tests.rows import each_of

if TYPE_CHECKING:
    from pathlib import Path

DAY = "2026-04-06"
LAW = st.builds(PartingLaw, st.floats(5, 150), st.floats(1e-3, 20), st.floats(0, 1))
WORDS = st.text("abcXYZ ,;\"'=+-0129.é\n", max_size=12)


def trial(variant: str = "plain", **said: object) -> Trial:
    """A trial on a day of its own."""
    return Trial(variant, day=DAY, **said)  # type: ignore[arg-type]


def mixes(*pairs: tuple[int, str, float]) -> list[Trial]:
    """Trials of shakes, mix and standing."""
    return [trial(shakes=shakes, mix=mix, stood=stood) for shakes, mix, stood in pairs]


# ---- the law and its fit ------------------------------------------------------------------------------------------


@given(LAW, st.floats(0, 0.999))
def test_the_law_grows_to_its_end_and_time_and_height_are_one_another_turned_round(
    law: PartingLaw, part: float
) -> None:
    assert law.height(law.time_until(part)) == pytest.approx(part * law.final, rel=1e-9, abs=1e-9)
    heights = [law.height(t) for t in np.linspace(0, 3 * law.final / law.speed, 40)]
    assert all(0 <= a <= b + 1e-9 <= law.final + 2e-9 for a, b in pairwise(heights))
    after, before = law.height(law.turn * 1.0001), law.height(law.turn * 0.9999)
    assert after - before <= law.speed * law.turn * 0.0002 * 1.001 + 1e-9  # no kink upwards where the stages meet


@settings(max_examples=10)
@given(LAW, st.booleans())
@example(PartingLaw(108.0, 1.0, 0.9453125), False)  # read while it settles: any final height above explains it
def test_a_law_is_found_again_and_the_scale_of_time_does_not_matter(law: PartingLaw, known: bool) -> None:
    readings = [Reading(law.time_until(p), p * law.final) for p in (0.1, 0.3, 0.5, 0.7, 0.85, 0.95)]
    found, truth = fit_parting(readings, law.final if known else None), law.time_until(0.95)
    assert found.parted_low * 0.95 <= truth <= found.parted_high * 1.05
    if known:  # a final height that is fitted too can stand for a slower end
        assert found.parted == pytest.approx(truth, rel=0.02)
        slow = fit_parting([Reading(10 * one.seconds, one.millimetres) for one in readings], law.final)
        assert slow.parted == pytest.approx(10 * found.parted, rel=1e-2)


def test_the_region_holds_the_truth_about_as_often_as_it_says_and_narrows_with_readings() -> None:
    law, chance = PartingLaw(45.0, 0.4, 0.5), np.random.default_rng(7)
    held, widths = 0, []
    for count in [6] * 25 + [24] * 10:
        seconds = np.geomspace(15, 350, count)
        readings = [Reading(float(t), max(law.height(t) + chance.normal(0, 1), 0.0)) for t in seconds]
        found = fit_parting(readings, 45.0)
        low, high = found.band(seconds)
        assert np.all(low <= high)
        held += found.parted_low <= law.time_until(0.95) <= found.parted_high
        widths.append(math.log(found.parted_high / found.parted_low))
    assert held >= 32  # of 35; the region of both numbers at once is wider than 95 % for one of them
    assert np.mean(widths[25:]) < np.mean(widths[:25])


def test_the_words_of_a_fit_say_how_many_trials_and_what_is_odd() -> None:
    law = PartingLaw(40.0, 0.5, 0.4)
    readings = [Reading(t, law.height(t)) for t in (10, 25, 45, 80, 130)]
    words = fit_parting(readings, 40.0).sentence()
    assert "5 readings of one trial" in words
    assert "One trial tells nothing of how much the next one differs." in words
    assert "from 32 s on drops merge" in words
    assert "One trial" not in fit_parting([*readings, *readings], 40.0, trials=2).sentence()
    assert "By 10 readings of 2 trials, 95 %" in fit_parting([*readings, *readings], 40.0, trials=2).sentence()
    odd = [*readings[:3], Reading(80, 15.0), *readings[4:], *readings]
    assert "The reading at 80 s is" in fit_parting(odd, 40.0).sentence()
    assert "final height was fitted too" in fit_parting(readings).sentence()


@pytest.mark.parametrize(
    ("final", "off", "is_told"),
    [(40.0, 4.1, True), (40.0, -4.1, True), (40.0, 3.9, False), (10.0, 2.1, True), (10.0, 1.9, False)],
)
def test_a_reading_is_odd_when_it_is_off_by_2_mm_and_by_a_tenth_of_the_final_height(
    final: float, off: float, is_told: bool
) -> None:
    law = PartingLaw(final, 0.5, 0.4)
    readings = tuple(Reading(t, final / 2) for t in (10, 20, 30, 40, 50))
    computed = (*[final / 2] * 3, final / 2 - off, final / 2)
    found = PartingFit(law, readings, computed, 99.0, 90.0, 110.0, 0.4, 0.6, True, 1, ((final, 0.5, 0.4),))
    said = found.sentence()
    assert (f"The reading at 40 s is {off:+.1f} mm off" in said) == is_told
    assert ("mm off: look" in said) == is_told
    # Worked by hand: one residual of five, three degrees of freedom with a given final height and two without.
    assert found.typical_error == pytest.approx(abs(off) / math.sqrt(3))
    assert replace(found, final_known=False).typical_error == pytest.approx(abs(off) / math.sqrt(2))


def test_a_final_height_is_looked_for_up_to_ten_times_the_highest_reading() -> None:
    """Drops that only merge clear F (1 - exp(-v t / F)), read while a ninth and while a thirtieth of F is clear."""
    for times, expected in ((9, 9.0), (30, 10.0)):
        final = 12.0 * times
        parts = [n / 8 / times for n in range(1, 9)]  # the highest reading is 12 mm
        readings = [Reading(-final / 0.4 * math.log1p(-part), part * final) for part in parts]
        assert fit_parting(readings).law.final / 12 == pytest.approx(expected, rel=1e-3)


def test_a_law_of_settling_or_of_merging_alone_is_told_as_such() -> None:
    for settling, words in (
        (1.0, "nothing of the merging shows, the drops only settle"),
        (0.0, "from the start it clears as drops merge, the rest by half in every"),
    ):
        law = PartingLaw(40.0, 0.5, settling)
        readings = [Reading(t, law.height(t)) for t in (10, 25, 45, 70, 100, 160)]
        assert words in fit_parting(readings, 40.0).sentence()
    for part in (-0.1, 1.0):
        with pytest.raises(RangeError, match=r"Choose a part of the final height from 0 to below 1, such as 0\.95"):
            PartingLaw(40.0, 0.5, 0.4).time_until(part)


def test_readings_that_tell_nothing_are_refused_in_words() -> None:
    for readings, final, words in (
        ([(10, 5), (20, 9)], 40.0, "2 of at least 3 readings"),
        ([(10, 5), (20, 9), (40, 15)], None, "3 of at least 4 readings"),
        ([(10, 5), (10, 6), (10, 7)], 40.0, "fewer than 2 different times"),
        ([(10, 0), (20, 0), (30, 0)], 40.0, "nothing had cleared yet"),
        ([(10, 5), (20, 9), (40, 55)], 40.0, "above 40.0 mm"),
        ([(10, 30), (20, 30), (40, 29), (50, 29)], None, "the parting itself was missed"),
    ):
        with pytest.raises(RangeError, match=words):
            fit_parting([Reading(*one) for one in readings], final)


# ---- a trial and its book ---------------------------------------------------------------------------------------


def test_what_cannot_have_been_seen_is_refused() -> None:
    for said, words in (
        ({"variant": " "}, "needs the name of its variant"),
        ({"mix": "well"}, "not how a mix is graded"),
        ({"line": "wavy"}, "no grade of the line"),
        ({"parted": 40.0, "watched": 60.0}, "fill in one of the two"),
        ({"parted": 0.0}, "above 0"),
        ({"shakes": 0}, "1 or more"),
        ({"readings": (Reading(-1, 20),)}, "A reading of 20 mm at -1 s: seconds lie from 0 to 2592000"),
        ({"readings": (Reading(10, -2),)}, "A reading of -2 mm at 10 s"),
        ({"readings": (Reading(10, 20), Reading(20, 5))}, "contradict one another"),
    ):
        with pytest.raises(KitError, match=words):
            trial(**{"variant": "plain", **said})  # type: ignore[arg-type]
    assert trial(watched=600.0).ending == "not parted after 600 s"
    assert trial(parted=40.0).ending == "parted after 40 s"
    assert trial().ending == "end not noted"
    assert trial(line="RAG layer").line == "rag layer"
    assert [one.minutes for one in trial(readings=(Reading(90, 5), Reading(0, 0), Reading(30, 2))).timings] == [
        0.5,
        1.5,
    ]


@settings(max_examples=30)
@given(
    st.lists(
        st.tuples(
            WORDS.filter(lambda word: bool(word.split())), WORDS, st.integers(1, 99), st.sampled_from(("", *MIXES)),
            st.one_of(st.none(), st.floats(0, 3000)), st.one_of(st.none(), st.floats(0.1, 1e5)),
            st.lists(st.tuples(st.floats(0, 1e4), st.floats(0, 3)), max_size=3),
        ),
        min_size=1, max_size=4,
    ),
    st.sampled_from((",", ";")),
)  # fmt: skip
def test_every_trial_comes_back_and_no_byte_before_it_changes(
    tmp_path_factory: pytest.TempPathFactory, said: list[Any], mark: str
) -> None:
    path = tmp_path_factory.mktemp("book") / "trials.csv"
    path.write_text(mark.join(COLUMNS) + "\n", encoding="utf-8")
    book, before, kept = TrialBook(path), path.read_bytes(), []
    for variant, note, shakes, mix, stood, parted, pairs in said:
        one = trial(variant, note=note, shakes=shakes, mix=mix, stood=stood, parted=parted,
                    readings=tuple(Reading(*pair) for pair in pairs))  # fmt: skip
        kept.append(one)
        assert book.keep(one) == len(kept)
        now = path.read_bytes()
        assert now.startswith(before)
        before = now
    assert book.trials() == kept


def test_a_correction_is_a_row_of_its_own(tmp_path: Path) -> None:
    book = TrialBook(tmp_path / "trials.csv")
    assert book.rows() == []
    first = book.keep(trial("with salt", parted=95.0))
    second = book.correct(first, trial("with salt", parted=59.0), "digits turned round")
    third = book.keep(trial("plain", watched=600.0))
    assert [one.parted for one in book.trials()] == [59.0, None]
    book.withdraw(third, "the bottle was knocked over")
    rows = book.rows()
    assert [(row.number, row.corrects, row.replaced, row.counts) for row in rows] == [
        (1, 0, 2, False), (2, 1, 0, True), (3, 0, 4, False), (4, 3, 0, False),
    ]  # fmt: skip
    assert rows[3].why == "the bottle was knocked over"
    for number, why, words in (
        (first, "again", "row 2 took its place"), (9, "no such", "There is no trial 9"), (second, "  ", "Say why"),
    ):  # fmt: skip
        with pytest.raises(EntryError, match=words):
            book.correct(number, trial(), why)
        with pytest.raises(EntryError, match=words):
            book.withdraw(number, why)


def test_a_book_of_another_hand_is_read_and_every_fault_is_named(tmp_path: Path) -> None:
    path = tmp_path / "trials.csv"
    path.write_text(
        "number;what;date;variant;shakes;parted s;layer;readings (s mm)\n"
        '1;trial;2026-04-06;plain;10;92,5;lower;"30 4,5; 60,5 9"\n', encoding="utf-8",
    )  # fmt: skip
    (one,) = TrialBook(path).trials()
    assert (one.parted, one.readings) == (92.5, (Reading(30, 4.5), Reading(60.5, 9)))
    with pytest.raises(StoreError, match="no column note"):
        TrialBook(path).keep(trial(parted=88.25, note="a; b, c"))
    assert TrialBook(path).keep(trial(parted=88.25)) == 2
    assert TrialBook(path).trials()[1].parted == 88.25
    path.write_text(
        "number,what,date,variant,shakes,mix\n1,trial,6.4.2026,plain,10,fine\n1,try,2026-04-06,,x,mixed\n", "utf-8"
    )
    with pytest.raises(FileFaultsError) as told:
        TrialBook(path).rows()
    assert all(word in str(told.value) for word in ("row 2", "row 3", "'6.4.2026'", "'fine'", "'try'", "variant"))
    head = "number,what,date,variant,shakes,parted s,not parted s,layer,readings (s mm),corrects,why\n"
    for rows, words in (
        ("1,trial,2026-04-06,plain,10,,,,,,\n1,trial,2026-04-06,plain,10,,,,,,\n", "the number 1 is there 2 times"),
        ("1,trial,2026-04-06,plain,10,,,,,,\n2,correction,2026-04-06,plain,10,,,,,7,slip\n", "no earlier trial 7"),
        ("1,trial,2026-04-06,plain,10,,,,,,\n2,withdrawal,,,,,,,,2,slip\n", "there is no earlier trial 2"),
        ("1.5,trial,2026-04-06,plain,10,,,,,,\n", "1.5 is not a whole number"),
        (",trial,2026-04-06,plain,10,,,,,,\n", "row 2, column number"),
        ("1,trial,,plain,,,,,,,\n", "row 2, column date: it is empty. A trial needs it."),
        ("1,trial,2026-04-06,plain,10,,,,10 5,,\n", "row 2, column layer: it is empty. A trial needs it."),
        ("1,trial,2026-04-06,plain,10,40,60,,,,\n", "fill in one of the two"),
    ):
        path.write_text(head + rows, "utf-8")
        with pytest.raises(FileFaultsError) as told:
            TrialBook(path).rows()
        assert words in str(told.value), rows


# ---- variants against one another -------------------------------------------------------------------------------


def test_one_trial_of_each_tells_the_times_and_no_ratio() -> None:
    (found,) = compare_variants([trial("plain", parted=120.0), trial("with salt", parted=60.0)])
    assert found.ratio is None
    assert "nobody knows how much two trials of one variant differ" in found.sentence()
    (none,) = compare_variants([trial("plain", watched=600.0), trial("with salt", watched=600.0)])
    assert "none of them had parted" in none.sentence()
    with pytest.raises(RangeError, match="1 of at least 2 variants"):
        compare_variants([trial("plain", parted=3.0), trial("Plain", parted=4.0), trial("other")])
    with pytest.raises(RangeError, match=r"No trial of 'gum' has its end noted\. There are plain and salt"):
        compare_variants([trial("plain", parted=3.0), trial("salt", parted=4.0), trial("gum")], base="gum")


def test_a_difference_is_told_only_where_the_trials_bear_it() -> None:
    plain = [trial("plain", parted=t) for t in (100, 110, 95, 104, 108)]
    faster = [trial("salt", parted=t) for t in (50, 52, 49, 55, 51)]
    same = [trial("sugar", parted=t) for t in (90, 125, 101, 99, 113)]
    apart, alike = compare_variants([*plain, *faster, *same])
    assert "salt takes about 0.5 times as long to part (0.4" in apart.sentence()
    assert present(apart.ratio).level == 97.5
    assert "do not tell the two apart" in alike.sentence()
    assert "no proof that they are equal" in alike.sentence()
    (back,) = compare_variants([*plain, *faster], base="salt")
    assert present(back.ratio).value == pytest.approx(1 / present(apart.ratio).value, rel=1e-12)  # type: ignore[operator]


def test_times_that_are_all_alike_tell_no_spread() -> None:
    (found,) = compare_variants([trial(name, parted=t) for name, t in (("a", 60), ("a", 60), ("b", 30), ("b", 30))])
    assert "0.5 times as long, but all trials of each took the very same time" in found.sentence()


def test_trials_that_had_not_parted_count_as_longer() -> None:
    plain = [trial("plain", parted=t) for t in (100, 110, 90, 105)]
    open_ones = [trial("gum", watched=600.0) for _ in range(4)]
    (found,) = compare_variants([*plain, *open_ones])
    ratio = present(found.ratio)
    assert (ratio.how, ratio.value, ratio.high) == ("log-rank", None, math.inf)
    assert 600 / 110 <= ratio.low <= 600 / 90
    assert "4 trials (4 had not parted) of gum" in found.sentence()
    assert "gum takes longer by a factor not known to part (5." in found.sentence()
    assert "times or more, 95 %" in found.sentence()
    (back,) = compare_variants([*plain, *open_ones], base="gum")
    assert (present(back.ratio).low, present(back.ratio).value) == (0, None)
    assert "plain takes less long by a factor not known to part (0." in back.sentence()
    assert "times or less, 95 %" in back.sentence()
    # gum was left while all plain ones were still mixed; 80 of 110 s is all that is known of it
    (little,) = compare_variants([*plain[:3], *[trial("gum", watched=80.0)] * 3])
    assert "these trials tell no ratio (possible: 0.73 times or more, 95 %)." in little.sentence()
    early = [trial(name, watched=20.0) for name in ("plain", "gum") for _ in "ab"]
    (nothing,) = compare_variants([trial("plain", parted=100.0), trial("gum", parted=300.0), *early])
    assert "3 times as long would fit best, every ratio fits too, and 1 is among it." in nothing.sentence()
    other = [trial("salt", shakes=20, parted=t, temperature=31.0) for t in (40, 44, 50)]
    (warned,) = compare_variants([trial("plain", parted=99, temperature=20.0), *plain, *other])
    assert "Beware: the shakes and the temperature differed too." in warned.sentence()


@given(st.lists(st.floats(1, 1e4), min_size=2, max_size=8), st.lists(st.floats(1, 1e4), min_size=2, max_size=8),
       st.floats(0.01, 100))  # fmt: skip
def test_the_ratio_goes_with_its_times_and_turns_round_with_its_groups(
    a: list[float], b: list[float], k: float
) -> None:
    one, other, longer = welch_ratio(a, b), welch_ratio(b, a), welch_ratio([k * t for t in a], b)
    assert present(one.value) * present(other.value) == pytest.approx(1, rel=1e-9)
    assert present(longer.value) == pytest.approx(k * present(one.value), rel=1e-9)
    assert one.low <= present(one.value) <= one.high


# ---- shake so many times ----------------------------------------------------------------------------------------


@given(st.integers(0, 40), st.integers(1, 40))
def test_a_bound_grows_with_successes_and_never_passes_the_share_seen(k: int, n: int) -> None:
    k = min(k, n)
    assert 0 <= least_share(k, n) <= k / n
    if k < n:
        assert least_share(k, n) < least_share(k + 1, n)
    if k == n:
        assert trials_for_share(least_share(n, n) - 1e-9) <= n


def test_the_label_says_what_every_trial_bears_out_after_the_longest_standing() -> None:
    good = mixes(*[(5, "streaks", 1)], *[(10, "mixed", 1)] * 6, *[(10, "mixed", 28)] * 6)
    found = shake_advice(good)
    assert (found.shakes, found.label) == (10, "Shake 10 times before each use.")
    assert "12 of 12 trials with 10 shakes gave a full mix, stood for 1 to 28 days" in found.support
    assert "at least 78 of 100" in found.support  # 0.05 to the 12th root: 0.779
    assert "it takes 29 trials" in found.support
    assert "With 5 shakes it was not mixed each time." in found.support
    many = shake_advice([trial(shakes=10, mix="mixed", bottle=f"jar {n % 2}") for n in range(29)]).support
    assert "29 of 29 trials with 10 shakes gave a full mix, standing not noted, in jar 0 and jar 1." in many
    assert "it takes" not in many
    assert "was not mixed each time" not in many
    worse = shake_advice([*good, *mixes((15, "streaks", 28))])
    assert worse.shakes is None
    assert worse.label == ""
    assert "bear out no number of shakes" in worse.support
    fresh_only = shake_advice([*mixes(*[(10, "mixed", 1)] * 6), *mixes((4, "not mixed", 60))])
    assert "not after the longest standing tried (up to twelve weeks)" in fresh_only.support
    assert shake_advice([trial()]).support.startswith("No trial says how it mixed")


def test_shakes_after_weeks_are_told_by_standing() -> None:
    groups = shake_advice(mixes((5, "mixed", 0), (5, "streaks", 20), (10, "mixed", 20), (10, "streaks", 70))).groups
    words = remix_words(groups)
    assert "up to a day: 5 shakes, 1 of 1 trials" in words
    assert "up to four weeks: 10 shakes" in words
    assert "up to twelve weeks: not even 10 shakes each time" in words
    assert remix_words(()) == ""


# ---- the line between, and the plan -----------------------------------------------------------------------------


def test_the_grades_are_those_of_the_stability_log() -> None:
    attribute = every_attribute()[ATTRIBUTE]
    assert attribute.scale == LINE_WORDS
    assert (attribute.kind, attribute.optional) == ("grade", True)
    assert [line_grade(word).grade for word in LINE_WORDS] == list(range(6))
    with pytest.raises(EntryError, match="They are: sharp, haze"):
        line_grade("9")


def test_cautions_are_the_formulas_own_and_only_those_about_layers() -> None:
    def made(*lines: tuple[str, str]) -> Formula:
        water = Phase("Water", "water", tuple(Line(*line) for line in (("Aqua", "q.s."), *lines)))
        oil = Phase("Oil", "oil", (Line("Isopropyl Palmitate", "30"),))
        return Formula("Hair shake", (water, oil), description=Description(layering="two layers"))

    for name, word in (
        ("Coco-Glucoside", "foams"), ("Hydrolyzed Silk", "gather on drops"), ("Xanthan Gum", "thickens the water"),
        ("Behentrimonium Chloride", "between oil and water"),
    ):  # fmt: skip
        formula = made((name, "1"))
        found = line_cautions(formula, Materials.of(formula, LIBRARY))
        assert any(word in one.sentence and one.source for one in found), name
    plain = made(("Sodium Chloride", "1"))
    assert line_cautions(plain, Materials.of(plain, LIBRARY)) == []


def test_a_plan_is_balanced_drawn_by_chance_and_drawn_again_by_its_number() -> None:
    design = Design(salt="0; 1,5; 3", alcohol="0; 10", repeats=4)
    runs = trial_plan(design)
    assert runs == trial_plan(design)
    assert runs != trial_plan(Design(salt="0; 1,5; 3", alcohol="0; 10", repeats=4, seed=2))
    assert [run.place for run in runs] == list(range(1, 25))
    names = {one.name for one in variants(design)}
    assert "salt 1.5 %, alcohol 10 %" in names
    for block in range(4):
        assert {run.variant.name for run in runs[6 * block : 6 * block + 6]} == names
    assert set(evenly_drawn(runs)) == names
    free = trial_plan(Design(salt="0; 3", repeats=10, blocks=False))
    assert sorted(run.repeat for run in free) == sorted([*range(1, 11)] * 2)
    for salt, words in (("0", "1 variants"), ("0; 130", "from 0 to 100 %"), ("a", "no number|not a number")):
        with pytest.raises(KitError, match=words):
            trial_plan(Design(salt=salt))
    twelve = Design(salt="0; 1; 2; 3", alcohol="0; 5; 10", repeats=10)
    assert len(trial_plan(twelve)) == 120  # as many as are planned at all
    for more, words in (
        (replace(twelve, repeats=11), "more than 120 trials"), (replace(twelve, salt="0; 1; 2; 3; 4"), "2 to 12"),
    ):  # fmt: skip
        with pytest.raises(KitError, match=words):
            trial_plan(more)


def test_variants_are_named_once_however_they_are_spelt() -> None:
    assert variants_of([trial("With  salt"), trial("plain"), trial("with salt")]) == ("With salt", "plain")


@each_of(
    ("name", "first", "takes", "refuses"),
    [
        ("repeats", "4 times", ("1", "30"), ("0", "31")),
        ("shakes", "10 times", ("1", "1000"), ("0", "1001")),
        ("watch", "600 s", ("1", "86400"), ("0.9", "86401")),  # ten minutes; a day
        ("seed", "1", ("0", "999999"), ("-1", "1000000")),
        ("blocks", "yes", ("no",), ("perhaps",)),
    ],
)
def test_what_may_be_asked_of_a_plan(name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]) -> None:
    check_box(Design, name, first, takes, refuses)
    assert [one.name for one in variants(Design())] == ["as it is", "salt 1 %", "salt 3 %"]
    assert len(trial_plan(Design())) == 3 * 4


@each_of(
    ("name", "first", "takes", "refuses"),
    [
        ("shakes", "10 times", ("1", "1000"), ("0", "1001")),
        ("temperature", "", ("-20", "80"), ("-20.1", "80.1")),
        ("stood", "", ("0", "3660"), ("-0.1", "3661")),  # ten years
        ("parted", "", ("2592000",), ("-1", "2592001")),  # 30 days of 86,400 s
        ("watched", "", ("2592000",), ("-1", "2592001")),
        ("mix", "not looked at", ("mixed: one even liquid",), ("fine",)),
    ],
)
def test_what_may_be_said_of_a_trial(name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]) -> None:
    check_box(Trial, name, first, takes, refuses)
    assert trial(parted=2_592_000.0).parted == 2_592_000
    for said, words in (
        ({"parted": 2_592_001.0}, "above 0 and up to 2592000 s, which is 30 days"),
        ({"watched": 2_592_001.0}, "It was watched until 2.592e"),
        ({"watched": 0.0}, "It was watched until 0 s after shaking"),
        ({"parted": -1.0}, "It parted -1 s after shaking"),
        ({"readings": (Reading(2_592_001.0, 1),)}, "seconds lie from 0 to 2592000, which is 30 days"),
        ({"readings": (Reading(2_592_000.0, 10_000),)}, "millimetres from 0 to below 10000"),
    ):
        with pytest.raises(RangeError, match=words):
            trial(**said)
    assert trial(readings=(Reading(2_592_000.0, 9_999),)).readings[0].millimetres == 9_999


def test_a_region_of_many_curves_is_thinned_out_evenly(monkeypatch: pytest.MonkeyPatch) -> None:
    law = PartingLaw(40.0, 0.5, 0.4)
    readings = [Reading(t, round(law.height(t))) for t in (10, 25, 45, 80)]
    whole = fit_parting(readings, 40.0)
    monkeypatch.setattr(parting_fit, "MOST_CURVES", 100)
    thin = fit_parting(readings, 40.0)
    assert len(whole.region) > 1000
    assert 51 <= len(thin.region) <= 100
    seconds = [5.0, 20.0, 60.0, 200.0]
    for a, b in zip(whole.band(seconds), thin.band(seconds), strict=True):
        assert b == pytest.approx(a, abs=1.5)
    assert (thin.parted_low, thin.parted_high) == (whole.parted_low, whole.parted_high)


@each_of(
    ("stood", "words"),
    [
        (0.0, "up to a day"), (1.0, "up to a day"), (1.01, "up to a week"), (7.0, "up to a week"),
        (7.01, "up to four weeks"), (28.0, "up to four weeks"), (28.01, "up to twelve weeks"),
        (84.0, "up to twelve weeks"), (84.01, "longer"), (3660.0, "longer"), (None, "standing not noted"),
    ],
)  # fmt: skip
def test_a_standing_is_put_into_words(stood: float | None, words: str) -> None:
    (group,) = shake_advice([trial(shakes=10, mix="mixed", stood=stood)]).groups
    assert (group.standing, group.trials) == (words, 1)


def test_the_fewest_shakes_that_always_mixed_are_advised() -> None:
    found = shake_advice(
        mixes((15, "mixed", 3), (10, "mixed", 3), (20, "mixed", 3), (5, "not mixed", 3), (5, "mixed", 3))
    )
    assert (found.shakes, found.label) == (10, "Shake 10 times before each use.")
    assert "1 of 1 trials with 10 shakes gave a full mix, stood for 3 to 3 days" in found.support
    assert "With 5 shakes it was not mixed each time." in found.support
    groups = [(one.shakes, one.mixed, one.streaks, one.unmixed, one.trials) for one in found.groups]
    assert groups == [(5, 1, 0, 1, 2), (10, 1, 0, 0, 1), (15, 1, 0, 0, 1), (20, 1, 0, 0, 1)]
    never = shake_advice(mixes((5, "mixed", 3), (10, "streaks", 3), (10, "mixed", 3), (8, "not mixed", 3)))
    assert (
        "With 10 shakes, the most that were tried, a full mix was not reached each time (2 of 4 trials" in never.support
    )
    # trials after a standing that nobody noted count only where none was noted
    some = shake_advice([*mixes((10, "mixed", 3)), trial(shakes=5, mix="mixed")])
    assert some.shakes == 10
    assert shake_advice([trial(shakes=5, mix="mixed"), trial(shakes=7, mix="mixed")]).shakes == 5
    assert [shake_advice(mixes((n, "mixed", 1))).label for n in (1, 2, 3)] == [
        "Shake once before each use.", "Shake twice before each use.", "Shake 3 times before each use.",
    ]  # fmt: skip


def test_the_day_of_a_trial_is_kept_and_where_none_is_given_it_is_today() -> None:
    assert Trial("plain", day="2026-04-06").day == "2026-04-06"
    assert Trial("plain").day == "2026-12-01"  # as tests/conftest.py has it
    long = trial("a" * 200, note=" two  words \n", batch="", bottle="\tjar ")
    assert (long.note, long.batch, long.bottle) == ("two words", "", "jar")


def test_a_region_without_an_upper_end_is_told_as_such() -> None:
    law = PartingLaw(40.0, 0.5, 0.4)
    whole = [Reading(t, law.height(t)) for t in (10, 25, 45, 70, 100, 140, 200, 300)]
    for readings, final, is_open in (
        (whole, 40.0, False), (whole, None, False), ([Reading(t, law.height(t)) for t in (10, 25, 30, 35)], None, True),
        ([Reading(t, 40.0) for t in (100, 200, 300)], 40.0, True),
    ):  # fmt: skip
        found = fit_parting(readings, final)
        assert math.isinf(found.parted_high) == is_open
        assert (("no upper end" in found.sentence()) or ("open at both ends" in found.sentence())) == is_open
        assert found.parted_low <= found.parted <= found.parted_high
        assert found.speed_low <= found.law.speed <= found.speed_high
    early = [Reading(0, 0.0), Reading(-5, 0.0), *whole[:2]]
    with pytest.raises(RangeError, match="2 of at least 3 readings"):  # what was read before the start does not count
        fit_parting(early, 40.0)
    fit_parting([*whole[:3]], law.height(45) - 2)  # a ruler may read up to 2 mm too high
    with pytest.raises(RangeError, match=r"A reading of .* mm is above"):
        fit_parting([*whole[:3]], law.height(45) - 2.01)


@each_of(
    ("said", "words"),
    [
        ({"temperature": 22.0}, ""),  # 2 °C are no difference in a room
        ({"temperature": 22.1}, "Beware: the temperature differed too."),
        ({"temperature": 17.9}, "Beware: the temperature differed too."),
        ({"shakes": 11}, "Beware: the shakes differed too."),
        ({"bottle": "JAR"}, ""),
        ({"bottle": "tube"}, "Beware: the bottle differed too."),
        (
            {"shakes": 11, "bottle": "tube", "temperature": 30.0},
            "the shakes, the bottle and the temperature differed too.",
        ),
    ],
)
def test_what_differed_besides_the_variant_is_told(said: dict[str, object], words: str) -> None:
    usual: dict[str, object] = {"shakes": 10, "bottle": "jar", "temperature": 20.0}
    one = [trial("plain", parted=t, **usual) for t in (100.0, 110.0)]
    other = [trial("salt", parted=t, **(usual | said)) for t in (50.0, 60.0)]
    (found,) = compare_variants([*one, *other])
    assert words in found.sentence()
    assert ("Beware" in found.sentence()) == bool(words)
    assert found.sentence().startswith("2 trials of salt against 2 trials of plain: ")
    assert "Few trials: take the ends as rough." in found.sentence()
    many = compare_variants([trial(name, parted=t) for name in ("a", "b") for t in (5.0, 6.0, 7.0, 8.0, 9.0)])[0]
    assert "Few trials" not in many.sentence()  # five of each are not few


def test_intervals_of_several_variants_hold_together_and_base_is_found_however_it_is_spelt() -> None:
    def of(*names: str) -> list[Trial]:
        return [trial(name, parted=t) for name in names for t in (50.0, 60.0, 70.0)]

    # 5 % are shared out: 95, 97.5 and 98.33 % for one, two and three comparisons (Bonferroni)
    for names, level in ((("a", "b"), 95.0), (("a", "b", "c"), 97.5), (("a", "b", "c", "d"), 100 - 5 / 3)):
        found = compare_variants(of(*names))
        assert [present(one.ratio).level for one in found] == pytest.approx([level] * (len(names) - 1))
    found = compare_variants(of("Plain", "salt", "gum"), base=" SALT")
    assert [(one.variant, one.base) for one in found] == [("Plain", "salt"), ("gum", "salt")]
    # with one that had not parted three of each are needed, with all parted two
    open_one = [*of("a"), trial("b", parted=90.0), trial("b", watched=200.0)]
    assert compare_variants(open_one)[0].ratio is None
    assert "With fewer than 3 trials of each" in compare_variants(open_one)[0].sentence()
    assert present(compare_variants([*open_one, trial("b", parted=95.0)])[0].ratio).how == "log-rank"
    one_each = compare_variants([*of("a"), trial("b", parted=90.0)])[0]
    assert "With fewer than 2 trials of each" in one_each.sentence()


def plain_heights(final: Any, speed: Any, settling: Any, second: float) -> Any:
    """The law written down anew: v t while drops settle, then the rest by exp(-(t - turn) v / rest)."""
    turn, rest = settling * final / speed, (1 - settling) * final
    gone = np.exp(-np.maximum(second - turn, 0) * speed / np.maximum(rest, 1e-12))
    return np.where(second <= turn, speed * second, final - rest * gone)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_ends_of_the_region_are_those_of_a_plain_search(seed: int) -> None:
    """Beale (1960): sums of squares up to (1 + 2 / (n - 2) F) times the least; F of 2 and 6 degrees, 95 %: 5.1433.

    The judge looks at 700 speeds and 701 parts; a reading errs by half a millimetre over √3 at the least.
    """
    law, chance = PartingLaw(50.0, 0.4, 0.45), np.random.default_rng(seed)
    readings = [
        Reading(t, max(law.height(t) + chance.normal(0, 0.8), 0.0)) for t in (15, 30, 50, 75, 110, 150, 200, 280)
    ]
    found = fit_parting(readings, 50.0)
    speed, settling = np.meshgrid(0.4 * np.geomspace(0.7, 1.4, 700), np.linspace(0, 1, 701))
    sums = sum((plain_heights(50.0, speed, settling, one.seconds) - one.millimetres) ** 2 for one in readings)
    least = float(sums.min())
    assert sum(r * r for r in found.residuals) == pytest.approx(least, rel=1e-3)
    inside = sums <= least + 2 * 5.143253 * max(least / 6, 0.25 / 3)
    left = np.log(np.maximum((1 - settling) / 0.05, 1))
    times = 50.0 / speed * (np.minimum(settling, 0.95) + (1 - settling) * left)  # until 95 % are clear
    assert (found.parted_low, found.parted_high) == pytest.approx((times[inside].min(), times[inside].max()), rel=5e-3)
    assert (found.speed_low, found.speed_high) == pytest.approx((speed[inside].min(), speed[inside].max()), rel=5e-3)
    low, high = found.band([60.0])
    heights = plain_heights(50.0, speed, settling, 60.0)[inside]
    assert (low[0], high[0]) == pytest.approx((heights.min(), heights.max()), abs=0.05)
    assert found.parted == pytest.approx(found.law.time_until(0.95))


def test_the_region_with_a_final_height_that_is_fitted_too_is_that_of_a_plain_search() -> None:
    """The same with three unknowns: 3 / (n - 3) F, F of 3 and 9 degrees, 95 %: 3.8625."""
    law, chance = PartingLaw(50.0, 0.4, 0.45), np.random.default_rng(5)
    seconds = (15, 30, 50, 75, 110, 150, 200, 280, 350, 450, 600, 800)
    readings = [Reading(t, max(law.height(t) + chance.normal(0, 0.6), 0.0)) for t in seconds]
    found = fit_parting(readings)
    final, speed, settling = np.meshgrid(
        np.linspace(47, 53, 61), 0.4 * np.geomspace(0.8, 1.25, 120), np.linspace(0, 1, 121), indexing="ij"
    )
    sums: Any = sum((plain_heights(final, speed, settling, one.seconds) - one.millimetres) ** 2 for one in readings)
    least = sum(r * r for r in found.residuals)
    assert least <= float(sums.min()) * (1 + 1e-9)  # the fit is no worse than the best of the net
    inside = sums <= least + 3 * 3.862548 * max(least / 9, 0.25 / 3)
    left = np.log(np.maximum((1 - settling) / 0.05, 1))
    times = (final / speed * (np.minimum(settling, 0.95) + (1 - settling) * left))[inside]
    assert (found.parted_low, found.parted_high) == pytest.approx((times.min(), times.max()), rel=0.02)
    assert (found.speed_low, found.speed_high) == pytest.approx((speed[inside].min(), speed[inside].max()), rel=0.02)


@pytest.mark.parametrize(
    ("final", "speed", "settling"),
    [(0.0, 1.0, 0.5), (-1.0, 1.0, 0.5), (1.0, 0.0, 0.5), (1.0, -1.0, 0.5), (1.0, 1.0, -0.01), (1.0, 1.0, 1.01)],
)
def test_a_law_that_cannot_be_is_refused(final: float, speed: float, settling: float) -> None:
    with pytest.raises(RangeError, match="a final height and a speed above 0 and a part that settles from 0 to 1"):
        PartingLaw(final, speed, settling)
    assert PartingLaw(0.5, 0.5, 0.0).time_until(0.0) == PartingLaw(0.5, 0.5, 1.0).time_until(0.0) == 0
    # all settling: 0.95 × 0.5 mm at 0.5 mm/s; all merging: ln 20 of a second
    assert PartingLaw(0.5, 0.5, 1.0).time_until(0.95) == pytest.approx(0.95)
    assert PartingLaw(0.5, 0.5, 0.0).time_until(0.95) == pytest.approx(math.log(20))


def test_a_thin_layer_of_less_than_a_millimetre_is_fitted_too() -> None:
    law = PartingLaw(0.9, 0.02, 0.5)
    readings = [Reading(t, law.height(t)) for t in (5, 15, 25, 40, 60, 90, 150)]
    found = fit_parting(readings, 0.9)
    assert found.typical_error < 0.01
    assert found.law.height(25) == pytest.approx(law.height(25), abs=0.02)
