"""Readings of a study as numbers against the days that had really passed, and the limits they are held against."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from kit.errors import EntryError, RangeError
from kit.stability.check import limits_for_all
from kit.stability.colour_difference import delta_e_2000
from kit.stability.reading import read_value
from kit.stability.study import current, start_of, starts_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.plan import Attribute, Kind
    from kit.stability.study import Observation, Study


@dataclass(frozen=True, slots=True)
class Series:
    """The readings of one batch, oldest first.

    Attributes
    ----------
    batch
        Its name.
    days
        Since the start of the study, as they had passed when it was read. [days]
    values
        One for each day. [unit of the attribute; of a colour, the CIEDE2000 difference from its start]
    kind
        "number", "grade" or "colour".
    one_sided
        Readings that say only more or less ("> 60 min") and have no number: they are not among the values.
    """

    batch: str
    days: tuple[float, ...]
    values: tuple[float, ...]
    kind: Kind = "number"
    one_sided: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if len(self.days) != len(self.values):
            msg = f"Batch {self.batch} has {len(self.days)} days and {len(self.values)} values. Give one day for each."
            raise RangeError(msg)
        if not all(map(math.isfinite, (*self.days, *self.values))):
            msg = f"Batch {self.batch} has a day or a value that is no number. Leave that reading out."
            raise RangeError(msg)

    @property
    def last_day(self) -> float:
        """The day of the latest reading, 0 where there is none. [days]"""
        return max(self.days, default=0.0)


class Acceptance(NamedTuple):
    """Between what a reading is within its limits, and whether it can leave them on one side or on two."""

    lower: float | None
    upper: float | None
    sided: str


def series_of(study: Study, observations: Iterable[Observation], condition: str, attribute: str) -> list[Series]:
    """One series for each batch that has readings, from those that no correction replaces.

    A colour becomes its CIEDE2000 difference from the start of the same bottle; the start itself, 0 by definition
    and no measurement of a change, is left out.

    Parameters
    ----------
    condition, attribute
        By key or label.

    Raises
    ------
    EntryError
        The study has no such condition or attribute, or the attribute is words.
    """
    wanted = _with_numbers(study.plan.attribute(attribute), study)
    key = study.plan.condition(condition).key
    rows = [row for row in current(observations) if (row.attribute, row.condition) == (wanted.key, key)]
    rows.sort(key=lambda row: (row.observed_on, row.id))
    found = []
    for batch in study.batches:
        of_batch = [row for row in rows if row.batch == batch]
        points = _points(study, wanted, of_batch)
        one_sided = tuple(row.value for row in of_batch if wanted.kind == "number" and row.number is None)
        if points:
            days, values = zip(*points, strict=True)
            found.append(Series(batch, days, values, wanted.kind, one_sided))
    return found


def _with_numbers(attribute: Attribute, study: Study) -> Attribute:
    if attribute.numeric or attribute.kind == "colour":
        return attribute
    choices = ", ".join(one.label for one in study.plan.attributes if one.numeric or one.kind == "colour")
    msg = f"{attribute.label} is words, so nothing can be computed from it. Choose one of: {choices}."
    raise EntryError(msg)


def _points(study: Study, attribute: Attribute, rows: Sequence[Observation]) -> list[tuple[float, float]]:
    days = [float((row.observed_on - study.started_on).days) for row in rows]
    if attribute.kind != "colour":
        return [(day, row.number) for day, row in zip(days, rows, strict=True) if row.number is not None]
    first = study.plan.time_points[0].label
    colours = [read_value(attribute, row.value).colour for row in rows]
    started = start_of(study, rows)
    start = None if started is None else read_value(attribute, started.value).colour
    if start is None:
        return []
    return [
        (day, delta_e_2000(start, seen))
        for day, row, seen in zip(days, rows, colours, strict=True)
        if seen is not None and row.time_point != first
    ]


def acceptance(
    study: Study, attribute: str, observations: Iterable[Observation], condition: str | None = None
) -> Acceptance:
    """Lower and upper limit and "one" or "two": the plan's limits, tightened by the allowed change from the start.

    Where the batches started apart, the limits are those within which every bottle keeps the allowed change from
    its own start. With a limit on one side only, one side is asked; with both, the direction is not known
    beforehand and it is two (ICH Q1E).

    Parameters
    ----------
    condition
        Take the starts of the bottles in this condition only; None takes all.

    Raises
    ------
    EntryError
        The attribute is a grade or words, or the starts lie so far apart that no limits hold for all.
    """
    wanted = _with_numbers(study.plan.attribute(attribute), study)
    if wanted.kind == "grade":
        msg = f"{wanted.label} is a grade: its steps are not equal, so no line is laid through it. Count its grades."
        raise EntryError(msg)
    if wanted.kind == "colour":
        return Acceptance(None, wanted.change, "one")
    key = None if condition is None else study.plan.condition(condition).key
    starts = _starts(study, wanted, observations, key)
    lower, upper = limits_for_all(wanted, starts)
    if lower is not None and upper is not None and not lower < upper:
        msg = (
            f"{wanted.label} began between {min(starts):.5g} and {max(starts):.5g} {wanted.unit}".rstrip()
            + ", so far apart that no limits keep the allowed change for every batch. Look at one batch at a time."
        )
        raise EntryError(msg)
    return Acceptance(lower, upper, "one" if lower is None or upper is None else "two")


def _starts(
    study: Study, attribute: Attribute, observations: Iterable[Observation], condition: str | None
) -> list[float]:
    rows = (row for row in current(observations) if row.attribute == attribute.key)
    starts = starts_of(study, (row for row in rows if condition in (None, row.condition)))
    return [start.number for start in starts.values() if start.number is not None]
