"""The file of a stability log: made whole or not at all, refused untouched where it is not what it should be.

The log is one file: SQLite keeps a rollback journal beside it only while a transaction is being written, and deletes
it, down to the folder's entry on the disk, before the transaction is acknowledged (``journal_mode = DELETE``,
``synchronous = EXTRA``). Earlier layouts kept the newest readings in ``<name>-wal``; these are taken in on opening.

A log's file is looked at through SQLite and never by a handle of our own: closing one would, on POSIX systems, let
go of the locks that other connections of this process hold ("How To Corrupt An SQLite Database File", section 2.2,
sqlite.org/howtocorrupt.html).
"""

from __future__ import annotations

import errno
import math
import os
import random
import sqlite3
import sys
import time
from contextlib import closing, suppress
from functools import partial
from typing import TYPE_CHECKING
from uuid import uuid4

from sqlalchemy import create_engine, event
from sqlalchemy.pool import QueuePool

from kit.errors import StoreError
from kit.stability.log import chain, migrations, schema
from kit.stability.log.backend import Backend, Watch, in_plain_words, writing
from kit.stability.log.network import network_kind

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy import Connection, Engine

MAGIC = b"SQLite format 3\0"
HEADER = 100  # bytes of "The Database Header", sqlite.org/fileformat2.html section 1.3
_DAMAGED = "is damaged. Nothing was changed; go back to your latest copy of it."

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
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _DAMAGED,
    sqlite3.SQLITE_ERROR: "holds other tables or values than a log of this kit: it is damaged, or another file was put "
    "in its place. What you typed is not saved yet. Look it over with python3 -m kit verify.",
}
#: What SQLite's module raises: a damaged name in the words of an error is not even decoded.
FAULTS = (sqlite3.Error, UnicodeDecodeError)
_OTHER = "could not be used just now ({problem}). Nothing was lost; try again, and keep a copy of the file."


def _code(problem: BaseException | None) -> int:
    return getattr(problem, "sqlite_errorcode", 0) & 0xFF


def in_words(path: Path, problem: BaseException | None) -> str:
    """What SQLite says of a file, as a sentence."""
    if isinstance(problem, UnicodeDecodeError):
        return f"{path.name} {_DAMAGED}"
    return f"{path.name} {_WORDS.get(_code(problem), _OTHER.format(problem=problem))}"


def _locked(problem: BaseException | None) -> bool:
    return _code(problem) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def open_file(path: Path, now: str, wait: float, photos: Path | None = None, *, only_look: bool = False) -> Backend:
    """The log at ``path``: made where there is none, checked, and brought up to date, or with ``only_look`` neither.

    ``wait`` is how long another's lock is waited for. [s]
    """
    if not path.exists() and not only_look:
        _make(path, now)
    watch = Watch(path.name, path)
    sentence = partial(in_words, path)
    _look_at_file(path, wait, watch)
    engine = _engine(path, wait, only_look=only_look, older=watch.beside is not None)
    try:
        with in_plain_words(sentence):
            if not only_look:
                _refuse_damaged(path, engine)
                _bring_up_to_date(engine, path, now, wait)
                with engine.begin() as connection:
                    watch.newest = chain.head(connection)
    except BaseException:
        engine.dispose()
        raise
    beside = photos_beside(path)
    return Backend(engine, path.name, sentence, _locked, wait, photos or beside, path=path, watch=watch)


def photos_beside(path: Path) -> Path:
    """The folder of the photos of a log in a file, unless another was named."""
    return path.with_name(f"{path.name}-photos")


def _connect(path: Path, wait: float, *, only_look: bool = False, older: bool = False) -> sqlite3.Connection:
    """A connection; ``older`` says that the log is, or was, one with a second file."""
    address = f"{path.as_uri()}?mode=rw"  # a log that has gone is not made anew, empty
    until = time.monotonic() + wait
    while True:
        connection = sqlite3.connect(address, uri=True, timeout=wait, isolation_level=None, check_same_thread=False)
        try:
            if older:
                _without_shared_memory(connection, path)  # before anything is read
            connection.execute("PRAGMA synchronous = EXTRA")
            connection.execute("PRAGMA foreign_keys = ON")
            if not only_look:
                connection.execute("PRAGMA journal_mode = DELETE")
                if older:
                    connection.execute("PRAGMA locking_mode = NORMAL")
                    connection.execute("PRAGMA user_version").fetchone()  # lets go of the lock
        except FAULTS as error:
            connection.close()
            if not _locked(error) or time.monotonic() >= until:
                raise
            time.sleep(random.uniform(0.005, 0.025))  # SQLite does not wait where a log of an older kit is changed over
        else:
            return connection


def _without_shared_memory(connection: sqlite3.Connection, path: Path) -> None:
    """Have a second file read by this connection alone, where a network folder has no memory that all share.

    SQLite then keeps its index of that file to itself ("Use of WAL Without Shared-Memory", sqlite.org/wal.html).
    """
    if network_kind(path):
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")


def _engine(path: Path, wait: float, *, only_look: bool = False, older: bool = False) -> Engine:
    def connect() -> sqlite3.Connection:
        return _connect(path, wait, only_look=only_look, older=older)

    return engine_of(connect)


def engine_of(connect: Callable[[], sqlite3.Connection]) -> Engine:
    """An engine that begins each transaction as a log wants it."""
    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool, pool_size=1)

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
        with in_plain_words(partial(in_words, path)), writing(engine).begin() as connection:
            migrations.create(connection, now)
        engine.dispose()
        with suppress(FileExistsError):
            move_if_free(draft, path)
        _settle(path.parent)
    except OSError as error:
        msg = f"{path.name} cannot be made in {str(path.parent)!r} ({error.strerror}). Choose another folder."
        raise StoreError(msg) from error
    finally:
        draft.unlink(missing_ok=True)


