"""A backup of a log in a file, and a log put back from one: nothing is ever overwritten on the way.

A backup is a log itself: a file, and beside it the folder with its photos. It is taken at one moment, also while
others record, and looked through once it is written.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING
from uuid import uuid4

from sqlalchemy import inspect

from kit.errors import StoreError
from kit.saving import settle
from kit.stability.log import rows
from kit.stability.log.logfile import FAULTS, copy_into, in_words, move_if_free, open_file, photos_beside
from kit.stability.log.verify import verify
from kit.stability.photos.files import place_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from kit.stability.log.verify import Verified
    from kit.stability.photos.files import Photo

_WAIT = 10.0  # for another's lock [s]
_STAMP = re.compile(r"\.backup-\d{8}-\d{6}$")


def back_up(log: Path, to: Path | None, now: datetime) -> tuple[Path, Verified]:
    """Write a backup of a log and look it through; returns where it is and what was found.

    Parameters
    ----------
    to
        The name of the backup, or a folder for it; beside the log otherwise, its name telling the moment.

    Raises
    ------
    StoreError
        The log cannot be read, something of that name is there already, or it cannot be written.
    """
    name = f"{log.stem}.backup-{now:%Y%m%d-%H%M%S}{log.suffix}"
    target = log.with_name(name) if to is None else to / name if to.is_dir() else to
    for place in (target, photos_beside(target)):
        if place.exists():
            msg = f"{place.name} is there already and was left as it is. Choose another name for the backup."
            raise StoreError(msg)
    _copy(log, target, lambda draft: move_if_free(draft, target))
    return target, verify(target)


def restore(backup: Path, log: Path, now: datetime) -> Path | None:
    """Put a log back from a backup; returns where the file is kept that lay in its place, if one did.

    A log that is open on that file notices at its next entry, and refuses it.

    Raises
    ------
    StoreError
        The backup is not sound, the log is being written to, or its folder cannot be.
    """
    if log.exists() and log.samefile(backup):
        msg = f"{backup.name} is that log itself. Name the backup first, and then the log."
        raise StoreError(msg)
    stops = [finding for finding in verify(backup).findings if finding.severity == "stop"]
    if stops:
        msg = f"{backup.name} is not sound, so nothing was put back from it. {stops[0].sentence}"
        raise StoreError(msg)
    kept = log.with_name(f"{log.name}.before-restore-{now:%Y%m%d-%H%M%S}") if log.exists() else None
    _copy(backup, log, lambda draft: _change_over(draft, log, kept))
    return kept


def usual_log(backup: Path) -> str | None:
    """The name of the log that a backup was made of, as its own name tells it."""
    stem = _STAMP.sub("", backup.stem)
    return None if stem == backup.stem else f"{stem}{backup.suffix}"


def _copy(source: Path, target: Path, put_in_place: Callable[[Path], None]) -> None:
    """Copy a log whole, photos first, into a file beside its place, and have it put there once it is on the disk."""
    draft = target.with_name(f".{target.name}.{uuid4().hex}.new")
    backend = open_file(source, "", _WAIT, only_look=True)
    try:
        draft.touch(exist_ok=False)
        with backend.reading() as connection:
            with closing(sqlite3.connect(draft)) as copy:
                copy_into(connection, copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            photos = rows.all_photos(connection) if inspect(connection).has_table("photos") else []
        for photo in photos:
            _copy_photo(photo, photos_beside(source), photos_beside(target))
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        put_in_place(draft)
        settle(target.parent)
    except FAULTS as error:
        raise StoreError(in_words(target, error)) from error
    except OSError as error:
        msg = f"{target.name} was not written ({error.strerror}). What was there before is untouched."
        raise StoreError(msg) from error
    finally:
        backend.engine.dispose()
        draft.unlink(missing_ok=True)


def _copy_photo(photo: Photo, from_: Path, to: Path) -> None:
    """Copy a photo where it lacks; one that is missing is for the look through to say."""
    here, there = (place_of(folder, photo.sha256, photo.media_type) for folder in (from_, to))
    if here.is_file() and not there.exists():
        there.parent.mkdir(parents=True, exist_ok=True)
        draft = there.with_name(f".{there.name}.{uuid4().hex}.new")
        shutil.copyfile(here, draft)
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.replace(there)
        settle(there.parent)


def _change_over(draft: Path, log: Path, kept: Path | None) -> None:
    """Give the name of the log to the draft, and another to the file that has it, with nobody writing meanwhile."""
    if kept is None:
        move_if_free(draft, log)
        return
    with closing(sqlite3.connect(f"{log.as_uri()}?mode=rw", uri=True, timeout=_WAIT, isolation_level=None)) as held:
        try:
            held.execute("PRAGMA journal_mode = DELETE")  # takes in what an older kit kept beside it
            held.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            msg = f"{log.name} is being written to. Nothing was put back; close what has it open, and try again."
            raise StoreError(msg) from error
        except (sqlite3.DatabaseError, UnicodeDecodeError):  # so damaged that nobody can write to it
            pass
        if os.name == "nt":  # where a file that is open cannot be renamed
            held.close()
        move_if_free(log, kept, keep=True)
        # What is left beside a damaged one is never to be played into the new one.
        for ending in ("-journal", "-wal", "-shm"):
            with suppress(FileNotFoundError):
                log.with_name(log.name + ending).rename(kept.with_name(kept.name + ending))
        draft.replace(log)
