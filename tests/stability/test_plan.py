"""Plans as data: what the ready ones hold, what a plan refuses, and that one survives JSON."""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.resources import load_table, resource_folder
from kit.stability.plan import (
    Attribute,
    Condition,
    Plan,
    TimePoint,
    every_attribute,
    plan_from_dict,
    plans,
)

#: What the trade logs of a layered product (common practice), and what it asks a laboratory for.
TRADE = {
    "appearance",
    "colour",
    "colour_lower",
    "colour_note",
    "density",
    "leaching",
    "layer_line",
    "separation",
    "leak",
    "lower_layer",
    "mass",
    "microbes",
    "middle_layer",
    "minutes_to_separate",
    "odour",
    "ph",
    "remark",
    "shakes_to_remix",
    "upper_layer",
    "viscosity",
}
READY = {
    "home-twelve-weeks",
    "home-45-four-weeks",
    "home-light-four-weeks",
    "chamber-twelve-weeks",
    "chamber-24-months",
    "chamber-six-months-40",
    "chamber-light",
    "freeze-thaw",
    "cold-warm-cycles",
    "centrifuge",
}


def test_the_ready_plans_are_there() -> None:
    assert set(plans()) == READY


@pytest.mark.parametrize("key", ["home-twelve-weeks", "chamber-twelve-weeks"])
def test_twelve_weeks_are_pulled_at_the_usual_times(key: str) -> None:
    # Pulls at start, 24 h, 1, 2, 4, 8, 12 weeks: common practice, from memory.
    assert [point.days for point in plans()[key].time_points] == [0, 1, 7, 14, 28, 56, 84]


def test_the_home_plan_has_four_places_of_a_home(plan: Plan) -> None:
    found = {one.key: (one.coldest, one.warmest) for one in plan.conditions if one.light == "dark"}
    assert found == {"cupboard": (20, 25), "fridge": (4, 8), "warm_box": (38, 42)}
    assert [one.key for one in plan.conditions if one.light == "daylight"] == ["window"]


def test_the_chambers_keep_the_tolerances_of_their_source() -> None:
    found = {one.temperature: one.warmest - one.coldest for one in plans()["chamber-twelve-weeks"].conditions}
    # ICH Q1A(R2): 5 ± 3, 25 ± 2, 40 ± 2 °C; 45 ± 2 °C is common practice.
    assert found == {5: 6, 25: 4, 40: 4, 45: 4}


def test_freeze_thaw_has_three_cycles_of_two_days() -> None:
    # 24 h cold and 24 h warm, at least three times: common practice, from memory.
    for key, cold, warm in (("freeze-thaw", -10, 45), ("cold-warm-cycles", 5, 45)):
        assert [point.days for point in plans()[key].time_points] == [0, 2, 4, 6]
        assert (plans()[key].conditions[0].coldest, plans()[key].conditions[0].warmest) == (cold, warm)


def test_the_slow_studies_are_pulled_at_the_months_of_their_source() -> None:
    # ICH Q1A(R2), 2.2.7: every 3 months in the first year, every 6 in the second; accelerated at 0, 3 and 6 at least.
    assert [round(point.days * 12 / 365) for point in plans()["chamber-24-months"].time_points] == [
        0, 3, 6, 9, 12, 18, 24,
    ]  # fmt: skip
    accelerated = plans()["chamber-six-months-40"]
    assert {0, 3, 6} <= {round(point.days * 12 / 365) for point in accelerated.time_points}
    assert accelerated.conditions[0].temperature == 40


def test_light_stands_beside_the_same_place_in_the_dark() -> None:
    for key in ("home-light-four-weeks", "chamber-light"):
        lit, wrapped = plans()[key].conditions
        assert lit.light != "dark" == wrapped.light
        assert (lit.coldest, lit.warmest, lit.temperature) == (wrapped.coldest, wrapped.warmest, wrapped.temperature)
    # ICH Q1B: not less than 1.2 million lux hours; the plan's lamp reaches it within its days.
    assert 8000 * 150 == 1_200_000
    assert plans()["chamber-light"].time_points[-1].days * 24 >= 150


@pytest.mark.parametrize("key", sorted(READY))
def test_every_plan_condition_and_attribute_is_complete_and_says_whence(key: str) -> None:
    plan = plans()[key]
    assert plan.source
    assert plan.about.endswith(".")
    assert "remark" in [one.key for one in plan.attributes]
    assert {one.key for one in plan.attributes} <= TRADE
    for condition in plan.conditions:
        assert condition.how.endswith(".")
        assert condition.source
        assert (condition.temperature is None) == (condition.warmest - condition.coldest > 12)


