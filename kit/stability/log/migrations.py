"""How a log is made, says its version, and is brought up to date, each within one transaction of the caller's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, insert, inspect, select
from sqlalchemy.schema import CreateIndex

from kit.errors import StoreError
from kit.stability.log import chain, schema

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

#: The first layout with a chain.
CHAINED = 3


def create(connection: Connection, now: str) -> None:
    """Make the tables of a new log."""
    schema.metadata.create_all(connection)
    schema.add_triggers(connection)
    if schema.in_sqlite(connection):
        connection.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    chain.begin(connection)
    _record_version(connection, schema.SCHEMA_VERSION, now)


def version_of(connection: Connection) -> int:
    """The version that the log says it has; 0 where there is none yet.

    In SQLite it stands in the header too, so that a file can be refused before its tables are looked at.
    """
    if schema.in_sqlite(connection):
        return int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
    if not inspect(connection).has_table("schema_versions"):
        return 0
    found = connection.execute(select(func.max(schema.schema_versions.c.version))).scalar_one()
    return int(found or 0)


def refuse_newer(name: str, version: int) -> None:
    """Refuse the log of that name where a newer kit wrote it."""
    if version > schema.SCHEMA_VERSION:
        msg = (
            f"{name} was written by a newer kit (layout {version}; this one knows up to {schema.SCHEMA_VERSION}). "
            "It was left as it is; install the newer kit to use it."
        )
        raise StoreError(msg)


def is_lowered(connection: Connection, version: int) -> bool:
    """Whether the log has a chain, which no log of this version has: then the version was changed behind its back."""
    return version < CHAINED and inspect(connection).has_table(schema.chain.name)


def migrate(connection: Connection, now: str) -> None:
    """Bring an older log to :data:`kit.stability.log.schema.SCHEMA_VERSION`, step by step.

    Raises
    ------
    StoreError
        The log is newer than it says.
    """
    if is_lowered(connection, version := version_of(connection)):
        msg = (
            f"The log says that it is of layout {version}, but it has a chain, which came later: that was changed. "
            "Nothing was written to it. Go back to your latest copy of it."
        )
        raise StoreError(msg)
    for version in range(version_of(connection), schema.SCHEMA_VERSION):
        MIGRATIONS[version](connection)
        _record_version(connection, version + 1, now)


def _record_version(connection: Connection, version: int, now: str) -> None:
    connection.execute(insert(schema.schema_versions).values(version=version, applied_at=now))
    if version >= CHAINED:
        chain.seal(connection, "layout", (version, now))
    if schema.in_sqlite(connection):
        connection.exec_driver_sql(f"PRAGMA user_version = {version}")


def _photos_and_replicates(connection: Connection) -> None:
    """Layout 2: photos; who recorded; a second measurement of the same thing; quick ways into a large log.

    Only SQLite ever held layout 1.
    """
    counts = "CONSTRAINT replicate_counts_from_1 CHECK (replicate BETWEEN 1 AND 99)"
    for statement in (
        f"ALTER TABLE observations ADD COLUMN replicate INTEGER DEFAULT '1' NOT NULL {counts}",
        "ALTER TABLE observations ADD COLUMN recorded_by TEXT DEFAULT '' NOT NULL",
        "DROP INDEX one_first_reading_in_each_cell",
        "DROP TRIGGER observations_second_first_reading_refused",
    ):
        connection.exec_driver_sql(statement)
    for index in (schema.first_readings, *schema.ways_in):
        connection.execute(CreateIndex(index))
    schema.photos.create(connection)
    schema.add_triggers(connection)


#: Whoever may read or add readings on a server may do the same with their links.
_GRANTS = """
    SELECT 'GRANT ' || privilege_type || ' ON chain TO ' ||
           CASE grantee WHEN 'PUBLIC' THEN 'PUBLIC' ELSE quote_ident(grantee) END
    FROM information_schema.role_table_grants
    WHERE table_schema = current_schema() AND table_name = 'observations' AND privilege_type IN ('SELECT', 'INSERT')
          AND grantee <> current_user
"""


def _chain(connection: Connection) -> None:
    """Layout 3: a chain of hashes over all rows. What is there already is sealed as it is found."""
    schema.chain.create(connection)
    schema.add_triggers(connection)
    if not schema.in_sqlite(connection):
        for (grant,) in connection.exec_driver_sql(_GRANTS).fetchall():
            connection.exec_driver_sql(grant)
    chain.begin(connection)
    chain.seal_unsealed(connection)


#: Version n -> what turns a log of version n into one of version n + 1.
MIGRATIONS: dict[int, Callable[[Connection], None]] = {1: _photos_and_replicates, 2: _chain}
