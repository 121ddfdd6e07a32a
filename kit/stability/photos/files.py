"""Photos of a log: what they are, and the folder in which each is kept once under the hash of its content."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError, StoreError
from kit.saving import save_bytes, settle
from kit.stability.photos.decoding import upright
from kit.stability.photos.kept_parts import JPEG, PNG, kept_parts
from kit.stability.study import storable

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOST_BYTES = 25_000_000
EXTENSIONS = {"image/jpeg": "jpg", "image/png": "png"}
#: Start-of-frame markers carry the size; C4, C8 and CC among them are none. ISO/IEC 10918-1, table B.1.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of one reading.

    ``width`` and ``height`` [px] are those of the file; ``patch`` is x, y, width, height [px] of the part whose
    ``colour`` (L*, a*, b*) was read. ``file_name`` is the name it came with; it is kept as :func:`place_of` says.
    """

    id: int
    observation_id: int
    sha256: str
    file_name: str
    media_type: str
    bytes: int
    width: int
    height: int
    patch: tuple[int, int, int, int] | None = None
    colour: tuple[float, float, float] | None = None
    attached_at: str = ""
    attached_by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """What the first bytes of a picture say."""

    media_type: str
    width: int
    height: int


def look_at(content: bytes, file_name: str) -> Look:
    """Kind and size of a picture, by its content and never by its name.

    Raises
    ------
    EntryError
        It is no JPEG or PNG picture, is cut short, or is too large.
    """
    if len(content) > MOST_BYTES:
        msg = (
            f"{file_name} is too large: {len(content) / 1e6:.1f} MB, and a photo may have {MOST_BYTES / 1e6:.0f} MB. "
            "Save it smaller, at a width of 2000 pixels, say, and choose it again."
        )
        raise EntryError(msg)
    found = None
    if content.startswith(PNG):
        found = _png(content)
    elif content.startswith(JPEG):
        found = _jpeg(content)
    else:
        msg = f"{file_name} is neither a JPEG nor a PNG picture, whatever its name says. Save it as one of them."
        raise EntryError(msg)
    if found is None or found.width < 1 or found.height < 1:
        msg = f"{file_name} is damaged or cut short: its size cannot be read. Take it from the camera again."
        raise EntryError(msg)
    return found


def _png(content: bytes) -> Look | None:
    if content[12:16] != b"IHDR" or len(content) < 33 or b"IEND" not in content[-16:]:
        return None
    return Look("image/png", int.from_bytes(content[16:20], "big"), int.from_bytes(content[20:24], "big"))


def _jpeg(content: bytes) -> Look | None:
    at = 2
    while at + 9 < len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
        elif marker in _FRAMES:
            height, width = content[at + 5 : at + 7], content[at + 7 : at + 9]
            return Look("image/jpeg", int.from_bytes(width, "big"), int.from_bytes(height, "big"))
        elif marker == 0x01 or 0xD0 <= marker <= 0xD8:  # markers that stand alone
            at += 2
        else:
            at += 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return None


def hash_of(content: bytes) -> str:
    """SHA-256 of the content, as 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def place_of(folder: Path, sha256: str, media_type: str) -> Path:
    """Where a photo lies: ``<folder>/<first two digits>/<64 digits>.<jpg or png>``."""
    return folder / sha256[:2] / f"{sha256}.{EXTENSIONS[media_type]}"


def keep(folder: Path, content: bytes, media_type: str) -> str:
    """Write the photo to its place, whole or not at all, unless it is there; returns its hash.

    Raises
    ------
    StoreError
        It cannot be written.
    """
    sha256 = hash_of(content)
    place = place_of(folder, sha256, media_type)
    try:
        if not place.parent.is_dir():
            place.parent.mkdir(parents=True, exist_ok=True)
            settle(folder.parent)
            settle(folder)
    except OSError as error:
        msg = f"The photo was not saved: the folder {str(place.parent)!r} cannot be made ({error.strerror})."
        raise StoreError(msg) from error
    if place.is_file() and place.read_bytes() == content:
        return sha256
    save_bytes(place, content)
    return sha256


def take_in(folder: Path, content: bytes, file_name: str) -> Photo:
    """Read a photo to its end and keep the picture of it; what is left is to say of which reading it is.

    Only what makes the picture is kept (:mod:`kit.stability.photos.kept_parts`); the note says what was left out.

    Raises
    ------
    EntryError, StoreError
        As :func:`look_at` and :func:`keep`, and where the picture cannot be read to its end.
    """
    name = storable(re.split(r"[/\\]", file_name)[-1], "The name of the photo") or "photo"
    look = look_at(content, name)
    parts = kept_parts(content)
    upright(parts.content)  # what nobody can look at is never kept
    return Photo(
        id=0,
        observation_id=0,
        sha256=keep(folder, parts.content, look.media_type),
        file_name=name,
        media_type=look.media_type,
        bytes=len(parts.content),
        width=look.width,
        height=look.height,
        note=parts.sentence,
    )


def leftovers(folder: Path) -> Iterator[Path]:
    """Files in the folder that are no photo in its place: the trace of a save that was broken off, or a stranger."""
    for file in sorted(folder.rglob("*")):
        name = file.name.partition(".")[0]
        known = any(place_of(folder, name, kind) == file for kind in EXTENSIONS) and len(name) == 64
        if file.is_file() and not known:
            yield file
