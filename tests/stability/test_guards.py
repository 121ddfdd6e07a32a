"""The database itself keeps the log append-only and refuses a wrong row, whoever writes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from sqlalchemy import func, insert, select
from sqlalchemy.exc import IntegrityError

from kit.stability.log import schema
from tests.stability.pictures import picture

if TYPE_CHECKING:
    from kit.stability.log.store import StabilityLog
    from kit.stability.study import Study

DAY = "2026-01-12"
TABLES = list(schema.metadata.tables)
PNG = picture("PNG")


def _fill_every_table(log: StabilityLog, study: Study) -> None:
    log.record(study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    log.correct(1, "5.4", "typed wrong")
    log.attach_photo(1, PNG, "bottle.png")


@pytest.mark.parametrize("table", TABLES)
def test_no_table_can_be_changed_with_plain_sql(log: StabilityLog, study: Study, table: str) -> None:
    _fill_every_table(log, study)
    engine = log._backend.engine
    with engine.begin() as connection:
        before = connection.exec_driver_sql(f"SELECT * FROM {table}").fetchall()
    columns = list(schema.metadata.tables[table].columns.keys())
    key = ", ".join(schema.metadata.tables[table].primary_key.columns.keys())
    attempts = [f"UPDATE {table} SET {column} = {column}" for column in columns]
    attempts += [f"DELETE FROM {table}", f"DELETE FROM {table} WHERE 1 = 0 OR {columns[0]} IS NOT NULL"]
    if log.path:
        attempts.append(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    else:
        again = f"ON CONFLICT ({key}) DO UPDATE SET {columns[0]} = EXCLUDED.{columns[0]}"
        attempts += [f"TRUNCATE {table} CASCADE", f"INSERT INTO {table} SELECT * FROM {table} {again}"]
    for attempt in attempts:
        with pytest.raises(IntegrityError, match="append-only"), engine.begin() as connection:
            connection.exec_driver_sql(attempt)
    with engine.begin() as connection:
        assert connection.exec_driver_sql(f"SELECT * FROM {table}").fetchall() == before != []


VERBS = [("sqlite", ""), ("sqlite", "OR REPLACE"), ("postgresql", "")]

REFUSED = {
    "another first reading in the cell": {"id": 9},
    "another correction of the same reading": {"id": 9, "replaces": 1, "reason": "why"},
    "a correction without a reason": {"id": 9, "replaces": 2, "reason": " "},
    "a reason without a correction": {"id": 9, "condition": "window", "reason": "why"},
    "a correction in another cell": {"id": 9, "replaces": 2, "reason": "why", "condition": "window"},
    "a correction of itself": {"id": 9, "replaces": 9, "reason": "why"},
    "an unknown batch": {"id": 9, "batch": "C"},
    "an unknown condition": {"id": 9, "condition": "attic"},
    "an unknown attribute": {"id": 9, "attribute": "smell"},
    "an empty value": {"id": 9, "condition": "window", "value": " "},
    "a correction with another replicate": {"id": 9, "replaces": 2, "reason": "why", "replicate": 2},
    "a replicate that is none": {"id": 9, "condition": "window", "replicate": 0},
    "an endless number": {"id": 9, "condition": "window", "number": float("inf")},
    "a day that is none": {"id": 9, "condition": "window", "observed_on": "today"},
}


@pytest.mark.parametrize("row", REFUSED.values(), ids=REFUSED)
@pytest.mark.parametrize(("place", "verb"), VERBS, indirect=["place"])
def test_the_schema_itself_refuses_a_wrong_row(
    log: StabilityLog, study: Study, row: dict[str, object], verb: str
) -> None:
    _fill_every_table(log, study)
    engine, table = log._backend.engine, schema.observations
    with engine.begin() as connection:
        good = connection.execute(select(table).where(table.c.id == 1)).one()._asdict()
    statement = insert(table)
    if verb:
        statement = statement.prefix_with(verb)
    with pytest.raises(IntegrityError), engine.begin() as connection:
        connection.execute(statement, good | row)
    with engine.begin() as connection:
        connection.execute(statement, good | {"id": 9, "condition": "window"})
        assert connection.execute(select(func.count()).select_from(table)).scalar() == 3
