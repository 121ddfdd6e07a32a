"""Judgements of a study: each word, when it is said and why; pulls late and missed; cycles."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from kit.stability.check import limits_of
from kit.stability.demo import LATE, MISSED, demo_observations, demo_study
from kit.stability.overview import WATCH_FROM, cycles, judge, overview
from kit.stability.plan import Attribute, Condition, Plan, TimePoint, plans
from kit.stability.study import Observation, Study

START = date(2026, 1, 12)
POINTS = tuple(TimePoint("start" if day == 0 else f"day {day}", day) for day in (0, 7, 14, 21, 28, 56, 84))
PH = Attribute("ph", "pH", "number", change=0.5, least=0, most=14)
SHAKES = Attribute("shakes", "Shakes", "number", "shakes", upper=20, least=0)
GRADE = Attribute("look", "Look", "grade", upper=2, scale=("as new", "slight", "clear", "strong", "spoiled"))
LEAK = Attribute("leak", "Leak", "yes/no", expected="no")
COLOUR = Attribute("colour", "Colour", "colour", change=3)
FREE = Attribute("mass", "Mass", "number", "g")
WORDS = Attribute("note", "Note", "text", optional=True)
ATTRIBUTES = (PH, SHAKES, GRADE, LEAK, COLOUR, FREE, WORDS)
STUDY = Study(
    1, "Shake", Plan("own", "Own plan", (Condition("box", "Box", 20, 25),), POINTS, ATTRIBUTES), ("A",), START
)


def readings(attribute: Attribute, *values: str) -> list[Observation]:
    """One value for each pull from the start on; "" for none."""
    rows = []
    for number, (point, value) in enumerate(zip(POINTS, values, strict=False), start=1):
        if value:
            typed = float(value) if attribute.numeric else None
            day = START + timedelta(days=point.days)
            rows.append(Observation(number, 1, "A", "box", point.label, attribute.key, value, typed, day))
    return rows


def verdict(attribute: Attribute, *values: str) -> tuple[str, str]:
    found = judge(STUDY, attribute, "A", "box", readings(attribute, *values))
    return found.verdict, found.words


@pytest.mark.parametrize(
    ("attribute", "values", "expected"),
    [
        (PH, ("5.3", "5.2"), ("pass", "Within its limit.")),
        (PH, ("5.3",), ("pass", "Within its limit; read once.")),
        (PH, ("5.3", "4.7"), ("fail", "pH is 4.7: 0.6 below the 5.3 at the start, and the plan allows 0.5.")),
        (PH, ("5.3", "4.9"), ("watch", "pH has gone 80 % of the way from its start to its limit.")),
        (PH, ("5.3", "4.7", "5.2"), ("watch", "pH keeps its limit now, but did not at day 7.")),
        (PH, (), ("not read", "Nothing was read yet.")),
        (
            PH,
            ("", "5.3"),
            ("not judged", "The plan limits the change from the start, and nothing was read at the start."),
        ),
        (SHAKES, ("8", "17"), ("watch", "Shakes has gone 75 % of the way from its start to its limit.")),
        (SHAKES, ("", "21"), ("fail", "Shakes is 21 shakes: above its limit, 20 shakes.")),
        (SHAKES, ("8", "7"), ("pass", "Within its limit.")),
        (GRADE, ("0", "1"), ("pass", "Within its limit.")),
        (GRADE, ("0", "2"), ("watch", "Look is 2 (clear): one grade more is outside its limit.")),
        (GRADE, ("0", "3"), ("fail", "Look is 3 (strong): above its limit, 2 (clear).")),
        (LEAK, ("no", "no"), ("pass", "Within its limit.")),
        (LEAK, ("no", "yes"), ("fail", "Leak: yes, and the plan expects no.")),
        (LEAK, ("yes", "no"), ("watch", "Leak keeps its limit now, but did not at start.")),
        (COLOUR, ("60 5 18", "60 5 19"), ("pass", "Within its limit.")),
        (FREE, ("110", "60"), ("not judged", "The plan sets no limit.")),
        (WORDS, ("clear", "cloudy"), ("not judged", "The plan sets no limit.")),
    ],
)
def test_each_word_and_its_reason(attribute: Attribute, values: tuple[str, ...], expected: tuple[str, str]) -> None:
    assert verdict(attribute, *values) == expected


def test_a_colour_is_judged_by_its_difference() -> None:
    # (50, 2.6772, -79.7751) and (50, 0, -82.7485) differ by 2.0425: Sharma and others (2005), table 1, pair 1
    found = judge(STUDY, COLOUR, "A", "box", readings(COLOUR, "50 2.6772 -79.7751", "50 0 -82.7485"))
    assert found.change == pytest.approx(2.0425, abs=5e-5)
    assert found.used == pytest.approx(2.0425 / 3, abs=2e-5)
    assert found.verdict == "pass"
    assert verdict(COLOUR, "60 5 18", "60 5 24")[0] == "fail"
    near = judge(
        STUDY, replace(COLOUR, change=2.5), "A", "box", readings(COLOUR, "50 2.6772 -79.7751", "50 0 -82.7485")
    )
    assert near.words == "Colour has gone 82 % of the way from its start to its limit."


def test_a_steady_trend_is_told_before_it_crosses() -> None:
    falling = ("5.30", "5.27", "5.23", "5.20")  # 0.1 in three weeks: 0.5 would be gone in about fifteen
    assert verdict(PH, *falling)[0] == "pass"
    steeper = ("5.30", "5.25", "5.18", "5.12")
    kind, words = verdict(PH, *steeper)
    assert kind == "watch"
    # by hand: slope -0.305/5 = -0.061 a week, line 5.304 at the start, (5.304 - 4.8) / 0.061 = 8.26
    assert words == "pH moves on a line that meets its limit at about week 8.3, before the plan ends at week 12."


def test_scatter_alone_is_no_trend_and_a_plan_at_its_end_has_none() -> None:
    assert verdict(PH, "5.3", "5.1", "5.4", "5.15")[0] == "pass"
    ended = ("5.30", "5.25", "5.20", "5.15", "5.10", "5.05", "4.95")
    assert verdict(PH, *ended) == ("pass", "Within its limit.")


def test_rising_towards_an_upper_limit_is_seen_too() -> None:
    assert verdict(SHAKES, "8", "9", "10", "11")[0] == "pass"  # one a week meets 20 when the plan ends, not before
    # by hand: slope 6.5/5 = 1.3 a week, line 7.8 at the start, (20 - 7.8) / 1.3 = 9.38
    words = verdict(SHAKES, "8", "9", "10", "12")[1]
    assert words.startswith("Shakes moves on a line that meets its limit at about week 9.4,")


def test_change_and_way_used_are_numbers() -> None:
    found = judge(STUDY, PH, "A", "box", readings(PH, "5.3", "5.1"))
    assert found.change == pytest.approx(-0.2)
    assert found.used == pytest.approx(0.4)
    assert found.latest is not None
    assert found.start is not None
    assert (found.latest.value, found.start.value) == ("5.1", "5.3")
    assert 0.5 < WATCH_FROM < 1


def one_sided(attribute: Attribute, *values: str) -> list[Observation]:
    """Readings of which those that say only more or less have no number."""
    rows = readings(replace(attribute, kind="text"), *values)
    return [replace(row, number=float(row.value) if row.value[0].isdigit() else None) for row in rows]


OPEN = "is {!r}, which leaves open whether it keeps its limit."


@pytest.mark.parametrize(
    ("attribute", "values", "expected"),
    [
        (SHAKES, ("8", "< 17"), ("pass", "Within its limit.")),
        (SHAKES, ("8", "< 20"), ("pass", "Within its limit.")),
        (SHAKES, ("8", "< 30"), ("watch", f"Shakes {OPEN.format('< 30')}")),
        (SHAKES, ("8", "> 17"), ("watch", f"Shakes {OPEN.format('> 17')}")),
        (SHAKES, ("8", "> 21"), ("fail", "Shakes is > 21: above its limit, 20 shakes.")),
        (SHAKES, ("8", "> 21", "9"), ("watch", "Shakes keeps its limit now, but did not at day 7.")),
        (SHAKES, ("8", "> 17", "9"), ("pass", "Within its limit.")),
        (PH, ("5.3", "> 5"), ("watch", f"pH {OPEN.format('> 5')}")),
        (PH, ("5.3", "> 6"), ("fail", "pH is > 6: above the 5.8 that the plan allows after the 5.3 at the start.")),
        (PH, ("5.3", "< 4"), ("fail", "pH is < 4: below the 4.8 that the plan allows after the 5.3 at the start.")),
        (
            PH,
            ("> 5", "5.3"),
            ("not judged", "The plan limits the change from the start, and '> 5' there is no number."),
        ),
        (FREE, ("5", "> 6"), ("not judged", "The plan sets no limit.")),
    ],
)
def test_a_reading_that_says_only_more_or_less_fails_only_where_that_is_sure(
    attribute: Attribute, values: tuple[str, ...], expected: tuple[str, str]
) -> None:
    rows = one_sided(attribute, *values)
    found = judge(STUDY, attribute, "A", "box", rows)
    assert (found.verdict, found.words) == expected
    if None in (rows[0].number, rows[-1].number):
        assert (found.change, found.used) == (None, None)


def test_without_a_start_there_is_no_change() -> None:
    found = judge(STUDY, SHAKES, "A", "box", readings(SHAKES, "", "17"))
    assert (found.change, found.used) == (None, None)


def test_the_way_used_counts_towards_the_limit_of_that_side() -> None:
    both = replace(PH, change=None, lower=4.0, upper=6.0)
    # by hand, of 5.0: up 0.4 of the 1.0 to 6, down 0.6 of the 1.0 to 4, and nothing where it stayed
    for latest, expected in (("5.4", 0.4), ("4.4", 0.6), ("5.0", 0.0)):
        assert judge(STUDY, both, "A", "box", readings(both, "5.0", latest)).used == pytest.approx(expected)
    # away from the only limit it has gone nothing of its way; towards it from beyond, there is no way to go
    assert judge(STUDY, SHAKES, "A", "box", readings(SHAKES, "8", "7")).used == 0.0
    assert judge(STUDY, SHAKES, "A", "box", readings(SHAKES, "21", "22")).used is None
    assert judge(STUDY, FREE, "A", "box", readings(FREE, "5", "5")).used is None


def test_the_tighter_of_two_limits_counts() -> None:
    both = Attribute("x", "X", "number", lower=4, upper=6, change=0.5)
    assert limits_of(both, 5.0) == (4.5, 5.5)
    assert limits_of(both, 5.8) == (5.3, 6)
    assert limits_of(both, None) == (4, 6)
    assert limits_of(Attribute("m", "M", "number", change_percent=2), 100) == (98, 102)


def test_a_corrected_reading_is_judged_by_its_correction() -> None:
    wrong, right = readings(PH, "5.3", "4.2"), readings(PH, "5.3", "5.2")[1]
    rows = [*wrong, replace(right, id=9, replaces=wrong[1].id, reason="misread")]
    page = overview(STUDY, rows, START + timedelta(days=8))
    (found,) = page.cell("ph", "box")
    assert (found.verdict, found.latest and found.latest.value) == ("pass", "5.2")


def test_of_replicates_the_one_farthest_from_the_mean_start_is_judged() -> None:
    first, last = readings(PH, "5.2", "5.1")
    rows = [first, replace(first, id=8, value="5.4", number=5.4, replicate=2)]
    rows += [last, replace(last, id=9, value="4.75", number=4.75, replicate=2)]
    found = judge(STUDY, PH, "A", "box", [*rows, replace(last, id=10, value="5.15", number=5.15, replicate=3)])
    assert found.start is not None
    assert found.start.number == pytest.approx(5.3)
    assert (found.verdict, found.latest and found.latest.value) == ("fail", "4.75")
    assert found.change == pytest.approx(-0.55)


def test_the_page_holds_every_bottle_in_the_order_of_the_plan_and_counts() -> None:
    study, rows = demo_study(), demo_observations()
    page = overview(study, rows, date(2026, 4, 8))
    places = [(one.attribute, one.condition, one.batch) for one in page.judgements]
    plan = study.plan
    assert places == [(a.key, c.key, b) for a in plan.attributes for c in plan.conditions for b in study.batches]
    assert sum(page.counts.values()) == len(places)
    assert page.counts["fail"] >= 1
    looked = page.to_look_at()
    assert [one.verdict for one in looked] == sorted((one.verdict for one in looked), key=("fail", "watch").index)
    assert page.in_words.startswith(f"Of {len(places)} judgements: {page.counts['fail']} fail, ")


def test_pulls_late_missed_and_overdue_are_listed() -> None:
    study, rows = demo_study(), demo_observations()
    page = overview(study, rows, date(2026, 4, 8))
    assert [(p.batch, p.condition, p.time_point) for p in page.missed] == [MISSED]
    assert {(one.pull.batch, one.pull.time_point, one.days) for one in page.late} == {LATE}
    assert page.in_words.endswith("Pulls: 1 missed, 4 late.")
    early = [row for row in rows if row.observed_on < date(2026, 3, 9)]
    stalled = overview(study, early, date(2026, 3, 20))
    assert {pull.time_point for pull in stalled.overdue} == {"8 weeks"}
    assert overview(STUDY, [], START).in_words == "Of 7 judgements: 7 not read. Pulls: all in time."


# ---- cycles -----------------------------------------------------------------------------------------------


FROZEN = Study(1, "Frozen", plans()["freeze-thaw"], ("A",), START)
GOOD = {
    "appearance": "0",
    "odour": "0",
    "colour": "60 5 18",
    "ph": "5.3",
    "viscosity": "12",
    "density": "1.01",
    "lower_layer": "61",
    "minutes_to_separate": "4",
    "shakes_to_remix": "8",
    "mass": "110",
    "leak": "no",
}


def cycled(*pulls: dict[str, str] | None) -> list[Observation]:
    """For each pull what differs from a good one, or None where it was not read."""
    rows: list[Observation] = []
    for point, other in zip(FROZEN.plan.time_points, pulls, strict=False):
        for attribute in FROZEN.plan.attributes:
            if other is not None and attribute.key in GOOD:
                value = {**GOOD, **other}[attribute.key]
                number = float(value) if attribute.numeric and value[0].isdigit() else None
                day = FROZEN.due_on(point)
                cell = ("A", "cycled", point.label, attribute.key)
                rows.append(Observation(len(rows) + 1, 1, *cell, value, number, day))
    return rows


@pytest.mark.parametrize(
    ("pulls", "words"),
    [
        (({}, {}, {}, {}), "3 of 3 cycles passed."),
        (({}, {}), "1 of 3 cycles passed; 1 read in full so far."),
        (
            ({}, {}, {"leak": "yes", "ph": "4.1"}, {}),
            "1 of 3 cycles passed; first outside after cycle 2: pH, Leak or loose cap.",
        ),
        (({}, {}, None, {}), "1 of 3 cycles passed; 2 read in full so far."),
        (({}, {}, {"ph": "> 5"}, {}), "1 of 3 cycles passed."),  # it may be within, and may not
        (({}, {}, {"ph": "> 7"}, {}), "1 of 3 cycles passed; first outside after cycle 2: pH."),
        (({}, {}, {"shakes_to_remix": "< 9"}, {}), "3 of 3 cycles passed."),
        ((), "0 of 3 cycles passed; 0 read in full so far."),
    ],
)
def test_cycles_are_counted_without_a_gap(pulls: tuple[dict[str, str] | None, ...], words: str) -> None:
    found = next(one for one in cycles(FROZEN, cycled(*pulls)) if one.condition == "cycled")
    assert found.words == words


def test_a_bottle_that_was_kept_steady_went_through_no_cycle() -> None:
    found = {one.condition: one.words for one in cycles(FROZEN, cycled({}, {}))}
    assert found["kept"] == "Kept steady to compare with; within its limits beside 0 of 3 cycles."
    kept = [replace(row, condition="kept") for row in cycled({}, {"ph": "9"})]
    found = {one.condition: one.words for one in cycles(FROZEN, kept)}
    assert found["kept"] == "Kept steady to compare with; first outside beside cycle 1: pH."


def test_a_plan_without_cycles_has_no_summary() -> None:
    assert cycles(STUDY, []) == ()
    assert overview(STUDY, [], START).cycles == ()
    assert len(overview(FROZEN, cycled({}), START).cycles) == len(FROZEN.plan.conditions)


def test_a_bottle_that_began_at_its_limit_has_no_way_to_go() -> None:
    both = replace(PH, change=None, lower=5.0, upper=6.0)
    assert judge(STUDY, both, "A", "box", readings(both, "5.0", "4.9")).used is None
    assert judge(STUDY, both, "A", "box", readings(both, "6.0", "6.1")).used is None
    assert judge(STUDY, both, "A", "box", readings(both, "5.0", "5.5")).used == pytest.approx(0.5)
