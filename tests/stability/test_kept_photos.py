"""What of a photo's file is kept, what is refused, and how much room pictures take that are looked at."""

from __future__ import annotations

import io
import struct
import zlib
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ExifTags, Image
from PIL.PngImagePlugin import PngInfo

from kit.errors import EntryError
from kit.stability.photos import decoding
from kit.stability.photos.colour import thumbnail
from kit.stability.photos.decoding import upright
from kit.stability.photos.kept_parts import NOTES, PLACE, kept_parts
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from kit.stability.log.store import StabilityLog
    from kit.stability.study import Study

SECRETS = (b"GPS", b"Tern Lane 4", b"51.4779", b"maker's own note", b"second picture")


def speckled() -> Image.Image:
    image = Image.effect_noise((64, 48), 60).convert("RGB")
    image.paste((200, 150, 60), (0, 0, 20, 20))
    return image


SPECKLED = speckled()


def notes() -> Image.Exif:
    """Exif as a telephone writes it, with an invented place."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0132], exif[0x013B] = 6, "Invented", "2026:01:12 09:00:00", "of Tern Lane 4"
    exif[0x8769] = {0x9003: "2026:01:12 09:00:00", 0x829A: 0.01, 0x8827: 100, 0x927C: b"the maker's own note"}
    exif[0x8825] = {1: "N", 2: (51.0, 28.0, 40.12), 3: "W", 4: (0.0, 0.0, 5.3), 29: "2026:01:12"}
    return exif


def jpeg_with_everything() -> bytes:
    out = io.BytesIO()
    SPECKLED.save(out, "JPEG", exif=notes(), comment=b"taken at Tern Lane 4", progressive=True)
    whole = out.getvalue()
    xmp = b"http://ns.adobe.com/xap/1.0/\0<x exif:GPSLatitude='51.4779'/>"
    segment = b"\xff\xe1" + struct.pack(">H", len(xmp) + 2) + xmp
    iptc = b"\xff\xed" + struct.pack(">H", 30) + b"Photoshop 3.0\0 Tern Lane 4   "[:28]
    return whole[:2] + segment + iptc + whole[2:] + b"\xff\xd8 a second picture, GPS and all"


def png_with_everything() -> bytes:
    info = PngInfo()
    info.add_text("Description", "Tern Lane 4 " * 3)
    info.add_text("Long", "51.4779 " * 400_000, zip=True)  # 3 MB in 9 kB: pillow refuses the whole file for it
    info.add_itxt("XML:com.adobe.xmp", "<x exif:GPSLatitude='51.4779'/>")
    out = io.BytesIO()
    SPECKLED.save(out, "PNG", pnginfo=info, exif=notes())
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_the_place_is_left_out_and_the_picture_stays(kind: str, log: StabilityLog, study: Study) -> None:
    content = jpeg_with_everything() if kind == "JPEG" else png_with_everything()
    assert all(secret in content for secret in (SECRETS[:3] if kind == "JPEG" else SECRETS[:1]))
    log.record(study.id, "A", "fridge", "start", "ph", "5.4", "2026-01-12")
    photo = log.attach_photo(1, content, "bottle", note="by the window")
    stored, small = log.photo_file(photo).read_bytes(), bytes(thumbnail(content))
    assert photo.note == (
        "by the window; Left out of the file: the place where it was taken and notes of the camera or of a program. "
        "The picture is unchanged."
    )
    assert [secret for secret in SECRETS if secret in stored or secret in small] == []
    assert (len(stored), photo.bytes) == (photo.bytes, len(stored))
    now = Image.open(io.BytesIO(stored))
    exif = now.getexif()
    assert (exif[0x0112], exif[0x0132], exif.get_ifd(0x8825)) == (6, "2026:01:12 09:00:00", {})
    assert exif.get_ifd(0x8769)[0x8827] == 100
    if kind == "JPEG":  # pillow itself cannot open the PNG any more
        assert now.tobytes() == Image.open(io.BytesIO(content)).tobytes()
    else:
        assert now.tobytes() == SPECKLED.tobytes()
    assert upright(content).orientation == 6
    assert kept_parts(stored).content == stored
    assert kept_parts(stored).sentence == ""


@pytest.mark.parametrize(
    "before", [b"\xff", b"\xff\xff", b"\xff\xff\xff", b"\xff\x01", b"\xff\xff\x01\xff", b"\xff\xd0", b"\xff\xd8"]
)
def test_fill_bytes_and_markers_that_stand_alone_hide_nothing_behind_them(before: bytes) -> None:
    """Any marker may have fill bytes FF before it; TEM, RST and SOI have no length (ISO/IEC 10918-1, B.1.1)."""
    out = io.BytesIO()
    SPECKLED.save(out, "JPEG")
    clean = out.getvalue()
    segment = b"\xff\xfe" + struct.pack(">H", 13) + b"Tern Lane 4"
    kept = kept_parts(clean[:2] + before + segment + clean[2:])
    assert kept.left_out == (NOTES,)
    assert kept.content == clean[:2] + before + clean[2:]


def directory(tags: dict[int, int], following: int) -> bytes:
    """A directory of Exif with one short number to a tag, and where the next one stands (TIFF 6.0, section 2)."""
    rows = b"".join(struct.pack("<HHIHH", tag, 3, 1, value, 0) for tag, value in tags.items())
    return struct.pack("<H", len(tags)) + rows + struct.pack("<I", following)


def exif_block(first: dict[int, int], preview: dict[int, int] | None = None, hidden: int = 0) -> bytes:
    end = 8 + len(directory(first, 0))
    whole = b"II*\0" + struct.pack("<I", 8) + directory(first, end if preview else 0)
    return whole + (directory(preview, 0) if preview else b"") + b"x" * hidden


def written(tags: dict[int, object]) -> bytes:
    exif = Image.Exif()
    for tag, value in tags.items():
        exif[tag] = value
    return exif.tobytes().removeprefix(b"Exif\0\0")


TURNED = {0x0112: 6}


@pytest.mark.parametrize(
    ("block", "left_out"),
    [
        (exif_block(TURNED), ()),
        (exif_block(TURNED, hidden=256), ()),  # so much a camera may pad it with
        (exif_block(TURNED, hidden=257), (NOTES,)),
        (exif_block(TURNED, preview={0x0100: 160}), (NOTES,)),
        (exif_block({**TURNED, 0x013C: 7}), (NOTES,)),  # the computer's name
        (written({**TURNED, 0x8769: {0x8827: 100}}), ()),
        (written({**TURNED, 0x8769: {0x8827: 100, 0x927C: b"of the maker"}}), (NOTES,)),
        (written({**TURNED, 0x8825: {1: "N"}}), (PLACE,)),
    ],
    ids=["turned", "padded", "hidden", "preview", "first", "exposure", "second", "place"],
)
def test_each_thing_that_is_not_the_picture_is_noticed_by_itself(block: bytes, left_out: tuple[str, ...]) -> None:
    out = io.BytesIO()
    SPECKLED.save(out, "JPEG", exif=b"Exif\0\0" + block)
    content = out.getvalue()
    kept = kept_parts(content)
    assert kept.left_out == left_out
    assert (kept.content == content) == (not left_out)
    assert kept.orientation == 6
    again = Image.open(io.BytesIO(kept.content)).getexif()
    assert again[0x0112] == 6
    assert not {0x013C, 0x8825} & set(again)
    assert not again.get_ifd(ExifTags.IFD.IFD1)
    assert 0x927C not in again.get_ifd(0x8769)


def chunks(content: bytes) -> list[tuple[bytes, bytes]]:
    at, found = 8, []
    while at < len(content):
        (length,) = struct.unpack_from(">I", content, at)
        found.append((content[at + 4 : at + 8], content[at + 8 : at + 8 + length]))
        at += 12 + length
    return found


def png(*parts: tuple[bytes, bytes]) -> bytes:
    body = b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + body


def refused() -> dict[str, bytes]:
    good_png, good_jpeg = picture("PNG", (64, 48)), picture("JPEG", (64, 48))
    head, data = chunks(good_png)[0], next(body for name, body in chunks(good_png) if name == b"IDAT")
    spoilt = bytearray(good_png)
    spoilt[good_png.index(b"IDAT") + 9] ^= 0xFF
    scan = good_jpeg[good_jpeg.index(b"\xff\xda") :]
    return {
        "the picture is damaged": bytes(spoilt),
        "a chunk is cut": png(head, (b"IDAT", data[: len(data) // 2]), (b"IEND", b"")),
        "there is no picture": png(head, (b"IEND", b"")),
        "a JPEG is cut": speckled_jpeg()[:-400],
        "a picture of 12 GB in 60 bytes": png(
            (b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)), (b"IDAT", data), (b"IEND", b"")
        ),
        "one that is sent in 200 passes": good_jpeg[:-2] + 200 * scan[:-2] + good_jpeg[-2:],
    }


def speckled_jpeg() -> bytes:
    out = io.BytesIO()
    SPECKLED.save(out, "JPEG")
    return out.getvalue()


def test_what_cannot_be_looked_at_is_never_kept(file_log: StabilityLog, file_study: Study) -> None:
    file_log.record(file_study.id, "A", "fridge", "start", "ph", "5.4", "2026-01-12")
    for what, content in refused().items():
        with pytest.raises(EntryError, match=r"Take it from the camera again|Make it smaller than|Save it again as"):
            print(what, file_log.attach_photo(1, content, "bottle"))
    assert file_log.photos(1) == []


WHOLE = {kind: picture(kind, (24, 16)) for kind in ("JPEG", "PNG")}
RICH = [*WHOLE.values(), jpeg_with_everything(), png_with_everything()[:4000], speckled_jpeg()]


@given(st.sampled_from(RICH), st.lists(st.tuples(st.integers(0, 3999), st.binary(min_size=1, max_size=4)), max_size=5),
       st.integers(0, 4000))  # fmt: skip
def test_a_spoilt_picture_is_a_picture_or_a_sentence(start: bytes, edits: list[tuple[int, bytes]], cut: int) -> None:
    content = bytearray(start)
    for at, new in edits:
        content[at % len(start) : at % len(start) + len(new)] = new
    spoilt = bytes(content[: len(content) - cut % len(content)] if cut % 3 == 0 else content)
    try:
        seen = upright(spoilt)
        thumbnail(spoilt)
    except EntryError as error:
        is_answered = str(error).endswith(".")
    else:
        is_answered = seen.image.mode == "RGB"
    assert is_answered


def test_decoded_pictures_take_a_bounded_room(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(decoding, "_HELD", held := decoding._Held())
    monkeypatch.setattr(decoding, "MOST_HELD", 4 * 300 * 200 * 2)
    pictures = [picture("PNG", (300, 200), colour) for colour in ("red", "green", "blue", "white")]
    sizes = [upright(content).image.size and held.room for content in (*pictures, pictures[-1])]
    assert sizes == [240_000, 480_000, 480_000, 480_000, 480_000]
    assert upright(pictures[-1]) is upright(pictures[-1])
    monkeypatch.setattr(decoding, "MOST_HELD", 1000)
    assert upright(pictures[0]).image.size == (300, 200)
    assert held.room == 0
