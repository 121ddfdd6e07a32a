"""The tables of the stability log, the same in SQLite and in PostgreSQL, and the triggers that keep them append-only.

The triggers hold against a slip and against another program, and not against the owner of the database, who may drop
them; :func:`missing_triggers` and :func:`strange_triggers` notice that. How an older log is brought up to date stands
in ``migrations``. What is added later becomes a table of its own that refers to ``observations.id``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import (
    CheckConstraint,
    Column,
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
    inspect,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

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

#: One link for each row that was saved, in order; what its hash is over stands in :mod:`kit.stability.log.chain`.
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


_WORDS = "The stability log is append-only"
#: A correction stays with the replicate it corrects; that it stays in its cell is a foreign key.
_SAME_REPLICATE = "EXISTS (SELECT 1 FROM observations WHERE id = NEW.replaces AND replicate = NEW.replicate)"
_OTHER_REPLICATE = f"NEW.replaces IS NOT NULL AND NOT {_SAME_REPLICATE}"
_OTHER_REPLICATE_WORDS = f"{_WORDS}: a correction takes the place of an earlier reading of the same replicate."

#: "SET search_path FROM CURRENT" ties the functions to the schema in which the log lies.
_FUNCTIONS = (
    f"""
    CREATE OR REPLACE FUNCTION log_is_append_only() RETURNS trigger
    LANGUAGE plpgsql SET search_path FROM CURRENT AS $body$
    BEGIN
        RAISE EXCEPTION '{_WORDS}: nothing in it is changed or deleted.' USING ERRCODE = 'restrict_violation';
    END $body$
    """,
    f"""
    CREATE OR REPLACE FUNCTION reading_is_by_its_user() RETURNS trigger
    LANGUAGE plpgsql SET search_path FROM CURRENT AS $body$
    BEGIN
        NEW.recorded_by := session_user;
        IF {_OTHER_REPLICATE} THEN
            RAISE EXCEPTION '{_OTHER_REPLICATE_WORDS}' USING ERRCODE = 'restrict_violation';
        END IF;
        RETURN NEW;
    END $body$
    """,
)

#: What a trigger of PostgreSQL does: on which acts (bits of pg_trigger.tgtype, PostgreSQL 15 manual, 53.58), the body
#: of its function, and whether a condition or a column narrows it.
_THERE_IN_POSTGRES = """
    SELECT c.relname, t.tgname, t.tgtype || p.prosrc || (t.tgqual IS NULL AND t.tgattr = '')::text
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
    WHERE c.relnamespace = current_schema()::regnamespace AND t.tgenabled = 'A' AND NOT t.tgisinternal
"""
_THERE_IN_SQLITE = "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'"
#: BEFORE (2), for each ROW (1) an INSERT (4); BEFORE a DELETE (8), an UPDATE (16) or a TRUNCATE (32).
_BY_THEIR_USER, _APPEND_ONLY = 1 + 2 + 4, 2 + 8 + 16 + 32


def add_triggers(connection: Connection) -> None:
    """Put the triggers on the tables of a new log, or on those of an older one that lack them."""
    for statement in () if in_sqlite(connection) else _FUNCTIONS:
        connection.exec_driver_sql(statement)
    tables = inspect(connection).get_table_names()
    for table, name, statement in missing_triggers(connection):
        if table in tables:
            connection.exec_driver_sql(statement)
            if not in_sqlite(connection):
                connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")


def missing_triggers(connection: Connection) -> list[tuple[str, str, str]]:
    """The triggers that ought to be there and are not, or are switched off: table, name, and what makes them."""
    there = _there(connection)
    return [one for one in _all(connection) if one[:2] not in there]


def strange_triggers(connection: Connection) -> list[tuple[str, str]]:
    """The triggers, by table and name, that do something else than this kit's of that name, or are none of its."""
    if not in_sqlite(connection):
        refuse, by_user = (statement.split("$body$")[1] for statement in _FUNCTIONS)
        append_only = f"{_APPEND_ONLY}{refuse}true"
        own = {one[:2]: append_only for one in _all(connection)}
        own["observations", "observations_by_their_user"] = f"{_BY_THEIR_USER}{by_user}true"
    else:
        own = {one[:2]: one[2] for one in _all(connection)}
    return [name for name, does in _there(connection).items() if own.get(name) != does]


def _all(connection: Connection) -> list[tuple[str, str, str]]:
    of = _for_sqlite if in_sqlite(connection) else _for_postgres
    return [(table.name, name, sql) for table in metadata.tables.values() for name, sql in of(table).items()]


def _there(connection: Connection) -> dict[tuple[str, str], str]:
    query = _THERE_IN_SQLITE if in_sqlite(connection) else _THERE_IN_POSTGRES
    return {(row[0], row[1]): row[2] for row in connection.exec_driver_sql(query)}


def _for_postgres(table: Table) -> dict[str, str]:
    name = f"{table.name}_append_only"
    found = {
        name: f"CREATE TRIGGER {name} BEFORE UPDATE OR DELETE OR TRUNCATE ON {table.name} "
        "FOR EACH STATEMENT EXECUTE FUNCTION log_is_append_only()"
    }
    if table.name == "observations":
        name = "observations_by_their_user"
        action = "FOR EACH ROW EXECUTE FUNCTION reading_is_by_its_user()"
        found[name] = f"CREATE TRIGGER {name} BEFORE INSERT ON observations {action}"
    return found


def _for_sqlite(table: Table) -> dict[str, str]:
    """Refuse UPDATE, DELETE, and the INSERT OR REPLACE that would delete without firing a delete trigger."""
    found = {}

    def refuse(name: str, action: str, when: str, words: str) -> None:
        full = f"{table.name}_{name}"
        found[full] = (
            f"CREATE TRIGGER {full} BEFORE {action} ON {table.name} {when} BEGIN SELECT RAISE(ABORT, '{words}'); END"
        )

    for action in ("UPDATE", "DELETE"):
        refuse(f"{action.lower()}_refused", action, "", f"{_WORDS}: nothing in it is changed or deleted.")
    for number, columns in enumerate(_unique_columns(table)):
        same = " AND ".join(f"{column} = NEW.{column}" for column in columns)
        when = f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {same})"
        refuse(f"replace_{number}_refused", "INSERT", when, f"{_WORDS}: this row is in it already.")
    if table.name == "observations":
        same = " AND ".join(f"{column} = NEW.{column}" for column in ("study_id", *CELL, "replicate"))
        rows = f"SELECT 1 FROM observations WHERE replaces IS NULL AND {same}"
        when = f"WHEN NEW.replaces IS NULL AND EXISTS ({rows})"
        refuse("second_first_reading_refused", "INSERT", when, f"{_WORDS}: this cell has a reading already.")
        refuse("other_replicate_refused", "INSERT", f"WHEN {_OTHER_REPLICATE}", _OTHER_REPLICATE_WORDS)
    return found


def _unique_columns(table: Table) -> list[list[str]]:
    kinds = (PrimaryKeyConstraint, UniqueConstraint)
    found = [list(one.columns.keys()) for one in table.constraints if isinstance(one, kinds)]
    return sorted(columns for columns in found if "id" not in columns or columns == ["id"])


def in_sqlite(connection: Connection) -> bool:
    """Whether the log lies in a file rather than on a server."""
    return connection.dialect.name == "sqlite"
