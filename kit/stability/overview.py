"""A study on one page: every bottle judged against its limits, the pulls missed or late, the freeze-thaw cycles."""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.stability.check import ADVICE, beyond_limits, is_untold, limits_of, said
from kit.stability.colour_difference import delta_e_2000
from kit.stability.reading import read_value
from kit.stability.schedule import Late, due, late_pulls
from kit.stability.study import current, start_of, starts_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from kit.stability.plan import Attribute
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study

_CYCLE = re.compile(r"\bcycle\s*(\d{1,6})\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Cycles:
    """What the cycles did to one bottle.

    Attributes
    ----------
    planned, read, passed
        Cycles of the plan; those after which everything was read; those up to which, without a gap, everything read
        was within its limits.
    first_outside
        The first cycle after which something was outside its limit; None where nothing was.
    attributes
        What was outside then, by its label.
    steady
        True where the bottle did not go through the cycles but was kept at one temperature, to compare with.
    """

    batch: str
    condition: str
    planned: int
    read: int
    passed: int
    first_outside: int | None = None
    attributes: tuple[str, ...] = ()
    steady: bool = False

    @property
    def words(self) -> str:
        """The same as a sentence."""
        if self.steady:
            within = f"within its limits beside {self.passed} of {self.planned} cycles"
            outside = f"first outside beside cycle {self.first_outside}: {', '.join(self.attributes)}"
            return f"Kept steady to compare with; {within if self.first_outside is None else outside}."
        if self.first_outside is not None:
            where = f"first outside after cycle {self.first_outside}: {', '.join(self.attributes)}"
            return f"{self.passed} of {self.planned} cycles passed; {where}."
        if self.read < self.planned:
            return f"{self.passed} of {self.planned} cycles passed; {self.read} read in full so far."
        return f"{self.passed} of {self.planned} cycles passed."


def cycle_numbers(study: Study) -> dict[str, int]:
    """The time points that end a cycle, by their label: {"after cycle 1": 1}.

    Examples
    --------
    >>> from datetime import date
    >>> from kit.stability.plan import plans
    >>> from kit.stability.study import Study
    >>> cycle_numbers(Study(1, "Frozen", plans()["freeze-thaw"], ("TL-01",), date(2026, 1, 12)))
    {'after cycle 1': 1, 'after cycle 2': 2, 'after cycle 3': 3}
    """
    found = {point.label: _CYCLE.search(point.label) for point in study.plan.time_points}
    return {label: int(match[1]) for label, match in found.items() if match}


def cycles(study: Study, observations: Iterable[Observation]) -> tuple[Cycles, ...]:
    """One summary for each bottle; empty where the plan has no cycles."""
    numbers = cycle_numbers(study)
    if not numbers:
        return ()
    rows = current(observations)
    return tuple(
        _of_bottle(
            study, batch, condition.key, numbers, [r for r in rows if (r.batch, r.condition) == (batch, condition.key)]
        )
        for condition in study.plan.conditions
        for batch in study.batches
    )


def _of_bottle(
    study: Study, batch: str, condition: str, numbers: dict[str, int], rows: Sequence[Observation]
) -> Cycles:
    starts = {row.attribute: row.value for row in starts_of(study, rows).values()}
    needed = {attribute.key for attribute in study.plan.attributes if not attribute.optional}
    read, passed, unbroken = 0, 0, True
    outside_at: int | None = None
    outside: tuple[str, ...] = ()
    for label, number in sorted(numbers.items(), key=lambda item: item[1]):
        here = [(row.attribute, row.value) for row in rows if row.time_point == label]
        complete = needed <= {key for key, _ in here}
        read += complete
        wrong = tuple(
            attribute.label
            for attribute in study.plan.attributes
            if any(key == attribute.key and beyond_limits(attribute, value, starts.get(key)) for key, value in here)
        )
        told = not wrong and not any(
            key == attribute.key and is_untold(attribute, value, starts.get(key))
            for attribute in study.plan.attributes
            for key, value in here
        )
        if wrong and outside_at is None:
            outside_at, outside = number, wrong
        unbroken = unbroken and complete and told
        passed += unbroken
    steady = study.plan.condition(condition).temperature is not None
    return Cycles(batch, condition, len(numbers), read, passed, outside_at, outside, steady)


Verdict = Literal["fail", "watch", "pass", "not judged", "not read"]
#: Worst first. ``fail``: the latest reading is outside a limit of the plan. ``watch``: within, but see its words.
#: ``not judged``: the plan sets no limit, or there is no reading at the start to compare with.
VERDICTS: tuple[Verdict, ...] = ("fail", "watch", "pass", "not judged", "not read")
#: From this part of the way to its limit on, a reading within it is to be watched (common practice).
WATCH_FROM = 0.75
#: A trend is looked at from this many days of reading on, and where its slope is this many standard errors from level.
TREND_DAYS, TREND_ERRORS = 4, 2.0


@dataclass(frozen=True, slots=True)
class Judgement:
    """What one attribute of one bottle says.

    Attributes
    ----------
    words
        Why, as a sentence.
    latest, start
        The newest reading and the one at the first pull; None where there is none.
    change
        From the start to the newest; of a colour its CIEDE2000 difference. [unit of the attribute]
    used
        The part of the way from the start to the nearer limit that is used up: 0 none, 1 all.
    """

    batch: str
    condition: str
    attribute: str
    verdict: Verdict
    words: str
    latest: Observation | None = None
    start: Observation | None = None
    change: float | None = None
    used: float | None = None


@dataclass(frozen=True, slots=True)
class Overview:
    """All that the page shows, in the order of the plan: attribute, condition, batch."""

    study: Study
    judgements: tuple[Judgement, ...]
    missed: tuple[Due, ...]
    overdue: tuple[Due, ...]
    late: tuple[Late, ...]
    cycles: tuple[Cycles, ...]

    @property
    def counts(self) -> dict[Verdict, int]:
        """How many judgements of each kind, worst first."""
        found = Counter(one.verdict for one in self.judgements)
        return {verdict: found[verdict] for verdict in VERDICTS}

    @property
    def in_words(self) -> str:
        """The page in one sentence."""
        said_of = [f"{count} {verdict}" for verdict, count in self.counts.items() if count]
        pulls = [
            f"{len(found)} {word}"
            for word, found in (("missed", self.missed), ("overdue", self.overdue), ("late", self.late))
            if found
        ]
        return (
            f"Of {len(self.judgements)} judgements: {', '.join(said_of)}. Pulls: {', '.join(pulls) or 'all in time'}."
        )

    def to_look_at(self) -> list[Judgement]:
        """What fails and what is to be watched, worst first."""
        wanted = [one for one in self.judgements if one.verdict in ("fail", "watch")]
        return sorted(wanted, key=lambda one: VERDICTS.index(one.verdict))

    def cell(self, attribute: str, condition: str) -> list[Judgement]:
        """The judgements of one attribute in one condition, batch by batch."""
        return [one for one in self.judgements if (one.attribute, one.condition) == (attribute, condition)]


def overview(study: Study, observations: Iterable[Observation], today: date) -> Overview:
    """Judge a study as it stands on the day ``today``.

    A pass says that the newest reading keeps the limits of the plan, and no more.
    """
    rows = current(observations)
    bottles: dict[tuple[str, str, str], list[Observation]] = defaultdict(list)
    for row in rows:
        bottles[row.attribute, row.condition, row.batch].append(row)
    judged = tuple(
        judge(study, attribute, batch, condition.key, bottles[attribute.key, condition.key, batch])
        for attribute in study.plan.attributes
        for condition in study.plan.conditions
        for batch in study.batches
    )
    pulls = due(study, rows, today)
    return Overview(
        study,
        judged,
        missed=tuple(pull for pull in pulls if pull.state == "missed"),
        overdue=tuple(pull for pull in pulls if pull.state == "overdue"),
        late=late_pulls(study, rows, pulls),
        cycles=cycles(study, rows),
    )


def judge(study: Study, attribute: Attribute, batch: str, condition: str, readings: Iterable[Observation]) -> Judgement:
    """Judge one attribute of one bottle by its readings, none of them replaced by another.

    Of replicates at the newest pull, the one farthest from the start is judged.
    """
    rows = sorted(readings, key=lambda row: (row.observed_on, row.id))
    if not rows:
        return Judgement(batch, condition, attribute.key, "not read", "Nothing was read yet.")
    start = start_of(study, rows)
    newest = [row for row in rows if row.time_point == rows[-1].time_point]
    latest = max(
        newest, key=lambda row: (bool(outside(attribute, row, start)), abs(_change(attribute, row, start) or 0))
    )
    earlier = [row for row in rows if row.time_point != latest.time_point]
    verdict, words = _verdict(study, attribute, [*earlier, latest], start)
    change, used = _change(attribute, latest, start), _used(attribute, latest, start)
    return Judgement(batch, condition, attribute.key, verdict, words, latest, start, change, used)


def outside(attribute: Attribute, row: Observation, start: Observation | None) -> str:
    """Why a reading is outside the limits of the plan, or "" where it keeps them."""
    found = beyond_limits(attribute, row.value, None if start is None else start.value)
    return " ".join(finding.sentence.removesuffix(ADVICE).strip() for finding in found)


def _verdict(
    study: Study, attribute: Attribute, rows: Sequence[Observation], start: Observation | None
) -> tuple[Verdict, str]:
    fixed = attribute.lower is not None or attribute.upper is not None or attribute.expected != ""
    relative = attribute.change is not None or attribute.change_percent is not None
    if not fixed and not relative:
        return "not judged", "The plan sets no limit."
    if not fixed and start is None:
        return "not judged", "The plan limits the change from the start, and nothing was read at the start."
    if not fixed and start is not None and start.number is None and attribute.kind == "number":
        return "not judged", f"The plan limits the change from the start, and {start.value!r} there is no number."
    if words := outside(attribute, rows[-1], start):
        return "fail", words
    worries = [
        *_untold(attribute, rows[-1], start),
        *_was_outside(attribute, rows, start),
        *_near_limit(attribute, rows[-1], start),
        *_will_cross(study, attribute, rows, start),
    ]
    if worries:
        return "watch", f"{attribute.label} {'; '.join(worries)}."
    return "pass", "Within its limit." if len(rows) > 1 else "Within its limit; read once."


def _untold(attribute: Attribute, latest: Observation, start: Observation | None) -> list[str]:
    if not is_untold(attribute, latest.value, None if start is None else start.value):
        return []
    return [f"is {latest.value!r}, which leaves open whether it keeps its limit"]


def _was_outside(attribute: Attribute, rows: Sequence[Observation], start: Observation | None) -> list[str]:
    earlier = dict.fromkeys(row.time_point for row in rows[:-1] if outside(attribute, row, start))
    return [f"keeps its limit now, but did not at {', '.join(earlier)}"] if earlier else []


def _near_limit(attribute: Attribute, latest: Observation, start: Observation | None) -> list[str]:
    number = latest.number
    if attribute.kind == "grade" and number is not None:
        lower, upper = limits_of(attribute, start.number if start else None)
        at_its_end = (upper is not None and number + 1 > upper) or (lower is not None and number - 1 < lower)
        return [f"is {said(attribute, number)}: one grade more is outside its limit"] if at_its_end else []
    used = _used(attribute, latest, start)
    if used is None or used < WATCH_FROM:
        return []
    return [f"has gone {100 * used:.0f} % of the way from its start to its limit"]


def _will_cross(
    study: Study, attribute: Attribute, rows: Sequence[Observation], start: Observation | None
) -> list[str]:
    """Where a straight line through the readings leaves the limits before the plan ends."""
    points = [((row.observed_on - study.started_on).days, row.number) for row in rows if row.number is not None]
    last = study.plan.time_points[-1].days
    if attribute.kind != "number" or not points or points[-1][0] >= last:
        return []
    line = _steady_line(points)
    if line is None:
        return []
    slope, intercept = line
    lower, upper = limits_of(attribute, start.number if start else None)
    limit = lower if slope < 0 else upper
    if limit is None or (intercept + slope * last - limit) * slope <= 0:
        return []
    day = max((limit - intercept) / slope, points[-1][0])
    return [
        f"moves on a line that meets its limit at about week {day / 7:.1f}, before the plan ends at week {last / 7:g}"
    ]


def _steady_line(points: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Slope and intercept through the readings, or None where they are too few or too scattered to tell."""
    days, numbers = [day for day, _ in points], [number for _, number in points]
    if len(set(days)) < TREND_DAYS or len(set(numbers)) < 2:
        return None
    r = statistics.correlation(days, numbers)
    if abs(r) < 1 and abs(r) * math.sqrt((len(points) - 2) / (1 - r * r)) < TREND_ERRORS:
        return None
    slope, intercept = statistics.linear_regression(days, numbers)
    return slope, intercept


def _change(attribute: Attribute, latest: Observation, start: Observation | None) -> float | None:
    if start is None:
        return None
    if attribute.kind == "colour":
        before, after = (read_value(attribute, row.value).colour for row in (start, latest))
        return None if before is None or after is None else delta_e_2000(before, after)
    if latest.number is None or start.number is None:
        return None
    return latest.number - start.number


def _used(attribute: Attribute, latest: Observation, start: Observation | None) -> float | None:
    change = _change(attribute, latest, start)
    if change is None or start is None:
        return None
    if attribute.kind == "colour":
        return None if attribute.change is None else change / attribute.change
    if start.number is None:
        return None
    lower, upper = limits_of(attribute, start.number)
    limit = lower if change < 0 else upper
    if change == 0 or limit is None:
        return 0.0 if (lower, upper) != (None, None) else None
    room = limit - start.number
    return change / room if room * change > 0 else None
