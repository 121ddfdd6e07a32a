"""When each pull of a study is due and how it stands; the days of pulls, also as a file for any calendar program."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from kit.saving import save_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from kit.stability.plan import TimePoint
    from kit.stability.study import Observation, Study

Pull = tuple[str, str, str]
#: The attributes that were read at each pull (batch, condition, time point), and the day of the last of them.
Read = Mapping[Pull, tuple[frozenset[str], date]]

#: The attribute in which the reason of a missed pull is written, and how such a remark begins.
REMARK, MISSED = "remark", "missed: "

State = Literal["to come", "due", "overdue", "missed", "partly done", "done"]


class Due(NamedTuple):
    """One pull: a batch in a condition at a time point.

    ``due_on`` to ``last_day`` is the window in which a reading counts as in time; ``missing`` names the
    attributes that a pull still lacks; ``words`` is the state as a sentence says it.
    """

    batch: str
    condition: str
    time_point: str
    due_on: date
    last_day: date
    state: State
    words: str
    missing: tuple[str, ...] = ()


def due(study: Study, observations: Iterable[Observation], today: date) -> list[Due]:
    """Every pull of the study in order of its day.

    The window of grace is the plan's: a pull is overdue only after its days of grace have passed, and missed
    once the next pull of the same bottle falls due and nothing was read, or as soon as the only thing recorded of
    it is a remark that says why it was missed. Optional attributes are not waited for.
    """
    remarks: dict[Pull, str] = {}
    firsts: dict[tuple[Pull, str, int], date] = {}
    for row in observations:
        pull = row.batch, row.condition, row.time_point
        key = pull, row.attribute, row.replicate
        firsts[key] = min(row.observed_on, firsts.get(key, row.observed_on))
        if row.attribute == REMARK:
            remarks[pull] = row.value
    read: dict[Pull, tuple[frozenset[str], date]] = {}
    for (pull, attribute, _), day in firsts.items():
        before, latest = read.get(pull, (frozenset[str](), day))
        read[pull] = before | {attribute}, max(latest, day)
    return due_of(study, read, remarks, today)


def due_of(study: Study, read: Read, remarks: Mapping[Pull, str], today: date) -> list[Due]:
    """As :func:`due`, from what has been read of each pull and its remark; a long log counts that itself."""
    needed = [(attribute.key, attribute.label) for attribute in study.plan.attributes if not attribute.optional]

    @cache
    def missing_from(keys: frozenset[str]) -> tuple[str, ...]:
        return tuple(label for key, label in needed if key not in keys)

    @cache
    def standing(keys: frozenset[str], day: date, due_on: date, last_day: date) -> tuple[State, str, tuple[str, ...]]:
        missing = missing_from(keys)
        if missing:
            return "partly done", f"partly done: {', '.join(missing)} still missing", missing
        return "done", _done(day, due_on, last_day), missing

    found = []
    points = study.plan.time_points
    for number, point in enumerate(points):
        due_on = study.due_on(point)
        last_day = due_on + timedelta(days=point.grace)
        next_due = study.due_on(points[number + 1]) if number + 1 < len(points) else None
        waiting = (*_waiting(due_on, last_day, next_due, today), missing_from(frozenset()))
        for batch in study.batches:
            for condition in study.plan.conditions:
                pull = batch, condition.key, point.label
                state, words, missing = waiting
                if seen := read.get(pull):
                    keys, day = seen
                    if keys == {REMARK} and remarks.get(pull, "").startswith(MISSED):
                        state, words, missing = "missed", remarks[pull], missing_from(keys)
                    else:
                        state, words, missing = standing(keys, day, due_on, last_day)
                found.append(Due(*pull, due_on, last_day, state, words, missing))
    return found


def _done(read_on: date, due_on: date, last_day: date) -> str:
    late = (read_on - due_on).days
    return f"done, {days_words(late)} late" if read_on > last_day else "done"


def _waiting(due_on: date, last_day: date, next_due: date | None, today: date) -> tuple[State, str]:
    days = (today - due_on).days
    if days < 0:
        return "to come", f"in {days_words(-days)}"
    if days == 0:
        return "due", "due today"
    if today <= last_day:
        return "due", f"due {days_words(days)} ago, in time until {last_day}"
    if next_due is not None and today >= next_due:
        return "missed", f"missed: nothing was read before the next pull fell due on {next_due}"
    return "overdue", f"overdue by {days_words(days)}"


def days_words(count: int) -> str:
    """A count of days in words."""
    return f"{count} day" if count == 1 else f"{count} days"


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


def proposed_day(study: Study, time_point: TimePoint, today: date) -> date:
    """The day on which a pull was most likely seen: today, or its own day where its days of grace are over.

    Examples
    --------
    >>> from kit.stability.demo import demo_study
    >>> study = demo_study()
    >>> str(proposed_day(study, study.plan.time_point("1 week"), date(2026, 4, 6)))
    '2026-01-19'
    >>> str(proposed_day(study, study.plan.time_point("12 weeks"), date(2026, 4, 7)))
    '2026-04-07'
    """
    due_on = study.due_on(time_point)
    return due_on if due_on + timedelta(days=time_point.grace) < today else today


def past_points(study: Study, today: date) -> list[TimePoint]:
    """The time points whose days of grace are over: what is not read of them by now is late or missed."""
    return [point for point in study.plan.time_points if study.due_on(point) + timedelta(days=point.grace) < today]


def missed_rows(study: Study, reason: str, today: date) -> list[dict[str, object]]:
    """A remark for every bottle at every past time point that it was missed, and why, as rows to bring in."""
    return [
        {
            "batch": batch,
            "condition": condition.key,
            "time_point": point.label,
            "attribute": REMARK,
            "value": f"{MISSED}{reason}",
            "observed_on": today,
        }
        for point in past_points(study, today)
        for batch in study.batches
        for condition in study.plan.conditions
    ]


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


@dataclass(frozen=True, slots=True)
class Late:
    """A pull that was read after its days of grace."""

    pull: Due
    days: int


def late_pulls(study: Study, observations: Iterable[Observation], pulls: Iterable[Due]) -> tuple[Late, ...]:
    """The pulls whose reading came after their days of grace, in order of their day."""
    needed = {attribute.key for attribute in study.plan.attributes if not attribute.optional}
    read_on: dict[tuple[str, str, str], date] = {}
    for row in observations:
        place = row.batch, row.condition, row.time_point
        if row.attribute in needed:
            read_on[place] = max(row.observed_on, read_on.get(place, row.observed_on))
    found = []
    for pull in pulls:
        day = read_on.get((pull.batch, pull.condition, pull.time_point))
        if day is not None and day > pull.last_day:
            found.append(Late(pull, (day - pull.due_on).days))
    return tuple(found)
