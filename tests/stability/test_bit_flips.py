"""One bit of a log turned over, anywhere: it is found, or it holds nothing; and every failure is a sentence."""

from __future__ import annotations

import math
import os
import random
import sqlite3
import struct
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING, Any

import psycopg
import pytest
from psycopg import sql

from kit.errors import KitError, StoreError
from kit.papers.paper import StudyRecord
from kit.papers.registry import make_paper
from kit.papers.stability_report import StabilityReportOptions
from kit.stability.log.schema import study_names
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

DAY = "2026-01-12"
#: As many bits in the long test; 2,000 take a minute and a half.
MANY = int(os.environ.get("SHAKEWELL_BIT_FLIPS", "100"))


def fill(place: Path | str, photos: Path | None = None) -> None:
    """Make a log with 49 readings, full of notes, observers and a photo."""
    with StabilityLog.open(place, photos=photos) as log:
        plan = log.start_study("Shampoo, clear", "home-twelve-weeks", ["A", "B"], DAY).plan
        for batch in "AB":
            for condition in plan.conditions[:3]:
                for point in plan.time_points[:4]:
                    log.record(1, batch, condition.key, point.label, "ph", "5,4", DAY, note="cloudy", observer="KM")
                    log.record(1, batch, condition.key, point.label, "appearance", "1", DAY)
        log.correct(1, "5.5", "digits swapped")
        log.attach_photo(2, picture(), "bottle.jpg", note="left side")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "shampoo.db"
    fill(place)
    return place


def content(path: Path) -> object:
    """Every value of every row, as it lies in the file; the letter case of a table's name means nothing in SQL."""
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = bytes
        try:
            names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
            return {
                name.lower(): connection.execute(f"SELECT rowid, * FROM {name.decode()} ORDER BY 1").fetchall()
                for (name,) in names
            }
        except (sqlite3.Error, UnicodeDecodeError) as error:
            return str(type(error))


