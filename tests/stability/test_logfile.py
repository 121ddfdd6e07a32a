"""The file of the log: made whole, refused untouched where it is not ours, and plain about a lock or a full disk."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kit.errors import StoreError
from kit.stability.log import schema
from kit.stability.log.store import StabilityLog

if TYPE_CHECKING:
    from kit.stability.study import Study

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-01-12"


@pytest.fixture
def closed(tmp_path: Path) -> Path:
    """A log with a study and 28 readings, closed."""
    path = tmp_path / "shake.log.db"
    with StabilityLog.open(path) as log:
        study = log.start_study("Shake", "home-twelve-weeks", ["A"], DAY)
        for condition in study.plan.conditions:
            for point in study.plan.time_points:
                log.record(study.id, "A", condition.key, point.label, "ph", "5,4", DAY)
    return path


def refused_untouched(path: Path) -> str:
    """The sentence with which the file is refused; it and its folder must be as before."""
    before = {file.name: file.read_bytes() for file in path.parent.iterdir()}
    with pytest.raises(StoreError) as caught:
        StabilityLog.open(path)
    assert {file.name: file.read_bytes() for file in path.parent.iterdir()} == before
    assert path.name in str(caught.value)
    return str(caught.value)


def test_a_new_log_appears_whole_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "über mein #1?.db"
    with StabilityLog.open(str(path)) as log:
        assert log.studies() == []
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(
    "content",
    [
        b"a shopping list that is no database at all",
        b"SQLite format 3 but not quite" + bytes(200),
        b"\x89PNG" + bytes(500),
    ],
)
def test_a_file_of_another_kind_is_refused_untouched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "list.txt"
    path.write_bytes(content)
    assert "list.txt is not a stability log. It was left as it is; choose another file" in refused_untouched(path)


def test_a_database_of_another_program_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE observations (id INTEGER)")
    assert "other.db is not a stability log." in refused_untouched(path)


@pytest.mark.parametrize("left", [0, 7, 50, 99, 100, 4096, 20_000, -1])
def test_a_log_cut_short_is_refused_untouched(closed: Path, left: int) -> None:
    whole = closed.read_bytes()
    closed.write_bytes(whole[:left])
    words = refused_untouched(closed)
    assert f"is cut short: its end is missing after {len(whole[:left])} bytes." in words
    assert "It was left as it is; go back to your latest copy" in words


def test_a_log_of_a_newer_kit_is_refused_untouched(closed: Path) -> None:
    with closing(sqlite3.connect(closed)) as connection:
        connection.execute(f"PRAGMA user_version = {schema.SCHEMA_VERSION + 1}")
    words = refused_untouched(closed)
    assert "was written by a newer kit (layout 4; this one knows up to 3)" in words
    assert "install the newer kit to use it" in words


@pytest.mark.parametrize("fill", [b"\xff", b"\0"])
@pytest.mark.parametrize("pages", [slice(1, None), slice(-1, None)], ids=["all but the first page", "the last page"])
def test_a_damaged_log_is_refused_untouched(closed: Path, fill: bytes, pages: slice) -> None:
    whole = closed.read_bytes()
    sheets = [whole[at : at + 4096] for at in range(0, len(whole), 4096)]
    sheets[pages] = [fill * 4096] * len(sheets[pages])
    closed.write_bytes(b"".join(sheets))
    assert "is damaged. Nothing was changed; go back to your latest copy of it." in refused_untouched(closed)


def test_a_folder_and_a_missing_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"cannot be read \(Is a directory\). Choose the file of a stability log"):
        StabilityLog.open(tmp_path)
    with pytest.raises(StoreError, match=r"The folder '.*nowhere' is not there. Make it first"):
        StabilityLog.open(tmp_path / "nowhere" / "shake.log.db")


def test_a_log_that_vanished_is_not_made_anew_empty(file_log: StabilityLog, file_study: Study) -> None:
    log, study = file_log, file_study
    assert log.path is not None
    log._backend.engine.dispose()
    log.path.unlink()
    with pytest.raises(StoreError, match=r"shake.log.db is no longer where it was opened: it was renamed, moved or d"):
        log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    assert not log.path.exists()


def test_a_log_that_may_only_be_read_says_so_when_written_to(closed: Path) -> None:
    with StabilityLog.open(closed) as log:
        with log._backend.reading() as connection:
            connection.exec_driver_sql("PRAGMA query_only = ON")
        with pytest.raises(StoreError, match=r"may be read but not written to. Ask for the right to write"):
            log.record(1, "A", "fridge", "start", "mass", "110", DAY)


def test_a_full_disk_says_so_and_keeps_what_was_saved(closed: Path) -> None:
    with StabilityLog.open(closed) as log:
        before = log.observations(1)
        with log._backend.reading() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StoreError, match=r"the disk is full. Make room and save again; what was saved before is"):
            log.record(1, "A", "fridge", "start", "mass", "110", DAY, note="long " * 20_000)
        assert log.observations(1) == before


def test_a_log_in_use_says_try_again_and_takes_the_reading_afterwards(
    file_log: StabilityLog, file_study: Study
) -> None:
    log, study = file_log, file_study
    assert log.path is not None
    with closing(sqlite3.connect(log.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError) as caught:
            log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY)
        assert log.observations(study.id) == [], "reading needs no lock"
        other.execute("ROLLBACK")
    assert str(caught.value) == (
        "shake.log.db is in use by another window or program. Try again in a moment; nothing was lost, and what "
        "you typed is not saved yet."
    )
    assert log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY).id == 1


def in_another_process(code: str, *arguments: object) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


UNTIL_FULL = """
import resource, sys
from kit.errors import StoreError
from kit.stability.log.store import StabilityLog
log = StabilityLog.open(sys.argv[1])
limit = log.path.stat().st_size + 80_000
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
import signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
cells = [(c.key, p.label) for c in log.study(1).plan.conditions for p in log.study(1).plan.time_points]
saved = 0
try:
    for condition, point in cells:
        log.record(1, "A", condition, point, "mass", "110", "2026-01-12", note="long " * 1000)
        saved += 1
