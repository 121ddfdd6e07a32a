"""Save a file so that nothing is lost: all of the new one or all of the old one, and the last ten kept beside it.

Every file that a maker keeps goes through :func:`rewrite`. It holds a lock from reading what is there until the new
content has its name, so that two windows or programs of the kit never write over one another unseen.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING, TypeVar

from kit.errors import ChangedOnDiskError, KitError, StoreError
from kit.file_lock import let_go, locked
from kit.file_names import shown, why_no_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

Value = TypeVar("Value")

#: The folder beside a file that holds its earlier saves, and how many of each file.
FOLDER, KEPT = "earlier_saves", 10

_REASONS = {
    errno.ENOSPC: "the disk is full. Make room on it, then save again",
    errno.EDQUOT: "your share of the disk is used up. Make room, then save again",
    errno.EFBIG: "the file is larger than this disk allows",
    errno.ENOENT: "its folder is not there. Make the folder, or choose another",
    errno.ENOTDIR: "its folder is not there. Make the folder, or choose another",
    errno.EACCES: "you may not write there. Choose another folder",
    errno.EPERM: "you may not write there. Choose another folder",
    errno.EROFS: "that disk can only be read. Choose another folder",
    errno.EISDIR: "there is a folder of that name. Choose another name",
    errno.ENAMETOOLONG: "its name is too long. Choose a shorter one",
}
_ENTRY = re.compile(r"(\d+)_(\d{4}-\d\d-\d\dT\d\d-\d\d-\d\dZ)")
#: What a save that was killed leaves behind, and after how long nobody can be at it any more. [s]
_LEFT, ABANDONED = re.compile(r"\..+\.[0-9a-f]{8}\.new"), 3600
_STAMP = "%Y-%m-%dT%H-%M-%SZ"


# ---- what was seen of a file --------------------------------------------------------------------------------


class Seen:
    """What files held when they were last read or saved here.

    A save that is given this refuses to take the place of what came into the file since.
    """

    def __init__(self) -> None:
        self._marks: dict[Path, str] = {}

    def read(self, path: str | Path, reader: Callable[[Path], Value]) -> Value:
        """Read a file and remember what it held."""
        path = Path(path)
        mark = _mark(_content(path))  # before reading: a change in between is then told, never passed over
        value = reader(path)
        self._marks[path.absolute()] = mark
        return value

    def look(self, path: str | Path) -> None:
        """Take a file as it is now for known, because a person chose to save over it."""
        self._marks[Path(path).absolute()] = _mark(_content(Path(path)))

    def forget(self, path: str | Path) -> None:
        """Know nothing of a file, because what is in hand does not come from it."""
        self._marks.pop(Path(path).absolute(), None)

    def mark(self, path: str | Path) -> str:
        """A mark of what a file held when it was last seen; empty where it never was."""
        return self._marks.get(Path(path).absolute(), "")

    def recall(self, path: str | Path, mark: str) -> None:
        """Take for known what a file held when this mark was made of it, because what is in hand began from that."""
        self._marks[Path(path).absolute()] = mark

    def note(self, path: Path, data: bytes) -> None:
        """Remember what was written."""
        self._marks[path.absolute()] = _mark(data)

    def check(self, path: Path, there: bytes | None) -> None:
        """Refuse to go on where a file is not as it was.

        Raises
        ------
        ChangedOnDiskError
            Somebody wrote it since, or it was never opened here.
        """
        known = self._marks.get(path.absolute(), "")
        if there is None or _mark(there) == known:
            return
        what = (
            "was changed in another window or by another program since it was opened here"
            if known
            else "is there already and was not opened here"
        )
        msg = (
            f"{path.name} {what}. Nothing was written. Open the one on the disk, save yours over it, or save yours "
            "under another name: both are kept, whichever you choose."
        )
        raise ChangedOnDiskError(msg)


def _mark(data: bytes | None) -> str:
    return "" if data is None else hashlib.sha256(data).hexdigest()


def _content(path: Path) -> bytes | None:
    """What a file holds; None where there is none."""
    try:
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError, ValueError):  # the last: no name at all
        return None


# ---- saving -------------------------------------------------------------------------------------------------


def save_text(path: Path, text: str, *, seen: Seen | None = None) -> None:
    """Write text as UTF-8; see :func:`rewrite`.

    Half of a sign, which no UTF-8 can hold and only a faulty program sends, is written as a question mark.
    """
    save_bytes(path, text.encode("utf-8", "replace"), seen=seen)


def save_bytes(path: Path, data: bytes, *, seen: Seen | None = None) -> None:
    """Write a file; see :func:`rewrite`."""
    rewrite(path, lambda _: data, seen=seen)


def save_unless_same(path: Path, data: bytes, read: Callable[[bytes], object], *, seen: Seen | None = None) -> None:
    """Write a file, unless what is there says the same in other signs; see :func:`rewrite`.

    So a file that was opened and saved unchanged keeps every byte, whoever wrote it.
    """

    def change(there: bytes | None) -> bytes:
        with suppress(KitError):
            if there is not None and read(there) == read(data):
                return there
        return data

    rewrite(path, change, seen=seen)


def rewrite(
    path: Path, change: Callable[[bytes | None], bytes], *, seen: Seen | None = None, keeps: bool = True
) -> None:
    """Turn what a file holds into what it is to hold, in one step; what it held goes to its earlier saves.

    The new content goes to a temporary file in the same folder and on to the disk itself before it takes the
    name, so that a full disk or a power cut leaves the old file whole. It is read back before this returns. Saving
    what is already there changes nothing.

    Parameters
    ----------
    change
        Gets what the file holds, None where there is none, and gives what it is to hold. It may raise a KitError:
        nothing is written then.
    seen
        What was read of the file; without it, whatever is there is taken over.
    keeps
        Whether what it held goes to its earlier saves: not where nobody would want it back.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    path = Path(path)
    if fault := why_no_name(path):
        msg = f"{shown(path.name)} was not saved, because it cannot be the name of a file: {fault}."
        raise StoreError(msg)
    target = path.resolve() if path.is_symlink() else path
    with _told(path.name), locked(target):
        if target.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
        _sweep(target)
        there = _content(target)
        data = change(there)
        if data != there:
            if seen is not None:
                seen.check(path, there)
            _replace(target, there, data, keeps=keeps)
            if _content(target) != data:
                msg = f"{path.name} was written, but the disk gives back something else. Save under another name."
                raise StoreError(msg)
        if seen is not None:
            seen.note(path, data)


