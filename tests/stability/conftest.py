"""A plan, a study and a log that most tests of this room start from."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import pytest

from kit.stability.plan import Plan, plans
from kit.stability.store import StabilityLog

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from kit.stability.study import Study

START = date(2026, 1, 12)
NOON = datetime(2026, 1, 12, 12, 0, tzinfo=UTC)


@pytest.fixture
def plan() -> Plan:
    return plans()["home-twelve-weeks"]


@pytest.fixture
def log(tmp_path: Path) -> Iterator[StabilityLog]:
    with StabilityLog.open(tmp_path / "shake.log.db", clock=lambda: NOON, wait=0.2) as opened:
        yield opened


@pytest.fixture
def study(log: StabilityLog, plan: Plan) -> Study:
    return log.start_study("Body shake, autumn", plan, ["A", "B"], START, "After-swim body shake")
