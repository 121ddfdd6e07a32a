"""Rows of the log as studies and observations, and back."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import Row, insert, select

from kit.errors import EntryError
from kit.stability import schema
from kit.stability.plan import plan_as_dict, plan_from_dict
from kit.stability.study import Cell, Observation, Study

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

_OBSERVATIONS = schema.observations


def add_study(connection: Connection, begun: Study) -> Study:
    """Write a study with the names it may use; returns it with its number."""
    row = {
        "title": begun.title,
        "plan": json.dumps(plan_as_dict(begun.plan), ensure_ascii=False),
        "started_on": begun.started_on.isoformat(),
        "formula_title": begun.formula_title,
        "created_at": begun.created_at,
    }
    number = _number_of(connection, insert(schema.studies).values(row))
    names = {
        "batch": begun.batches,
        "condition": [condition.key for condition in begun.plan.conditions],
        "time_point": [point.label for point in begun.plan.time_points],
        "attribute": [attribute.key for attribute in begun.plan.attributes],
    }
    for column, table in schema.study_names.items():
        rows = [{"study_id": number, column: name, "position": position} for position, name in enumerate(names[column])]
        connection.execute(insert(table), rows)
    return replace(begun, id=number)


def all_studies(connection: Connection) -> list[Study]:
    """Every study, oldest first."""
    rows = connection.execute(select(schema.studies).order_by(schema.studies.c.id)).all()
    return [_study(connection, row) for row in rows]


def one_study(connection: Connection, study_id: int) -> Study | None:
    """The study of that number."""
    query = select(schema.studies).where(schema.studies.c.id == study_id)
    row = connection.execute(query).one_or_none()
    return None if row is None else _study(connection, row)


def add_observation(connection: Connection, row: Observation) -> Observation:
    """Write a reading; returns it with its number."""
    values = {**asdict(row), "observed_on": row.observed_on.isoformat()}
    del values["id"]
    return replace(row, id=_number_of(connection, insert(_OBSERVATIONS).values(values)))


def study_observations(connection: Connection, study_id: int) -> list[Observation]:
    """Every reading of the study in the order of saving."""
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.study_id == study_id).order_by(_OBSERVATIONS.c.id)
    return [_observation(row) for row in connection.execute(query)]


def one_observation(connection: Connection, observation_id: int) -> Observation | None:
    """The reading of that number."""
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.id == observation_id)
    row = connection.execute(query).one_or_none()
    return None if row is None else _observation(row)


def successor(connection: Connection, observation_id: int) -> Observation | None:
    """The newest reading of the chain that replaces this one, if any does."""
    newest = None
    while True:
        query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.replaces == observation_id)
        row = connection.execute(query).one_or_none()
        if row is None:
            return newest
        newest = _observation(row)
        observation_id = newest.id


def refuse_taken(connection: Connection, study: Study, cells: Iterable[Cell]) -> None:
    """Refuse a first reading where there is one already: it would have to be a correction."""
    wanted = set(cells)
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.study_id == study.id, _OBSERVATIONS.c.replaces.is_(None))
    if len(wanted) == 1:
        (cell,) = wanted
        query = query.where(*(_OBSERVATIONS.c[name] == text for name, text in asdict(cell).items()))
    for row in connection.execute(query):
        first = _observation(row)
        if first.cell in wanted:
            newest = successor(connection, first.id) or first
            msg = (
                f"{study.words(first.cell)}, is in the log already: reading {newest.id}, {newest.value!r} of "
                f"{newest.observed_on}. To change it, correct reading {newest.id}; nothing is overwritten."
            )
            raise EntryError(msg)


def _number_of(connection: Connection, statement: Any) -> int:
    key: Any = connection.execute(statement).inserted_primary_key
    return int(key[0])


def _study(connection: Connection, row: Row[Any]) -> Study:
    batches = schema.study_names["batch"]
    query = select(batches.c.batch).where(batches.c.study_id == row.id).order_by(batches.c.position)
    return Study(
        id=row.id,
        title=row.title,
        plan=plan_from_dict(json.loads(row.plan)),
        batches=tuple(connection.execute(query).scalars()),
        started_on=date.fromisoformat(row.started_on),
        formula_title=row.formula_title,
        created_at=row.created_at,
    )


def _observation(row: Row[Any]) -> Observation:
    values = dict(row._mapping)
    return Observation(**{**values, "observed_on": date.fromisoformat(row.observed_on)})
