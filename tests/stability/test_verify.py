"""Looking through a log: a sound one gives nothing, and every kind of damage is a sentence."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from kit.errors import StoreError
from kit.stability.log import schema
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import Verified, verify
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Connection

    from kit.stability.study import Study

DAY = "2026-01-12"


@pytest.fixture
def full(log: StabilityLog, study: Study) -> StabilityLog:
    """A log with four readings, two of them a correction, and a photo."""
    log.record(study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    log.correct(1, "5.4", "digits swapped")
    log.record(study.id, "A", "window", "start", "ph", "5.4", DAY)
    log.correct(2, "5,45", "second decimal")
    log.attach_photo(1, picture(), "bottle.jpg")
    return log


def unguarded(log: StabilityLog, *statements: str) -> None:
    """Change a log behind its back: its triggers and references switched off, and the triggers put back."""
    with log._backend.engine.begin() as connection:
        if log.path is None:
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        for table, name, _ in _triggers(connection):
            off = f"DROP TRIGGER {name}" if log.path else f"ALTER TABLE {table} DISABLE TRIGGER {name}"
            connection.exec_driver_sql(off)
        for statement in statements:
            connection.exec_driver_sql(statement)
        if log.path:
            schema.add_triggers(connection)
        else:
            for table, name, _ in schema.missing_triggers(connection):
                connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")


def _triggers(connection: Connection) -> list[tuple[str, str, str]]:
    """All of them: those that a database without any would lack."""
    names = schema._for_sqlite if connection.dialect.name == "sqlite" else schema._for_postgres
    return [(table.name, name, sql) for table in schema.metadata.tables.values() for name, sql in names(table).items()]


def found(log: StabilityLog) -> list[str]:
    return [finding.sentence for finding in log.verify().findings]


def test_a_sound_log_gives_nothing_and_says_what_was_looked_at(full: StabilityLog, place: str) -> None:
    for checked in (full.verify(), verify(place, photos=full._backend.photos)):
        assert isinstance(checked, Verified)
        assert checked.findings == []
        assert (checked.studies, checked.readings, checked.corrections, checked.photos) == (1, 4, 2, 1)
        assert checked.sentence == (
            "Looked through: studies 1, readings 4 (of them corrections 2), photos 1. The chain, "
            "references, corrections, numbers, triggers and photos are as they were saved."
        )


def test_looking_writes_nothing(full: StabilityLog, tmp_path: Path, place: str) -> None:
    def state() -> dict[str, bytes]:
        return {
            file.name: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file() and "-shm" not in file.name
        }

    before = state()
    verify(place, photos=full._backend.photos)
    assert state() == before


CHANGED = {
    "a number changed behind the log's back": (
        "UPDATE observations SET number = 9 WHERE id = 4",
        "Reading 4: the number kept is 9.0, and '5,45' was typed. Look at it, and correct it if need be.",
    ),
    "a value that its plan cannot read": (
        "UPDATE observations SET value = 'much' WHERE id = 3",
        "Reading 3: the number kept is 5.4, and 'much' was typed.",
    ),
}


@pytest.mark.parametrize(("statement", "words"), CHANGED.values(), ids=CHANGED)
def test_a_changed_reading_is_found(full: StabilityLog, statement: str, words: str) -> None:
    unguarded(full, statement)
    changed, sentence = found(full)
    assert changed.startswith(f"{words.partition(':')[0]}, or its link in the chain, is not as it was saved.")
    assert sentence.startswith(words)


def test_a_correction_in_another_cell_is_found(file_log: StabilityLog, file_study: Study) -> None:
    log = file_log
    for condition in ("fridge", "window"):
        log.record(file_study.id, "A", condition, "start", "ph", "4.5", DAY)
    log.correct(1, "5.4", "digits swapped")
    assert log.path is not None
    _behind(log, "UPDATE observations SET replaces = 2 WHERE id = 3")
    words = "Reading 3 corrects reading 2, which is not an earlier reading of the same thing. Leave the log as it is"
    assert any(one.startswith(words) for one in found(log))
    assert any("Row 3 of observations refers to a row of observations that is not there." in one for one in found(log))


def _behind(log: StabilityLog, *statements: str) -> None:
    """The same for a file, without its foreign keys."""
    assert log.path is not None
    with closing(sqlite3.connect(log.path, isolation_level=None)) as connection:
        triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)
        for _, sql in triggers:
            connection.execute(sql)


def test_a_correction_stamped_before_what_it_corrects_is_told(tmp_path: Path) -> None:
    """A clock that was set back: nothing is lost, and the order of saving says which came later."""
    hours = iter((9, 9, 11, 10, 12))
    with StabilityLog.open(tmp_path / "l.db", clock=lambda: datetime(2026, 1, 12, next(hours, 13), tzinfo=UTC)) as log:
        log.start_study("Shampoo, clear", "home-twelve-weeks", ["A"], DAY)
        log.record(1, "A", "fridge", "start", "ph", "4.5", DAY)
        log.correct(1, "5.4", "digits swapped")
        log.correct(2, "5.5", "read again")
        (told,) = log.verify().findings
    assert told.severity == "caution"
    words = "Correction 2 is stamped 2026-01-12T10:00:00+00:00, before reading 1, which it corrects"
    assert told.sentence.startswith(words)
    assert "a clock was set back in between. The order of saving holds" in told.sentence


def test_a_loop_of_corrections_is_found(file_log: StabilityLog, file_study: Study) -> None:
    log = file_log
    log.record(file_study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    log.correct(1, "5.4", "digits swapped")
    _behind(
        log,
        "PRAGMA ignore_check_constraints = ON",
        "UPDATE observations SET replaces = 2, reason = 'loop' WHERE id = 1",
    )
    sentences = found(log)
    assert any("CHECK constraint failed" in one and "The file is damaged" in one for one in sentences)
    _behind(
        log,
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET sql = replace(sql, 'replaces < id', 'replaces <> id') WHERE name = 'observations'",
    )
    assert any(one.startswith("Reading 1 corrects reading 2, which is not an earlier") for one in found(log))


def test_a_branch_and_a_second_first_reading_are_found(shared_address: str) -> None:
    """The unique constraints are the server's; they are taken away to make what they prevent."""
    with StabilityLog.open(shared_address) as log:
        log.start_study("Class", "home-twelve-weeks", ["A"], DAY)
        log.record(1, "A", "fridge", "start", "ph", "4.5", DAY)
        log.correct(1, "5.4", "digits swapped")
        copy = (
            "INSERT INTO observations (study_id, batch, condition, time_point, attribute, value, number, observed_on,"
        )
        copy += (
            " replaces, reason, recorded_at) SELECT study_id, batch, condition, time_point, attribute, value, number,"
        )
        copy += " observed_on, replaces, reason, recorded_at FROM observations WHERE id = "
        with log._backend.engine.begin() as connection:
            connection.exec_driver_sql("ALTER TABLE observations DROP CONSTRAINT observations_replaces_key")
            connection.exec_driver_sql("DROP INDEX one_first_reading_in_each_cell")
            connection.exec_driver_sql(copy + "1")
            connection.exec_driver_sql(copy + "2")
        sentences = found(log)
    assert any(one.startswith("Reading 1 has 2 corrections that do not follow one another.") for one in sentences)
    assert any(one.startswith("Reading 1 is one of 2 first readings of the same thing") for one in sentences)


