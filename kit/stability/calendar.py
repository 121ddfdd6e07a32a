"""The calendar of a study: what to take out on which day, as a table and as a file for any calendar program."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from kit.saving import save_text
from kit.stability.due import due

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from kit.stability.plan import TimePoint
    from kit.stability.study import Observation, Study

_LONGEST_LINE = 75  # octets of a line, without its end: RFC 5545, section 3.1


@dataclass(frozen=True, slots=True)
class PullDay:
    """One day on which bottles are taken out: its pull, its last day in time, and the bottles still to be read."""

    due_on: date
    last_day: date
    time_point: str
    bottles: tuple[tuple[str, str], ...]  # batch and condition key, as the plan orders them
    open_bottles: tuple[tuple[str, str], ...]


def pull_days(study: Study, observations: Iterable[Observation] = (), today: date | None = None) -> list[PullDay]:
    """The days of the study in their order, each with its bottles."""
    states = due(study, observations, today or study.started_on)
    days = []
    for point in study.plan.time_points:
        here = [pull for pull in states if pull.time_point == point.label]
        still = [pull for pull in here if pull.state not in ("done", "missed")]
        days.append(
            PullDay(
                due_on=here[0].due_on,
                last_day=here[0].last_day,
                time_point=point.label,
                bottles=tuple((pull.batch, pull.condition) for pull in here),
                open_bottles=tuple((pull.batch, pull.condition) for pull in still),
            )
        )
    return days


def off_schedule(study: Study, time_point: TimePoint, observed_on: date) -> str:
    """How far from its window a pull is read: "6 days late", "1 day early", or nothing where it is in time.

    Examples
    --------
    >>> from kit.stability.demo import demo_study
    >>> study = demo_study()
    >>> off_schedule(study, study.plan.time_point("1 week"), date(2026, 1, 25))
    '6 days late'
    >>> off_schedule(study, study.plan.time_point("1 week"), date(2026, 1, 20))
    ''
    """
    days = (observed_on - study.due_on(time_point)).days
    if 0 <= days <= time_point.grace:
        return ""
    count = f"{abs(days)} day{'s' if abs(days) != 1 else ''}"
    return f"{count} late" if days > 0 else f"{count} early"


def note_with_schedule(study: Study, time_point: str, observed_on: date, note: str) -> str:
    """The note of a reading, which says first how far off its schedule it is, if it is."""
    off = off_schedule(study, study.plan.time_point(time_point), observed_on)
    return note if not off or note.startswith(off) else "; ".join(part for part in (off, note) if part)


def to_ics(study: Study, now: datetime) -> str:
    """The pulls of a study as an iCalendar text, one all-day event for each day of pulls.

    An event has the same UID whenever the file is made, so that a calendar that has it already changes it rather
    than show it twice. ``now`` is the moment of making. [any time zone]

    References
    ----------
    .. [1] B. Desruisseaux (ed.), RFC 5545, Internet Calendaring and Scheduling Core Object Specification
       (iCalendar), September 2009: sections 3.1 (lines), 3.3.11 (text), 3.6.1 (events), 3.8.7.2 (DTSTAMP).
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//shakewell//stability calendar//EN", "CALSCALE:GREGORIAN"]
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    for day in pull_days(study):
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_uid(study, day)}",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{_day(day.due_on)}",
            f"DTEND;VALUE=DATE:{_day(day.due_on + timedelta(days=1))}",
            f"SUMMARY:{_text(f'{day.time_point}: {study.title}')}",
            f"DESCRIPTION:{_text(_description(study, day))}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def save_ics(path: Path, study: Study, now: datetime) -> None:
    """Write the calendar file; what one of that name held goes to its earlier saves."""
    save_text(path, to_ics(study, now))


def _uid(study: Study, day: PullDay) -> str:
    told = "\n".join((study.title, study.started_on.isoformat(), study.created_at, *study.batches, day.time_point))
    return f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@shakewell"


def _description(study: Study, day: PullDay) -> str:
    places = [
        f"{condition.label}: {', '.join(batch for batch, key in day.bottles if key == condition.key)}"
        for condition in study.plan.conditions
    ]
    last = f" In time until {day.last_day}." if day.last_day > day.due_on else ""
    looked_at = ", ".join(attribute.label for attribute in study.plan.attributes)
    return "\n".join([f"Take out {len(day.bottles)} bottles.{last}", *places, f"Look at: {looked_at}."])


def _day(day: date) -> str:
    return day.strftime("%Y%m%d")


def _text(text: str) -> str:
    """Text as RFC 5545, section 3.3.11, wants it: escaped, and without control characters."""
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\r\n", "\n"), ("\r", "\n")):
        text = text.replace(plain, escaped)
    kept = "".join(one for one in text if one in "\n\t" or (ord(one) >= 0x20 and ord(one) != 0x7F))
    return kept.replace("\n", "\\n")


def _folded(line: str) -> str:
    """A line of at most 75 octets in each of its parts, broken between characters: RFC 5545, section 3.1."""
    parts, part, room = [], "", _LONGEST_LINE
    for one in line:
        size = len(one.encode("utf-8"))
        if size > room:
            parts.append(part)
            part, room = "", _LONGEST_LINE - 1  # the blank that marks a continuation counts too
        part += one
        room -= size
    return "\r\n ".join([*parts, part])
