"""The tables of the stability log, what keeps them append-only, and how an older log is brought up to date.

Nothing here but the triggers is particular to SQLite. What later rooms add (pictures, say) becomes a table of its
own that refers to ``observations.id``, and one more step in :data:`MIGRATIONS`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    DDL,
    CheckConstraint,
    Column,
    Connection,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    event,
    text,
)

if TYPE_CHECKING:
    from collections.abc import Callable

#: Says in the file's header that it is a stability log of this kit ("ShkW").
APPLICATION_ID = 0x53686B57
SCHEMA_VERSION = 1

#: Version n -> what turns a log of version n into one of version n + 1.
MIGRATIONS: dict[int, Callable[[Connection], None]] = {}

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
)

first_readings = Index(
    "one_first_reading_in_each_cell",
    observations.c.study_id,
    *(observations.c[name] for name in CELL),
    unique=True,
    sqlite_where=observations.c.replaces.is_(None),
    postgresql_where=observations.c.replaces.is_(None),
)


def _append_only(table: Table) -> None:
    """Refuse UPDATE, DELETE, and the INSERT OR REPLACE that would delete without firing a delete trigger."""
    for action in ("UPDATE", "DELETE"):
        _trigger(table, f"{action.lower()}_refused", action, "", "nothing in it is changed or deleted")
    for number, columns in enumerate(_unique_columns(table)):
        same = " AND ".join(f"{column} = NEW.{column}" for column in columns)
        when = f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {same})"
        _trigger(table, f"replace_{number}_refused", "INSERT", when, "this row is in it already")
    if table is observations:
        same = " AND ".join(f"{column} = NEW.{column}" for column in ("study_id", *CELL))
        rows = f"SELECT 1 FROM observations WHERE replaces IS NULL AND {same}"
        when = f"WHEN NEW.replaces IS NULL AND EXISTS ({rows})"
        _trigger(table, "second_first_reading_refused", "INSERT", when, "this cell has a reading already")


def _trigger(table: Table, name: str, action: str, when: str, words: str) -> None:
    statement = (
        f"CREATE TRIGGER {table.name}_{name} BEFORE {action} ON {table.name} {when} "
        f"BEGIN SELECT RAISE(ABORT, 'The stability log is append-only: {words}.'); END"
    )
    guard = DDL(statement)  # type: ignore[no-untyped-call]
    event.listen(table, "after_create", guard.execute_if(dialect="sqlite"))


def _unique_columns(table: Table) -> list[list[str]]:
    kinds = (PrimaryKeyConstraint, UniqueConstraint)
    found = [list(one.columns.keys()) for one in table.constraints if isinstance(one, kinds)]
    return sorted(columns for columns in found if "id" not in columns or columns == ["id"])


for _table in metadata.tables.values():
    _append_only(_table)


def create(connection: Connection, now: str) -> None:
    """Make the tables of a new log."""
    metadata.create_all(connection)
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    _record_version(connection, SCHEMA_VERSION, now)


def version_of(connection: Connection) -> int:
    """The schema version that the log says it has."""
    found: Any = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    return int(found)


def migrate(connection: Connection, now: str) -> None:
    """Bring an older log to :data:`SCHEMA_VERSION`, step by step, within the caller's transaction."""
    for version in range(version_of(connection), SCHEMA_VERSION):
        MIGRATIONS[version](connection)
        _record_version(connection, version + 1, now)


def _record_version(connection: Connection, version: int, now: str) -> None:
    statement = text("INSERT INTO schema_versions (version, applied_at) VALUES (:version, :now)")
    connection.execute(statement, {"version": version, "now": now})
    connection.exec_driver_sql(f"PRAGMA user_version = {version}")
