"""What of a picture's file is kept: the picture, its colours, how it was turned, when and how it was exposed.

All else is left out: the place where it was taken, the camera's own notes, texts of programs, small previews, further
pictures behind the first. The picture itself stays as it is, bit for bit: nothing is compressed anew. So a log that
is handed on tells nobody where a maker lives.
"""

from __future__ import annotations

import re
import struct
import warnings
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PIL.Image import Exif

PNG = b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948:2004, 5.2
JPEG = b"\xff\xd8\xff"  # ISO/IEC 10918-1, annex B: SOI, then the first sign of a marker

#: Chunks of a PNG that make the picture and its colours (ISO/IEC 15948:2004, 11; W3C PNG, third edition, 11.3).
_CHUNKS = frozenset(
    {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"pHYs", b"bKGD",
     b"cICP", b"mDCV", b"cLLI", b"hIST"}
)  # fmt: skip
#: Tags that are kept (Exif 2.32, tables 3 to 8): in the first directory how it was turned, when, and which camera ...
_ORIENTATION, _EXIF, _PLACE = 0x0112, 0x8769, 0x8825
_FIRST = (_ORIENTATION, 0x010F, 0x0110, 0x011A, 0x011B, 0x0128, 0x0132, 0x0213)
#: ... and in the second the exposure, the white balance and the space of its colours, which its colour rests on.
_SECOND = (
    0x829A, 0x829D, 0x8822, 0x8827, 0x8830, 0x9000, 0x9003, 0x9004, 0x9010, 0x9011, 0x9012, 0x9101, 0x9102, 0x9201,
    0x9202, 0x9203, 0x9204, 0x9205, 0x9207, 0x9208, 0x9209, 0x920A, 0xA000, 0xA001, 0xA002, 0xA003, 0xA217, 0xA300,
    0xA301, 0xA401, 0xA402, 0xA403, 0xA404, 0xA405, 0xA406, 0xA407, 0xA408, 0xA409, 0xA40A, 0xA40C,
)  # fmt: skip
#: By how much a block may be longer than one that is written anew, before something is thought to hide in it. [bytes]
_SLACK = 256
#: A picture for the eye is sent in some ten passes; thousands are a trap that keeps a computer busy for minutes.
_MOST_PASSES = 100
#: The end of a pass: a marker that is neither a stuffed nought nor a restart (ISO/IEC 10918-1, B.1.1).
_AFTER_PASS = re.compile(rb"\xff+[^\x00\xff\xd0-\xd7]")

PLACE, NOTES = "the place where it was taken", "notes of the camera or of a program"


@dataclass(frozen=True, slots=True)
class KeptParts:
    """A picture's file with nothing in it but the picture, and what was left out, in words."""

    content: bytes
    left_out: tuple[str, ...] = ()
    orientation: int = 1

    @property
    def sentence(self) -> str:
        """What to say of it; empty where nothing was left out."""
        return (
            f"Left out of the file: {' and '.join(self.left_out)}. The picture is unchanged." if self.left_out else ""
        )


def kept_parts(content: bytes) -> KeptParts:
    """A JPEG or PNG file with nothing in it but the picture; the same bytes where there is nothing else in it.

    What is neither, or is damaged, comes back as it is: whoever reads the picture will say so.

    Raises
    ------
    EntryError
        It is sent in thousands of passes.
    """
    try:
        if content.startswith(PNG):
            return _kept(content, [PNG, *_of_png(content, found := _Found())], found)
        if content.startswith(JPEG):
            return _kept(content, [content[:2], *_of_jpeg(content, found := _Found())], found)
    except (struct.error, IndexError):
        pass
    return KeptParts(content)


@dataclass(slots=True)
class _Found:
    """What was met on the way through a file."""

    place: bool = False
    notes: bool = False
    orientation: int = 1

    def meet(self, part: bytes) -> None:
        """A part is left out."""
        self.place = self.place or b"GPS" in part
        self.notes = True


def _kept(content: bytes, parts: list[bytes], found: _Found) -> KeptParts:
    left_out = ((PLACE,) if found.place else ()) + ((NOTES,) if found.notes else ())
    return KeptParts(b"".join(parts) if left_out else content, left_out, found.orientation)


