"""Study: a plan applied to batches from a date on. Observation: one reading of it, never overwritten."""

from __future__ import annotations

import statistics
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.stability.plan import check_distinct, check_name, pick
from kit.visible_text import brief

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.plan import Plan, TimePoint


@dataclass(frozen=True, slots=True)
class Study:
    """Batches x conditions x time points x attributes, and the day of the start."""

    id: int
    title: str
    plan: Plan
    batches: tuple[str, ...]
    started_on: date
    formula_title: str = ""
    created_at: str = ""

    def __post_init__(self) -> None:
        check_name(self.title, "A study needs a title, such as 'Body shake, autumn'.")
        if not self.batches:
            msg = f"{self.title}: a study needs at least one batch. Write the batch number from the bottle."
            raise RangeError(msg)
        for batch in self.batches:
            check_name(batch, f"{self.title}: a batch has no name. Write the batch number from the bottle.")
        check_distinct(self.batches, "batch", self.title)

    def batch(self, name: str) -> str:
        """The batch of that name, as the study writes it."""
        return pick(name, self.batches, lambda one: (one,), "a batch", self.title)

    def due_on(self, time_point: TimePoint) -> date:
        """The day on which that pull is due."""
        return self.started_on + timedelta(days=time_point.days)

    def cell(self, batch: str, condition: str, time_point: str, attribute: str) -> Cell:
        """The place of a reading, with every name checked and written as the study writes it."""
        return Cell(
            self.batch(batch),
            self.plan.condition(condition).key,
            self.plan.time_point(time_point).label,
            self.plan.attribute(attribute).key,
        )

    def words(self, cell: Cell) -> str:
        """The place of a reading as a person would say it."""
        condition = self.plan.condition(cell.condition).label
        attribute = self.plan.attribute(cell.attribute).label
        return f"{attribute} of batch {cell.batch}, {condition}, {cell.time_point}"


@dataclass(frozen=True, slots=True)
class Cell:
    """Where in a study a reading belongs."""

    batch: str
    condition: str
    time_point: str
    attribute: str


#: The value of a row that takes back the reading that it replaces: its cell has no reading any more.
WITHDRAWN = "(withdrawn)"


@dataclass(frozen=True, slots=True)
class Observation:
    """One reading, as typed (``value``) and as a number where it has one.

    ``replaces`` is the id of the reading that this one corrects, and ``reason`` says why; ``observed_on`` is
    the day at the bench, ``recorded_at`` the moment of saving [UTC, ISO 8601]. ``replicate`` counts from 1 where
    the same thing is measured more than once at one pull; ``recorded_by`` is the user of a shared log.
    """

    id: int
    study_id: int
    batch: str
    condition: str
    time_point: str
    attribute: str
    value: str
    number: float | None
    observed_on: date
    observer: str = ""
    note: str = ""
    replaces: int | None = None
    reason: str = ""
    recorded_at: str = ""
    replicate: int = 1
    recorded_by: str = ""

    @property
    def is_withdrawn(self) -> bool:
        """Whether it only says that the reading before it does not count."""
        return self.value == WITHDRAWN

    @property
    def cell(self) -> Cell:
        """Where in the study it belongs."""
        return Cell(self.batch, self.condition, self.time_point, self.attribute)


def current(observations: Iterable[Observation]) -> list[Observation]:
    """The readings that count: the newest of each chain of corrections, where it was not withdrawn."""
    rows = list(observations)
    replaced = {row.replaces for row in rows}
    return [row for row in rows if row.id not in replaced and not row.is_withdrawn]


def history(observations: Iterable[Observation], observation_id: int) -> list[Observation]:
    """The whole chain of corrections that holds this reading, oldest first."""
    rows = {row.id: row for row in observations}
    replaced_by = {row.replaces: row.id for row in rows.values() if row.replaces is not None}
    first = observation_id
    while (earlier := rows[first].replaces) is not None:
        first = earlier
    chain = [rows[first]]
    while (later := replaced_by.get(chain[-1].id)) is not None:
        chain.append(rows[later])
    return chain


def starts_of(study: Study, readings: Iterable[Observation]) -> dict[tuple[str, str, str], Observation]:
    """Where each bottle started in each attribute, by attribute, condition and batch; see :func:`start_of`."""
    bottles: dict[tuple[str, str, str], list[Observation]] = defaultdict(list)
    for row in readings:
        bottles[row.attribute, row.condition, row.batch].append(row)
    found = {place: start_of(study, rows) for place, rows in bottles.items()}
    return {place: start for place, start in found.items() if start is not None}


def read_date(value: date | str, what: str) -> date:
    """A date, or the day written as 2026-03-09.

    Examples
    --------
    >>> read_date("2026-03-09", "observed on")
    datetime.date(2026, 3, 9)
    """
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(value.strip())
    except ValueError as error:
        msg = f"{what}: {value.strip()!r} is not a date. Write year, month and day, such as 2026-03-09."
        raise EntryError(msg) from error


def read_replicate(value: int) -> int:
    """The number of a replicate, 1 to 99."""
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 99:
        msg = f"{value!r} is not the number of a replicate. Count from 1: the first measurement is 1, the second 2."
        raise EntryError(msg)
    return value


def start_of(study: Study, readings: Iterable[Observation]) -> Observation | None:
    """The reading of one attribute of one bottle at the first pull, or None where there is none.

    Where it was measured more than once, a number is the mean of these; of grades, colours and words the first
    counts, for they have no mean.

    Parameters
    ----------
    readings
        Of one attribute, batch and condition; those that no correction replaces.
    """
    first = study.plan.time_points[0].label
    found = sorted((row for row in readings if row.time_point == first), key=lambda row: row.replicate)
    if not found:
        return None
    numbers = [row.number for row in found if row.number is not None]
    if len(numbers) < 2 or study.plan.attribute(found[0].attribute).kind != "number":
        return found[0]
    mean = statistics.fmean(numbers)
    return replace(found[0], number=mean, value=f"{mean:.12g}")


def storable(text: str, what: str) -> str:
    """The text without blanks around it and with one kind of line break, so that every file can carry it.

    Raises
    ------
    EntryError
        It holds what a log cannot keep.
    """
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        text = "\0"
    if "\0" in text:
        msg = f"{what} holds a character that cannot be stored. Type it again instead of pasting it."
        raise EntryError(msg)
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def read_count(text: str, what: str, advice: str) -> int:
    """A whole number of at most nine digits; ``what`` it counts and ``advice`` are for the sentence if it is none."""
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        msg = f"{brief(text)} is not the number of a {what}. {advice}"
        raise EntryError(msg)
    return int(text)
