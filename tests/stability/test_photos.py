"""Photos of a reading: kept once by their content, whole or not at all, and refused where they are none."""

from __future__ import annotations

import hashlib
import os
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError

from kit.errors import EntryError, StoreError
from kit.stability.log import schema
from kit.stability.log.store import StabilityLog
from kit.stability.photos import files as photo_files
from kit.stability.photos.files import look_at
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.study import Study

DAY = "2026-01-12"
JPEG, PNG = picture("JPEG", (640, 480)), picture("PNG", (300, 200))


@pytest.fixture
def read(log: StabilityLog, study: Study) -> StabilityLog:
    """A log with one reading."""
    log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    return log


def test_a_photo_comes_back_as_it_was_attached(read: StabilityLog, place: str) -> None:
    first = read.attach_photo(
        1, JPEG, "a/b\\IMG 1.JPG", patch=(10, 20, 100, 90), colour=(62.1, -4.5, 18.0), by="Ada", note="n"
    )
    second = read.attach_photo(1, PNG, "bottle.jpg")
    assert (first.id, first.observation_id, first.file_name, first.media_type) == (1, 1, "IMG 1.JPG", "image/jpeg")
    assert (first.bytes, first.width, first.height) == (len(JPEG), 640, 480)
    assert (first.patch, first.colour, first.note) == ((10, 20, 100, 90), (62.1, -4.5, 18.0), "n")
    assert (first.attached_by, first.attached_at) == ("Ada", "2026-01-12T12:00:00+00:00")
    assert (second.media_type, second.width, second.height, second.patch) == ("image/png", 300, 200, None)
    with StabilityLog.open(place, photos=read._backend.photos) as again:
        assert again.photos(1) == [first, second]
        assert again.photo_file(first).read_bytes() == JPEG


def test_a_photo_lies_under_the_hash_of_its_content(read: StabilityLog, tmp_path: Path) -> None:
    photo = read.attach_photo(1, JPEG, "bottle.jpg")
    sha256 = hashlib.sha256(JPEG).hexdigest()
    assert photo.sha256 == sha256
    assert read.photo_file(photo) == tmp_path / "shake.log.db-photos" / sha256[:2] / f"{sha256}.jpg"


def test_the_same_photo_twice_is_kept_once(read: StabilityLog, tmp_path: Path) -> None:
    photos = [read.attach_photo(1, JPEG, name) for name in ("one.jpg", "two.jpg")]
    assert [photo.file_name for photo in read.photos(1)] == ["one.jpg", "two.jpg"]
    assert read.photo_file(photos[0]) == read.photo_file(photos[1])
    files = [file for file in (tmp_path / "shake.log.db-photos").rglob("*") if file.is_file()]
    assert files == [read.photo_file(photos[0])]


