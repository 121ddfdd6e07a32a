"""The file of the log: refused untouched where it is not ours, and nothing lost when a writer dies or others write."""

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
from kit.stability import schema
from kit.stability.plan import plans
from kit.stability.store import StabilityLog

if TYPE_CHECKING:
    from sqlalchemy import Connection

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
    assert f"is cut short: {len(whole[:left])} bytes of at least" in words
    assert "It was left as it is; go back to your latest copy" in words


def test_a_log_of_a_newer_kit_is_refused_untouched(closed: Path) -> None:
    with closing(sqlite3.connect(closed)) as connection:
        connection.execute(f"PRAGMA user_version = {schema.SCHEMA_VERSION + 1}")
    words = refused_untouched(closed)
    assert "was written by a newer kit (layout 2; this one knows up to 1)" in words
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


def test_a_log_that_vanished_is_not_made_anew_empty(log: StabilityLog, study: Study) -> None:
    log._engine.dispose()
    log.path.unlink()
    with pytest.raises(StoreError, match=r"shake.log.db cannot be opened. See that the file and its folder are still"):
        log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    assert not log.path.exists()


def test_a_log_that_may_only_be_read_says_so_when_written_to(closed: Path) -> None:
    with StabilityLog.open(closed) as log:
        with log._reading() as connection:
            connection.exec_driver_sql("PRAGMA query_only = ON")
        with pytest.raises(StoreError, match=r"may be read but not written to. Ask for the right to write"):
            log.record(1, "A", "fridge", "start", "mass", "110", DAY)


def test_a_full_disk_says_so_and_keeps_what_was_saved(closed: Path) -> None:
    with StabilityLog.open(closed) as log:
        before = log.observations(1)
        with log._reading() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StoreError, match=r"the disk is full. Make room and save again; what was saved before is"):
            log.record(1, "A", "fridge", "start", "mass", "110", DAY, note="long " * 20_000)
        assert log.observations(1) == before


def test_a_log_in_use_says_try_again_and_takes_the_reading_afterwards(log: StabilityLog, study: Study) -> None:
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


def _with_photos(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE photos (observation_id INTEGER REFERENCES observations (id))")


def test_an_older_log_is_brought_up_to_date_with_all_it_holds(closed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with StabilityLog.open(closed) as log:
        before = log.observations(1)
    monkeypatch.setattr(schema, "SCHEMA_VERSION", 2)
    monkeypatch.setitem(schema.MIGRATIONS, 1, _with_photos)
    with StabilityLog.open(closed) as log:
        assert log.observations(1) == before
        with log._reading() as connection:
            assert connection.exec_driver_sql("SELECT version FROM schema_versions").scalars().all() == [1, 2]
            assert connection.exec_driver_sql("SELECT count(*) FROM photos").scalar() == 0
            assert schema.version_of(connection) == 2


def test_a_step_that_fails_leaves_the_older_log_as_it_was(closed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(connection: Connection) -> None:
        _with_photos(connection)
        raise ZeroDivisionError

    with monkeypatch.context() as patched:
        patched.setattr(schema, "SCHEMA_VERSION", 2)
        patched.setitem(schema.MIGRATIONS, 1, fails)
        with pytest.raises(ZeroDivisionError):
            StabilityLog.open(closed)
    with StabilityLog.open(closed) as log, log._reading() as connection:
        assert schema.version_of(connection) == 1
        tables = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE name = 'photos'")
        assert tables.first() is None


def test_a_disk_without_hard_links_can_hold_a_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(source: Path, target: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    with StabilityLog.open(tmp_path / "shake.log.db") as log:
        assert log.studies() == []
    assert [file.name for file in tmp_path.iterdir()] == ["shake.log.db"]


WRITER = """
import sys
from kit.stability.store import StabilityLog

path, study_id, batch = sys.argv[1], int(sys.argv[2]), sys.argv[3]
count = int(sys.argv[4])
log = StabilityLog.open(path, wait=60)
study = log.study(study_id)
cells = [
    (condition.key, point.label, attribute.key)
    for condition in study.plan.conditions
    for point in study.plan.time_points
    for attribute in study.plan.attributes
    if attribute.kind == "number"
]
for condition, point, attribute in cells[:count]:
    row = log.record(study_id, batch, condition, point, attribute, "5", "2026-01-12")
    print(row.id, flush=True)
"""


def writer(path: Path, batch: str, count: int) -> subprocess.Popen[str]:
    """Another process that records ``count`` readings and prints the number of each once it is saved."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), "1", batch, str(count)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )


def test_four_processes_write_at_once_and_every_reading_is_there(tmp_path: Path) -> None:
    path = tmp_path / "class.log.db"
    batches = ["A", "B", "C", "D"]
    with StabilityLog.open(path) as log:
        log.start_study("Class", "home-twelve-weeks", batches, DAY)
    at_work = [writer(path, batch, 50) for batch in batches]
    said = [int(line) for one in at_work for line in one.communicate(timeout=60)[0].split()]
    assert [one.returncode for one in at_work] == [0] * 4
    with StabilityLog.open(path) as log:
        rows = log.observations(1)
    assert sorted(said) == sorted(row.id for row in rows)
    assert {batch: sum(row.batch == batch for row in rows) for batch in batches} == dict.fromkeys(batches, 50)


def test_processes_that_make_the_same_log_at_once_share_one(tmp_path: Path) -> None:
    path = tmp_path / "class.log.db"
    begin = f"StabilityLog.open({str(path)!r}).start_study('Cold', 'freeze-thaw', 'A', '{DAY}')"
    code = f"from kit.stability.store import StabilityLog; {begin}"
    at_work = [
        subprocess.Popen([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(ROOT)}) for _ in range(3)
    ]
    assert [one.wait(timeout=60) for one in at_work] == [0, 0, 0]
    with StabilityLog.open(path) as log:
        assert [one.id for one in log.studies()] == [1, 2, 3]


def test_nothing_acknowledged_is_lost_when_the_writer_is_killed(tmp_path: Path) -> None:
    path = tmp_path / "killed.log.db"
    batches = [f"B{number}" for number in range(10)]
    with StabilityLog.open(path) as log:
        log.start_study("Killed", plans()["home-twelve-weeks"], batches, DAY)
    said: list[int] = []
    at_work = [writer(path, batch, 140) for batch in batches]
    for number, one in enumerate(at_work):
        with one:
            assert one.stdout is not None
            said.append(int(one.stdout.readline()))
            time.sleep(0.004 * number)
            one.kill()
            said += [int(line) for line in one.stdout.read().split("\n")[:-1]]
        with StabilityLog.open(path, wait=60) as log:
            assert set(said) <= {row.id for row in log.observations(1)}, "while the others go on writing"
    with StabilityLog.open(path) as log:
        rows = log.observations(1)
    assert len(said) == len(set(said))
    assert set(said) <= {row.id for row in rows}
    assert len(rows) - len(said) <= len(batches), (
        "of each writer at most the one reading in hand was saved and not yet said"
    )
    assert len(rows) < 10 * 140, "the first writers were killed at work"
