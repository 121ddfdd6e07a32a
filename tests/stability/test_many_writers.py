"""Nothing that was said to be saved is lost: not when the writer is killed, not when many write, not without power."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kit.stability.log.store import StabilityLog
from tests.stability.writers import cells

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.postgres_server import Server

ROOT = Path(__file__).resolve().parents[2]
WRITERS = Path(__file__).with_name("writers.py")
#: How often a writer is killed; 200 take a minute.
KILLS = int(os.environ.get("SHAKEWELL_KILLS", "40"))
#: How many readings each of the eight writes.
EACH = 200
BATCHES = [f"B{number}" for number in range(60)]


def writers(*arguments: object) -> dict[str, Any]:
    """What the writers' script found out."""
    done = subprocess.run(
        [sys.executable, WRITERS, *map(str, arguments)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def begun(place: str) -> str:
    with StabilityLog.open(place) as log:
        log.start_study("Class", "home-twelve-weeks", BATCHES, "2026-01-12")
    return place


@pytest.mark.slow
@pytest.mark.parametrize(("place", "kills"), [("sqlite", KILLS), ("postgresql", KILLS // 2)], indirect=["place"])
def test_nothing_said_to_be_saved_is_lost_when_the_writer_is_killed(place: str, kills: int) -> None:
    found = writers("kill", begun(place), kills)
    assert found["lost"] == []
    assert found["findings"] == []
    assert found["said"] > kills, "the writers were at work when they were killed"
    assert found["unsaid"] <= kills, "of each writer at most the one reading in hand was saved and not yet said"


def bare_commit(folder: Path) -> float:
    """How long a commit into one file takes on this disk just now. [s]"""
    with closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("CREATE TABLE readings (value TEXT)")
        begin = time.monotonic()
        for _ in range(100):
            connection.execute("INSERT INTO readings VALUES ('5,4')")
    return (time.monotonic() - begin) / 100


@pytest.mark.slow
def test_eight_who_write_at_once_all_find_their_readings_there(place: str, tmp_path: Path) -> None:
    found = writers("many", begun(place), 8, EACH)
    pace = bare_commit(tmp_path)
    assert found["codes"] == [0] * 8
    with StabilityLog.open(place) as log:
        rows = log.observations(1)
        assert log.verify().findings == []
    assert sorted(found["said"]) == sorted(row.id for row in rows)
    assert len(rows) == 8 * EACH
    assert max(Counter(row.cell for row in rows).values()) == 1
    assert found["seconds"] < max(60, 3 * 8 * EACH * pace)


@pytest.mark.parametrize("shared", [True, False], ids=["one open log", "a log each"])
def test_threads_lose_nothing_while_others_read_and_look_it_through(place: str, shared: bool) -> None:
    with StabilityLog.open(begun(place), wait=60) as log:
        places = list(cells(log.study(1)))
        said: list[int] = []

        def record(number: int) -> None:
            own = log if shared else StabilityLog.open(place, wait=60)
            for cell in places[15 * number : 15 * number + 15]:
                said.append(own.record(1, *cell, "5", "2026-01-12").id)
                own.current(1, condition="fridge", attribute="ph")
            assert own.verify().findings == []

        with ThreadPoolExecutor(4) as hands:
            assert list(hands.map(record, range(4))) == [None] * 4
        assert sorted(said) == [row.id for row in log.observations(1)]
        assert len(said) == 60
        assert log.verify().findings == []


@pytest.mark.slow
def test_nothing_said_to_be_saved_is_lost_when_the_server_loses_power(new_server: Callable[[], Server]) -> None:
    server = new_server()
    with StabilityLog.open(server.address) as log:
        log.start_study("Class", "home-twelve-weeks", BATCHES, "2026-01-12")
    said: list[int] = []
    for round_ in range(3):
        with subprocess.Popen(
            [sys.executable, WRITERS, "one", server.address, str(2000 * round_)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as writer:
            assert writer.stdout is not None
            said.append(int(writer.stdout.readline()))
            time.sleep(0.15 * (round_ + 1))
            server.stop("immediate")
            rest, words = writer.communicate(timeout=30)
        said += [int(line) for line in rest.splitlines()]
        assert "cannot be reached: the server is away" in words
        server.start()
        with StabilityLog.open(server.address) as log:
            assert set(said) <= {row.id for row in log.observations(1)}
            assert log.verify().findings == []
    assert len(said) > 50
