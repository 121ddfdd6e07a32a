"""What to take out on which day, as a table and as a file that a calendar program reads."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.stability.demo import demo_observations, demo_study
from kit.stability.schedule import due, note_with_schedule, off_schedule, pull_days, save_ics, to_ics
from kit.stability.study import Observation, Study

if TYPE_CHECKING:
    from pathlib import Path

STUDY = demo_study()
NOW = datetime(2026, 1, 10, 9, 30, tzinfo=timezone(timedelta(hours=2)))


def unfolded(text: str) -> list[str]:
    """The lines of an iCalendar text as RFC 5545, section 3.1, joins them."""
    return re.sub("\r\n[ \t]", "", text).split("\r\n")[:-1]


def events(text: str) -> list[dict[str, str]]:
    """Name (without parameters) and value of each line of each event."""
    found: list[dict[str, str]] = []
    for line in unfolded(text):
        name, value = line.split(":", 1)
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and line != "END:VCALENDAR":
            found[-1][name.split(";")[0]] = value
    return found


def meant(value: str) -> str:
    """A TEXT value as RFC 5545, section 3.3.11, reads it."""
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def test_each_day_lists_its_bottles() -> None:
    days = pull_days(STUDY)
    assert [(str(day.due_on), str(day.last_day), day.time_point) for day in days[2:5]] == [
        ("2026-01-19", "2026-01-20", "1 week"),
        ("2026-01-26", "2026-01-27", "2 weeks"),
        ("2026-02-09", "2026-02-11", "4 weeks"),
    ]
    assert all(len(day.bottles) == len(day.open_bottles) == 12 for day in days)
    assert days[0].bottles[:2] == (("TL-01", "cupboard"), ("TL-01", "fridge"))


def test_what_was_read_or_missed_is_open_no_more() -> None:
    seen = [one for one in demo_observations() if one.observed_on < date(2026, 2, 9)]
    days = {day.time_point: len(day.open_bottles) for day in pull_days(STUDY, seen, date(2026, 2, 9))}
    assert days == {"start": 0, "1 day": 0, "1 week": 0, "2 weeks": 0, "4 weeks": 12, "8 weeks": 12, "12 weeks": 12}


def test_a_missed_pull_carries_its_reason() -> None:
    missed = Observation(
        1, 1, "TL-02", "fridge", "2 weeks", "remark", "missed: workshop closed", None, date(2026, 1, 30)
    )
    found = {(one.batch, one.condition, one.time_point): one for one in due(STUDY, [missed], date(2026, 1, 28))}
    pull = found["TL-02", "fridge", "2 weeks"]
    assert (pull.state, pull.words) == ("missed", "missed: workshop closed")
    read = replace(missed, id=2, attribute="ph", value="5.3", number=5.3)
    both = {(one.batch, one.condition, one.time_point): one for one in due(STUDY, [missed, read], date(2026, 1, 28))}
    assert both["TL-02", "fridge", "2 weeks"].state == "partly done"
    plain = replace(missed, value="the cap was odd")
    only = {(one.batch, one.condition, one.time_point): one for one in due(STUDY, [plain], date(2026, 1, 28))}
    assert only["TL-02", "fridge", "2 weeks"].state == "partly done"


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 2, 8), "1 day early"),
        (date(2026, 2, 2), "7 days early"),
        (date(2026, 2, 9), ""),
        (date(2026, 2, 11), ""),
        (date(2026, 2, 12), "3 days late"),
    ],
)
def test_early_and_late_are_counted_from_the_day_it_was_due(day: date, words: str) -> None:
    assert off_schedule(STUDY, STUDY.plan.time_point("4 weeks"), day) == words


def test_a_note_says_first_how_late_it_is_and_says_it_once() -> None:
    late = date(2026, 2, 15)
    assert note_with_schedule(STUDY, "4 weeks", late, "closed") == "6 days late; closed"
    assert note_with_schedule(STUDY, "4 weeks", late, "") == "6 days late"
    assert note_with_schedule(STUDY, "4 weeks", late, "6 days late: closed") == "6 days late: closed"
    assert note_with_schedule(STUDY, "4 weeks", date(2026, 2, 9), "as ever") == "as ever"


def test_the_calendar_file_has_one_whole_day_for_each_pull() -> None:
    text = to_ics(STUDY, NOW)
    found = events(text)
    assert [one["DTSTART"] for one in found] == [
        "20260112", "20260113", "20260119", "20260126", "20260209", "20260309", "20260406",
    ]  # fmt: skip
    assert "DTSTART;VALUE=DATE:20260112" in text
    assert found[0]["DTEND"] == "20260113"  # the day after, which is not part of it: RFC 5545, section 3.6.1
    assert {one["DTSTAMP"] for one in found} == {"20260110T073000Z"}  # in UTC: section 3.8.7.2
    assert len({one["UID"] for one in found}) == len(found)
    assert meant(found[4]["SUMMARY"]) == "4 weeks: After-swim body shake, twelve weeks (invented)"
    words = meant(found[4]["DESCRIPTION"]).split("\n")
    assert words[0] == "Take out 12 bottles. In time until 2026-02-11."
    assert words[1] == "Cupboard, 20 to 25 °C: TL-01, TL-02, TL-03"


def test_the_calendar_is_written_as_the_standard_wants_it() -> None:
    text = to_ics(STUDY, NOW)
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode("utf-8")) <= 75 for line in text.split("\r\n"))
    lines = unfolded(text)
    assert lines[:3] == ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//shakewell//stability calendar//EN"]
    assert lines[-1] == "END:VCALENDAR"
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 7


def test_made_again_the_same_event_has_the_same_name() -> None:
    again = to_ics(STUDY, datetime(2026, 3, 1, tzinfo=UTC))
    assert [one["UID"] for one in events(again)] == [one["UID"] for one in events(to_ics(STUDY, NOW))]
    other = to_ics(replace(STUDY, title="Another"), NOW)
    assert not {one["UID"] for one in events(other)} & {one["UID"] for one in events(again)}


@given(st.text(alphabet=st.characters(codec="utf-8"), min_size=1, max_size=120).filter(lambda text: bool(text.strip())))
def test_any_title_comes_through_folded_and_escaped(title: str) -> None:
    text = to_ics(Study(1, title, STUDY.plan, ("A;1,\\",), STUDY.started_on), NOW)
    assert all(len(line.encode("utf-8")) <= 75 for line in text.split("\r\n"))
    wanted = re.sub(r"\r\n?", "\n", title)
    wanted = "".join(one for one in wanted if one in "\n\t" or (ord(one) >= 0x20 and ord(one) != 0x7F))
    assert meant(events(text)[0]["SUMMARY"]) == f"start: {wanted}"
    assert "A;1,\\" in meant(events(text)[0]["DESCRIPTION"])


def test_the_file_is_written_whole(tmp_path: Path) -> None:
    save_ics(tmp_path / "study.ics", STUDY, NOW)
    assert (tmp_path / "study.ics").read_bytes().decode("utf-8") == to_ics(STUDY, NOW)