def test_a_row_that_leads_nowhere_is_found(full: StabilityLog) -> None:
    unguarded_off = "PRAGMA foreign_keys = OFF" if full.path else "SELECT 1"
    if full.path:
        _behind(full, unguarded_off, "DELETE FROM study_conditions WHERE condition = 'window'")
    else:
        unguarded(full, "DELETE FROM study_conditions WHERE condition = 'window'")
    assert "Row 3 of observations refers to a row of study_conditions that is not there." in found(full)[1]


def test_a_trigger_that_is_gone_is_found(full: StabilityLog) -> None:
    with full._backend.engine.begin() as connection:
        gone = "DROP TRIGGER photos_update_refused" if full.path else "DROP TRIGGER photos_append_only ON photos"
        connection.exec_driver_sql(gone)
    (sentence,) = found(full)
    assert sentence.startswith("The trigger photos_")
    assert (
        "is gone or switched off: something may have been changed. Compare the log with your latest copy." in sentence
    )


def test_a_trigger_that_is_switched_off_is_found(shared_address: str) -> None:
    with StabilityLog.open(shared_address) as log:
        with log._backend.engine.begin() as connection:
            connection.exec_driver_sql("ALTER TABLE observations DISABLE TRIGGER observations_append_only")
        assert "observations_append_only of the table observations is gone or switched off" in found(log)[0]


