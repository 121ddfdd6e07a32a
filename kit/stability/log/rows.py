"""Rows of the log as studies, observations and photos, and back."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import Float, Integer, Row, Text, bindparam, exists, insert, select

from kit.errors import EntryError, StoreError
from kit.stability.log import chain, schema
from kit.stability.photos.files import Photo
from kit.stability.plan import plan_from_dict
from kit.stability.study import WITHDRAWN, Cell, Observation, Study

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from sqlalchemy import Connection, Table


_OBSERVATIONS = schema.observations
#: The reason of a reading that comes where another was withdrawn.
READ_ANEW = "recorded anew after the reading before was withdrawn"
_RECORDED = [column.name for column in _OBSERVATIONS.columns if column.name != "id"]
_RECORD = insert(_OBSERVATIONS).values({name: bindparam(name) for name in _RECORDED}).returning(*_OBSERVATIONS.c)
_TYPES: dict[type, tuple[type, ...]] = {Integer: (int,), Text: (str,), Float: (float, int)}
_AS_SAVED: set[tuple[type, ...]] = set()  # the types of a whole row that were found right before


def add_study(connection: Connection, begun: Study) -> Study:
    """Write a study with the names it may use; returns it with its number."""
    row = {
        "title": begun.title,
        "plan": json.dumps(asdict(begun.plan), ensure_ascii=False),
        "started_on": begun.started_on.isoformat(),
        "formula_title": begun.formula_title,
        "created_at": begun.created_at,
    }
    kept = connection.execute(insert(schema.studies).values(row).returning(*schema.studies.c)).one()
    number = kept.id
    names = {
        "batch": begun.batches,
        "condition": [condition.key for condition in begun.plan.conditions],
        "time_point": [point.label for point in begun.plan.time_points],
        "attribute": [attribute.key for attribute in begun.plan.attributes],
    }
    for column, table in schema.study_names.items():
        rows = [{"study_id": number, column: name, "position": position} for position, name in enumerate(names[column])]
        connection.execute(insert(table), rows)
    chain.seal(connection, "study", kept)
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
    values = {name: getattr(row, name) for name in _RECORDED}
    values["observed_on"] = row.observed_on.isoformat()
    kept = connection.execute(_RECORD, values).one()
    chain.seal(connection, "reading", kept)
    return replace(row, id=kept.id)


def add_chains(connection: Connection, study: Study, found: Sequence[Observation], now: str, user: str) -> int:
    """Write the readings of a file, whose numbers are the file's own; returns how many there are."""
    ids: dict[int, int] = {}
    refuse_taken(connection, study, [(row.cell, row.replicate) for row in found if row.replaces is None])
    for row in found:
        replaces = None if row.replaces is None else ids[row.replaces]
        kept = replace(row, replaces=replaces, recorded_at=row.recorded_at or now, recorded_by=user)
        if replaces is None:
            kept = after_withdrawal(connection, kept)
        ids[row.id] = add_observation(connection, kept).id
    return len(found)


def study_observations(connection: Connection, study_id: int) -> list[Observation]:
    """Every reading of the study in the order of saving."""
    return list(each_observation(connection, study_id))


def each_observation(connection: Connection, study_id: int) -> Iterator[Observation]:
    """The same one by one, for a log that may be too long to hold."""
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.study_id == study_id).order_by(_OBSERVATIONS.c.id)
    with connection.execute(query, execution_options={"yield_per": 5000}) as found:
        for row in found:
            yield _observation(row)


def current_observations(
    connection: Connection, study_id: int, condition: str | None = None, attribute: str | None = None
) -> list[Observation]:
    """The readings that count, of one condition or attribute alone if they are given."""
    later = _OBSERVATIONS.alias("later")
    query = select(_OBSERVATIONS).where(
        _OBSERVATIONS.c.study_id == study_id,
        _OBSERVATIONS.c.value != WITHDRAWN,
        ~exists().where(later.c.replaces == _OBSERVATIONS.c.id),
    )
    if condition is not None:
        query = query.where(_OBSERVATIONS.c.condition == condition)
    if attribute is not None:
        query = query.where(_OBSERVATIONS.c.attribute == attribute)
    return [_observation(row) for row in connection.execute(query.order_by(_OBSERVATIONS.c.id))]


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


def after_withdrawal(connection: Connection, row: Observation) -> Observation:
    """A first reading; where the one of its place was withdrawn, it takes the place of that."""
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.study_id == row.study_id, _OBSERVATIONS.c.replaces.is_(None))
    query = query.where(*(_OBSERVATIONS.c[name] == text for name, text in asdict(row.cell).items()))
    first = connection.execute(query.where(_OBSERVATIONS.c.replicate == row.replicate)).one_or_none()
    newest = None if first is None else successor(connection, first.id)
    if newest is None or not newest.is_withdrawn:
        return row
    return replace(row, replaces=newest.id, reason=READ_ANEW)


