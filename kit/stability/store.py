"""The stability log: one SQLite file that only ever grows, one transaction for each reading."""

from __future__ import annotations

import weakref
from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import EntryError, UnknownNameError
from kit.saving import save_text
from kit.stability import exchange, rows, study
from kit.stability.logfile import in_plain_words, open_engine, writing
from kit.stability.names import storable
from kit.stability.plan import Plan, plans
from kit.stability.reading import read_value
from kit.stability.study import Observation, Study, read_date

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from types import TracebackType

    import pandas as pd
    from sqlalchemy import Connection, Engine


def utc_now() -> datetime:
    """The clock of a log unless another is given."""
    return datetime.now(UTC)


class StabilityLog:
    """A log of stability studies. Open it with :meth:`open`; nothing in it is ever changed or deleted."""

    def __init__(self, path: Path, engine: Engine, clock: Callable[[], datetime]) -> None:
        self.path = path
        self._engine = engine
        self._clock = clock
        self._studies: dict[int, Study] = {}
        self._finish = weakref.finalize(self, engine.dispose)

    @classmethod
    def open(cls, path: str | Path, *, clock: Callable[[], datetime] = utc_now, wait: float = 10) -> StabilityLog:
        """Open the log at ``path``, or make a new one where there is none.

        ``clock`` tells the moment of saving; ``wait`` is how long another's lock is waited for. [s]

        Raises
        ------
        StoreError
            The file is not a log, cut short, damaged, or from a newer kit. It is left as it is.
        """
        place = Path(path).absolute()
        return cls(place, open_engine(place, _moment(clock), wait), clock)

    def __enter__(self) -> StabilityLog:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the file back. A log that is let go of does so by itself."""
        self._finish()

    def start_study(
        self,
        title: str,
        plan: Plan | str,
        batches: Iterable[str],
        started_on: date | str,
        formula_title: str = "",
    ) -> Study:
        """Begin a study. The plan (or the key of a ready one) is kept with it as it is today."""
        names = [batches] if isinstance(batches, str) else batches
        begun = Study(
            id=0,
            title=storable(title, "The title"),
            plan=_ready_plan(plan) if isinstance(plan, str) else plan,
            batches=tuple(storable(batch, "A batch name") for batch in names),
            started_on=read_date(started_on, "started on"),
            formula_title=storable(formula_title, "The formula's title"),
            created_at=_moment(self._clock),
        )
        with self._writing() as connection:
            return rows.add_study(connection, begun)

    def studies(self) -> list[Study]:
        """Every study of the log, oldest first."""
        with self._reading() as connection:
            return rows.all_studies(connection)

    def study(self, study_id: int) -> Study:
        """The study of that number."""
        if study_id in self._studies:
            return self._studies[study_id]
        with self._reading() as connection:
            found = rows.one_study(connection, study_id)
        if found is None:
            known = ", ".join(f"{one.id} ({one.title})" for one in self.studies()) or "none yet"
            msg = f"There is no study {study_id} in {self.path.name}. It holds: {known}."
            raise UnknownNameError(msg)
        self._studies[study_id] = found
        return found

    def record(
        self,
        study_id: int,
        batch: str,
        condition: str,
        time_point: str,
        attribute: str,
        value: object,
        observed_on: date | str,
        *,
        observer: str = "",
        note: str = "",
    ) -> Observation:
        """Save one reading. When this returns, the reading is on the disk.

        Raises
        ------
        EntryError
            A name is not the study's, the value cannot be read, or its place has a reading already.
        """
        kept = self.study(study_id)
        cell = kept.cell(batch, condition, time_point, attribute)
        reading = read_value(kept.plan.attribute(attribute), value)
        row = Observation(
            id=0,
            study_id=study_id,
            **asdict(cell),
            value=reading.text,
            number=reading.number,
            observed_on=read_date(observed_on, "observed on"),
            observer=storable(observer, "The observer"),
            note=storable(note, "The note"),
            recorded_at=_moment(self._clock),
        )
        with self._writing() as connection:
            rows.refuse_taken(connection, kept, [cell])
            return rows.add_observation(connection, row)

    def correct(
        self,
        observation_id: int,
        value: object,
        reason: str,
        *,
        observed_on: date | str | None = None,
        observer: str = "",
        note: str = "",
    ) -> Observation:
        """Save a reading that takes the place of another, which stays in the log. A reason is asked for.

        Raises
        ------
        EntryError
            There is no such reading, it has been corrected already, or the reason or the value does not do.
        """
        why = storable(reason, "The reason")
        if not why:
            msg = "A correction needs a reason, such as 'two digits swapped when typing'."
            raise EntryError(msg)
        old = self._one(observation_id)
        reading = read_value(self.study(old.study_id).plan.attribute(old.attribute), value)
        row = replace(
            old,
            value=reading.text,
            number=reading.number,
            observed_on=old.observed_on if observed_on is None else read_date(observed_on, "observed on"),
            observer=storable(observer, "The observer"),
            note=storable(note, "The note"),
            replaces=old.id,
            reason=why,
            recorded_at=_moment(self._clock),
        )
        with self._writing() as connection:
            newest = rows.successor(connection, observation_id)
            if newest is None:
                return rows.add_observation(connection, row)
        msg = (
            f"Reading {observation_id} was corrected before; the newest is reading {newest.id}, "
            f"{newest.value!r}. Correct that one."
        )
        raise EntryError(msg)

    def observations(self, study_id: int) -> list[Observation]:
        """Every reading of the study in the order of saving, corrected ones too."""
        self.study(study_id)
        with self._reading() as connection:
            return rows.study_observations(connection, study_id)

    def current(self, study_id: int) -> list[Observation]:
        """The readings that count: the newest of each chain of corrections."""
        return study.current(self.observations(study_id))

    def history(self, observation_id: int) -> list[Observation]:
        """A reading with all that it replaces and all that replace it, oldest first."""
        found = self._one(observation_id)
        return study.history(self.observations(found.study_id), observation_id)

    def table(self, study_id: int) -> pd.DataFrame:
        """The readings that count, one row for each pull of each bottle, one column for each attribute."""
        return exchange.wide_table(self.study(study_id), self.current(study_id))

    def export_csv(self, path: str | Path, study_id: int) -> None:
        """Write every reading of the study to a CSV file; a file of that name is kept as ``.previous``."""
        text = exchange.to_csv(self.study(study_id), self.observations(study_id))
        save_text(Path(path), text)

    def import_csv(self, path: str | Path, study_id: int) -> int:
        """Add the readings of a CSV file that :meth:`export_csv` wrote: all or, with every fault named, none."""
        kept = self.study(study_id)
        name, text = exchange.load_text(Path(path))
        found = exchange.from_csv(text, name, kept)
        now = _moment(self._clock)
        ids: dict[int, int] = {}
        with self._writing() as connection:
            rows.refuse_taken(connection, kept, [row.cell for row in found])
            for row in found:
                replaces = None if row.replaces is None else ids[row.replaces]
                row_now = replace(row, replaces=replaces, recorded_at=row.recorded_at or now)
                ids[row.id] = rows.add_observation(connection, row_now).id
        return len(found)

    def _one(self, observation_id: int) -> Observation:
        with self._reading() as connection:
            found = rows.one_observation(connection, observation_id)
        if found is None:
            msg = f"There is no reading {observation_id} in {self.path.name}. Look its number up in the table."
            raise EntryError(msg)
        return found

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with in_plain_words(self.path), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with in_plain_words(self.path), writing(self._engine).begin() as connection:
            yield connection


def _moment(clock: Callable[[], datetime]) -> str:
    return clock().astimezone(UTC).isoformat(timespec="seconds")


def _ready_plan(key: str) -> Plan:
    ready = plans()
    if key not in ready:
        msg = f"There is no ready plan {key!r}. Choose one of: {', '.join(ready)}."
        raise UnknownNameError(msg)
    return ready[key]
