"""One bit of a log turned over, anywhere: it is found, or it holds nothing; and every failure is a sentence."""

from __future__ import annotations

import os
import random
import sqlite3
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING

import pytest

from kit.errors import KitError
from kit.papers.paper import StudyRecord
from kit.papers.registry import make_paper
from kit.papers.stability_report import StabilityReportOptions
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from pathlib import Path

DAY = "2026-01-12"
#: As many bits in the long test; 2,000 take a minute and a half.
MANY = int(os.environ.get("SHAKEWELL_BIT_FLIPS", "150"))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A log with 49 readings, full of notes, observers and a photo."""
    place = tmp_path / "shampoo.db"
    with StabilityLog.open(place) as log:
        plan = log.start_study("Shampoo, clear", "home-twelve-weeks", ["A", "B"], DAY).plan
        for batch in "AB":
            for condition in plan.conditions[:3]:
                for point in plan.time_points[:4]:
                    log.record(1, batch, condition.key, point.label, "ph", "5,4", DAY, note="cloudy", observer="KM")
                    log.record(1, batch, condition.key, point.label, "appearance", "1", DAY)
        log.correct(1, "5.5", "digits swapped")
        log.attach_photo(2, picture(), "bottle.jpg", note="left side")
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
