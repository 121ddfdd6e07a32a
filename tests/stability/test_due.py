"""What to look at next, in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.stability.plan import Attribute, plans
from kit.stability.schedule import Due, due, late_pulls
from kit.stability.study import Observation, Study

START = date(2026, 1, 12)
STUDY = Study(1, "Body shake", plans()["home-twelve-weeks"], ("A", "B"), START)
NEEDED = [one for one in STUDY.plan.attributes if not one.optional]


def readings(time_point: str, day: int, *, leave_out: tuple[str, ...] = ()) -> list[Observation]:
    """The needed readings of batch A in the fridge."""
    on = START + timedelta(days=day)
    return [
        Observation(number, 1, "A", "fridge", time_point, one.key, "1", 1, on)
        for number, one in enumerate(NEEDED, start=1)
        if one.key not in leave_out
    ]


def the_pull(time_point: str, day: int, observations: list[Observation]) -> Due:
    found = due(STUDY, observations, START + timedelta(days=day))
    return next(one for one in found if (one.batch, one.condition, one.time_point) == ("A", "fridge", time_point))


@pytest.mark.parametrize(
    ("day", "state", "words"),
    [
        (26, "to come", "in 2 days"),
        (27, "to come", "in 1 day"),
        (28, "due", "due today"),
        (29, "due", "due 1 day ago, in time until 2026-02-11"),
        (30, "due", "due 2 days ago, in time until 2026-02-11"),
        (31, "overdue", "overdue by 3 days"),
        (55, "overdue", "overdue by 27 days"),
        (56, "missed", "missed: nothing was read before the next pull fell due on 2026-03-09"),
    ],
)
def test_an_unread_pull_waits_in_words(day: int, state: str, words: str) -> None:
    found = the_pull("4 weeks", day, [])
    assert (found.state, found.words) == (state, words)
    assert (found.due_on, found.last_day) == (date(2026, 2, 9), date(2026, 2, 11))
    assert found.missing == tuple(one.label for one in NEEDED)


def test_the_last_pull_is_never_missed_only_overdue() -> None:
    assert the_pull("12 weeks", 200, []).words == "overdue by 116 days"


def test_a_pull_with_all_its_readings_is_done_without_the_optional_ones() -> None:
    assert "Colour note" not in the_pull("4 weeks", 28, []).missing
    assert the_pull("4 weeks", 60, readings("4 weeks", 30)).words == "done"


def test_a_pull_read_after_its_grace_is_done_late() -> None:
    found = the_pull("4 weeks", 60, readings("4 weeks", 34))
    assert (found.state, found.words) == ("done", "done, 6 days late")


def test_a_correction_made_later_does_not_make_the_pull_late() -> None:
    rows = readings("4 weeks", 28)
    later = Observation(99, 1, "A", "fridge", "4 weeks", "ph", "5", 5, START + timedelta(days=50), replaces=3)
    assert the_pull("4 weeks", 60, [*rows, later]).words == "done"


def test_a_half_read_pull_names_what_it_lacks() -> None:
    found = the_pull("4 weeks", 28, readings("4 weeks", 28, leave_out=("ph", "mass")))
    assert (found.state, found.missing) == ("partly done", ("pH", "Mass of the bottle"))
    assert found.words == "partly done: pH, Mass of the bottle still missing"


def test_an_optional_reading_alone_is_partly_done() -> None:
    note = Observation(1, 1, "A", "fridge", "4 weeks", "colour_note", "gold", None, START)
    assert the_pull("4 weeks", 28, [note]).state == "partly done"


@given(st.integers(-30, 400))
def test_every_pull_of_every_bottle_is_listed_once_in_order_of_its_day(day: int) -> None:
    found = due(STUDY, [], START + timedelta(days=day))
    places = {(one.batch, one.condition, one.time_point) for one in found}
    assert len(found) == len(places) == 2 * 4 * 7
    assert [one.due_on for one in found] == sorted(one.due_on for one in found)


def test_a_pull_of_optional_attributes_alone_is_not_done_before_it_is_read() -> None:
    attributes = (Attribute("note", "Note", "text", optional=True),)
    study = replace(STUDY, plan=replace(STUDY.plan, attributes=attributes))
    assert {one.state for one in due(study, [], START - timedelta(days=1))} == {"to come"}
    row = Observation(1, 1, "A", "fridge", "start", "note", "clear", None, START)
    assert [one.state for one in due(study, [row], START)].count("done") == 1


def test_a_pull_is_as_late_as_the_last_of_its_replicates() -> None:
    rows = readings("4 weeks", 28)
    again = replace(rows[0], id=99, replicate=2, observed_on=START + timedelta(days=40))
    assert the_pull("4 weeks", 50, [*rows, again]).words == "done, 12 days late"


def test_what_is_optional_makes_no_pull_late() -> None:
    note = next(one.key for one in STUDY.plan.attributes if one.optional)
    pulls = due(STUDY, [], START + timedelta(days=60))
    after = Observation(99, 1, "A", "fridge", "4 weeks", note, "clear", None, START + timedelta(days=50))
    assert late_pulls(STUDY, [*readings("4 weeks", 28), after], pulls) == ()
    (late,) = late_pulls(STUDY, [*readings("4 weeks", 34), after], pulls)
    assert (late.pull.time_point, late.days) == ("4 weeks", 6)