except StoreError as error:
    print(saved, error)
"""


def test_a_disk_that_really_has_no_room_says_so_and_loses_nothing(closed: Path) -> None:
    saved, _, words = in_another_process(UNTIL_FULL, closed).partition(" ")
    assert int(saved) > 0
    assert words == (
        "shake.log.db cannot be read or written to: its disk is full, or has gone. See to it and save again; what was "
        "saved before is kept, and what you typed is not saved yet."
    )
    with StabilityLog.open(closed) as log:
        assert len(log.observations(1)) == 28 + int(saved)
        assert log.verify().findings == []
        log.record(1, "A", "window", "12 weeks", "mass", "110", DAY)


HOLD = """
import sqlite3, sys, time
other = sqlite3.connect(sys.argv[1], isolation_level=None)
other.execute("BEGIN IMMEDIATE")
print("held", flush=True)
time.sleep(float(sys.argv[2]))
other.execute("ROLLBACK")
"""


@pytest.mark.parametrize(("held", "wait", "saved"), [(0.4, 5, True), (5, 0.3, False)])
def test_the_lock_of_another_process_is_waited_out_for_as_long_as_asked(
    closed: Path, held: float, wait: float, saved: bool
) -> None:
    with (
        StabilityLog.open(closed, wait=wait) as log,
        subprocess.Popen([sys.executable, "-c", HOLD, closed, str(held)], stdout=subprocess.PIPE, text=True) as holder,
    ):
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        begin = time.monotonic()
        if saved:
            assert log.record(1, "A", "fridge", "start", "mass", "110", DAY).id == 29
            assert time.monotonic() - begin < held + 2
        else:
            with pytest.raises(StoreError, match="is in use by another window or program"):
                log.record(1, "A", "fridge", "start", "mass", "110", DAY)
            assert wait <= time.monotonic() - begin < held - 1
            assert len(log.observations(1)) == 28
        holder.kill()


def test_a_disk_without_hard_links_can_hold_a_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(source: Path, target: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    with StabilityLog.open(tmp_path / "shake.log.db") as log:
        assert log.studies() == []
    assert [file.name for file in tmp_path.iterdir()] == ["shake.log.db"]