def test_a_damaged_file_is_found_without_opening_it_for_work(file_log: StabilityLog, file_study: Study) -> None:
    for condition in file_study.plan.conditions:
        for point in file_study.plan.time_points:
            file_log.record(file_study.id, "A", condition.key, point.label, "ph", "5.4", DAY, note="long " * 200)
    file_log.close()
    assert file_log.path is not None
    whole = bytearray(file_log.path.read_bytes())
    whole[-4096:] = b"\xff" * 4096
    file_log.path.write_bytes(whole)
    (finding,) = verify(file_log.path).findings
    assert finding.severity == "stop"
    assert finding.sentence == "shake.log.db is damaged. Nothing was changed; go back to your latest copy of it."
    assert file_log.path.read_bytes() == whole


def test_photos_missing_changed_and_left_over_are_found(full: StabilityLog, tmp_path: Path) -> None:
    changed, gone = (full.attach_photo(1, picture(size=(n, n)), f"{n}.jpg") for n in (50, 60))
    full.photo_file(changed).write_bytes(b"other")
    full.photo_file(gone).unlink()
    folder = tmp_path / "shake.log.db-photos"
    (folder / "aa").mkdir()
    (folder / "aa" / f".{'a' * 64}.jpg.1234.new").write_bytes(b"half")
    (folder / "aa" / f"{'a' * 64}.jpg").write_bytes(b"never in the log")
    checked = full.verify()
    assert [finding.severity for finding in checked.findings] == ["stop", "stop", "note", "note"]
    first, second, third, fourth = (finding.sentence for finding in checked.findings)
    assert first.startswith("Photo 2 of reading 1, 50.jpg, is not as it was attached: its content has changed.")
    assert second.startswith("Photo 3 of reading 1, 60.jpg, cannot be read (No such file or directory).")
    assert "is no photo of a log: a save may have been broken off" in third
    assert "belongs to no reading" in fourth


def test_photos_whose_folder_was_not_named_are_a_caution(full: StabilityLog, shared_address: str, place: str) -> None:
    if full.path is None:
        (finding,) = verify(place).findings
        assert "The log has photos (1), and their folder was not named. Name it with photos='...'." in finding.sentence
    else:
        assert verify(place).findings == []


def test_the_trace_of_a_log_that_was_being_made_is_a_note(file_log: StabilityLog, tmp_path: Path) -> None:
    (tmp_path / ".shake.log.db.0123.new").write_bytes(b"")
    (finding,) = file_log.verify().findings
    assert finding.severity == "note"
    assert finding.sentence == (
        ".shake.log.db.0123.new is the trace of a log that was being made or copied when it was broken off. It does no "
        "harm; look at it, and delete it if you do not know it."
    )


def test_what_is_not_there_is_not_made(tmp_path: Path, shared_address: str) -> None:
    with pytest.raises(StoreError, match=r"none.db cannot be read \(No such file or directory\)"):
        verify(tmp_path / "none.db")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(StoreError, match="holds no stability log yet"):
        verify(shared_address)
