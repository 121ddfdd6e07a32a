"""How long the stability log takes: ``python tests/benchmarks/stability_log.py``. It prints times beside their bars.

One reading saved, against the bare commit of SQLite with the same settings on the same disk, which leaves one whole
file as the log does (and, to compare, with write-ahead logging, which does not); and a log of a million readings in a
hundred studies, asked what is due and for one series. ``--address postgresql://...`` measures the same on a server, in
a schema of its own that is dropped afterwards.
"""

from __future__ import annotations

import argparse
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from sqlalchemy import insert  # noqa: E402

from kit.stability.log import chain, schema  # noqa: E402
from kit.stability.log.store import StabilityLog  # noqa: E402
from kit.stability.plan import Attribute, Condition, Plan, TimePoint  # noqa: E402
from tests.benchmarks.run import Measured, timed  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from sqlalchemy import Connection

    from kit.stability.study import Study

#: One reading saved, as a multiple of the bare commit.
RECORD_BAR = 3.0
#: What is due, and one series, from a million readings. [ms]
LONG_LOG_BAR = 300.0

DAY = date(2026, 1, 12)
BATCHES, CONDITIONS, POINTS, ATTRIBUTES = 25, 4, 10, 10


def long_plan() -> Plan:
    """Four conditions, ten pulls, ten attributes."""
    return Plan(
        key="long",
        title="A long plan",
        conditions=tuple(Condition(f"place {n}", f"Place {n}", 20, 25) for n in range(CONDITIONS)),
        time_points=tuple(TimePoint(f"month {n}", 30 * n, 3) for n in range(POINTS)),
        attributes=tuple(Attribute(f"a{n}", f"Attribute {n}", "number") for n in range(ATTRIBUTES)),
    )


def readings_of(study: Study) -> Iterator[dict[str, object]]:
    """A reading in every place of the study, as a row of the table."""
    for point in study.plan.time_points:
        day = (DAY + timedelta(days=point.days)).isoformat()
        for batch in study.batches:
            for condition in study.plan.conditions:
                for attribute in study.plan.attributes:
                    yield {
                        "study_id": study.id, "batch": batch, "condition": condition.key, "time_point": point.label,
                        "attribute": attribute.key, "value": "5.4", "number": 5.4, "observed_on": day,
                        "recorded_at": f"{day}T12:00:00+00:00",
                    }  # fmt: skip


