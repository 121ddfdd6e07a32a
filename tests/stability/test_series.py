"""Readings as numbers against days, and the limits they are held against."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from kit.errors import EntryError, RangeError
from kit.stability.plan import Attribute, Condition, Plan, TimePoint
from kit.stability.series import Acceptance, Series, acceptance, series_of
from kit.stability.study import Observation, Study

START = date(2026, 1, 12)
PH = Attribute("ph", "pH", "number", change=0.5, lower=4.6)
FLOW = Attribute("flow", "Viscosity", "number", unit="mPa s", change_percent=20)
BARE = Attribute("mass", "Mass", "number", unit="g")
SHADE = Attribute("shade", "Colour", "colour", change=2.0)
LOOK = Attribute("look", "Appearance", "grade", upper=1, scale=("as new", "changed", "spoiled"))
SMELL = Attribute("smell", "Smell in words", "text")
PLAN = Plan(
    "small",
    "Small plan",
    (Condition("room", "Room, 20 to 25 °C", 20, 25, 22), Condition("warm", "Warm, 40 °C", 38, 42, 40)),
    (TimePoint("start", 0), TimePoint("2 weeks", 14), TimePoint("4 weeks", 28)),
    (PH, FLOW, BARE, SHADE, LOOK, SMELL),
)
STUDY = Study(1, "Invented study", PLAN, ("A", "B"), START)


def seen(number: int, value: str, day: int = 0, attribute: str = "ph", **more: object) -> Observation:
    """A reading; its time point is the one at or before the day."""
    point = next(point.label for point in reversed(PLAN.time_points) if point.days <= day or point.days == 0)
    numeric = attribute in ("ph", "flow", "mass", "look")
    row = Observation(
        number, 1, "A", "room", point, attribute, value, float(value) if numeric else None, START + timedelta(days=day)
    )
    return replace(row, **more)  # type: ignore[arg-type]


def test_days_are_those_that_had_really_passed() -> None:
    rows = [seen(1, "5.3"), seen(2, "5.2", 16), seen(3, "5.1", 28)]
    assert series_of(STUDY, rows, "room", "pH") == [Series("A", (0.0, 16.0, 28.0), (5.3, 5.2, 5.1))]
    assert series_of(STUDY, rows[::-1], "Room, 20 to 25 °C", "ph") == series_of(STUDY, rows, "room", "ph")


def test_a_corrected_reading_counts_once() -> None:
    rows = [seen(1, "5.3"), seen(2, "52", 14), seen(3, "5.2", 14, replaces=2, reason="slip"), seen(4, "5.1", 28)]
    assert series_of(STUDY, rows, "room", "ph")[0].values == (5.3, 5.2, 5.1)


def test_batches_and_conditions_are_kept_apart() -> None:
    rows = [seen(1, "5.3"), seen(2, "5.4", batch="B"), seen(3, "5.0", condition="warm"), seen(4, "9", attribute="flow")]
    assert [(one.batch, one.values) for one in series_of(STUDY, rows, "room", "ph")] == [("A", (5.3,)), ("B", (5.4,))]
    assert [(one.batch, one.values) for one in series_of(STUDY, rows, "warm", "ph")] == [("A", (5.0,))]
    assert series_of(STUDY, [], "warm", "ph") == []


def test_a_colour_becomes_its_difference_from_the_start() -> None:
    rows = [
        seen(1, "50 2.6772 -79.7751", attribute="shade"),
        seen(2, "50 0 -82.7485", 15, attribute="shade"),
        seen(3, "50 2.6772 -79.7751", 28, attribute="shade"),
        seen(4, "60 0 0", 15, attribute="shade", batch="B"),
    ]
    (found,) = series_of(STUDY, rows, "room", "shade")  # batch B has no start to differ from
    assert found.days == (15.0, 28.0)
    assert found.values == pytest.approx((2.0425, 0), abs=0.5e-4)  # Sharma, Wu & Dalal (2005), table 1, pair 1
    assert found.kind == "colour"
    assert found.last_day == 28


def test_grades_keep_their_kind_and_words_are_refused() -> None:
    (found,) = series_of(STUDY, [seen(1, "0", attribute="look"), seen(2, "1", 14, attribute="look")], "room", "look")
    assert (found.values, found.kind) == ((0.0, 1.0), "grade")
    with pytest.raises(
        EntryError, match=r"Smell in words is words, .* Choose one of: pH, Viscosity, Mass, Colour, App"
    ):
        series_of(STUDY, [], "room", "smell")


@pytest.mark.parametrize(
    ("attribute", "rows", "expected"),
    [
        ("ph", [seen(1, "5.3")], Acceptance(4.8, 5.8, "two")),
        ("ph", [seen(1, "5.0")], Acceptance(4.6, 5.5, "two")),  # the plan's own limit is the tighter
        ("ph", [seen(1, "5.3"), seen(2, "5.1", batch="B")], Acceptance(4.8, 5.6, "two")),
        ("ph", [seen(1, "5.3"), seen(2, "4.9", 14)], Acceptance(4.8, 5.8, "two")),  # later readings are no start
        ("ph", [], Acceptance(4.6, None, "one")),
        ("flow", [seen(1, "1000", attribute="flow")], Acceptance(800, 1200, "two")),
        ("mass", [seen(1, "50", attribute="mass")], Acceptance(None, None, "one")),
        ("shade", [], Acceptance(None, 2.0, "one")),
    ],
)
def test_acceptance(attribute: str, rows: list[Observation], expected: Acceptance) -> None:
    lower, upper, sided = acceptance(STUDY, attribute, rows)
    assert sided == expected.sided
    assert (lower, upper) == pytest.approx((expected.lower, expected.upper))


def test_acceptance_of_one_condition_takes_its_starts_only() -> None:
    rows = [seen(1, "5.3"), seen(2, "5.5", condition="warm")]
    assert acceptance(STUDY, "ph", rows).lower == pytest.approx(5.0)
    assert acceptance(STUDY, "ph", rows, "room").lower == pytest.approx(4.8)
    assert acceptance(STUDY, "ph", rows, "warm").lower == pytest.approx(5.0)


def test_starts_too_far_apart_are_said() -> None:
    rows = [seen(1, "1000", attribute="flow"), seen(2, "1700", attribute="flow", batch="B")]
    with pytest.raises(EntryError, match="Viscosity began between 1000 and 1700 mPa s, so far apart that no limits"):
        acceptance(STUDY, "flow", rows)


@pytest.mark.parametrize(
    ("attribute", "words"), [("look", "its steps are not equal, so no line is laid through it"), ("smell", "is words")]
)
def test_grades_and_words_have_no_acceptance_for_a_line(attribute: str, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        acceptance(STUDY, attribute, [])


def test_a_series_needs_a_day_for_each_value() -> None:
    with pytest.raises(RangeError, match="Batch A has 2 days and 1 values"):
        Series("A", (0, 1), (5.3,))


def test_a_start_measured_twice_is_one_start() -> None:
    rows = [seen(1, "5.0"), seen(2, "5.4", replicate=2), seen(3, "5.2", 14)]
    found = acceptance(STUDY, "ph", rows)
    assert (found.lower, found.upper) == pytest.approx((4.7, 5.7))
    assert found == Acceptance(found.lower, found.upper, "two")


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_refused(value: float) -> None:
    with pytest.raises(RangeError, match="Batch A has a day or a value that is no number"):
        Series("A", (0, 1), (5.0, value))


def test_words_are_answered_with_what_can_be_computed() -> None:
    with pytest.raises(EntryError) as told:
        series_of(STUDY, [], "room", "smell")
    numbers = [one.label for one in PLAN.attributes if one.kind in ("number", "grade", "colour")]
    assert str(told.value) == (
        f"Smell in words is words, so nothing can be computed from it. Choose one of: {', '.join(numbers)}."
    )
