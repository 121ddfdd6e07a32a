"""A plan, a study and a log that most tests of this room start from, in a file and on a real server."""

from __future__ import annotations

import os
import shutil
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import psycopg
import pytest

from kit.stability.log.store import StabilityLog
from kit.stability.plan import Plan, plans
from tests.postgres_server import Server, programs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from kit.stability.study import Study

START = date(2026, 1, 12)
NOON = datetime(2026, 1, 12, 12, 0, tzinfo=UTC)
BACKENDS = ["sqlite", "postgresql"]


@pytest.fixture(scope="session")
def new_server() -> Iterator[Callable[[], Server]]:
    """Make and start PostgreSQL servers; all are stopped and thrown away at the end."""
    made: list[Server] = []

    def make() -> Server:
        if programs() is None:
            if os.environ.get("SHAKEWELL_POSTGRES_REQUIRED"):
                pytest.fail("PostgreSQL is required here and is not installed (Debian: apt-get install postgresql).")
            pytest.skip("PostgreSQL is not installed (Debian: apt-get install postgresql).")
        server = Server(Path(tempfile.mkdtemp(prefix="shakewell-postgres-")))
        made.append(server)
        server.make()
        server.start()
        return server

    yield make
    for server in made:
        server.stop()
        shutil.rmtree(server.folder)


@pytest.fixture(scope="session")
def server_address(new_server: Callable[[], Server]) -> str:
    """The address of the server that all tests share: the one .ci/run started, or one of our own."""
    return os.environ.get("SHAKEWELL_TEST_POSTGRES") or new_server().address


@pytest.fixture
def shared_address(server_address: str) -> Iterator[str]:
    """The address of an empty schema on the server, as good as a database of its own and quicker made."""
    name = f"log_{uuid4().hex[:12]}"
    with psycopg.connect(server_address, autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {name}")
        yield f"{server_address}?options=-csearch_path%3D{name}"
        connection.execute("SET client_min_messages = warning")
        connection.execute(f"DROP SCHEMA {name} CASCADE")


@pytest.fixture(params=BACKENDS)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a new log may be made: a path, and the address of a server."""
    if request.param == "sqlite":
        return str(tmp_path / "shake.log.db")
    address: str = request.getfixturevalue("shared_address")
    return address


@pytest.fixture
def plan() -> Plan:
    return plans()["home-twelve-weeks"]


@pytest.fixture
def log(place: str, tmp_path: Path) -> Iterator[StabilityLog]:
    """An empty log, once in a file and once on a server."""
    photos = tmp_path / "shake.log.db-photos"
    with StabilityLog.open(place, clock=lambda: NOON, wait=0.2, photos=photos) as opened:
        yield opened


@pytest.fixture
def study(log: StabilityLog, plan: Plan) -> Study:
    return log.start_study("Body shake, autumn", plan, ["A", "B"], START, "After-swim body shake")


@pytest.fixture
def file_log(tmp_path: Path) -> Iterator[StabilityLog]:
    """An empty log in a file."""
    with StabilityLog.open(tmp_path / "shake.log.db", clock=lambda: NOON, wait=0.2) as opened:
        yield opened


@pytest.fixture
def file_study(file_log: StabilityLog, plan: Plan) -> Study:
    return file_log.start_study("Body shake, autumn", plan, ["A", "B"], START, "After-swim body shake")
