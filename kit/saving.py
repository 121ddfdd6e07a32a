"""Save a file so that nothing is lost: all of the new one or all of the old one, and the one before beside it."""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import suppress
from pathlib import Path
from secrets import token_hex

from kit.errors import StoreError

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


def previous_version(path: Path) -> Path:
    """Where the version before the last save is kept: ``<name>.previous``."""
    return path.with_name(f"{path.name}.previous")


def file_stem(title: str) -> str:
    """A file name for a title: letters, digits and underscores.

    Examples
    --------
    >>> file_stem("After-swim: body shake!")
    'after_swim_body_shake'
    """
    words = "".join(letter if letter.isalnum() else " " for letter in title.casefold()).split()
    return "_".join(words)[:60] or "formula"


def save_text(path: Path, text: str) -> None:
    """Write text as UTF-8, keeping the file as it was as ``<name>.previous``.

    Half of a sign, which no UTF-8 can hold and only a faulty program sends, is written as a question mark.

    Raises
    ------
    StoreError
        It cannot be written; the old file is then untouched.
    """
    save_bytes(path, text.encode("utf-8", "replace"))


def save_bytes(path: Path, data: bytes) -> None:
    """Write a file in one step, keeping the file as it was as ``<name>.previous``.

    The new content goes to a temporary file in the same folder and on to the disk itself before it takes the
    name, so that a full disk or a power cut leaves the old file whole. Saving what is already there changes
    nothing, so the previous version stays a different one.

    Raises
    ------
    StoreError
        It cannot be written; the old file is then untouched.
    """
    path = Path(path)
    target = path.resolve() if path.is_symlink() else path
    fresh = target.with_name(f".{target.name}.{token_hex(4)}.new")
    kept = target.with_name(f".{target.name}.{token_hex(4)}.old")
    try:
        if target.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
        if target.exists() and target.read_bytes() == data:
            return
        _write(fresh, data)
        if target.exists():
            shutil.copymode(target, fresh)
            shutil.copy2(target, kept)
            kept.replace(previous_version(target))
        fresh.replace(target)
        settle(target.parent)
    except OSError as error:
        reason = _REASONS.get(error.errno or 0, error.strerror or str(error))
        msg = f"{path.name} was not saved: {reason}. What was there before is untouched."
        raise StoreError(msg) from error
    finally:
        for leftover in (fresh, kept):
            with suppress(OSError):
                leftover.unlink(missing_ok=True)


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
