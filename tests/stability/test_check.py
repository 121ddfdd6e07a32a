"""What a typed value means, and what is said about it before it is saved."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError
from kit.stability.check import findings_for, findings_for_date, said
from kit.stability.plan import Attribute, Plan, plans
from kit.stability.reading import Reading, read_colour, read_value

if TYPE_CHECKING:
    from kit.stability.study import Study

PLAN = plans()["home-twelve-weeks"]


@pytest.mark.parametrize(
    ("key", "typed", "number"),
    [
        ("ph", "5,4", 5.4),
        ("ph", 5.4, 5.4),
        ("lower_layer", "61,5", 61.5),
        ("lower_layer", "61.5 mm", 61.5),
        ("lower_layer", "6,15 cm", 61.5),
        ("minutes_to_separate", "90 s", 1.5),
        ("minutes_to_separate", "4 min", 4.0),
        ("shakes_to_remix", "9 shakes", 9.0),
        ("mass", "0.11 kg", 110.0),
        ("appearance", "3", 3.0),
        ("colour_note", "  pale gold ", None),
        ("leak", "Yes", None),
        ("leak", False, None),
    ],
)
def test_a_value_is_read_as_people_write_it(key: str, typed: object, number: float | None) -> None:
    reading = read_value(PLAN.attribute(key), typed)
    assert reading.number == (None if number is None else pytest.approx(number, rel=1e-12))
    if isinstance(typed, str):
        assert reading.text == typed.strip(), "kept as typed"


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("ph", "", "pH is empty. Type a number from 0 to 14."),
        ("ph", None, "pH is empty."),
        ("ph", "about 5", "pH: 'about 5' cannot be read. Type a number from 0 to 14."),
        ("ph", "54", "pH: '54' is not possible. Type a number from 0 to 14. Is a decimal mark missing?"),
        ("ph", "1e999", "pH: '1e999' cannot be read. Type a number from 0 to 14."),
        ("lower_layer", "61 g", "Lower layer: '61 g' cannot be read. Type a number in mm from 0 to 1000."),
        ("shakes_to_remix", "8,5", "'8,5' is not a whole number. Type a whole number in shakes"),
        ("shakes_to_remix", "8 shake it", "'8 shake it' cannot be read"),
        ("appearance", "5", "'5' is not possible. Type one grade (0: as on the first day; 1: "),
        ("appearance", "1.5", "is not a whole number. Type one grade"),
        ("leak", "perhaps", "'perhaps' is neither yes nor no. Type yes or no."),
        ("colour_note", " ", "Colour note is empty. Write a few words."),
        ("colour_note", "blue\0", "Colour note holds a character that cannot be stored"),
        ("colour_note", "\ud800", "Colour note holds a character that cannot be stored"),
    ],
)
def test_what_cannot_be_read_stops_with_what_to_type(key: str, typed: object, words: str) -> None:
    attribute = PLAN.attribute(key)
    with pytest.raises(EntryError) as caught:
        read_value(attribute, typed)
    assert words in str(caught.value)
    (finding,) = findings_for(attribute, typed)
    assert (finding.severity, finding.sentence, finding.place.field) == ("stop", str(caught.value), key)


@pytest.mark.parametrize(
    ("key", "value", "start", "words"),
    [
        ("ph", "4,7", "5,3", "pH is 4.7: 0.6 below the 5.3 at the start, and the plan allows 0.5."),
        ("ph", "5.9", 5.3, "pH is 5.9: 0.6 above the 5.3 at the start"),
        ("mass", "107", "110", "Mass of the bottle is 107 g: 3 g below the 110 g at the start, and the plan allows"),
        ("shakes_to_remix", "21", "8", "Shakes to re-mix is 21 shakes: above its limit, 20 shakes."),
        ("appearance", "3", "0", "Appearance is 3 (strong change: a customer would ask): above its limit, 2 (clear"),
        ("leak", "y", "no", "Leak or loose cap: yes, and the plan expects no."),
    ],
)
def test_a_value_beyond_its_limit_is_a_caution(key: str, value: str, start: object, words: str) -> None:
    (finding,) = findings_for(PLAN.attribute(key), value, start)
    assert finding.severity == "caution"
    assert finding.sentence.startswith(words)
    assert "Look or measure once more; if it stays, save it" in finding.sentence
    assert finding.source == "common practice"


@pytest.mark.parametrize(
    ("key", "value", "start"),
    [
        ("ph", "4.8", "5.3"),  # 5.3 - 4.8 in floats is not quite 0.5
        ("ph", "4.7", None),
        ("mass", "107.8", "110"),
        ("appearance", "2", "0"),
        ("leak", "no", None),
        ("colour_note", "anything", None),
    ],
)
def test_a_value_at_its_limit_is_within_it(key: str, value: str, start: object) -> None:
    assert findings_for(PLAN.attribute(key), value, start) == []


def test_a_grade_is_said_with_its_words_and_a_number_with_its_unit() -> None:
    grades = PLAN.attribute("appearance")
    assert len(grades.scale) == 5
    assert said(grades, 0) == "0 (as on the first day)"
    assert said(grades, 4).startswith("4 (spoiled: ")
    assert [said(grades, number) for number in (5, 6, -1, 1.5)] == ["5", "6", "-1", "1.5"]
    assert said(PLAN.attribute("mass"), 107.1234567) == "107.123 g"
    assert said(PLAN.attribute("ph"), 5.3) == "5.3"


def test_a_unit_that_no_table_knows_may_be_written_as_it_stands_and_not_as_another() -> None:
    count = Attribute("count", "Colony count", "number", unit="CFU/g", least=0)
    assert read_value(count, "12 CFU/g").number == 12
    assert "'12 mg' cannot be read. Type a number in CFU/g from 0." in findings_for(count, "12 mg")[0].sentence


def test_a_lower_limit_counts_too() -> None:
    attribute = Attribute("height", "Height", "number", unit="mm", lower=10)
    assert "Height is 9 mm: below its limit, 10 mm." in findings_for(attribute, "9")[0].sentence


@given(st.floats(0, 14), st.floats(0, 14))
def test_the_allowed_change_is_the_line_between_silence_and_caution(value: float, start: float) -> None:
    found = findings_for(PLAN.attribute("ph"), value, start)
    assert bool(found) == (round(abs(value - start), 9) > 0.5)


@given(st.decimals(0, 14, places=3))
def test_comma_and_point_mean_the_same(number: object) -> None:
    ph = PLAN.attribute("ph")
    text = str(number)
    assert read_value(ph, text.replace(".", ",")) == Reading(text.replace(".", ","), float(text))


@given(st.sampled_from(PLAN.attributes), st.text() | st.from_regex(r"[\d.,e +-]+ ?[a-zA-Z]*", fullmatch=True))
def test_whatever_is_typed_is_read_or_answered_with_a_sentence(attribute: Attribute, typed: str) -> None:
    found = findings_for(attribute, typed)
    if any(finding.severity == "stop" for finding in found):
        assert all(attribute.label in finding.sentence for finding in found)
        return
    reading = read_value(attribute, typed)
    assert reading.text.split() == typed.split()
    assert (reading.number is not None) == attribute.numeric


COLOUR = Attribute("colour", "Colour of the upper layer", "colour", change=2)


@pytest.mark.parametrize(
    ("typed", "colour"),
    [
        ("62,1 4,5 18,0", (62.1, 4.5, 18.0)),
        ("62.1; 4.5; 18.0", (62.1, 4.5, 18.0)),
        ("62,1; -4,5; 18", (62.1, -4.5, 18.0)),
        ("62.1,4.5,18", (62.1, 4.5, 18.0)),
        ("62,1, 4,5, 18,0", (62.1, 4.5, 18.0)),
        ("L* 62.1 a* 4.5 b* 18", (62.1, 4.5, 18.0)),
        ("L*=62.1, a*=−4.5, b*=18", (62.1, -4.5, 18.0)),
        (" 100 127 -128 ", (100.0, 127.0, -128.0)),
        ((62.1, 4.5, 18.0), (62.1, 4.5, 18.0)),
    ],
)
def test_a_colour_is_read_as_people_write_it(typed: object, colour: tuple[float, float, float]) -> None:
    reading = read_value(COLOUR, typed)
    assert (reading.colour, reading.number) == (colour, None)
    if isinstance(typed, str):
        assert reading.text == typed.strip()
        assert read_colour(typed) == colour


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("62,1 4,5", "'62,1 4,5' cannot be read as a colour. Type L*, a* and b* one after the other, such as"),
        ("62 4 18 3", "cannot be read as a colour"),
        ("pale gold", "'pale gold' cannot be read as a colour"),
        ("162 4 18", "'162 4 18' is not possible: L* lies between 0 and 100."),
        ("62 128 18", "is not possible: a* lies between -128 and 127."),
        ("62 4 -128.5", "is not possible: b* lies between -128 and 127."),
        ("", "Colour of the upper layer is empty. Type L*, a* and b*"),
    ],
)
def test_what_is_no_colour_stops_with_what_to_type(typed: str, words: str) -> None:
    (finding,) = findings_for(COLOUR, typed)
    assert (finding.severity, finding.place.field) == ("stop", "colour")
    assert "Colour of the upper layer" in finding.sentence
    assert words in finding.sentence
    assert "such as 62,1 4,5 18,0." in finding.sentence


def test_a_colour_that_changed_by_more_than_the_plan_allows_is_a_caution() -> None:
    # G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30 (2005) 21-30, table 1, pair 1: CIEDE2000 2.0425.
    start, now = "50.0000 2.6772 -79.7751", "50.0000 0.0000 -82.7485"
    (finding,) = findings_for(COLOUR, now, start)
    assert finding.severity == "caution"
    assert finding.sentence.startswith(
        "Colour of the upper layer is 50 0 -82.75: a CIEDE2000 difference of 2.04 from the 50 2.677 -79.78 at the "
        "start, and the plan allows 2."
    )
    assert findings_for(replace(COLOUR, change=2.05), now, start) == []
    assert findings_for(replace(COLOUR, change=None), now, start) == []
    assert findings_for(COLOUR, now) == []
    assert findings_for(COLOUR, now, now) == []


@given(st.tuples(st.floats(0, 100), st.floats(-128, 127), st.floats(-128, 127)))
def test_any_colour_comes_back(colour: tuple[float, float, float]) -> None:
    assert read_value(COLOUR, colour).colour == colour
    assert read_colour("; ".join(f"{one!r}".replace(".", ",") for one in colour)) == colour


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (28, ""),
        (30, ""),
        (26, ""),
        (31, "2026-02-12 is 3 days after this pull was due, on 2026-02-09: say why in the note."),
        (20, "8 days before this pull is due, on 2026-02-09: is it the right pull?"),
        (-1, "2026-01-11 is before the study began, on 2026-01-12. Check the date."),
        (400, "has not come yet. Check the year and the month."),
    ],
)
def test_a_day_off_the_schedule_is_a_caution(study: Study, plan: Plan, day: int, words: str) -> None:
    observed_on = study.started_on + timedelta(days=day)
    found = findings_for_date(study, plan.time_point("4 weeks"), observed_on, study.started_on + timedelta(days=90))
    assert [finding.severity for finding in found] == (["caution"] if words else [])
    assert all(words in finding.sentence for finding in found)
