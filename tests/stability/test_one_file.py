"""A log is one file: whole after every acknowledged reading, and never written to where it is another by now."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.errors import StoreError
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import at_one_moment, verify
from tests.stability.writers import cells

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.study import Observation, Study

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-01-12"


def next_reading(log: StabilityLog, value: str = "5") -> Observation:
    """Record in the next place that is free."""
    study = log.study(1)
    places = list(cells(study))
    return log.record(1, *places[len(log.observations(1))], value, DAY)


def copied_alone(path: Path, to: Path) -> Path:
    """What ``cp`` would make of the one file, with nothing of what lies beside it."""
    done = subprocess.run(["cp", str(path), str(to)], check=False)
    assert done.returncode == 0
    return to


def test_a_copy_of_the_one_file_holds_every_acknowledged_reading(
    file_log: StabilityLog, file_study: Study, tmp_path: Path
) -> None:
    assert file_log.path is not None
    for number in range(12):
        saved = next_reading(file_log)
        assert [file.name for file in tmp_path.iterdir() if file.is_file()] == ["shake.log.db"], "nothing beside it"
        copy = copied_alone(file_log.path, tmp_path / f"copy{number}.db")
        with StabilityLog.open(copy) as again:
            assert again.observations(1)[-1] == saved
            assert again.verify().findings == []
        copy.unlink()


KILLED = """
import os, signal, sys
from kit.stability.log.store import StabilityLog
from tests.stability.test_one_file import next_reading
log = StabilityLog.open(sys.argv[1])
for _ in range(int(sys.argv[2])):
    print(next_reading(log).id, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_after_a_kill_the_one_file_holds_all(file_log: StabilityLog, file_study: Study, tmp_path: Path) -> None:
    file_log.close()
    assert file_log.path is not None
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(file_log.path), "5"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == -signal.SIGKILL, done.stderr
    copy = copied_alone(file_log.path, tmp_path / "copy.db")
    assert verify(copy).findings == []
    with StabilityLog.open(copy) as again:
        assert (
            [row.id for row in again.observations(1)] == [int(line) for line in done.stdout.split()] == [1, 2, 3, 4, 5]
        )


def test_a_copy_taken_while_others_write_is_whole_or_said_to_be_torn(
    file_log: StabilityLog, file_study: Study, tmp_path: Path
) -> None:
    assert file_log.path is not None
    place = file_log.path
    said: list[int] = []
    over = threading.Event()

    def write() -> None:
        with StabilityLog.open(place) as log:
            while not over.is_set() and len(said) < 110:
                said.append(next_reading(log).id)

    writer = threading.Thread(target=write)
    writer.start()
    sound = 0
    for number in range(40):
        known = len(said)
        copy = copied_alone(place, tmp_path / f"copy{number}.db")
        try:
            found = verify(copy).findings
        except StoreError:
            continue  # told, before it was even looked through
        if not found:
            sound += 1
            with StabilityLog.open(copy) as again:
                assert len(again.observations(1)) >= known, "a copy that is called sound lacks no reading"
    over.set()
    writer.join(60)
    assert sound > 0
    assert verify(place).findings == []


def moved(path: Path) -> None:
    path.rename(path.with_name("elsewhere.db"))


def deleted(path: Path) -> None:
    path.unlink()


def replaced_by_another(path: Path) -> None:
    with StabilityLog.open(path.with_name("other.db")) as other:
        other.start_study("Other", "home-twelve-weeks", ["A"], DAY)
    path.with_name("other.db").replace(path)


def overwritten_by_another(path: Path) -> None:
    with StabilityLog.open(path.with_name("other.db")) as other:
        other.start_study("Other", "home-twelve-weeks", ["A"], DAY)
    path.write_bytes(path.with_name("other.db").read_bytes())


def replaced_by_an_older_copy(path: Path) -> None:
    shutil.copy(path.with_name("older.db"), path.with_name("older2.db"))
    path.with_name("older2.db").replace(path)


def overwritten_by_an_older_copy(path: Path) -> None:
    path.write_bytes(path.with_name("older.db").read_bytes())


def cut_short(path: Path) -> None:
    with path.open("rb+") as file:
        file.truncate(path.stat().st_size // 2)


def cut_to_nothing(path: Path) -> None:
    path.write_bytes(b"")


def overwritten_by_a_letter(path: Path) -> None:
    path.write_bytes(b"Dear Ada, " * 500)


HANDS: dict[str, tuple[Callable[[Path], None], str]] = {
    "renamed": (
        moved,
        "is no longer where it was opened: it was renamed, moved or deleted. Nothing was saved, and what",
    ),
    "deleted": (deleted, "is no longer where it was opened: it was renamed, moved or deleted. Nothing was saved, and"),
    "replaced by another": (replaced_by_another, "was replaced: another file now has its name. Nothing was saved, and"),
    "overwritten by another": (overwritten_by_another, "is an older copy of the log that was opened, or another log"),
    "replaced by an older copy": (replaced_by_an_older_copy, "was replaced: another file now has its name."),
    "overwritten by an older copy": (overwritten_by_an_older_copy, "is an older copy of the log that was opened, or"),
    "cut short": (cut_short, "is damaged. Nothing was changed; go back to your latest copy of it."),
    "cut to nothing": (cut_to_nothing, "holds other tables or values than a log of this kit"),
    "overwritten by a letter": (overwritten_by_a_letter, "is damaged. Nothing was changed;"),
}


@pytest.mark.skipif(os.name == "nt", reason="a file that is open cannot be moved there")
@pytest.mark.parametrize(("hand", "words"), HANDS.values(), ids=HANDS)
def test_a_log_that_is_another_by_now_is_not_written_to(
    file_log: StabilityLog, file_study: Study, hand: Callable[[Path], None], words: str
) -> None:
    assert file_log.path is not None
    path = file_log.path
    next_reading(file_log)
    shutil.copy(path, path.with_name("older.db"))
    next_reading(file_log)
    places = list(cells(file_study))
    hand(path)
    files = {file.name: file.read_bytes() for file in path.parent.iterdir() if file.is_file()}
    for _ in range(2):
        with pytest.raises(StoreError) as caught:
            file_log.record(1, *places[2], "5", DAY)
        assert words in str(caught.value)
    assert {file.name: file.read_bytes() for file in path.parent.iterdir() if file.is_file()} == files


@pytest.mark.skipif(os.name == "nt", reason="a file that is open cannot be moved there")
def test_put_back_it_is_gone_on_with(file_log: StabilityLog, file_study: Study) -> None:
    assert file_log.path is not None
    next_reading(file_log)
    away = file_log.path.with_name("away.db")
    file_log.path.rename(away)
    with pytest.raises(StoreError, match="is no longer where it was opened"):
        file_log.observations(1)
    with pytest.raises(StoreError, match="is no longer where it was opened"):
        file_log.open_again()
    assert not file_log.path.exists(), "no new log is made in its place"
    away.rename(file_log.path)
    assert next_reading(file_log).id == 2
    assert file_log.verify().findings == []


@pytest.mark.skipif(os.name == "nt", reason="a file that is open cannot be moved there")
def test_opened_again_it_goes_on_with_what_lies_there(file_log: StabilityLog, file_study: Study) -> None:
    assert file_log.path is not None
    next_reading(file_log)
    shutil.copy(file_log.path, file_log.path.with_name("older.db"))
    next_reading(file_log)
    overwritten_by_an_older_copy(file_log.path)
    with pytest.raises(StoreError, match="is an older copy"):
        file_log.record(1, *list(cells(file_study))[2], "5", DAY)
    file_log.open_again()
    assert len(file_log.observations(1)) == 1
    assert next_reading(file_log).id == 2
    assert file_log.verify().findings == []


def test_a_file_moved_in_the_moment_of_saving_is_not_acknowledged(file_log: StabilityLog, file_study: Study) -> None:
    assert file_log.path is not None
    path = file_log.path
    file_log.study(1)
    look, times = file_log._backend.watch.look, 0

    def moved_late() -> tuple[int, int] | None:
        nonlocal times
        times += 1
        if times == 4:  # before, within, before the commit; now after it
            path.rename(path.with_name("away.db"))
        return look()

    file_log._backend.watch.look = moved_late  # type: ignore[method-assign]
    with pytest.raises(
        StoreError, match=r"was moved or replaced in the very moment of saving: what you typed is in the"
    ):
        file_log.record(1, "A", "fridge", "start", "ph", "5", DAY)
    assert verify(path.with_name("away.db")).readings == 1


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=st.lists(st.sampled_from(["save", "other saves", "copy", "older", "away", "back", "again"]), max_size=14))
def test_whatever_hands_do_nothing_acknowledged_is_lost_unsaid(
    acts: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A model of the file under an open log: what was acknowledged is in the file it was acknowledged for."""
    folder = tmp_path_factory.mktemp("hands")
    path, copy, away = (folder / name for name in ("log.db", "copy.db", "away.db"))
    here: list[int] = []  # what was acknowledged for the file that lies there, each by a number of its own
    in_copy: list[int] = []
    in_away: list[int] = []
    seen: list[int] = []  # what the open log knows of
    with StabilityLog.open(path) as log:
        places = list(cells(log.start_study("Wash, salted", "home-twelve-weeks", ["A"], DAY)))
        shutil.copy(path, copy)
        for number, act in enumerate(acts):
            there = path.exists()
            if act == "save" and there and here[: len(seen)] == seen:
                log.record(1, *places[len(here)], "5", DAY)
                here = seen = [*here, number]
            elif act == "save":
                with pytest.raises(StoreError, match=r"was replaced|is no longer where|is an older copy"):
                    log.record(1, *places[len(here)], "5", DAY)
            elif act == "other saves" and there:
                with StabilityLog.open(path) as other:
                    next_reading(other)
                here = [*here, number]
            elif act == "copy" and there:
                shutil.copy(path, copy)
                in_copy = here
            elif act == "older" and there:
                path.write_bytes(copy.read_bytes())
                here = in_copy
            elif act == "away" and there:
                path.rename(away)
                in_away = here
            elif act == "back" and not there and away.exists():
                away.rename(path)
                here = in_away
            elif act == "again" and there:
                log.open_again()
                seen = here
            if path.exists():
                found = verify(path)
                assert (found.readings, found.findings) == (len(here), [])


def test_an_older_log_is_taken_in_with_what_lay_beside_it(tmp_path: Path) -> None:
    """What an older kit had not yet brought into the file when it was killed."""
    old, killed = tmp_path / "old.db", tmp_path / "killed.db"
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript((Path(__file__).parent / "version_2.sql").read_text(encoding="utf-8"))
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.execute(
            "INSERT INTO observations (study_id, batch, condition, time_point, attribute, value, number, observed_on, "
            "recorded_at) VALUES (1, 'B', 'kept', 'start', 'ph', '5.2', 5.2, '2026-01-13', '2026-01-13T12:00:00+00:00')"
        )
        connection.commit()
        for ending in ("", "-wal"):
            shutil.copy(f"{old}{ending}", f"{killed}{ending}")
        shutil.copy(old, tmp_path / "alone.db")
    with StabilityLog.open(killed) as log:
        assert [row.value for row in log.observations(1)][-1] == "5.2"
        assert {finding.place.field for finding in log.verify().findings} == {"photos"}, "they were not copied with it"
        assert not Path(f"{killed}-wal").exists()
        mode = log._backend.write(lambda connection: connection.exec_driver_sql("PRAGMA journal_mode").scalar())
        assert mode == "delete"
    _, told = verify(tmp_path / "alone.db").findings
    assert "If this is a copy made while it was open, they are not in it." in told.sentence


def test_an_older_log_that_an_older_kit_has_open_is_not_changed_over(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript((Path(__file__).parent / "version_2.sql").read_text(encoding="utf-8"))
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("BEGIN")
        connection.execute("SELECT count(*) FROM observations").fetchone()
        with pytest.raises(StoreError, match="is in use by another window or program"):
            StabilityLog.open(path, wait=0.1)
        connection.execute("ROLLBACK")
    with StabilityLog.open(path) as log:
        assert len(log.observations(1)) == 5


def test_looking_through_holds_up_nobody_who_records(file_log: StabilityLog, file_study: Study) -> None:
    with at_one_moment(file_log._backend) as frozen:
        assert next_reading(file_log).id == 1
        assert frozen.exec_driver_sql("SELECT count(*) FROM observations").scalar() == 0


def test_opening_it_once_more_lets_go_of_no_lock(file_log: StabilityLog, file_study: Study) -> None:
    """POSIX drops all locks of a process on a file when any handle of it is closed."""
    assert file_log.path is not None
    with file_log._backend._writing.begin():
        with StabilityLog.open(file_log.path) as second:
            assert second.observations(1) == []
        verify(file_log.path)
        code = "import sqlite3, sys; sqlite3.connect(sys.argv[1], timeout=0).execute('BEGIN IMMEDIATE')"
        done = subprocess.run(
            [sys.executable, "-c", code, str(file_log.path)], capture_output=True, text=True, check=False
        )
    assert "database is locked" in done.stderr