def long_log(log: StabilityLog, rows: int) -> int:
    """Fill a log with so many readings, in studies of ten thousand; returns how many there are."""
    plan, batches = long_plan(), [f"B{n}" for n in range(BATCHES)]
    each = BATCHES * CONDITIONS * POINTS * ATTRIBUTES
    for number in range(max(1, rows // each)):
        study = log.start_study(f"Study {number}", plan, batches, DAY)
        log._backend.write(partial(filled, study=study))
    for table in ("observations",) if log.path is None else ():
        with log._backend.engine.connect() as connection:
            connection.execution_options(isolation_level="AUTOCOMMIT").exec_driver_sql(f"VACUUM ANALYZE {table}")
    return each * max(1, rows // each)


def filled(connection: Connection, study: Study) -> None:
    """A reading in every place of the study, sealed as if each had been saved."""
    connection.execute(insert(schema.observations), list(readings_of(study)))
    chain.seal_unsealed(connection)


def bare(path: Path, *settings: str) -> sqlite3.Connection:
    """A database that holds nothing but a number and a text."""
    made = sqlite3.connect(path, isolation_level=None)
    for setting in (*settings, "foreign_keys = ON"):
        made.execute(f"PRAGMA {setting}")
    made.execute("CREATE TABLE readings (id INTEGER PRIMARY KEY, value TEXT)")
    return made


def recording(folder: Path, rounds: int) -> list[Measured]:
    """The bare commit and one reading saved, in turn, so that both meet the same disk."""
    batches = [f"B{n}" for n in range(rounds // (CONDITIONS * POINTS * ATTRIBUTES) + 1)]
    times: dict[str, list[float]] = {"one file": [], "ahead": [], "kit": []}
    with (
        closing(bare(folder / "bare.db", "journal_mode = DELETE", "synchronous = EXTRA")) as one_file,
        closing(bare(folder / "ahead.db", "journal_mode = WAL", "synchronous = FULL")) as ahead,
        StabilityLog.open(folder / "recorded.log.db") as log,
    ):
        study = log.start_study("Recorded", long_plan(), batches, DAY)
        places = readings_of(study)

        def reading() -> None:
            place = next(places)
            batch, condition, point, attribute = (str(place[name]) for name in schema.CELL)
            log.record(study.id, batch, condition, point, attribute, "5,4", DAY, observer="Ada")

        def commit(connection: sqlite3.Connection) -> None:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO readings (value) VALUES ('5,4')")
            connection.execute("COMMIT")

        acts = {"one file": lambda: commit(one_file), "ahead": lambda: commit(ahead), "kit": reading}
        for _ in range(rounds):
            for name, act in acts.items():
                begin = time.perf_counter()
                act()
                times[name].append(1000 * (time.perf_counter() - begin))
    middle, high = ({name: sorted(t)[at] for name, t in times.items()} for at in (rounds // 2, int(0.95 * rounds)))
    return [
        Measured("bare commit of SQLite into one file, DELETE, EXTRA", middle["one file"], high["one file"]),
        Measured("one reading saved", middle["kit"], high["kit"]),
        Measured(
            "the one as a multiple of the other (times 1)",
            middle["kit"] / middle["one file"],
            high["kit"] / high["one file"],
            f"below {RECORD_BAR:g}",
        ),
        Measured("bare commit with a second file, WAL, FULL", middle["ahead"], high["ahead"]),
    ]


def looking(log: StabilityLog, rows: int, rounds: int) -> list[Measured]:
    """What is due and one series, from a long log."""
    begin = time.perf_counter()
    count = long_log(log, rows)
    filled = time.perf_counter() - begin
    middle = log.studies()[len(log.studies()) // 2].id
    today = DAY + timedelta(days=200)
    where = "a file" if log.path else "a server"
    bar = f"at most {LONG_LOG_BAR:g} ms"
    print(f"{count:,} readings in {where}, filled in {filled:.0f} s")
    return [
        timed(f"what is due in one of many studies, {where}", lambda _: log.due(middle, today), rounds, bar),
        timed(
            f"one series, {where}",
            lambda _: log.current(middle, condition="place 1", attribute="a3"),
            rounds,
            bar,
        ),
        timed(f"all readings of that study, {where}", lambda _: log.current(middle), rounds),
    ]


def main(arguments: Sequence[str]) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="tests/benchmarks/stability_log.py", description="How long the log takes.")
    parser.add_argument("--rows", type=int, default=1_000_000, help="readings of the long log")
    parser.add_argument("--rounds", type=int, default=20, help="of each look at it; 50 times that many are saved")
    parser.add_argument("--address", help="a server to measure too")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="shakewell-long-log-") as folder:
        rows = recording(Path(folder), 50 * asked.rounds)
        with StabilityLog.open(Path(folder) / "long.log.db") as log:
            rows += looking(log, asked.rows, asked.rounds)
        if asked.address:
            rows += on_a_server(asked.address, asked.rows, asked.rounds)
    print(f"{'what':<58} {'median ms':>9} {'p95 ms':>9}   bar")
    print("\n".join(map(str, rows)))
    return 0


def on_a_server(address: str, count: int, rounds: int) -> list[Measured]:
    """The same on a server, in a schema of its own."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("CREATE SCHEMA long_log")
        try:
            with StabilityLog.open(f"{address}?options=-csearch_path%3Dlong_log") as log:
                return looking(log, count, rounds)
        finally:
            connection.execute("DROP SCHEMA long_log CASCADE")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