def refuse_taken(connection: Connection, study: Study, places: Iterable[tuple[Cell, int]]) -> None:
    """Refuse a first reading in a place (cell and replicate) that has one: it would have to be a correction."""
    for sentence in taken(connection, study, places).values():
        raise EntryError(sentence)


def taken(connection: Connection, study: Study, places: Iterable[tuple[Cell, int]]) -> dict[tuple[Cell, int], str]:
    """Which of the places have a reading already, each with the sentence that says so."""
    wanted = set(places)
    query = select(_OBSERVATIONS).where(_OBSERVATIONS.c.study_id == study.id, _OBSERVATIONS.c.replaces.is_(None))
    if len(wanted) == 1:
        ((cell, replicate),) = wanted
        query = query.where(*(_OBSERVATIONS.c[name] == text for name, text in asdict(cell).items()))
        query = query.where(_OBSERVATIONS.c.replicate == replicate)
    found = {}
    for row in connection.execute(query):
        first = _observation(row)
        if (first.cell, first.replicate) in wanted:
            newest = successor(connection, first.id) or first
            if newest.is_withdrawn:
                continue
            by = newest.observer or newest.recorded_by
            again = f", replicate {first.replicate}" if first.replicate > 1 else ""
            found[first.cell, first.replicate] = (
                f"{study.words(first.cell)}{again}, is in the log already: reading {newest.id}, {newest.value!r} of "
                f"{newest.observed_on}{f', by {by}' if by else ''}. To change it, correct reading {newest.id}; "
                "nothing is overwritten."
            )
    return found


@contextmanager
def as_saved(what: str) -> Iterator[None]:
    """Turn what goes wrong with a row that is not as this kit writes it into a sentence."""
    try:
        yield
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        msg = f"{what} cannot be read: the log is damaged there. Look it over with python3 -m kit verify."
        raise StoreError(msg) from error


def check_types(table: Table, row: Row[Any]) -> None:
    """Refuse a row of which a value has another type than its column, as only damage brings about.

    Raises
    ------
    TypeError
        One has.
    """
    for column, value in zip(table.columns, row, strict=True):
        if not (isinstance(value, _TYPES[type(column.type)]) or (value is None and column.nullable)):
            raise TypeError(column.name)


def _study(connection: Connection, row: Row[Any]) -> Study:
    batches = schema.study_names["batch"]
    query = select(batches.c.batch).where(batches.c.study_id == row.id).order_by(batches.c.position)
    with as_saved(f"Study {row.id}"):
        check_types(schema.studies, row)
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
    with as_saved(f"Reading {row.id}"):
        if tuple(map(type, row)) not in _AS_SAVED:
            check_types(_OBSERVATIONS, row)
            _AS_SAVED.add(tuple(map(type, row)))
        return Observation(**{**row._mapping, "observed_on": date.fromisoformat(row.observed_on)})


def add_photo(connection: Connection, photo: Photo) -> Photo:
    """Write a photo; returns it with its number."""
    values = {**asdict(photo), "patch": _numbers(photo.patch), "colour": _numbers(photo.colour)}
    del values["id"]
    kept = connection.execute(insert(schema.photos).values(values).returning(*schema.photos.c)).one()
    chain.seal(connection, "photo", kept)
    return replace(photo, id=kept.id)


def study_photos(connection: Connection, study_id: int) -> list[Photo]:
    """Every photo of the study's readings in the order of attaching."""
    photos = schema.photos
    query = (
        select(photos)
        .join(schema.observations, schema.observations.c.id == photos.c.observation_id)
        .where(schema.observations.c.study_id == study_id)
        .order_by(photos.c.id)
    )
    return [_photo(row) for row in connection.execute(query)]


def all_photos(connection: Connection) -> list[Photo]:
    """Every photo of the log."""
    return [_photo(row) for row in connection.execute(select(schema.photos).order_by(schema.photos.c.id))]


def _photo(row: Row[Any]) -> Photo:
    with as_saved(f"Photo {row.id}"):
        check_types(schema.photos, row)
        patch = tuple(int(one) for one in row.patch.split())
        colour = tuple(float(one) for one in row.colour.split())
        return Photo(**{**row._mapping, "patch": patch or None, "colour": colour or None})


def _numbers(numbers: Iterable[float] | None) -> str:
    return "" if numbers is None else " ".join(repr(one) for one in numbers)
