"""A log of an older layout: brought up to date with all it holds, once, and never left half-way."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import inspect

from kit.errors import StoreError
from kit.stability.log import logfile, migrations, schema
from kit.stability.log.logfile import copy_before
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from sqlalchemy import Connection

ROOT = Path(__file__).resolve().parents[2]
VERSION_1, VERSION_2 = (Path(__file__).with_name(f"version_{number}.sql") for number in (1, 2))


def written(path: Path, script: Path) -> Path:
    """A log as an earlier kit wrote it."""
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(script.read_text(encoding="utf-8"))
        connection.execute("PRAGMA journal_mode = WAL")
    return path


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A log that the first kit wrote."""
    return written(tmp_path / "old.log.db", VERSION_1)


def rows_of(path: Path, columns: str = "*") -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(f"SELECT {columns} FROM observations ORDER BY id").fetchall()


def test_all_that_the_older_log_held_is_there_and_can_be_gone_on_with(old: Path) -> None:
    before = rows_of(old)
    with StabilityLog.open(old) as log:
        assert [(study.title, study.batches) for study in log.studies()] == [
            ("Body shake, autumn", ("A", "B")),
            ("Second", ("TL-01",)),
        ]
        ids = [(row.id, row.value, row.replaces, row.replicate, row.recorded_by) for row in log.observations(1)]
        assert ids[:2] == [(1, "4,5", None, 1, ""), (2, "5,4", 1, 1, "")]
        with pytest.raises(ValueError, match="is in the log already: reading 2, '5,4' of 2026-01-12, by Ada"):
            log.record(1, "A", "cycled", "start", "ph", "5.5", "2026-01-12")
        assert log.record(1, "A", "cycled", "start", "ph", "5.5", "2026-01-12", replicate=2).replicate == 2
        assert log.attach_photo(1, picture(), "bottle.jpg").id == 1
        assert log.verify().findings == []
    assert [row[: len(before[0])] for row in rows_of(old)][: len(before)] == before


@pytest.mark.parametrize(("script", "moments"), [(VERSION_1, 3), (VERSION_2, 2)])
def test_the_chain_is_made_over_all_that_is_there_and_says_from_when_it_counts(
    tmp_path: Path, script: Path, moments: int
) -> None:
    old = written(tmp_path / "old.log.db", script)
    before = rows_of(old)
    with StabilityLog.open(old, clock=lambda: datetime(2026, 5, 4, 9, 30, tzinfo=UTC)) as log:
        found = log.verify()
        assert {finding.place.field for finding in found.findings} <= {"photos"}, "only the picture's file is not there"
        assert found.chained_from == "2026-05-04T09:30:00+00:00"
        entries = moments + 2 + len(before) + found.photos
        assert found.anchor.startswith(f"{entries} · ")
        noted = found.anchor
        log.record(1, "B", "kept", "start", "ph", "5.5", "2026-05-04")
        assert {finding.place.field for finding in log.verify(noted).findings} <= {"photos"}
    assert [row[: len(before[0])] for row in rows_of(old)][: len(before)] == before
    with StabilityLog.open(tmp_path / "new.log.db") as log:
        assert log.verify().chained_from == ""


