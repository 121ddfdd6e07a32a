"""A backup is the whole log with its photos; a restore keeps what lay in its place, and no open log undoes it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kit.errors import StoreError
from kit.stability.log import backup
from kit.stability.log.backup import back_up, restore, usual_log
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from tests.stability.pictures import picture
from tests.stability.test_one_file import next_reading

if TYPE_CHECKING:
    from kit.stability.study import Study

DAY = "2026-01-12"
NOW = datetime(2026, 3, 9, 18, 30)


@pytest.fixture
def place(file_log: StabilityLog, file_study: Study) -> Path:
    """An open log with two readings and a photo."""
    for _ in range(2):
        next_reading(file_log)
    file_log.attach_photo(1, picture(), "bottle.jpg")
    assert file_log.path is not None
    return file_log.path


def test_a_backup_is_a_log_with_its_photos(file_log: StabilityLog, place: Path, tmp_path: Path) -> None:
    written, found = back_up(place, None, NOW)
    assert written == tmp_path / "shake.log.backup-20260309-183000.db"
    assert (found.readings, found.photos, found.findings) == (2, 1, [])
    assert found.anchor == file_log.anchor
    with StabilityLog.open(written) as copy:
        assert copy.observations(1) == file_log.observations(1)
        (photo,) = copy.photos(1)
        assert copy.photo_file(photo).read_bytes() == picture()
    assert not [file for file in tmp_path.rglob("*") if file.name.endswith(".new")]


def test_it_goes_into_a_folder_or_under_a_name_and_never_over_anything(place: Path, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    assert back_up(place, stick, NOW)[0] == stick / "shake.log.backup-20260309-183000.db"
    assert back_up(place, stick / "mine.db", NOW)[0] == stick / "mine.db"
    before = {file: file.read_bytes() for file in stick.rglob("*") if file.is_file()}
    for to in (stick, stick / "mine.db"):
        with pytest.raises(StoreError, match=r"is there already and was left as it is. Choose another name"):
            back_up(place, to, NOW)
    (stick / "third.db-photos").mkdir()
    with pytest.raises(StoreError, match=r"third.db-photos is there already"):
        back_up(place, stick / "third.db", NOW)
    assert {file: file.read_bytes() for file in stick.rglob("*") if file.is_file()} == before
    with pytest.raises(StoreError, match=r"mine.db was not written \(No such file or directory\)"):
        back_up(place, tmp_path / "nowhere" / "mine.db", NOW)
    with pytest.raises(StoreError, match=r"cannot be read \(No such file"):
        back_up(tmp_path / "none.db", None, NOW)


def test_a_backup_while_others_write_is_one_moment_of_the_log(place: Path, tmp_path: Path) -> None:
    over = threading.Event()

    def write() -> None:
        with StabilityLog.open(place) as log:
            for _ in range(60):
                if not over.is_set():
                    next_reading(log)

    writer = threading.Thread(target=write)
    writer.start()
    counts = []
    for number in range(5):
        _, found = back_up(place, tmp_path / f"copy{number}.db", NOW)
        assert found.findings == []
        counts.append(found.readings)
    over.set()
    writer.join(60)
    assert counts == sorted(counts)


def test_a_restore_keeps_what_lay_there_and_an_open_log_notices(
    file_log: StabilityLog, place: Path, tmp_path: Path
) -> None:
    written, _ = back_up(place, None, NOW)
    third = next_reading(file_log)
    shutil.rmtree(tmp_path / "shake.log.db-photos")
    kept = restore(written, place, NOW)
    assert kept == tmp_path / "shake.log.db.before-restore-20260309-183000"
    restored = place.read_bytes()
    with pytest.raises(
        StoreError, match=r"was replaced: another file now has its name. Nothing was saved, and what you"
    ):
        file_log.record(1, "B", "fridge", "start", "ph", "5", DAY)
    assert place.read_bytes() == restored, "an open log does not undo it"
    assert (verify(place).readings, verify(place).findings) == (2, [])
    shutil.copytree(tmp_path / "shake.log.db-photos", tmp_path / f"{kept.name}-photos")
    with StabilityLog.open(kept) as before:
        assert before.observations(1)[-1] == third
        assert before.verify().findings == []
    file_log.open_again()
    assert file_log.record(1, "B", "fridge", "start", "ph", "5", DAY).id == 3
    assert restore(written, tmp_path / "fresh.db", NOW) is None
    assert verify(tmp_path / "fresh.db").findings == []


def test_a_writer_who_was_waiting_does_not_write_into_what_was_put_aside(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written, _ = back_up(place, None, NOW)
    refused: list[str] = []
    with StabilityLog.open(place) as log, closing(sqlite3.connect(place, isolation_level=None)) as other:
        log.study(1)
        other.execute("BEGIN IMMEDIATE")

        def wait() -> None:
            try:
                log.record(1, "B", "fridge", "start", "ph", "5", DAY)
            except StoreError as error:
                refused.append(str(error))

        waiting = threading.Thread(target=wait)
        waiting.start()
        monkeypatch.setattr(backup, "_WAIT", 0.1)
        with pytest.raises(StoreError, match=r"is being written to\. Nothing was put back; close what has it open"):
            restore(written, place, NOW)
        place.rename(tmp_path / "aside.db")  # as a restore does, with the lock held
        shutil.copy(written, place)
        other.execute("ROLLBACK")
        waiting.join(30)
    assert len(refused) == 1
    assert "was replaced: another file now has its name." in refused[0]
    assert verify(tmp_path / "aside.db").readings == verify(place).readings == 2


def test_only_a_sound_backup_is_put_back(place: Path) -> None:
    written, _ = back_up(place, None, NOW)
    before = place.read_bytes()
    with closing(sqlite3.connect(written)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("DELETE FROM observations WHERE id = 2")
        connection.commit()
    with pytest.raises(StoreError, match=r"is not sound, so nothing was put back from it. Reading 2 is gone"):
        restore(written, place, NOW)
    with pytest.raises(StoreError, match="is that log itself"):
        restore(place, place, NOW)
    assert place.read_bytes() == before


@pytest.mark.parametrize("ruin", [b"", b"a letter " * 900, b"\0" * 9000])
def test_it_is_put_back_over_a_file_that_is_no_log_any_more(place: Path, ruin: bytes) -> None:
    written, _ = back_up(place, None, NOW)
    place.write_bytes(ruin)
    place.with_name(f"{place.name}-journal").write_bytes(b"left over from it")
    kept = restore(written, place, NOW)
    assert kept is not None
    assert kept.read_bytes() == ruin
    assert verify(place).findings == []
    assert not place.with_name(f"{place.name}-journal").exists(), "never played into the restored log"


def test_a_disk_without_hard_links_does_too(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(source: Path, target: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    written, _ = back_up(place, None, NOW)
    assert restore(written, place, NOW) is not None
    assert verify(place).findings == []


def test_the_name_of_a_backup_tells_its_log() -> None:
    assert usual_log(Path("a/shake.log.backup-20260309-183000.db")) == "shake.log.db"
    assert usual_log(Path("a/shake.log.db")) is None
