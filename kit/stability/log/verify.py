"""A log looked through from end to end; nothing is written.

What is looked for: damage that the database itself can see; rows that are not as the chain of hashes has them, or are
gone, or came by another way; references that lead nowhere, chains of corrections that are none, triggers that are gone
or do something else, readings that do not mean what their number says, photos that are missing or changed, and the
traces of a save that was broken off. With a noted anchor, also whether the log still holds all it held then.

A file is looked through as a copy in memory, taken at one moment, so that nobody who records has to wait.
"""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from sqlalchemy import ForeignKeyConstraint, Table, and_, exists, func, or_, select
from sqlalchemy.exc import DatabaseError, OperationalError

from kit.errors import KitError, StoreError
from kit.findings import Finding, Place, worst_first
from kit.stability.log import chain, migrations, rows, schema
from kit.stability.log.backend import in_plain_words
from kit.stability.log.logfile import FAULTS, engine_of, in_memory, open_file
from kit.stability.log.postgres import is_address, open_shared
from kit.stability.photos.files import leftovers, place_of
from kit.stability.reading import read_kept

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from sqlalchemy import Connection

    from kit.findings import Severity
    from kit.stability.log.backend import Backend
    from kit.stability.photos.files import Photo

_SHOWN = 20  # of each kind of fault
_KEEP = "Leave the log as it is and go back to your latest sound copy; what is in both is not in doubt."


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found, worst first, and how much was looked at. Nothing is found in a sound log.

    ``anchor`` is to be noted: with it a later look tells whether anything up to here was changed or deleted since.
    ``network`` is the kind of network folder that the log lies on, if it does.
    """

    findings: list[Finding]
    studies: int = 0
    readings: int = 0
    corrections: int = 0
    photos: int = 0
    anchor: str = ""
    chained_from: str = ""
    network: str = ""

    @property
    def sentence(self) -> str:
        """What was looked at, and how it came out."""
        looked = (
            f"Looked through: studies {self.studies}, readings {self.readings} (of them corrections "
            f"{self.corrections}), photos {self.photos}."
        )
        if self.findings:
            return f"{looked} Found: {len(self.findings)}."
        return f"{looked} The chain, references, corrections, numbers, triggers and photos are as they were saved."


def verify(
    place: str | Path, *, wait: float = 10, photos: str | Path | None = None, anchor: str | None = None
) -> Verified:
    """Look through the log at a path or an address, and write nothing to it; see :meth:`StabilityLog.open`.

    ``anchor`` was noted of this log earlier, as "128 · 7f3a-91c2-05de-b733".

    Raises
    ------
    EntryError
        The anchor is none.
    StoreError
        It cannot be opened at all; the sentence says why.
    """
    from pathlib import Path

    noted = None if anchor is None else chain.read_anchor(anchor)
    folder = None if photos is None else Path(photos).absolute()
    if is_address(place):
        backend = open_shared(str(place), "", wait, folder, only_look=True)
    else:
        backend = open_file(Path(place).absolute(), "", wait, folder, only_look=True)
    try:
        return look_through(backend, noted)
    finally:
        backend.engine.dispose()


def look_through(backend: Backend, noted: chain.Link | None = None) -> Verified:
    """Look through an open log, all of it as it is at one moment."""
    try:
        with at_one_moment(backend) as connection:
            return _look(connection, backend, noted)
    except StoreError as error:
        cause = error.__cause__
        damage = isinstance(cause, (DatabaseError, sqlite3.DatabaseError, UnicodeDecodeError))
        if backend.path is None or not damage or isinstance(cause, (OperationalError, sqlite3.OperationalError)):
            raise
        return Verified([_finding("stop", str(error), "log")])  # so damaged that it cannot even be checked


def unsound(backend: Backend) -> list[Finding]:
    """What of the rows is not as the chain has it; quicker than looking through all."""
    with at_one_moment(backend) as connection:
        return list(_chain(connection))


@contextmanager
def at_one_moment(backend: Backend) -> Iterator[Connection]:
    """The log as it is now, to be read for as long as it takes without holding up who records."""
    with ExitStack() as stack:
        with backend.reading() as connection:
            if not schema.in_sqlite(connection):
                connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
                yield connection
                return
            try:
                copy = in_memory(connection)
            except FAULTS as error:
                raise StoreError(backend.sentence(error)) from error
        engine = engine_of(lambda: copy)
        stack.callback(copy.close)
        with in_plain_words(backend.sentence), engine.begin() as frozen:
            yield frozen


def _look(connection: Connection, backend: Backend, noted: chain.Link | None) -> Verified:
    version = migrations.version_of(connection)
    found = [*_damage(connection), *_layouts(connection, version)]
    if found or version < schema.SCHEMA_VERSION:
        if not found:
            words = f"{backend.name} is of layout {version}. Open it once with this kit, which keeps a copy of it"
            found.append(_finding("note", f"{words} and brings it up to date; then look through it again.", "log"))
            found += _older(backend)
        return Verified(worst_first(found))
    found = [*_chain(connection), *_guards(connection), *_anchored(connection, noted)]
    for look in (_references, _chains, _clocks, _numbers):
        found += look(connection)
    studies, readings = (
        connection.execute(select(func.count()).select_from(table)).scalar_one()
        for table in (schema.studies, schema.observations)
    )
    of_corrections = select(func.count()).where(schema.observations.c.replaces.is_not(None))
    corrections = connection.execute(of_corrections).scalar_one()
    photos = []
    try:
        photos = rows.all_photos(connection)
    except StoreError as error:
        found.append(_finding("stop", f"{error} {_KEEP}", "photos"))
    found += wrong_photos(photos, backend.photos)
    found += stray_files(backend.path)
    head = chain.head(connection)
    anchor = head.anchor if head else ""
    return Verified(
        worst_first(found), studies, readings, corrections, len(photos), anchor, _chained_from(connection),
        backend.network,
    )  # fmt: skip


def _finding(severity: Severity, sentence: str, field: str) -> Finding:
    return Finding(severity, sentence, Place(field=field))


def _damage(connection: Connection) -> Iterator[Finding]:
    if not schema.in_sqlite(connection):
        if connection.exec_driver_sql("SHOW fsync").scalar() == "off":
            words = "The server does not wait for its disk (fsync is off): a power cut can lose what it said was saved."
            yield _finding("caution", f"{words} Ask for it to be switched on.", "log")
        return
    for (words,) in connection.exec_driver_sql(f"PRAGMA integrity_check({_SHOWN})"):
        if words != "ok":
            yield _finding("stop", f"The file is damaged ({words}). {_KEEP}", "log")


def _references(connection: Connection) -> Iterator[Finding]:
    if schema.in_sqlite(connection):
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


def _clocks(connection: Connection) -> Iterator[Finding]:
    """Corrections stamped before what they correct: the order of saving shows that a clock was set back."""
    table = schema.observations
    older = table.alias("older")
    joined = table.join(older, older.c.id == table.c.replaces)
    query = select(table.c.id, table.c.recorded_at, older.c.id, older.c.recorded_at).select_from(joined)
    odd = query.where(table.c.recorded_at < older.c.recorded_at).order_by(table.c.id).limit(_SHOWN)
    for number, at, replaces, earlier in connection.execute(odd):
        words = (
            f"Correction {number} is stamped {at}, before reading {replaces}, which it corrects ({earlier}): a clock "
            "was set back in between. The order of saving holds; trust neither hour. Set the clock right."
        )
        yield _finding("caution", words, "observations")


def _guards(connection: Connection) -> Iterator[Finding]:
    for table, name, _ in schema.missing_triggers(connection):
        words = f"The trigger {name} of the table {table} is gone or switched off: something may have been changed."
        yield _finding("stop", f"{words} Compare the log with your latest copy.", table)
    for table, name in schema.strange_triggers(connection):
        words = f"The trigger {name} of the table {table} is not this kit's: something may have been changed."
        yield _finding("stop", f"{words} Compare the log with your latest copy.", table)


def _chain(connection: Connection) -> Iterator[Finding]:
    found = list(islice(chain.faults(connection), _SHOWN + 1))
    for table, words in found[:_SHOWN]:
        yield _finding("stop", f"{words} {_KEEP}", table)
    if len(found) > _SHOWN:
        yield _finding("stop", f"More rows are not as they were saved; the first {_SHOWN} are named.", "chain")


def _layouts(connection: Connection, version: int) -> Iterator[Finding]:
    said = connection.execute(select(func.max(schema.schema_versions.c.version))).scalar()
    if said != version:
        yield _finding(
            "stop", f"The layout is {version} by the header and {said} by the table of layouts. {_KEEP}", "log"
        )
    elif migrations.is_lowered(connection, version):
        words = f"The table of layouts says {version}, but there is a chain, which came later: that was changed."
        yield _finding("stop", f"{words} {_KEEP}", "log")


def _chained_from(connection: Connection) -> str:
    """The moment from which the chain counts, where the log is older than its chain."""
    table = schema.schema_versions
    moments = {row.version: row.applied_at for row in connection.execute(select(table.c.version, table.c.applied_at))}
    older = any(version < migrations.CHAINED for version in moments)
    return str(moments.get(migrations.CHAINED, "")) if older else ""


def _anchored(connection: Connection, noted: chain.Link | None) -> Iterator[Finding]:
    if noted is not None and not chain.holds(connection, noted):
        head = chain.head(connection)
        last = f"the newest entry is {head.seq}" if head else "it has no entries"
        words = f"The anchor {noted.anchor} is not of this log as it is now ({last}): something up to there was deleted"
        words += " or changed and all later links computed anew, or it was noted of another log, or mistyped."
        yield _finding("stop", f"{words} {_KEEP}", "chain")


def _older(backend: Backend) -> Iterator[Finding]:
    """A copy of an older log may lack its newest readings, and nothing in it says so."""
    if backend.watch.beside is False:
        words = (
            "Older kits kept the newest readings for a while in a second file beside the log. None lies beside this "
            "one, as is right where the log was closed. If this is a copy made while it was open, they are not in it."
        )
        yield _finding("note", words, "log")


def _numbers(connection: Connection) -> Iterator[Finding]:
    try:
        yield from _odd_numbers(connection)
    except StoreError as error:
        yield _finding("stop", f"{error} {_KEEP}", "log")


def _odd_numbers(connection: Connection) -> Iterator[Finding]:
    shown = 0
    for study in rows.all_studies(connection):
        for row in rows.each_observation(connection, study.id):
            try:
                sound = read_kept(study.plan.attribute(row.attribute), row.value, row.number).number == row.number
            except KitError:
                sound = False
            if not sound and shown < _SHOWN:
                shown += 1
                words = f"Reading {row.id}: the number kept is {row.number}, and {row.value!r} was typed."
                yield _finding("caution", f"{words} Look at it, and correct it if need be.", "observations")


_HARMLESS = "It does no harm; look at it, and delete it if you do not know it."


def wrong_photos(photos: Sequence[Photo], folder: Path | None) -> Iterator[Finding]:
    """Photos of the log that are not in their place as they were attached, and files in the folder that are none."""
    if folder is None:
        if photos:
            words = f"The log has photos ({len(photos)}), and their folder was not named. Name it with photos='...'."
            yield _finding("caution", words, "photos")
        return
    known = set()
    for photo in photos:
        place = place_of(folder, photo.sha256, photo.media_type)
        problem = None if place in known else _problem(place, photo)
        known.add(place)
        if problem:
            words = f"Photo {photo.id} of reading {photo.observation_id}, {photo.file_name}, {problem}"
            yield _finding("stop", f"{words} Put it back from your latest copy, as {place.name}.", "photos")
    if folder.is_dir():
        for file in leftovers(folder):
            words = f"{file.name} in the folder of the photos is no photo of a log: a save may have been broken off."
            yield _finding("note", f"{words} {_HARMLESS}", "photos")
        for file in sorted(set(folder.glob("??/*")) - known - set(leftovers(folder))):
            words = f"{file.name} in the folder of the photos belongs to no reading: its save may have been broken off."
            yield _finding("note", f"{words} {_HARMLESS}", "photos")


def _problem(place: Path, photo: Photo) -> str | None:
    try:
        with place.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        return f"cannot be read ({error.strerror})."
    if found != photo.sha256 or place.stat().st_size != photo.bytes:
        return "is not as it was attached: its content has changed."
    return None


def stray_files(path: Path | None) -> Iterator[Finding]:
    """What a log that was being made or copied when the power went may have left beside its file."""
    if path is not None:
        for file in sorted(path.parent.glob(f".{path.name}.*.new")):
            words = f"{file.name} is the trace of a log that was being made or copied when it was broken off."
            yield _finding("note", f"{words} {_HARMLESS}", "log")