def test_a_photo_that_was_damaged_on_disk_is_made_whole_by_attaching_it_again(read: StabilityLog) -> None:
    photo = read.attach_photo(1, JPEG, "one.jpg")
    read.photo_file(photo).write_bytes(JPEG[:100])
    read.attach_photo(1, JPEG, "one.jpg")
    assert read.photo_file(photo).read_bytes() == JPEG


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "shelf.jpg is neither a JPEG nor a PNG picture, whatever its name says. Save it as one of them."),
        (b"GIF89a" + bytes(100), "is neither a JPEG nor a PNG picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is neither a JPEG nor a PNG picture"),
        (PNG[:30], "shelf.jpg is damaged or cut short: its size cannot be read. Take it from the camera again."),
        (PNG[:-20], "is damaged or cut short"),
        (PNG[:16] + bytes(8) + PNG[24:], "is damaged or cut short"),
        (JPEG[:40], "is damaged or cut short"),
        (JPEG + bytes(25_000_001 - len(JPEG)), "shelf.jpg is too large: 25.0 MB, and a photo may have 25 MB. Save it"),
    ],
)
def test_what_is_no_photo_is_refused_and_nothing_kept(
    file_log: StabilityLog, file_study: Study, content: bytes, words: str, tmp_path: Path
) -> None:
    file_log.record(file_study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    with pytest.raises(EntryError) as caught:
        file_log.attach_photo(1, content, "shelf.jpg")
    assert words in str(caught.value)
    assert file_log.photos(1) == []
    assert not (tmp_path / "shake.log.db-photos").exists()


def test_the_largest_photo_is_taken(read: StabilityLog) -> None:
    assert read.attach_photo(1, JPEG + bytes(25_000_000 - len(JPEG)), "large.jpg").bytes == 25_000_000


def test_a_photo_of_no_reading_is_refused(read: StabilityLog, tmp_path: Path) -> None:
    with pytest.raises(EntryError, match="There is no reading 9 in"):
        read.attach_photo(9, JPEG, "bottle.jpg")
    assert not (tmp_path / "shake.log.db-photos").exists()


def test_a_disk_that_is_full_leaves_neither_file_nor_row(
    read: StabilityLog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(StoreError, match=r"was not saved: the disk is full\. Make room on it, then save again"):
            read.attach_photo(1, JPEG, "bottle.jpg")
    assert read.photos(1) == []
    assert [file for file in (tmp_path / "shake.log.db-photos").rglob("*") if file.is_file()] == []
    assert read.attach_photo(1, JPEG, "bottle.jpg").id


def test_a_folder_that_cannot_be_made_is_named(read: StabilityLog, tmp_path: Path) -> None:
    (tmp_path / "shake.log.db-photos").write_text("in the way", encoding="utf-8")
    with pytest.raises(
        StoreError, match=r"The photo was not saved: the folder '.*' cannot be made \(Not a directory\)"
    ):
        read.attach_photo(1, JPEG, "bottle.jpg")


WRONG = {
    "a hash too short": {"sha256": "a" * 63},
    "a hash in capitals": {"sha256": "A" * 64},
    "a hash of other signs": {"sha256": "g" * 64},
    "another kind of file": {"media_type": "image/svg+xml"},
    "an empty file": {"bytes": 0},
    "no width": {"width": 0},
    "no name": {"file_name": " "},
    "no such reading": {"observation_id": 99},
}


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_the_schema_itself_refuses_a_wrong_photo(read: StabilityLog, wrong: dict[str, object]) -> None:
    good = {
        "observation_id": 1, "sha256": "0123456789abcdef" * 4, "file_name": "a.png", "media_type": "image/png",
        "bytes": 1, "width": 1, "height": 1, "attached_at": "2026-01-12T12:00:00+00:00",
    }  # fmt: skip
    with pytest.raises(IntegrityError):
        read._backend.write(lambda connection: connection.execute(insert(schema.photos), good | wrong))
    read._backend.write(lambda connection: connection.execute(insert(schema.photos), good))
    assert len(read.photos(1)) == 1


@given(st.sampled_from(["JPEG", "PNG"]), st.integers(1, 3000), st.integers(1, 30))
def test_the_size_of_any_picture_is_read(kind: str, width: int, height: int) -> None:
    look = look_at(picture(kind, (width, height)), "p")
    assert (look.media_type, look.width, look.height) == (f"image/{kind.lower()}", width, height)


@given(st.binary(max_size=60), st.sampled_from([b"", JPEG[:4], PNG[:20], JPEG[:160]]))
def test_any_bytes_are_read_or_answered_with_a_sentence(content: bytes, start: bytes) -> None:
    try:
        look = look_at(start + content, "p.jpg")
        words = f"p.jpg is {look.media_type}" if look.width > 0 and look.height > 0 else ""
    except EntryError as error:
        words = str(error)
    assert words.startswith("p.jpg is ")


def test_a_photo_is_written_before_its_row(read: StabilityLog, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*anything: object) -> str:
        raise ZeroDivisionError

    monkeypatch.setattr(photo_files, "save_bytes", fails)
    with pytest.raises(ZeroDivisionError):
        read.attach_photo(1, JPEG, "bottle.jpg")
    assert read.photos(1) == []


@pytest.mark.parametrize(
    "between",
    [b"", b"\xff", b"\xff\xff", b"\xff\x01", b"\xff\xd0", b"\xff\xfe\x00\x05abc"],
    ids=("nothing", "a fill byte", "two of them", "a marker alone", "a restart", "a comment"),
)
def test_a_jpeg_is_measured_whatever_stands_before_its_frame(between: bytes) -> None:
    """ISO/IEC 10918-1, B.1.1: any marker may have fill bytes before it; some stand alone, others have a length."""
    assert JPEG[:2] == b"\xff\xd8"
    seen = look_at(JPEG[:2] + between + JPEG[2:], "one.jpg")
    assert (seen.media_type, seen.width, seen.height) == ("image/jpeg", 640, 480)
