"""Rows of the log as photos, and back."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from sqlalchemy import Row, insert, select

from kit.stability import chain, schema
from kit.stability.photo_files import Photo
from kit.stability.rows import as_saved, check_types

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection


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