def _replace(target: Path, there: bytes | None, data: bytes, *, keeps: bool) -> None:
    """Let new content take the name; whatever fails, the old one has it and no litter stays."""
    fresh = target.with_name(f".{target.name}.{token_hex(4)}.new")
    kept: Path | None = None
    try:
        _write(fresh, data)
        if there is not None:
            shutil.copymode(target, fresh)
            kept = _keep(target, there, target.stat().st_mtime) if keeps else None
        fresh.replace(target)
    except BaseException:
        for leftover in (fresh, kept):
            with suppress(OSError):
                if leftover is not None:
                    leftover.unlink(missing_ok=True)
        raise
    settle(target.parent)
    _thin_out(target)


def _sweep(target: Path) -> None:
    """Clear away what killed processes left: of this file, which is locked, at once; of others after an hour."""
    own, earlier = f".{target.name}.", target.parent / FOLDER / target.name
    with suppress(OSError):
        hidden = [file for file in target.parent.iterdir() if file.name.startswith(".")]
        hidden += [file for file in (earlier.iterdir() if earlier.is_dir() else ()) if file.name.startswith(".")]
        for file in hidden:
            with suppress(OSError):  # another process was quicker
                is_old = time.time() - file.lstat().st_mtime > ABANDONED
                if _LEFT.fullmatch(file.name):
                    is_own = file.parent == earlier or file.name[:-12] == own
                    if is_own or is_old:
                        file.unlink()
                elif is_old and file.name.endswith(".lock") and file.name != f"{own}lock":
                    let_go(file)


@contextmanager
def _told(name: str) -> Iterator[None]:
    """Say in a sentence what the disk did not do."""
    try:
        yield
    except OSError as error:
        msg = f"{name} was not saved: {why(error)}. What was there before is untouched."
        raise StoreError(msg) from error


def why(error: OSError) -> str:
    """Why the disk did not do something, and what to do about it."""
    return _REASONS.get(error.errno or 0, error.strerror or str(error))


