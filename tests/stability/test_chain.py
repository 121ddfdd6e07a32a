"""The chain over the rows: every row deleted, changed or put in behind the log's back is found, on either store."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.errors import EntryError, StoreError
from kit.stability.log import chain, schema
from kit.stability.log.chain import read_anchor
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from tests.stability.pictures import picture
from tests.stability.test_verify import found, unguarded

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.study import Study

DAY = "2026-01-12"


@pytest.fixture
def full(log: StabilityLog, study: Study) -> StabilityLog:
    """A log with five readings, one of them a correction, and a photo."""
    for point in ("start", "1 day", "1 week", "2 weeks"):
        log.record(study.id, "A", "fridge", point, "ph", "4.5", DAY, observer="KM", note="a film on top")
    log.correct(1, "5.4", "digits swapped")
    log.attach_photo(1, picture(), "bottle.jpg", note="left side")
    return log


def test_the_hash_is_what_the_document_says(full: StabilityLog) -> None:
    """Computed anew by hand, from the description alone."""
    with full._backend.reading() as connection:
        links = connection.exec_driver_sql("SELECT seq, kind, row_id, hash FROM chain ORDER BY seq").fetchall()
        (row,) = connection.exec_driver_sql("SELECT * FROM observations WHERE id = 5").mappings().fetchall()
    assert [tuple(link[:3]) for link in links] == [
        (0, "log", 0), (1, "layout", 3), (2, "study", 1),
        (3, "reading", 1), (4, "reading", 2), (5, "reading", 3), (6, "reading", 4), (7, "reading", 5), (8, "photo", 1),
    ]  # fmt: skip
    content = json.dumps(["reading", dict(row)], ensure_ascii=False, separators=(",", ":"))
    assert content.startswith('["reading",{"id":5,"study_id":1,"batch":"A","condition":"fridge","time_point":"start",')
    assert '"value":"5.4","number":5.4,"observed_on":"2026-01-12"' in content
    assert links[7].hash == hashlib.sha256(f"{links[6].hash}\n{content}".encode()).hexdigest()


BEHIND = {
    "the last reading deleted": ("DELETE FROM observations WHERE id = 5", "Reading 5 is gone: it was deleted"),
    "one in the middle deleted": ("DELETE FROM observations WHERE id = 3", "Reading 3 is gone: it was deleted"),
    "its link too": (
        "DELETE FROM observations WHERE id = 3; DELETE FROM chain WHERE seq = 5",
        "Link 5 is of the chain gone",
    ),
    "a value": (
        "UPDATE observations SET value = '4.50' WHERE id = 2",
        "Reading 2, or its link in the chain, is not as",
    ),
    "a day": ("UPDATE observations SET observed_on = '2026-01-13' WHERE id = 2", "Reading 2, or its link"),
    "a note": ("UPDATE observations SET note = 'nothing to see' WHERE id = 2", "Reading 2, or its link"),
    "a reason": ("UPDATE observations SET reason = 'typed wrong' WHERE id = 5", "Reading 5, or its link"),
    "an observer": ("UPDATE observations SET observer = 'AB' WHERE id = 2", "Reading 2, or its link"),
    "who saved it": ("UPDATE observations SET recorded_by = 'another' WHERE id = 2", "Reading 2, or its link"),
    "the moment": ("UPDATE observations SET recorded_at = '2026-01-12T12:00:01+00:00' WHERE id = 2", "Reading 2, or"),
    "a limit of the plan": ("UPDATE studies SET plan = replace(plan, '0.5', '9.5')", "Study 1, or its link"),
    "a batch more": ("INSERT INTO study_batches VALUES (1, 'C', 2)", "Study 1, or its link"),
    "the order of batches": ("UPDATE study_batches SET position = position + 5", "Study 1, or its link"),
    "a note of a photo": ("UPDATE photos SET note = 'right side'", "Photo 1, or its link"),
    "a photo deleted": ("DELETE FROM photos", "Photo 1 is gone"),
    "a layout": ("UPDATE schema_versions SET applied_at = '2026-01-01T00:00:00+00:00'", "Layout 3, or its link"),
    "a reading put in": (
        (
            "INSERT INTO observations SELECT 6, study_id, 'B', condition, time_point, attribute, value, number, "
            "observed_on, observer, note, NULL, '', recorded_at, replicate, recorded_by FROM observations WHERE id = 1"
        ),
        "Reading 6 has no link in the chain: it was not saved by this kit",
    ),
    "a hash": (f"UPDATE chain SET hash = '{'0' * 64}' WHERE seq = 4", "Reading 2, or its link in the chain, is not as"),
    "all of the chain": ("DELETE FROM chain", "The chain over the rows of the log is gone."),
}


@pytest.mark.parametrize(("statements", "words"), BEHIND.values(), ids=BEHIND)
def test_what_is_done_behind_its_back_is_found_though_the_triggers_are_back(
    full: StabilityLog, statements: str, words: str
) -> None:
    unguarded(full, *statements.split("; "))
    assert any(one.startswith(words) for one in found(full)), found(full)


def test_triggers_of_the_same_name_that_do_nothing_are_found(full: StabilityLog) -> None:
    with full._backend.engine.begin() as connection:
        if full.path:
            connection.exec_driver_sql("DROP TRIGGER observations_update_refused")
            connection.exec_driver_sql(
                "CREATE TRIGGER observations_update_refused BEFORE UPDATE ON observations WHEN 0 BEGIN SELECT 1; END"
            )
        else:
            connection.exec_driver_sql(
                "CREATE OR REPLACE FUNCTION log_is_append_only() RETURNS trigger LANGUAGE plpgsql AS "
                "'BEGIN RETURN NULL; END'"
            )
    sentences = found(full)
    assert sentences
    assert all("is not this kit's: something may have been changed." in one for one in sentences)
    assert any("of the table observations" in one for one in sentences)


def test_a_trigger_that_is_nobodys_is_found(full: StabilityLog) -> None:
    with full._backend.engine.begin() as connection:
        if full.path:
            connection.exec_driver_sql("CREATE TRIGGER helpful AFTER INSERT ON observations BEGIN SELECT 1; END")
        else:
            connection.exec_driver_sql(
                "CREATE TRIGGER helpful BEFORE INSERT ON observations FOR EACH ROW EXECUTE FUNCTION "
                "reading_is_by_its_user()"
            )
            connection.exec_driver_sql("ALTER TABLE observations ENABLE ALWAYS TRIGGER helpful")
    assert any("The trigger helpful of the table observations is not this kit's" in one for one in found(full))


def test_only_a_noted_anchor_finds_what_somebody_changed_who_sealed_all_anew(full: StabilityLog) -> None:
    noted = full.anchor
    assert full.verify(noted).findings == []
    full.record(1, "B", "fridge", "start", "ph", "5", DAY)
    assert full.verify(noted).findings == [], "an anchor holds however much is added"
    later = full.anchor
    unguarded(full, "UPDATE observations SET note = '' WHERE id = 2")
    sealed_anew(full)
    assert full.verify().findings == [], "the chain alone cannot tell"
    for anchor in (noted, later):
        (finding,) = full.verify(anchor).findings
        assert finding.severity == "stop"
        assert finding.sentence.startswith(
            f"The anchor {anchor} is not of this log as it is now (the newest entry is 9)"
        )


def sealed_anew(log: StabilityLog) -> None:
    """All links computed anew by somebody who knows how, with the triggers of the chain off and on again."""
    with log._backend.engine.begin() as connection:
        names = [name for table, name, _ in schema._all(connection) if table == "chain"]
        for name in names:
            off = f"DROP TRIGGER {name}" if log.path else f"ALTER TABLE chain DISABLE TRIGGER {name}"
            connection.exec_driver_sql(off)
        connection.exec_driver_sql("DELETE FROM chain WHERE seq > 0")
        chain.seal_unsealed(connection)
        for name in names if log.path is None else ():
            connection.exec_driver_sql(f"ALTER TABLE chain ENABLE ALWAYS TRIGGER {name}")
        schema.add_triggers(connection)


def test_the_last_reading_and_its_link_deleted_alike_are_found_by_the_anchor(full: StabilityLog) -> None:
    last = full.record(1, "B", "fridge", "start", "ph", "5", DAY)
    noted = full.anchor
    unguarded(full, f"DELETE FROM observations WHERE id = {last.id}", "DELETE FROM chain WHERE seq = 9")
    assert any("the newest entry is 8" in one.sentence for one in full.verify(noted).findings)


@pytest.mark.parametrize("typed", ["128 · 7f3a-91c2-05de-b733", " 128 7F3A91C205DEB733", "128: 7f3a 91c2 05de b733"])
def test_an_anchor_is_read_however_it_was_noted(typed: str) -> None:
    assert read_anchor(typed).anchor == "128 · 7f3a-91c2-05de-b733"


@pytest.mark.parametrize(
    "typed", ["", "128", "7f3a-91c2-05de-b733", "128 · 7f3a-91c2", "128 · 7f3a-91c2-05de-b733-00", "x"]
)
def test_what_is_no_anchor_is_refused(typed: str, tmp_path: Path) -> None:
    with pytest.raises(
        EntryError, match=r"is not an anchor\. Type it as it was noted: a number, then 16 digits or letters"
    ):
        verify(tmp_path / "none.db", anchor=typed)


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    value=st.one_of(st.integers(0, 14), st.floats(0, 14)).map(repr),
    note=TEXTS,
    observer=TEXTS,
    by_import=st.booleans(),
)
@pytest.mark.parametrize("store", ["sqlite", "postgresql"])
def test_whatever_is_typed_is_sealed_as_it_is_read_back(
    request: pytest.FixtureRequest, store: str, value: str, note: str, observer: str, by_import: bool
) -> None:
    log = request.getfixturevalue("file_log" if store == "sqlite" else "shared")
    if not log.studies():
        log.start_study("Gel, 3 % salt", "home-twelve-weeks", [f"B{n}" for n in range(400)], DAY)
    count = len(log.observations(1))
    batch, condition = f"B{count % 400}", ("fridge", "cupboard")[count // 400]
    row = {"batch": batch, "condition": condition, "time_point": "start", "attribute": "ph", "value": value,
           "observed_on": DAY, "note": note, "observer": observer}  # fmt: skip
    if by_import:
        assert not log.import_rows(1, [row]).refused
    else:
        log.record(1, batch, condition, "start", "ph", value, DAY, note=note, observer=observer)
    assert log.unsound() == []


@pytest.fixture
def shared(shared_address: str) -> StabilityLog:
    return StabilityLog.open(shared_address, wait=5)


def test_every_table_is_sealed() -> None:
    """A table that a later layout adds must be sealed, or be part of a row that is."""
    part_of_a_study = {table.name for table in schema.study_names.values()}
    sealed = {table.name for table in chain.KINDS.values()}
    assert set(schema.metadata.tables) == sealed | part_of_a_study | {"chain"}


def test_a_layout_said_by_the_header_alone_is_found(file_log: StabilityLog, file_study: Study) -> None:
    assert file_log.path is not None
    file_log.close()
    for version in (0, 1, 2):
        with closing(sqlite3.connect(file_log.path)) as connection:
            connection.execute(f"PRAGMA user_version = {version}")
        before = file_log.path.read_bytes()
        with pytest.raises(StoreError, match="is damaged"):
            StabilityLog.open(file_log.path)
        assert file_log.path.read_bytes() == before
        if version > 0:
            (finding,) = verify(file_log.path).findings
            assert finding.sentence.startswith(f"The layout is {version} by the header and 3 by the table of layouts.")