def _of_png(content: bytes, found: _Found) -> Iterator[bytes]:
    """The chunks that are kept. A chunk is its length, its name, its data and a checksum (ISO/IEC 15948:2004, 5.3)."""
    at = len(PNG)
    while at + 12 <= len(content):
        (length,) = struct.unpack_from(">I", content, at)
        name, end = content[at + 4 : at + 8], at + 12 + length
        if end > len(content):
            break
        if name == b"eXIf":
            exif = _kept_exif(content[at + 8 : end - 4], found)
            if exif:
                body = name + exif
                yield struct.pack(">I", len(exif)) + body + struct.pack(">I", zlib.crc32(body))
        elif name in _CHUNKS:
            yield content[at:end]
        else:
            found.meet(content[at:end])
        at = end
        if name == b"IEND":
            if content[at:].strip(b"\0"):
                found.meet(content[at:])
            return
    yield content[at:]


def _of_jpeg(content: bytes, found: _Found) -> Iterator[bytes]:
    """The segments that are kept. A segment is a marker, its length and its data (ISO/IEC 10918-1, B.1.1.4)."""
    at, passes = 2, 0
    while at + 4 <= len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker in (0xFF, 0x01, *range(0xD0, 0xD9)):  # a fill byte, or a marker that stands alone
            step = 1 if marker == 0xFF else 2
            yield content[at : at + step]
            at += step
            continue
        if marker == 0xD9:
            break
        end = at + 2 + int.from_bytes(content[at + 2 : at + 4], "big")
        if marker == 0xDA:
            passes += 1
            if passes > _MOST_PASSES:
                msg = f"The picture is sent in more than {_MOST_PASSES} passes. Save it again as JPEG and choose that."
                raise EntryError(msg)
            following = _AFTER_PASS.search(content, end)
            end = following.end() - 2 if following else len(content)
        yield from _segment(content[at:end], marker, found)
        at = end
    if content[at : at + 2] == b"\xff\xd9":
        yield content[at : at + 2]
        at += 2
        if content[at:].strip(b"\0"):  # further pictures, a film: a phone hangs them on, each with notes of its own
            found.meet(content[at:])
        return
    yield content[at:]


def _segment(segment: bytes, marker: int, found: _Found) -> Iterator[bytes]:
    """A segment, cut down to what is kept of it."""
    data = segment[4:]
    if marker == 0xE1 and data.startswith(b"Exif\0"):
        exif = _kept_exif(data[6:], found)
        if exif == data[6:]:
            yield segment
        elif exif and len(exif) < 0xFF00:
            yield b"\xff\xe1" + struct.pack(">H", len(exif) + 8) + b"Exif\0\0" + exif
    elif marker == 0xFE or (0xE0 <= marker <= 0xEF and not data.startswith((b"JFIF\0", b"ICC_PROFILE\0", b"Adobe"))):
        found.meet(segment)
    else:
        yield segment


def _kept_exif(block: bytes, found: _Found) -> bytes:
    """An Exif block with the tags that are kept; the same where it has no others."""
    from PIL import ExifTags, Image

    exif = Image.Exif()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            exif.load(block)
            second, preview = exif.get_ifd(_EXIF), exif.get_ifd(ExifTags.IFD.IFD1)
            orientation = exif.get(_ORIENTATION, 1)
            kept = _written(exif, second)
    except Exception:  # a block from outside that a library stumbles over says nothing
        found.meet(block)
        return b""
    if orientation in range(1, 9):
        found.orientation = int(orientation)
    hidden = len(block) > len(kept) + _SLACK
    if preview or hidden or {*exif} - {*_FIRST, _EXIF, _PLACE} or {*second} - {*_SECOND}:
        found.notes = True
    elif _PLACE not in exif:
        return block
    found.place = found.place or _PLACE in exif
    return kept


def _written(exif: Exif, second: dict[int, Any]) -> bytes:
    """A block of the kept tags alone; of what cannot be written again only how it was turned."""
    from PIL import Image

    fresh = Image.Exif()
    for tag in _FIRST:
        if tag in exif:
            fresh[tag] = exif[tag]
    inner = {tag: second[tag] for tag in _SECOND if tag in second}
    if inner:
        fresh[_EXIF] = inner
    try:
        return _bare(fresh.tobytes())
    except Exception:  # the same: odd values of a strange camera
        fresh = Image.Exif()
        fresh[_ORIENTATION] = exif.get(_ORIENTATION, 1)
        return _bare(fresh.tobytes())


def _bare(block: bytes) -> bytes:
    return block.removeprefix(b"Exif\0\0")