def _write(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def settle(folder: Path) -> None:
    """Ask the disk to remember a new name in a folder, where a folder can be asked; its content is saved already."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


# ---- earlier saves ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class EarlierSave:
    """What a file held before.

    Attributes
    ----------
    number
        Counted from the first save on, so that a clock set back changes no order; 0 for a ``.previous`` file, which
        the kit wrote in former days.
    path
        A file that can be read like any other.
    saved_at
        When it had been written. [UTC]
    """

    number: int
    path: Path
    saved_at: datetime

    def read(self) -> bytes:
        """What it holds.

        Raises
        ------
        StoreError
            It is gone, or cannot be read.
        """
        try:
            return self.path.read_bytes()
        except OSError as error:
            msg = f"The earlier save {self.path.name} cannot be read: {error.strerror or error}."
            raise StoreError(msg) from error


def earlier_saves(path: str | Path) -> list[EarlierSave]:
    """What a file held before its last saves, the latest first."""
    path = Path(path)
    target = path.resolve() if path.is_symlink() else path
    found = []
    folder = target.parent / FOLDER / target.name
    for file in folder.iterdir() if folder.is_dir() else ():
        name = _ENTRY.match(file.name)
        if name and file.is_file():
            found.append(EarlierSave(int(name[1]), file, datetime.strptime(name[2], _STAMP).replace(tzinfo=UTC)))
    former = _former(target)
    if former.is_file():
        found.append(EarlierSave(0, former, datetime.fromtimestamp(former.stat().st_mtime, UTC)))
    return sorted(found, key=lambda save: save.number, reverse=True)


def take_back(path: str | Path, number: int, *, seen: Seen | None = None) -> EarlierSave:
    """Let a file hold again what it held at an earlier save; what it holds now becomes an earlier save itself.

    Raises
    ------
    StoreError
        There is no such save, or the file cannot be written.
    """
    path = Path(path)
    saves = earlier_saves(path)
    chosen = next((save for save in saves if save.number == number), None)
    if chosen is None:
        there = ", ".join(str(save.number) for save in reversed(saves))
        msg = f"{path.name} has no earlier save {number}. {f'There are {there}.' if there else 'There is none yet.'}"
        raise StoreError(msg)
    data = chosen.read()
    rewrite(path, lambda _: data)
    if seen is not None:
        seen.note(path, data)
    return chosen


def set_aside(path: str | Path, data: bytes) -> None:
    """Put something among the earlier saves of a file and leave the file as it is.

    Raises
    ------
    StoreError
        It cannot be written.
    """
    path = Path(path)
    target = path.resolve() if path.is_symlink() else path
    with _told(path.name), locked(target):
        _keep(target, data, datetime.now(UTC).timestamp())
        _thin_out(target)


def _former(target: Path) -> Path:
    """Where the kit kept the one version before, in former days."""
    return target.with_name(f"{target.name}.previous")


def _keep(target: Path, data: bytes, when: float) -> Path:
    """Write an earlier save with the next number, behind a ``.previous`` of former days."""
    folder = target.parent / FOLDER / target.name
    folder.mkdir(parents=True, exist_ok=True)
    saves = earlier_saves(target)
    number = saves[0].number if saves else 0
    if saves and saves[-1].number == 0:  # numbered too: it must not be lost, and not stay for ever
        former = saves[-1]
        number += 1
        former.path.replace(_entry(folder, number, former.saved_at, target.suffix))
    place = _entry(folder, number + 1, datetime.fromtimestamp(when, UTC), target.suffix)
    fresh = place.with_name(f".{place.name}.{token_hex(4)}.new")
    try:
        _write(fresh, data)
        with suppress(OSError):  # a file that was just read may be gone, and not every disk has times and rights
            shutil.copymode(target, fresh)
            os.utime(fresh, (when, when))
        fresh.replace(place)
    finally:
        fresh.unlink(missing_ok=True)
    settle(folder)
    return place


def _entry(folder: Path, number: int, when: datetime, suffix: str) -> Path:
    return folder / f"{number:05d}_{when.strftime(_STAMP)}{suffix}"


def _thin_out(target: Path) -> None:
    """Keep ten besides what the file holds now, and of several that hold the same only the latest."""
    with suppress(OSError, StoreError):
        now, held = _mark(_content(target)), set[str]()
        for save in earlier_saves(target):
            mark = _mark(save.read())
            if mark in held or (mark != now and len(held - {now}) >= KEPT):
                save.path.unlink(missing_ok=True)
            held.add(mark)