def test_every_attribute_is_complete_and_says_whence() -> None:
    assert set(every_attribute()) == TRADE
    for one in every_attribute().values():
        assert one.how.endswith(".")
        assert one.how.count(". ") == 0, "one sentence"
        assert "common practice" in one.source or "ISO" in one.source
        assert all("safe" not in words for words in (one.how, *one.scale))
        if one.kind == "number":
            assert one.unit or one.key == "ph"
            assert one.least is not None
            assert one.most is not None
        if one.kind in ("number", "grade", "colour"):
            assert {one.lower, one.upper, one.change, one.change_percent} != {None}
    assert len(every_attribute()["appearance"].scale) == len(every_attribute()["odour"].scale) == 5
    assert every_attribute()["colour"].change == 3
    # ISO 17516:2014, limits for products other than those for eyes, mucous membranes and children under three.
    assert every_attribute()["microbes"].upper == 1000


def test_the_source_note_says_that_the_maker_justifies_the_plan() -> None:
    about = load_table("stability-plans").about
    assert {"title", "issuer", "year", "as_of", "licence", "units", "agreement"} <= set(about)
    assert "leaves protocol and limits to the maker" in " ".join(about["note"].split())
    for file in (resource_folder("data") / "stability-plans").glob("*.toml"):
        assert tomllib.loads(file.read_text(encoding="utf-8"))["title"]


def test_names_are_found_by_key_or_label_in_any_case(plan: Plan) -> None:
    assert plan.condition(" FRIDGE ") is plan.condition("Fridge, 4 to 8 °C")
    assert plan.attribute("PH").key == "ph"
    assert plan.time_point("4 Weeks").days == 28


def test_an_unknown_name_is_answered_with_the_choices(plan: Plan) -> None:
    with pytest.raises(EntryError, match=r"'attic' is not a condition of .* Choose one of: cupboard, fridge,"):
        plan.condition("attic")
    with pytest.raises(EntryError, match=r"'3 weeks' is not a time point .* start, 1 day, 1 week"):
        plan.time_point("3 weeks")


GOOD = Attribute("ph", "pH", "number")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"key": " "}, "An attribute needs a key"),
        ({"kind": "shape"}, "'shape' is not a kind of attribute. Choose one of number, grade, yes/no, text, colour."),
        ({"kind": "colour", "upper": 3}, "a colour has one limit, its allowed change from the start. Leave the others"),
        ({"kind": "grade"}, "a grade, and only a grade, needs a scale"),
        ({"scale": ("good", "bad")}, "a grade, and only a grade, needs a scale"),
        ({"expected": "maybe"}, "the expected answer is 'maybe'. Write yes or no"),
        ({"lower": 6.0, "upper": 5.0}, "its lower limit 6 must be below its upper limit 5"),
        ({"change": 0.0}, "the allowed change from the start must be above 0, got 0"),
        ({"change_percent": -1.0}, "must be above 0, got -1"),
    ],
)
def test_an_attribute_that_makes_no_sense_is_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(GOOD, **change)  # type: ignore[arg-type]
    assert words in str(caught.value)


def test_a_condition_and_a_pull_that_make_no_sense_are_refused() -> None:
    with pytest.raises(RangeError, match=r"its coldest temperature, 8 °C, must not be above its warmest, 4 °C"):
        Condition("fridge", "Fridge", 8, 4)
    with pytest.raises(RangeError, match="Fridge: 20 °C lies outside 4 to 8 °C"):
        Condition("fridge", "Fridge", 4, 8, temperature=20)
    with pytest.raises(RangeError, match="cannot be below 0"):
        TimePoint("before", -1)


def test_a_plan_names_everything_once_and_in_order(plan: Plan) -> None:
    first, second = plan.time_points[:2]
    with pytest.raises(RangeError, match="a plan needs at least one condition"):
        replace(plan, conditions=())
    with pytest.raises(RangeError, match="the attribute 'ph' is named twice"):
        replace(plan, attributes=(GOOD, GOOD))
    with pytest.raises(RangeError, match="each later than the one before"):
        replace(plan, time_points=(second, first))


NAMES = st.text(min_size=1, max_size=12).filter(lambda name: bool(name.strip()))
FIGURES = st.none() | st.floats(min_value=1e-6, max_value=1e6)


@st.composite
def any_plan(draw: st.DrawFn) -> Plan:
    keys = st.lists(NAMES, min_size=1, max_size=4, unique_by=str.casefold)
    days = sorted(draw(st.sets(st.integers(0, 2000), min_size=1, max_size=5)))
    return Plan(
        key=draw(NAMES),
        title=draw(NAMES),
        conditions=tuple(Condition(key, key, draw(st.floats(-80, 4)), draw(st.floats(4, 80))) for key in draw(keys)),
        time_points=tuple(TimePoint(f"day {day}", day, draw(st.integers(0, 9))) for day in days),
        attributes=tuple(
            Attribute(key, key, "number", change=draw(FIGURES), change_percent=draw(FIGURES), whole=draw(st.booleans()))
            for key in draw(keys)
        ),
    )


@given(any_plan())
def test_a_plan_comes_back_from_json_as_it_went(plan: Plan) -> None:
    assert plan_from_dict(json.loads(json.dumps(asdict(plan)))) == plan
