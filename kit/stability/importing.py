"""Readings from elsewhere, row by row: what does is taken, what does not is given back with the reason."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from kit.errors import EntryError, KitError
from kit.stability.names import storable
from kit.stability.reading import read_value
from kit.stability.study import Cell, Observation, Study, read_date, read_replicate
from kit.visible_text import brief

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    Place = tuple[Cell, int]

NEEDED = ("batch", "condition", "time_point", "attribute", "value", "observed_on")


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A row that was not taken: its number from 1, what it held, and why."""

    number: int
    row: Mapping[str, object]
    reason: str


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import added (in a preview: would add) and what it refused."""

    added: tuple[Observation, ...] = ()
    refused: tuple[RefusedRow, ...] = ()
    rows: tuple[tuple[int, Mapping[str, object]], ...] = ()

    @property
    def sentence(self) -> str:
        """The report in one sentence."""
        refused = f"; {len(self.refused)} refused" if self.refused else ""
        return f"{len(self.added)} of {len(self.added) + len(self.refused)} rows taken{refused}."

    def without(self, taken: Mapping[Place, str]) -> ImportReport:
        """The report with the rows refused whose place has a reading already."""
        added, kept, refused = [], [], list(self.refused)
        for observation, (number, row) in zip(self.added, self.rows, strict=True):
            reason = taken.get((observation.cell, observation.replicate))
            if reason is None:
                added.append(observation)
                kept.append((number, row))
            else:
                refused.append(RefusedRow(number, row, reason))
        refused.sort(key=lambda one: one.number)
        return ImportReport(tuple(added), tuple(refused), tuple(kept))


def read_rows(study: Study, given: Iterable[Mapping[str, object]], now: str, user: str) -> ImportReport:
    """Read each row as the study wants it; two rows of the same thing are one too many."""
    added: list[Observation] = []
    kept: list[tuple[int, Mapping[str, object]]] = []
    refused: list[RefusedRow] = []
    seen: dict[Place, int] = {}
    for number, row in enumerate(given, start=1):
        try:
            observation = _observation(study, row, now, user)
            place = (observation.cell, observation.replicate)
            if place in seen:
                msg = f"{study.words(observation.cell)}, is in row {seen[place]} already. Keep one of the two."
                raise EntryError(msg)
        except KitError as error:
            refused.append(RefusedRow(number, row, str(error)))
        else:
            seen[place] = number
            added.append(observation)
            kept.append((number, row))
    return ImportReport(tuple(added), tuple(refused), tuple(kept))


def _observation(study: Study, row: Mapping[str, object], now: str, user: str) -> Observation:
    missing = [name for name in NEEDED if row.get(name) is None or not str(row[name]).strip()]
    if missing:
        msg = f"There is no {', '.join(missing).replace('_', ' ')}. Fill it in, or leave the row out."
        raise EntryError(msg)
    cell = study.cell(*(storable(str(row[name]), name) for name in NEEDED[:4]))
    reading = read_value(study.plan.attribute(cell.attribute), row["value"])
    return Observation(
        id=0,
        study_id=study.id,
        **asdict(cell),
        value=reading.text,
        number=reading.number,
        observed_on=_day(row["observed_on"]),
        observer=storable(str(row.get("observer") or ""), "The observer"),
        note=storable(str(row.get("note") or ""), "The note"),
        recorded_at=now,
        replicate=read_replicate(_whole(row.get("replicate") or 1)),
        recorded_by=user,
    )


def _day(value: object) -> date:
    if isinstance(value, datetime):
        return value.date()
    return read_date(value if isinstance(value, date) else str(value), "observed on")


def _whole(value: object) -> int:
    text = str(value).strip()
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        msg = f"{brief(text)} is not the number of a replicate. Write a whole number from 1 on, or leave it empty."
        raise EntryError(msg)
    return int(text)