def move_if_free(file: Path, target: Path, *, keep: bool = False) -> None:
    """Give a file a name that is free; with ``keep`` it has both, where the disk allows two.

    Raises
    ------
    FileExistsError
        The name is taken.
    """
    try:
        os.link(file, target)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links, such as a memory stick
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        file.rename(target)
    else:
        if not keep:
            file.unlink()


def _settle(folder: Path) -> None:
    """Have the folder's own entry written to disk, so that the new log survives a power cut."""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _look_at_file(path: Path, wait: float, watch: Watch) -> None:
    """Refuse, by reading alone, what is not a log, is cut short, or comes from a newer kit."""
    try:
        watch.begin()
        size = path.stat().st_size
        if path.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if not os.access(path, os.R_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        if size < HEADER and MAGIC.startswith(path.read_bytes()[: len(MAGIC)]):  # too short for anybody to have locked
            raise StoreError(_cut_short(path, size))
        beside = path.with_name(f"{path.name}-wal")
        unread = beside.exists() and beside.stat().st_size > 0
    except OSError as error:
        msg = f"{path.name} cannot be read ({error.strerror}). Choose the file of a stability log."
        raise StoreError(msg) from error
    foreign = f"{path.name} is not a stability log. It was left as it is; choose another file or a new name."
    try:
        mark, version, whole, mode = _header(path, wait)
        size = path.stat().st_size  # not before: another who writes may have made it longer
        watch.beside = unread if mode == "wal" else None
    except FAULTS as error:
        raise StoreError(foreign if _code(error) == sqlite3.SQLITE_NOTADB else in_words(path, error)) from error
    if mark != schema.APPLICATION_ID:
        raise StoreError(foreign)
    migrations.refuse_newer(path.name, version)
    if size < whole and not unread:
        raise StoreError(_cut_short(path, size))
    if version < 1:
        msg = f"{path.name} {_DAMAGED}"
        raise StoreError(msg)


def _header(path: Path, wait: float) -> tuple[int, int, float, str]:
    """Mark, layout, whole size [bytes] and journal mode, as the header says them.

    The size is infinite where pages are missing.
    """
    address = f"{path.as_uri()}?mode=rw"
    with closing(sqlite3.connect(address, uri=True, timeout=wait, isolation_level=None)) as connection:
        _without_shared_memory(connection, path)

        def number(pragma: str) -> int:
            return int(connection.execute(f"PRAGMA {pragma}").fetchone()[0])

        try:
            mark, version = number("application_id"), number("user_version")
        except sqlite3.DatabaseError as error:
            if _code(error) != sqlite3.SQLITE_CORRUPT:
                raise
            connection.execute("PRAGMA writable_schema = ON")  # SQLite then reads a file that is shorter than it says
            return number("application_id"), number("user_version"), math.inf, ""
        if mark != schema.APPLICATION_ID:
            return mark, version, 0, ""
        (mode,) = connection.execute("PRAGMA journal_mode").fetchone()
        return mark, version, number("page_count") * number("page_size"), mode


def _cut_short(path: Path, size: int) -> str:
    return (
        f"{path.name} is cut short: its end is missing after {size} bytes. It was left as it is; go back to your "
        "latest copy, or fetch it again."
    )


def _refuse_damaged(path: Path, engine: Engine) -> None:
    with engine.begin() as connection:
        if connection.exec_driver_sql("PRAGMA quick_check(1)").scalar() != "ok":
            msg = f"{path.name} {_DAMAGED}"
            raise StoreError(msg)


def _bring_up_to_date(engine: Engine, path: Path, now: str, wait: float) -> None:
    with engine.begin() as connection:
        version = migrations.version_of(connection)
        if version != connection.exec_driver_sql("SELECT max(version) FROM schema_versions").scalar():
            msg = f"{path.name} {_DAMAGED}"
            raise StoreError(msg)
    migrations.refuse_newer(path.name, version)
    if version < schema.SCHEMA_VERSION:
        with writing(engine).begin() as connection:
            version = migrations.version_of(connection)  # another may have been quicker
            if version < schema.SCHEMA_VERSION:
                _keep_a_copy(path, version, wait)
                migrations.migrate(connection, now)


def copy_before(path: Path, version: int) -> Path:
    """Where the log is kept as it was before it was brought up to date: ``<name>.layout-1``."""
    return path.with_name(f"{path.name}.layout-{version}")


def in_memory(connection: Connection) -> sqlite3.Connection:
    """The log as this transaction sees it, copied into memory; broken text is kept, not refused."""
    copy = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    copy.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    copy_into(connection, copy)
    return copy


def copy_into(connection: Connection, copy: sqlite3.Connection) -> None:
    """Copy the log, page by page, as a transaction that only reads sees it."""
    source = connection.connection.dbapi_connection
    assert isinstance(source, sqlite3.Connection)
    page = source.execute("PRAGMA page_size").fetchone()[0]
    copy.execute(f"PRAGMA page_size = {page}")
    source.backup(copy)


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
    except (OSError, *FAULTS) as error:
        reason = getattr(error, "strerror", None) or str(error)
        msg = (
            f"{path.name} is of an older layout and was left as it is: no copy of it could be made beside it first "
            f"({reason}). Make room on the disk, or ask for the right to write to its folder, and open it again."
        )
        raise StoreError(msg) from error
    finally:
        draft.unlink(missing_ok=True)