@pytest.mark.parametrize("script", [VERSION_1, VERSION_2])
def test_killed_in_the_middle_of_the_chain_the_older_log_is_whole(tmp_path: Path, script: Path) -> None:
    old = written(tmp_path / "old.log.db", script)
    before = rows_of(old)
    code = (
        "import os, signal, sys\n"
        "from kit.stability.log import chain, store\n"
        "link, count = chain._link, []\n"
        "def killed(*rest):\n"
        "    count.append(1)\n"
        "    return link(*rest) if len(count) < 6 else os.kill(os.getpid(), signal.SIGKILL)\n"
        "chain._link = killed\n"
        "store.StabilityLog.open(sys.argv[1])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(old)], cwd=ROOT, check=False)
    assert done.returncode == -9
    assert rows_of(old) == before
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'chain'").fetchone() is None
    with StabilityLog.open(old) as log:
        assert {finding.place.field for finding in log.verify().findings} <= {"photos"}


def test_it_has_the_same_tables_indexes_and_triggers_as_a_new_log(old: Path, tmp_path: Path) -> None:
    def made(path: Path) -> dict[str, object]:
        with StabilityLog.open(path) as log, log._backend.reading() as connection:
            names = connection.exec_driver_sql("SELECT type, name, tbl_name FROM sqlite_master").fetchall()
            tables = inspect(connection)
            return {
                "things": sorted(map(tuple, names)),
                "columns": {name: [c["name"] for c in tables.get_columns(name)] for name in schema.metadata.tables},
                "checks": {
                    name: {c["name"] for c in tables.get_check_constraints(name)} for name in schema.metadata.tables
                },
            }

    assert made(old) == made(tmp_path / "new.log.db")


def test_the_log_as_it_was_is_kept_beside_it(old: Path) -> None:
    before = rows_of(old)
    with StabilityLog.open(old):
        pass
    kept = copy_before(old, 1)
    assert kept.name == "old.log.db.layout-1"
    assert rows_of(kept) == before
    with closing(sqlite3.connect(kept)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        assert connection.execute("PRAGMA application_id").fetchone() == (schema.APPLICATION_ID,)
    assert {file.name for file in old.parent.iterdir()} == {old.name, kept.name}


def test_a_step_that_fails_half_way_leaves_the_older_log_whole(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = rows_of(old)

    def fails(connection: Connection) -> None:
        migrations._photos_and_replicates(connection)
        assert inspect(connection).has_table("photos")
        raise ZeroDivisionError

    with monkeypatch.context() as patched:
        patched.setitem(migrations.MIGRATIONS, 1, fails)
        with pytest.raises(ZeroDivisionError):
            StabilityLog.open(old)
    assert rows_of(old) == before == rows_of(copy_before(old, 1))
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        assert connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'photos'").fetchone() is None
    with StabilityLog.open(old) as log:
        assert len(log.observations(1)) == 5


def test_a_writer_killed_while_migrating_leaves_the_older_log_whole(old: Path) -> None:
    before = rows_of(old)
    code = (
        "import os, signal, sys\n"
        "from kit.stability.log import migrations, store\n"
        "step = migrations.MIGRATIONS[1]\n"
        "migrations.MIGRATIONS[1] = lambda c: (step(c), os.kill(os.getpid(), signal.SIGKILL))\n"
        "store.StabilityLog.open(sys.argv[1])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(old)], cwd=ROOT, check=False)
    assert done.returncode == -9
    assert rows_of(old) == before
    with StabilityLog.open(old) as log:
        assert log.verify().findings == []


def test_without_room_for_the_copy_nothing_is_changed(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(folder: Path) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(logfile, "_settle", full)
        with pytest.raises(StoreError) as caught:
            StabilityLog.open(old)
    assert str(caught.value) == (
        "old.log.db is of an older layout and was left as it is: no copy of it could be made beside it first (No space "
        "left on device). Make room on the disk, or ask for the right to write to its folder, and open it again."
    )
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)


def test_looking_through_an_older_log_changes_nothing_and_says_what_to_do(old: Path) -> None:
    before = {file.name: file.read_bytes() for file in old.parent.iterdir()}
    found, copied = verify(old).findings
    assert found.severity == "note"
    assert found.sentence.startswith("old.log.db is of layout 1. Open it once with this kit, which keeps a copy")
    assert "If this is a copy made while it was open, they are not in it." in copied.sentence
    assert {file.name: file.read_bytes() for file in old.parent.iterdir()} == before


def test_processes_that_open_it_at_once_migrate_it_once(old: Path) -> None:
    code = (
        "import sys; from kit.stability.log.store import StabilityLog\n"
        "print(len(StabilityLog.open(sys.argv[1]).studies()))"
    )
    at_work = [
        subprocess.Popen([sys.executable, "-c", code, str(old)], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        for _ in range(3)
    ]
    assert [one.communicate(timeout=60)[0].strip() for one in at_work] == ["2"] * 3
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("SELECT version FROM schema_versions").fetchall() == [(1,), (2,), (3,)]


def _with_scents(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE scents (observation_id INTEGER REFERENCES observations (id))")


def test_a_later_layout_is_reached_the_same_way_in_a_file_and_on_a_server(
    place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with StabilityLog.open(place) as log:
        study = log.start_study("Shake", "freeze-thaw", "A", "2026-01-12")
    monkeypatch.setattr(schema, "SCHEMA_VERSION", 4)
    monkeypatch.setitem(migrations.MIGRATIONS, 3, _with_scents)
    with StabilityLog.open(place) as log:
        assert log.studies() == [study]
        with log._backend.reading() as connection:
            assert inspect(connection).has_table("scents")
            assert connection.exec_driver_sql("SELECT version FROM schema_versions").scalars().all() == [3, 4]
            assert migrations.version_of(connection) == 4


def test_a_step_that_fails_changes_nothing_on_a_server_either(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(connection: Connection) -> None:
        _with_scents(connection)
        raise ZeroDivisionError

    with StabilityLog.open(place):
        pass
    with monkeypatch.context() as patched:
        patched.setattr(schema, "SCHEMA_VERSION", 4)
        patched.setitem(migrations.MIGRATIONS, 3, fails)
        with pytest.raises(ZeroDivisionError):
            StabilityLog.open(place)
    with StabilityLog.open(place) as log, log._backend.reading() as connection:
        assert migrations.version_of(connection) == 3
        assert not inspect(connection).has_table("scents")


def test_processes_that_make_the_same_log_at_once_share_one(place: str) -> None:
    code = (
        "import sys; from kit.stability.log.store import StabilityLog\n"
        "print(StabilityLog.open(sys.argv[1]).start_study('Cold', 'freeze-thaw', 'A', '2026-01-12').id)"
    )
    at_work = [
        subprocess.Popen([sys.executable, "-c", code, place], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        for _ in range(3)
    ]
    said = [int(one.communicate(timeout=60)[0]) for one in at_work]
    with StabilityLog.open(place) as log:
        assert sorted(said) == [one.id for one in log.studies()]
