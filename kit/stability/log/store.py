"""The stability log: one that only ever grows, in a file or on a server, one transaction for each reading."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import EntryError, UnknownNameError
from kit.stability import exchange, workbook
from kit.stability.log import rows
from kit.stability.log.logfile import open_file
from kit.stability.log.postgres import is_address, open_shared
from kit.stability.log.reader import LogReader, moment
from kit.stability.photos.files import take_in
from kit.stability.plan import Plan, plans
from kit.stability.reading import read_value
from kit.stability.study import WITHDRAWN, Observation, Study, read_date, read_replicate, storable
from kit.tables import read_file

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from sqlalchemy import Connection

    from kit.stability.exchange import ImportReport
    from kit.stability.log.backend import Backend
    from kit.stability.photos.files import Photo


def utc_now() -> datetime:
    """The clock of a log unless another is given."""
    return datetime.now(UTC)


class StabilityLog(LogReader):
    """A log of stability studies. Open it with :meth:`open`; nothing in it is ever changed or deleted."""

    @classmethod
    def open(
        cls,
        place: str | Path,
        *,
        clock: Callable[[], datetime] = utc_now,
        wait: float = 10,
        photos: str | Path | None = None,
    ) -> StabilityLog:
        """Open the log at a path or an address, or make a new one where there is none.

        Parameters
        ----------
        place
            The path of a file, or the address of a shared log: ``postgresql://user@host/database``.
        clock
            Tells the moment of saving.
        wait
            How long another's lock is waited for. [s]
        photos
            The folder of the photos. A file has its own beside it, ``<name>-photos``; a shared log needs one that
            all who use it can reach.

        Raises
        ------
        StoreError
            The file is not a log, cut short, damaged, or from a newer kit; it is left as it is. The server cannot be
            reached, does not let this user in, or has no such database.
        """
        folder = None if photos is None else Path(photos).absolute()

        def connect() -> Backend:
            now = moment(clock)
            if is_address(place):
                return open_shared(str(place), now, wait, folder)
            return open_file(path, now, wait, folder)

        path = Path(place).absolute()
        return cls(connect, clock)

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
            created_at=self._now(),
        )
        return self._backend.write(lambda connection: rows.add_study(connection, begun))

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
        replicate: int = 1,
    ) -> Observation:
        """Save one reading. When this returns, the reading is on the disk.

        ``replicate`` counts from 1 where the same thing is measured more than once at one pull.

        Raises
        ------
        EntryError
            A name is not the study's, the value cannot be read, or its place has a reading already: perhaps another
            person's, saved while this one was being typed.
        StoreError
            The log cannot be written to. Nothing was saved; the sentence says what to do.
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
            recorded_at=self._now(),
            replicate=read_replicate(replicate),
            recorded_by=self._backend.user,
        )

        return self._backend.write(
            lambda connection: rows.add_observation(connection, rows.after_withdrawal(connection, row)),
            clash=lambda connection: rows.refuse_taken(connection, kept, [(cell, row.replicate)]),
        )

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
            recorded_at=self._now(),
            recorded_by=self._backend.user,
        )

        def save(connection: Connection) -> Observation:
            newest = rows.successor(connection, observation_id)
            if newest is None:
                return rows.add_observation(connection, row)
            msg = (
                f"Reading {observation_id} was corrected before; the newest is reading {newest.id}, "
                f"{newest.value!r}. Correct that one."
            )
            raise EntryError(msg)

        return self._backend.write(save)

    def withdraw(self, observation_id: int, reason: str, *, observer: str = "") -> Observation:
        """Say that a reading does not count, such as one of a meter that was not calibrated. It stays in the log.

        What it was of counts as not read, and can be recorded anew.

        Raises
        ------
        EntryError
            There is no such reading, it was corrected or withdrawn already, or no reason is given.
        """
        taken_back = self._taken_back(observation_id, reason, observer)
        return self._backend.write(lambda connection: self._still_newest(connection, taken_back))

    def move(
        self, observation_ids: Sequence[int], time_point: str, reason: str, *, observer: str = ""
    ) -> list[Observation]:
        """Bring readings that were entered under a wrong pull to the right one: all of them, or none.

        Each is withdrawn where it was, with the reason, and recorded under the other pull with the day on which it was
        seen; its note says where it was.

        Raises
        ------
        EntryError
            One was corrected or withdrawn already, the pull is not the study's or has such a reading, or no reason is
            given.
        """
        pairs = []
        for number in observation_ids:
            old, taken_back = self._one(number), self._taken_back(number, reason, observer)
            cell = self.study(old.study_id).cell(old.batch, old.condition, time_point, old.attribute)
            note = "; ".join(filter(None, [f"entered first under {old.time_point}", old.note]))
            new = replace(
                old,
                **asdict(cell),
                note=note,
                replaces=None,
                reason="",
                recorded_at=self._now(),
                recorded_by=self._backend.user,
            )
            pairs.append((taken_back, new))

        def save(connection: Connection) -> list[Observation]:
            for _, new in pairs:
                rows.refuse_taken(connection, self.study(new.study_id), [(new.cell, new.replicate)])
            found = []
            for taken_back, new in pairs:
                self._still_newest(connection, taken_back)
                found.append(rows.add_observation(connection, rows.after_withdrawal(connection, new)))
            return found

        return self._backend.write(save)

    def _taken_back(self, observation_id: int, reason: str, observer: str) -> Observation:
        """The row by which a reading is withdrawn."""
        why = storable(reason, "The reason")
        if not why:
            msg = "Say why the reading does not count there, such as 'the meter was not calibrated'."
            raise EntryError(msg)
        return replace(
            self._one(observation_id),
            value=WITHDRAWN,
            number=None,
            observer=storable(observer, "The observer"),
            note="",
            replaces=observation_id,
            reason=why,
            recorded_at=self._now(),
            recorded_by=self._backend.user,
        )

    def _still_newest(self, connection: Connection, row: Observation) -> Observation:
        """Add a row that takes the place of another, unless that was replaced meanwhile, or is withdrawn."""
        old = rows.one_observation(connection, row.replaces or 0)
        newest = rows.successor(connection, row.replaces or 0)
        if newest is None and old is not None and not old.is_withdrawn:
            return rows.add_observation(connection, row)
        number = newest.id if newest is not None else row.replaces
        msg = f"Reading {row.replaces} was corrected or withdrawn before, see reading {number}. Read the log again."
        raise EntryError(msg)

    def attach_photo(
        self,
        observation_id: int,
        content: bytes,
        file_name: str,
        *,
        patch: tuple[int, int, int, int] | None = None,
        colour: tuple[float, float, float] | None = None,
        by: str = "",
        note: str = "",
    ) -> Photo:
        """Keep a photo of a reading: the file first, then its row. A reading may have several.

        ``patch`` is x, y, width, height [px] of the part whose ``colour`` (L*, a*, b*) was read. The place where it
        was taken and the camera's own notes are left out of the file; the photo's note then says so.

        Raises
        ------
        EntryError
            There is no such reading, or the file is no JPEG or PNG picture, cannot be read to its end, or is too large.
        StoreError
            The photo or its row cannot be written, or a shared log has no folder for photos.
        """
        self._one(observation_id)
        note = storable(note, "The note")
        photo = take_in(self._photo_folder(), content, file_name)
        photo = replace(
            photo,
            observation_id=observation_id,
            patch=patch,
            colour=colour,
            attached_at=self._now(),
            attached_by=storable(by, "The name of who attached it") or self._backend.user,
            note="; ".join(filter(None, [note, photo.note])),
        )
        return self._backend.write(lambda connection: rows.add_photo(connection, photo))

    def import_csv(self, path: str | Path, study_id: int) -> int:
        """Add the readings of a CSV file that :meth:`export_csv` wrote: all or, with every fault named, none."""
        file = Path(path)
        return self._add_all(exchange.from_csv(read_file(file), file.name, self.study(study_id)), study_id)

    def import_xlsx(self, path: str | Path, study_id: int) -> int:
        """Add the readings of a workbook that :meth:`export_xlsx` wrote: all or, with every fault named, none."""
        return self._add_all(workbook.from_xlsx(Path(path), self.study(study_id)), study_id)

    def import_rows(
        self, study_id: int, given: Iterable[Mapping[str, object]], *, dry_run: bool = False
    ) -> ImportReport:
        """Add the rows that do, in one transaction, and say of each of the others why it does not.

        Parameters
        ----------
        given
            Each with batch, condition, time_point, attribute, value, observed_on, and perhaps observer, note and
            replicate.
        dry_run
            True for a preview: nothing is saved.
        """
        kept = self.study(study_id)
        report = exchange.read_rows(kept, given, self._now(), self._backend.user)
        places = {(row.cell, row.replicate) for row in report.added}

        def look(connection: Connection) -> ImportReport:
            return report.without(rows.taken(connection, kept, places))

        def save(connection: Connection) -> ImportReport:
            left = look(connection)
            fresh = (rows.after_withdrawal(connection, row) for row in left.added)
            return replace(left, added=tuple(rows.add_observation(connection, row) for row in fresh))

        if dry_run:
            with self._backend.reading() as connection:
                return look(connection)
        return self._backend.write(save)

    def _add_all(self, found: list[Observation], study_id: int) -> int:
        kept, now = self.study(study_id), self._now()

        user = self._backend.user
        return self._backend.write(lambda connection: rows.add_chains(connection, kept, found, now, user))


def _ready_plan(key: str) -> Plan:
    ready = plans()
    if key not in ready:
        msg = f"There is no ready plan {key!r}. Choose one of: {', '.join(ready)}."
        raise UnknownNameError(msg)
    return ready[key]
