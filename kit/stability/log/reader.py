"""The reading half of the stability log: what is in it, what is due, tables and files for others, and its checks."""

from __future__ import annotations

import weakref
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import EntryError, StoreError, UnknownNameError
from kit.saving import save_bytes, save_text
from kit.stability import exchange, study, workbook
from kit.stability.log import chain, rows
from kit.stability.log.pulls import PullsRead
from kit.stability.log.verify import look_through, unsound
from kit.stability.photos.files import place_of
from kit.stability.schedule import due_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from types import TracebackType
    from typing import Self

    import pandas as pd

    from kit.findings import Finding
    from kit.stability.log.backend import Backend
    from kit.stability.log.verify import Verified
    from kit.stability.photos.files import Photo
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study


class LogReader:
    """An open log, to be read from.

    ``name`` is what sentences call it; ``path`` is its file, and None for a log on a server.
    """

    def __init__(self, connect: Callable[[], Backend], clock: Callable[[], datetime]) -> None:
        self._connect = connect
        self._clock = clock
        self._begin()

    def _begin(self) -> None:
        backend = self._connect()
        self.name = backend.name
        self.network = backend.network
        self.path = backend.path
        self._backend = backend
        self._studies: dict[int, Study] = {}
        self._pulls: dict[int, PullsRead] = {}
        self._finish = weakref.finalize(self, backend.engine.dispose)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the file back, or leave the server. A log that is let go of does so by itself."""
        self._finish()

    def open_again(self) -> None:
        """Go on with the log that lies in its place now, where it was replaced since it was opened.

        Raises
        ------
        StoreError
            There is none, or it cannot be used; the sentence says why.
        """
        try:
            with self._backend.reading() as connection:
                self._backend.watch.look_within(connection, chain.head(connection))
        except StoreError:
            if self.path is not None and not self.path.exists():
                raise  # and make no new one
            self._finish()
            self._begin()

    def studies(self) -> list[Study]:
        """Every study of the log, oldest first."""
        with self._backend.reading() as connection:
            return rows.all_studies(connection)

    def study(self, study_id: int) -> Study:
        """The study of that number."""
        if study_id in self._studies:
            return self._studies[study_id]
        with self._backend.reading() as connection:
            found = rows.one_study(connection, study_id)
        if found is None:
            known = ", ".join(f"{one.id} ({one.title})" for one in self.studies()) or "none yet"
            msg = f"There is no study {study_id} in {self.name}. It holds: {known}."
            raise UnknownNameError(msg)
        self._studies[study_id] = found
        return found

    def observations(self, study_id: int) -> list[Observation]:
        """Every reading of the study in the order of saving, corrected ones too."""
        self.study(study_id)
        with self._backend.reading() as connection:
            return rows.study_observations(connection, study_id)

    def current(
        self, study_id: int, *, condition: str | None = None, attribute: str | None = None
    ) -> list[Observation]:
        """The readings that count: the newest of each chain of corrections.

        With a condition, an attribute, or both, only theirs are read from the log.
        """
        plan = self.study(study_id).plan
        kept = None if condition is None else plan.condition(condition).key
        looked_at = None if attribute is None else plan.attribute(attribute).key
        with self._backend.reading() as connection:
            return rows.current_observations(connection, study_id, kept, looked_at)

    def due(self, study_id: int, today: date) -> list[Due]:
        """Every pull of the study in order of its day, as :func:`kit.stability.due` says, however long the log is."""
        begun = self.study(study_id)
        with self._backend.reading() as connection:
            pulls = self._pulls.setdefault(study_id, PullsRead(study_id))
            pulls.follow(connection)
        return due_of(begun, pulls.read, pulls.remarks, today)

    def history(self, observation_id: int) -> list[Observation]:
        """A reading with all that it replaces and all that replace it, oldest first."""
        found = self._one(observation_id)
        return study.history(self.observations(found.study_id), observation_id)

    def photos(self, study_id: int) -> list[Photo]:
        """Every photo of the study's readings in the order of attaching."""
        self.study(study_id)
        with self._backend.reading() as connection:
            return rows.study_photos(connection, study_id)

    def photo_file(self, photo: Photo) -> Path:
        """Where the photo lies. Look, and do not touch: its name is the hash of what is in it."""
        return place_of(self._photo_folder(), photo.sha256, photo.media_type)

    def table(self, study_id: int) -> pd.DataFrame:
        """The readings that count, one row for each pull of each bottle, one column for each attribute."""
        return workbook.wide_table(self.study(study_id), self.current(study_id))

    def export_csv(self, path: str | Path, study_id: int) -> None:
        """Write every reading of the study to a CSV file; what one of that name held goes to its earlier saves."""
        save_text(Path(path), exchange.to_csv(self.study(study_id), self.observations(study_id)))

    def export_xlsx(self, path: str | Path, study_id: int) -> None:
        """Write every reading of the study to a workbook; what one of that name held goes to its earlier saves."""
        save_bytes(Path(path), workbook.to_xlsx(self.study(study_id), self.observations(study_id)))

    def verify(self, anchor: str | None = None) -> Verified:
        """What is wrong with the log, looked for everywhere and nothing changed; see :mod:`.verify`."""
        return look_through(self._backend, None if anchor is None else chain.read_anchor(anchor))

    def unsound(self) -> list[Finding]:
        """Which rows of the log are not as they were saved. Empty where the chain over them is whole."""
        return unsound(self._backend)

    @property
    def anchor(self) -> str:
        """The newest entry and the beginning of its hash, to be noted; see :mod:`kit.stability.log.chain`."""
        with self._backend.reading() as connection:
            head = chain.head(connection)
        return head.anchor if head else ""

    def _photo_folder(self) -> Path:
        if self._backend.photos is None:
            msg = (
                f"{self.name} has no folder for photos yet. Open it with photos='...', a folder that everyone who uses "
                "the log can reach."
            )
            raise StoreError(msg)
        return self._backend.photos

    def _one(self, observation_id: int) -> Observation:
        with self._backend.reading() as connection:
            found = rows.one_observation(connection, observation_id)
        if found is None:
            msg = f"There is no reading {observation_id} in {self.name}. Look its number up in the table."
            raise EntryError(msg)
        return found

    def _now(self) -> str:
        return moment(self._clock)


def moment(clock: Callable[[], datetime]) -> str:
    """The clock's moment as the log keeps it. [UTC, ISO 8601]"""
    return clock().astimezone(UTC).isoformat(timespec="seconds")
