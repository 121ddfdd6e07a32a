"""A log looked through from end to end; nothing is written.

What is looked for: damage that the database itself can see, references that lead nowhere, chains of corrections that
are none, triggers that are gone, readings that do not mean what their number says, photos that are missing or
changed, and the traces of a save that was broken off.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import ForeignKeyConstraint, Table, and_, exists, func, or_, select
from sqlalchemy.exc import DatabaseError, OperationalError

from kit.errors import KitError, StoreError
from kit.findings import Finding, Place, worst_first
from kit.stability import guards, migrations, photo_rows, rows, schema
from kit.stability.logfile import open_file
from kit.stability.postgres import is_address, open_shared
from kit.stability.reading import read_value
from kit.stability.verify_files import stray_files, wrong_photos

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection

    from kit.findings import Severity
    from kit.stability.backend import Backend

_SHOWN = 20  # of each kind of fault
_KEEP = "Leave the log as it is and go back to your latest sound copy; what is in both is not in doubt."


class Verified(list[Finding]):
    """What was found, worst first, and how much was looked at. Empty for a sound log."""

    def __init__(
        self, findings: Iterable[Finding], studies: int = 0, readings: int = 0, corrections: int = 0, photos: int = 0
    ) -> None:
        super().__init__(worst_first(findings))
        self.studies, self.readings, self.corrections, self.photos = studies, readings, corrections, photos

    @property
    def sentence(self) -> str:
        """What was looked at, and how it came out."""
        looked = (
            f"Looked through: studies {self.studies}, readings {self.readings} (of them corrections "
            f"{self.corrections}), photos {self.photos}."
        )
        if self:
            return f"{looked} Found: {len(self)}."
        return f"{looked} References, chains of corrections, numbers, triggers and photos are as they were saved."


def verify(place: str | Path, *, wait: float = 10, photos: str | Path | None = None) -> Verified:
    """Look through the log at a path or an address, and write nothing to it; see :meth:`StabilityLog.open`.

    Raises
    ------
    StoreError
        It cannot be opened at all; the sentence says why.
    """
    from pathlib import Path

    folder = None if photos is None else Path(photos).absolute()
    if is_address(place):
        backend = open_shared(str(place), "", wait, folder, only_look=True)
    else:
        backend = open_file(Path(place).absolute(), "", wait, folder, only_look=True)
    try:
        return look_through(backend)
    finally:
        backend.engine.dispose()


def look_through(backend: Backend) -> Verified:
    """Look through an open log, all of it as it is at one moment."""
    try:
        return _look(backend)
    except StoreError as error:
        cause = error.__cause__
        if backend.path is None or not isinstance(cause, DatabaseError) or isinstance(cause, OperationalError):
            raise
        return Verified([_finding("stop", str(error), "log")])  # so damaged that it cannot even be checked


def _look(backend: Backend) -> Verified:
    with backend.reading() as connection:
        found = list(_damage(connection))
        version = migrations.version_of(connection)
        if found or version < schema.SCHEMA_VERSION:
            if version < schema.SCHEMA_VERSION:
                words = f"{backend.name} is of layout {version}. Open it once with this kit, which keeps a copy of it"
                found.append(_finding("note", f"{words} and brings it up to date; then look through it again.", "log"))
            return Verified(found)
        found += [*_references(connection), *_chains(connection), *_guards(connection), *_numbers(connection)]
        studies, readings = (
            connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in (schema.studies, schema.observations)
        )
        of_corrections = select(func.count()).where(schema.observations.c.replaces.is_not(None))
        corrections = connection.execute(of_corrections).scalar_one()
        photos = photo_rows.all_photos(connection)
    found += wrong_photos(photos, backend.photos)
    found += stray_files(backend.path)
    return Verified(found, studies, readings, corrections, len(photos))


def _finding(severity: Severity, sentence: str, field: str) -> Finding:
    return Finding(severity, sentence, Place(field=field))


def _in_sqlite(connection: Connection) -> bool:
    return connection.dialect.name == "sqlite"


def _damage(connection: Connection) -> Iterator[Finding]:
    if not _in_sqlite(connection):
        if connection.exec_driver_sql("SHOW fsync").scalar() == "off":
            words = "The server does not wait for its disk (fsync is off): a power cut can lose what it said was saved."
            yield _finding("caution", f"{words} Ask for it to be switched on.", "log")
        return
    for (words,) in connection.exec_driver_sql(f"PRAGMA integrity_check({_SHOWN})"):
        if words != "ok":
            yield _finding("stop", f"The file is damaged ({words}). {_KEEP}", "log")


def _references(connection: Connection) -> Iterator[Finding]:
    if _in_sqlite(connection):
        broken = [row[:3] for row in connection.exec_driver_sql("PRAGMA foreign_key_check")]
    else:
        broken = [
            (table.name, number, constraint.referred_table.name)
            for table in schema.metadata.sorted_tables
            for constraint in table.foreign_key_constraints
            for number in _leading_nowhere(connection, table, constraint)
        ]
    for table, number, wanted in broken[:_SHOWN]:
        words = f"Row {number} of {table} refers to a row of {wanted} that is not there."
        yield _finding("stop", f"{words} {_KEEP}", str(table))


def _leading_nowhere(connection: Connection, table: Table, constraint: ForeignKeyConstraint) -> list[int]:
    target = constraint.referred_table.alias("target")
    pairs = [(table.c[one.parent.name], target.c[one.column.name]) for one in constraint.elements]
    there = exists().where(*(own == other for own, other in pairs)).select_from(target)
    first = next(iter(table.primary_key.columns))
    filled = and_(*(own.is_not(None) for own, _ in pairs))
    return list(connection.execute(select(first).where(filled, ~there)).scalars())


def _chains(connection: Connection) -> Iterator[Finding]:
    """A chain in which each reading names an earlier one cannot be a loop, so loops need no search of their own."""
    table = schema.observations
    older = table.alias("older")
    same = ("study_id", *schema.CELL, "replicate")
    elsewhere = [older.c[name] != table.c[name] for name in same]
    joined = table.outerjoin(older, older.c.id == table.c.replaces)
    wrong = or_(older.c.id.is_(None), older.c.id >= table.c.id, *elsewhere)
    query = select(table.c.id, table.c.replaces).select_from(joined).where(table.c.replaces.is_not(None), wrong)
    for number, replaces in connection.execute(query.limit(_SHOWN)):
        words = f"Reading {number} corrects reading {replaces}, which is not an earlier reading of the same thing."
        yield _finding("stop", f"{words} {_KEEP}", "observations")
    branches = select(table.c.replaces, func.count()).where(table.c.replaces.is_not(None)).group_by(table.c.replaces)
    for number, count in connection.execute(branches.having(func.count() > 1).limit(_SHOWN)):
        words = f"Reading {number} has {count} corrections that do not follow one another."
        yield _finding("stop", f"{words} {_KEEP}", "observations")
    places = [table.c[name] for name in same]
    firsts = select(func.min(table.c.id), func.count()).where(table.c.replaces.is_(None)).group_by(*places)
    for number, count in connection.execute(firsts.having(func.count() > 1).limit(_SHOWN)):
        words = f"Reading {number} is one of {count} first readings of the same thing; only one may be."
        yield _finding("stop", f"{words} {_KEEP}", "observations")


def _guards(connection: Connection) -> Iterator[Finding]:
    for table, name, _ in guards.missing(connection):
        words = f"The trigger {name} of the table {table} is gone or switched off: something may have been changed."
        yield _finding("stop", f"{words} Compare the log with your latest copy.", table)


def _numbers(connection: Connection) -> Iterator[Finding]:
    shown = 0
    for study in rows.all_studies(connection):
        for row in rows.each_observation(connection, study.id):
            try:
                sound = read_value(study.plan.attribute(row.attribute), row.value).number == row.number
            except KitError:
                sound = False
            if not sound and shown < _SHOWN:
                shown += 1
                words = f"Reading {row.id}: the number kept is {row.number}, and {row.value!r} was typed."
                yield _finding("caution", f"{words} Look at it, and correct it if need be.", "observations")