def flipped(path: Path, count: int, seed: int) -> dict[str, int]:
    """Turn over that many bits, one after another, and count how each was taken."""
    whole, sound, chance = path.read_bytes(), content(path), random.Random(seed)
    taken = dict.fromkeys(("found", "holds nothing", "missed"), 0)
    for _ in range(count):
        bit = chance.randrange(8 * len(whole))
        data = bytearray(whole)
        data[bit // 8] ^= 1 << bit % 8
        path.write_bytes(data)
        try:
            found = any(finding.severity == "stop" for finding in verify(path).findings)
        except KitError:
            found = True
        unseen = "holds nothing" if not found and content(path) == sound else "missed"
        taken["found" if found else unseen] += 1
        used(path)
        for beside in path.parent.glob(f"{path.name}-[wsj]*"):
            beside.unlink()
    return taken


def used(path: Path) -> None:
    """Open, read and report; anything but a sentence goes through."""
    try:
        with StabilityLog.open(path) as log:
            for study in log.studies():
                rows = log.observations(study.id)
                log.current(study.id)
                log.due(study.id, date(2026, 3, 1))
                log.photos(study.id)
                record = StudyRecord(study, tuple(rows), faults=tuple(log.unsound()))
                make_paper("stability_report", record, StabilityReportOptions(today="2026-03-01"))
    except KitError:
        pass


def test_a_bit_turned_over_is_found_or_holds_nothing(path: Path) -> None:
    taken = flipped(path, 20, seed=5)
    assert taken["missed"] == 0
    assert taken["found"] > 3


@pytest.mark.slow
def test_many_bits_turned_over_are_found_or_hold_nothing(path: Path) -> None:
    taken = flipped(path, MANY, seed=2026)
    assert taken["missed"] == 0
    assert taken["found"] > 0.15 * MANY


TABLES = ("schema_versions", "studies", *(table.name for table in study_names.values()), "observations", "photos",
          "chain")  # fmt: skip


def with_one_bit_turned(value: object, chance: random.Random) -> object:
    """The same text or number but for one bit of what is stored; None where that leaves no text, or there is none."""
    if isinstance(value, bool | None):
        return None
    if isinstance(value, int):
        return value ^ 1 << chance.randrange(8)
    stored = bytearray(struct.pack("<d", value) if isinstance(value, float) else str(value).encode())
    if not stored:
        return None
    bit = chance.randrange(8 * len(stored))
    stored[bit // 8] ^= 1 << bit % 8
    if isinstance(value, float):
        (turned,) = struct.unpack("<d", bytes(stored))
        return turned if math.isfinite(turned) else None
    try:
        text = stored.decode()
    except UnicodeDecodeError:
        return None
    return None if "\0" in text else text


def set_behind_its_back(
    connection: psycopg.Connection[Any], table: str, column: str, where: str, value: object
) -> str | None:
    """Set one value past triggers and foreign keys, which stand again afterwards; where its row lies then.

    None where one of the table's own checks refuses the value.
    """
    name = sql.Identifier(table)
    guards = connection.execute(
        "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal", [table]
    ).fetchall()
    try:
        with connection.transaction():
            connection.execute(sql.SQL("ALTER TABLE {} DISABLE TRIGGER USER").format(name))
            change = sql.SQL("UPDATE {} SET {} = %s WHERE ctid = %s::tid RETURNING ctid::text")
            (lies,) = connection.execute(change.format(name, sql.Identifier(column)), [value, where]).fetchone() or (
                "",
            )
            for (guard,) in guards:
                again = sql.SQL("ALTER TABLE {} ENABLE ALWAYS TRIGGER {}")
                connection.execute(again.format(name, sql.Identifier(guard)))
    except psycopg.errors.IntegrityError:
        return None
    return str(lies)


def turned_on_the_server(address: str, count: int, seed: int) -> dict[str, int]:
    """Turn over that many bits of stored values, one after another, and count how each was taken."""
    chance, taken = random.Random(seed), dict.fromkeys(("found", "refused by the table", "missed"), 0)
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("SET session_replication_role = replica")  # no foreign key
        while sum(taken.values()) < count:
            table = chance.choice(TABLES)
            cursor = connection.execute(sql.SQL("SELECT ctid::text, * FROM {}").format(sql.Identifier(table)))
            names = [column.name for column in cursor.description or ()]
            row = chance.choice(cursor.fetchall())
            at = chance.randrange(1, len(names))
            turned = with_one_bit_turned(row[at], chance)
            if turned is None:
                continue
            lies = set_behind_its_back(connection, table, names[at], row[0], turned)
            if lies is None:
                taken["refused by the table"] += 1
                continue
            try:
                found = any(finding.severity == "stop" for finding in verify(address).findings)
            except KitError:
                found = True
            taken["found" if found else "missed"] += 1
            assert set_behind_its_back(connection, table, names[at], lies, row[at])
    assert not [finding for finding in verify(address).findings if finding.severity == "stop"]
    return taken


@pytest.mark.parametrize("count", [20, pytest.param(MANY, marks=pytest.mark.slow)])
def test_a_bit_turned_over_on_a_server_is_found(shared_address: str, tmp_path: Path, count: int) -> None:
    fill(shared_address, tmp_path / "photos")
    taken = turned_on_the_server(shared_address, count, seed=11)
    assert taken["missed"] == 0
    assert taken["found"] >= 0.5 * count


def test_a_log_that_says_it_is_older_than_its_chain_is_not_written_to(shared_address: str, tmp_path: Path) -> None:
    fill(shared_address, tmp_path / "photos")
    with psycopg.connect(shared_address, autocommit=True) as connection:
        (lies,) = connection.execute("SELECT ctid::text FROM schema_versions").fetchone() or ("",)
        assert set_behind_its_back(connection, "schema_versions", "version", lies, 2)
        before = connection.execute("SELECT count(*) FROM chain").fetchone()
        assert "a chain, which came later" in verify(shared_address).findings[0].sentence
        with pytest.raises(StoreError, match="says that it is of layout 2, but it has a chain"):
            StabilityLog.open(shared_address)
        assert connection.execute("SELECT count(*) FROM chain").fetchone() == before
