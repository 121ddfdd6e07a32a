"""The file of a stability log: made whole or not at all, refused untouched where it is not what it should be."""

from __future__ import annotations

import os
import sqlite3
import sys
from contextlib import closing, suppress
from functools import partial
from typing import TYPE_CHECKING
from uuid import uuid4

from sqlalchemy import create_engine, event
from sqlalchemy.pool import QueuePool

from kit.errors import StoreError
from kit.stability import migrations, schema
from kit.stability.backend import Backend, in_plain_words, writing

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Connection, Engine

MAGIC = b"SQLite format 3\0"
HEADER = 100  # bytes; offsets below from "The Database Header", sqlite.org/fileformat2.html section 1.3

_WORDS = {
    sqlite3.SQLITE_BUSY: "is in use by another window or program. Try again in a moment; nothing was lost, and "
    "what you typed is not saved yet.",
    sqlite3.SQLITE_LOCKED: "is in use by another window or program. Try again in a moment; nothing was lost, and "
    "what you typed is not saved yet.",
    sqlite3.SQLITE_FULL: "cannot grow: the disk is full. Make room and save again; what was saved before is kept.",
    sqlite3.SQLITE_IOERR: "cannot be read or written to: its disk is full, or has gone. See to it and save again; what "
    "was saved before is kept, and what you typed is not saved yet.",
    sqlite3.SQLITE_READONLY: "may be read but not written to. Ask for the right to write to it and its folder.",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened. See that the file and its folder are still there.",
    sqlite3.SQLITE_CORRUPT: "is damaged. Nothing was changed; go back to your latest copy of it.",
    sqlite3.SQLITE_NOTADB: "is damaged. Nothing was changed; go back to your latest copy of it.",
}
_OTHER = "could not be used just now ({problem}). Nothing was lost; try again, and keep a copy of the file."


def _code(problem: BaseException | None) -> int:
    return getattr(problem, "sqlite_errorcode", 0) & 0xFF


def _sentence(path: Path, problem: BaseException | None) -> str:
    return f"{path.name} {_WORDS.get(_code(problem), _OTHER.format(problem=problem))}"


def _locked(problem: BaseException | None) -> bool:
    return _code(problem) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def open_file(path: Path, now: str, wait: float, photos: Path | None = None, *, only_look: bool = False) -> Backend:
    """The log at ``path``: made where there is none, checked, and brought up to date, or with ``only_look`` neither.

    ``wait`` is how long another's lock is waited for. [s]
    """
    if not path.exists() and not only_look:
        _make(path, now)
    _look_at_header(path)
    if not only_look:
        _refuse_damaged(path, wait)
    engine = _engine(path, wait)
    sentence = partial(_sentence, path)
    try:
        with in_plain_words(sentence):
            if not only_look:
                _bring_up_to_date(engine, path, now, wait)
    except BaseException:
        engine.dispose()
        raise
    beside = path.with_name(f"{path.name}-photos")
    return Backend(engine, path.name, sentence, _locked, wait, photos or beside, path=path)


def _connect(path: Path, wait: float) -> sqlite3.Connection:
    address = f"{path.as_uri()}?mode=rw"  # a log that has gone is not made anew, empty
    connection = sqlite3.connect(address, uri=True, timeout=wait, isolation_level=None, check_same_thread=False)
    try:
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _engine(path: Path, wait: float) -> Engine:
    engine = create_engine("sqlite://", creator=lambda: _connect(path, wait), poolclass=QueuePool, pool_size=1)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql(connection.get_execution_options().get("begin_with", "BEGIN"))

    return engine


def _make(path: Path, now: str) -> None:
    """Make a new log beside its place and move it there whole; another that was quicker is left in place."""
    if not path.parent.is_dir():
        msg = f"The folder {str(path.parent)!r} is not there. Make it first, or choose another place for the log."
        raise StoreError(msg)
    draft = path.with_name(f".{path.name}.{uuid4().hex}.new")
    try:
        draft.touch(exist_ok=False)
        engine = _engine(draft, wait=5)
        with in_plain_words(partial(_sentence, path)):
            with writing(engine).begin() as connection:
                migrations.create(connection, now)
            _to_write_ahead(draft)
        engine.dispose()
        _move_if_free(draft, path)
        _settle(path.parent)
    except OSError as error:
        msg = f"{path.name} cannot be made in {str(path.parent)!r} ({error.strerror}). Choose another folder."
        raise StoreError(msg) from error
    finally:
        draft.unlink(missing_ok=True)


