"""A lock on one file that the system itself holds, so that it ends with the process that took it, however it ends."""

from __future__ import annotations

import errno
import os
import sys
import time
import warnings
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING

from kit.errors import StoreError
from kit.in_browser import IN_BROWSER

if TYPE_CHECKING:
    from collections.abc import Iterator

#: How long another save of the same file is waited for; one takes a few milliseconds. [s]
PATIENCE = 20.0
_PAUSE = 0.005
_WITHOUT_LOCKS: set[Path] = set()
#: What a disk says that has no locks, as some shared folders have none.
_NO_LOCKS = {errno.ENOLCK, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EBADF}

if sys.platform == "win32":
    import msvcrt

    def _try_lock(handle: int) -> bool:
        os.lseek(handle, 0, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            if error.errno in (errno.EACCES, errno.EDEADLK):
                return False
            raise
        return True
else:
    import fcntl

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno in (errno.EACCES, errno.EAGAIN):
                return False
            raise
        return True


@contextmanager
def locked(path: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Keep every other window and process of the kit from writing this file meanwhile; wait for one that does.

    The lock is on a hidden file beside it, which goes when the lock does. Where a disk has no locks, one in this
    computer's own folder for temporary files takes its place, and a warning says that other computers do not see it.
    A page in a browser has files of its own and one kernel, and no locks.

    Raises
    ------
    StoreError
        Another process kept the file locked for ``patience`` seconds.
    OSError
        The folder cannot be written to.
    """
    if IN_BROWSER:
        yield
        return
    beside = path.with_name(f".{path.name}.lock")
    try:
        handle = _taken(beside, path.name, patience)
    except OSError as error:
        if error.errno not in _NO_LOCKS:
            raise
        beside.unlink(missing_ok=True)
        _WITHOUT_LOCKS.add(path.absolute().parent)
        warnings.warn(about_locks(path), stacklevel=2)
        beside = Path(gettempdir()) / f"shakewell-{sha256(os.fsencode(path.absolute())).hexdigest()[:32]}.lock"
        handle = _taken(beside, path.name, patience)
    try:
        yield
    finally:
        with suppress(OSError):
            beside.unlink()  # while it is still locked, so that nobody locks a file that is about to go
        os.close(handle)


def let_go(lock: Path) -> None:
    """Take a lock away that nobody holds: a process was killed while it did, and never saved again."""
    with suppress(OSError):
        handle = os.open(lock, os.O_RDWR)
        try:
            if _try_lock(handle) and _is_there(lock, handle):
                lock.unlink()
        finally:
            os.close(handle)


def about_locks(path: Path) -> str:
    """What to say of a file on a disk that has shown to have no locks; else nothing."""
    if path.absolute().parent not in _WITHOUT_LOCKS:
        return ""
    return (
        f"The disk of {path.name} has no locks: if two computers save this file at one moment, one save may be lost. "
        "Let one person at a time save it, or keep it on this computer."
    )


def _taken(lock: Path, name: str, patience: float) -> int:
    """The handle of a lock that this process now holds."""
    end = time.monotonic() + patience
    while True:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o600)
        try:
            if _try_lock(handle) and _is_there(lock, handle):
                return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)
        if time.monotonic() > end:
            msg = f"{name} was not saved: another program is writing it and does not finish. Try again in a moment."
            raise StoreError(msg)
        time.sleep(_PAUSE)


def _is_there(lock: Path, handle: int) -> bool:
    """Whether the locked file still has its name; the one who held it before may have taken it away."""
    try:
        return os.path.samestat(lock.stat(), os.fstat(handle))
    except FileNotFoundError:
        return False
