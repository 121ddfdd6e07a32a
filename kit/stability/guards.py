"""What keeps the log append-only within the database itself: triggers for SQLite and for PostgreSQL.

They hold against a slip and against another program, and not against the owner of the database, who may drop
them; :func:`missing` and :func:`strange` notice that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import PrimaryKeyConstraint, Table, UniqueConstraint, inspect

from kit.stability.schema import CELL, metadata

if TYPE_CHECKING:
    from sqlalchemy import Connection

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


def add(connection: Connection) -> None:
    """Put the triggers on the tables of a new log, or on those of an older one that lack them."""
    postgres = connection.dialect.name == "postgresql"
    for statement in _FUNCTIONS if postgres else ():
        connection.exec_driver_sql(statement)
    tables = inspect(connection).get_table_names()
    for table, name, statement in missing(connection):
        if table in tables:
            connection.exec_driver_sql(statement)
            if postgres:
                connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")


def missing(connection: Connection) -> list[tuple[str, str, str]]:
    """The triggers that ought to be there and are not, or are switched off: table, name, and what makes them."""
    there = _there(connection)
    return [one for one in _all(connection) if one[:2] not in there]


def strange(connection: Connection) -> list[tuple[str, str]]:
    """The triggers, by table and name, that do something else than this kit's of that name, or are none of its."""
    if connection.dialect.name == "postgresql":
        refuse, by_user = (statement.split("$body$")[1] for statement in _FUNCTIONS)
        append_only = f"{_APPEND_ONLY}{refuse}true"
        own = {one[:2]: append_only for one in _all(connection)}
        own["observations", "observations_by_their_user"] = f"{_BY_THEIR_USER}{by_user}true"
    else:
        own = {one[:2]: one[2] for one in _all(connection)}
    return [name for name, does in _there(connection).items() if own.get(name) != does]


def _all(connection: Connection) -> list[tuple[str, str, str]]:
    of = _for_postgres if connection.dialect.name == "postgresql" else _for_sqlite
    return [(table.name, name, sql) for table in metadata.tables.values() for name, sql in of(table).items()]


def _there(connection: Connection) -> dict[tuple[str, str], str]:
    query = _THERE_IN_POSTGRES if connection.dialect.name == "postgresql" else _THERE_IN_SQLITE
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
