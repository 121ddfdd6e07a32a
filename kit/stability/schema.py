"""The tables of the stability log, the same in SQLite and in PostgreSQL.

What keeps them append-only is in ``guards``, how an older log is brought up to date in ``migrations``. What later
rooms add becomes a table of its own that refers to ``observations.id``, and one more step there.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

#: Says in the file's header that it is a stability log of this kit ("ShkW").
APPLICATION_ID = 0x53686B57
SCHEMA_VERSION = 3

CELL = ("batch", "condition", "time_point", "attribute")

metadata = MetaData()


def _filled(column: str) -> CheckConstraint:
    return CheckConstraint(f"length(trim({column})) > 0", name=f"{column}_is_not_empty")


def _names(table: str, column: str) -> Table:
    """A table of the names that one study may use, in their order."""
    return Table(
        table,
        metadata,
        Column("study_id", ForeignKey("studies.id"), primary_key=True),
        Column(column, Text, primary_key=True),
        Column("position", Integer, nullable=False),
        UniqueConstraint("study_id", "position"),
        _filled(column),
    )


schema_versions = Table(
    "schema_versions",
    metadata,
    Column("version", Integer, primary_key=True),
    Column("applied_at", Text, nullable=False),
)

studies = Table(
    "studies",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("title", Text, nullable=False),
    Column("plan", Text, nullable=False),
    Column("started_on", Text, nullable=False),
    Column("formula_title", Text, nullable=False, server_default=""),
    Column("created_at", Text, nullable=False),
    _filled("title"),
    _filled("plan"),
    CheckConstraint("length(started_on) = 10", name="started_on_is_a_date"),
)

study_names = {
    "batch": _names("study_batches", "batch"),
    "condition": _names("study_conditions", "condition"),
    "time_point": _names("study_time_points", "time_point"),
    "attribute": _names("study_attributes", "attribute"),
}

observations = Table(
    "observations",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("study_id", ForeignKey("studies.id"), nullable=False),
    *(Column(name, Text, nullable=False) for name in CELL),
    Column("value", Text, nullable=False),
    Column("number", Float),
    Column("observed_on", Text, nullable=False),
    Column("observer", Text, nullable=False, server_default=""),
    Column("note", Text, nullable=False, server_default=""),
    Column("replaces", Integer, unique=True),
    Column("reason", Text, nullable=False, server_default=""),
    Column("recorded_at", Text, nullable=False),
    Column("replicate", Integer, nullable=False, server_default="1"),
    Column("recorded_by", Text, nullable=False, server_default=""),
    *(
        ForeignKeyConstraint(["study_id", name], [f"{names.name}.study_id", f"{names.name}.{name}"])
        for name, names in study_names.items()
    ),
    UniqueConstraint("id", "study_id", *CELL),
    # A correction stays in its cell: the reading it replaces has the same study, batch, condition and so on.
    ForeignKeyConstraint(
        ["replaces", "study_id", *CELL],
        ["observations.id", "observations.study_id", *(f"observations.{name}" for name in CELL)],
    ),
    _filled("value"),
    CheckConstraint("number IS NULL OR abs(number) < 1e300", name="number_is_finite"),
    CheckConstraint("length(observed_on) = 10", name="observed_on_is_a_date"),
    CheckConstraint("length(recorded_at) >= 19", name="recorded_at_is_a_moment"),
    CheckConstraint("(replaces IS NULL) = (length(trim(reason)) = 0)", name="a_correction_has_a_reason"),
    CheckConstraint("replaces IS NULL OR replaces < id", name="a_correction_comes_later"),
    CheckConstraint("replicate BETWEEN 1 AND 99", name="replicate_counts_from_1"),
)

first_readings = Index(
    "one_first_reading_in_each_cell",
    observations.c.study_id,
    *(observations.c[name] for name in CELL),
    observations.c.replicate,
    unique=True,
    sqlite_where=observations.c.replaces.is_(None),
    postgresql_where=observations.c.replaces.is_(None),
)

#: Two ways into a large log that need not read the rest of a study: what has been read of each pull, and one series.
ways_in = (
    Index(
        "readings_of_a_pull",
        observations.c.study_id,
        *(observations.c[name] for name in CELL),
        observations.c.observed_on,
    ),
    Index("readings_of_a_series", *(observations.c[name] for name in ("study_id", "attribute", "condition"))),
)

photos = Table(
    "photos",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("observation_id", ForeignKey("observations.id"), nullable=False, index=True),
    Column("sha256", Text, nullable=False),
    Column("file_name", Text, nullable=False),
    Column("media_type", Text, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    # Four whole numbers and three numbers with a blank between them, or nothing.
    Column("patch", Text, nullable=False, server_default=""),
    Column("colour", Text, nullable=False, server_default=""),
    Column("attached_at", Text, nullable=False),
    Column("attached_by", Text, nullable=False, server_default=""),
    Column("note", Text, nullable=False, server_default=""),
    CheckConstraint("length(sha256) = 64", name="sha256_has_64_digits"),
    CheckConstraint("length(trim(sha256, '0123456789abcdef')) = 0", name="sha256_is_hexadecimal"),
    CheckConstraint("media_type IN ('image/jpeg', 'image/png')", name="media_type_is_a_picture"),
    CheckConstraint("bytes > 0", name="a_photo_is_not_empty"),
    CheckConstraint("width > 0 AND height > 0", name="a_photo_has_a_size"),
    CheckConstraint("length(attached_at) >= 19", name="attached_at_is_a_moment"),
    _filled("file_name"),
)

#: One link for each row that was saved, in order; what its hash is over stands in :mod:`kit.stability.chain`.
chain = Table(
    "chain",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("row_id", Integer, nullable=False),
    Column("hash", Text, nullable=False),
    CheckConstraint("seq >= 0", name="links_count_from_0"),
    CheckConstraint("length(hash) = 64", name="hash_has_64_digits"),
)