def _to_write_ahead(path: Path) -> None:
    """Write-ahead logging is kept in the file, so it is set once, when the header already says whose file it is."""
    connection = sqlite3.connect(path)
    try:
        connection.execute("PRAGMA journal_mode = WAL")
    finally:
        connection.close()


def _move_if_free(draft: Path, path: Path) -> None:
    with suppress(FileExistsError):
        try:
            os.link(draft, path)
        except FileExistsError:
            raise
        except OSError:  # a disk without hard links, such as a memory stick
            if not path.exists():
                draft.rename(path)


def _settle(folder: Path) -> None:
    """Have the folder's own entry written to disk, so that the new log survives a power cut."""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _look_at_header(path: Path) -> None:
    """Refuse, by reading alone, what is not a log, is cut short, or comes from a newer kit."""
    others_at_work = path.with_name(f"{path.name}-wal").exists()
    try:
        with path.open("rb") as file:
            header = file.read(HEADER)
        size = path.stat().st_size
    except OSError as error:
        msg = f"{path.name} cannot be read ({error.strerror}). Choose the file of a stability log."
        raise StoreError(msg) from error

    def number(offset: int, length: int = 4) -> int:
        return int.from_bytes(header[offset : offset + length], "big")

    if len(header) < HEADER and MAGIC.startswith(header[: len(MAGIC)]):
        raise StoreError(_cut_short(path, size))
    if not header.startswith(MAGIC) or number(68) != schema.APPLICATION_ID:
        msg = f"{path.name} is not a stability log. It was left as it is; choose another file or a new name."
        raise StoreError(msg)
    _refuse_newer(path, number(60))
    page = number(16, 2)
    expected = number(28) * (65536 if page == 1 else page)
    if size < expected and not others_at_work:
        raise StoreError(_cut_short(path, size, expected))


def _cut_short(path: Path, size: int, expected: int = HEADER) -> str:
    return (
        f"{path.name} is cut short: {size} bytes of at least {expected}. It was left as it is; go back to your "
        "latest copy, or fetch it again."
    )


def _refuse_newer(path: Path, version: int) -> None:
    if version > schema.SCHEMA_VERSION:
        msg = (
            f"{path.name} was written by a newer kit (layout {version}; this one knows up to "
            f"{schema.SCHEMA_VERSION}). It was left as it is; install the newer kit to use it."
        )
        raise StoreError(msg)


def _refuse_damaged(path: Path, wait: float) -> None:
    try:
        with closing(_connect(path, wait)) as connection, closing(connection.cursor()) as cursor:
            sound = cursor.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok"
            msg = f"{path.name} {_WORDS[sqlite3.SQLITE_CORRUPT]}"
    except sqlite3.Error as error:
        sound, msg = False, _sentence(path, error)
    if not sound:
        raise StoreError(msg)


def _bring_up_to_date(engine: Engine, path: Path, now: str, wait: float) -> None:
    with engine.connect() as connection:
        version = migrations.version_of(connection)
    _refuse_newer(path, version)
    if version < schema.SCHEMA_VERSION:
        with writing(engine).begin() as connection:
            version = migrations.version_of(connection)  # another may have been quicker
            if version < schema.SCHEMA_VERSION:
                _keep_a_copy(path, version, wait)
                migrations.migrate(connection, now)


def copy_before(path: Path, version: int) -> Path:
    """Where the log is kept as it was before it was brought up to date: ``<name>.layout-1``."""
    return path.with_name(f"{path.name}.layout-{version}")


def _keep_a_copy(path: Path, version: int, wait: float) -> None:
    """Copy the log as it is on the disk, within the transaction that has the lock and has changed nothing yet."""
    kept = copy_before(path, version)
    draft = path.with_name(f".{kept.name}.{uuid4().hex}.new")
    try:
        with closing(_connect(path, wait)) as source, closing(sqlite3.connect(draft)) as target:
            source.backup(target)
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.replace(kept)
        _settle(path.parent)
    except (OSError, sqlite3.Error) as error:
        reason = getattr(error, "strerror", None) or str(error)
        msg = (
            f"{path.name} is of an older layout and was left as it is: no copy of it could be made beside it first "
            f"({reason}). Make room on the disk, or ask for the right to write to its folder, and open it again."
        )
        raise StoreError(msg) from error
    finally:
        draft.unlink(missing_ok=True)
