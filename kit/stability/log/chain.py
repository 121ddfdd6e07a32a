r"""A chain over the rows of a log: each row is sealed with a hash of its content and of the hash before it.

What is sealed, by its kind: a "layout" (a row of ``schema_versions``), a "study" with the names it may use, a
"reading" and a "photo". Each has one link in the table ``chain``, in the order of saving. Link 0 seals nothing: its
hash is drawn by lot and tells this log from every other. The hash of a later link is::

    SHA-256(hash before it + "\n" + content), as 64 hexadecimal digits

and its content is JSON in UTF-8 (RFC 8259) without blanks: ``[kind, {column: value, ...}]`` with the columns in the
order of the table, texts not escaped beyond what JSON asks for, a number of the type FLOAT in the shortest decimals
that give the same double. A study has one member more, "names": for each of its four tables, positions and names.

The last link is the head. Who notes it as an :func:`anchor` can prove later that all up to there is as it was. Without
a noted anchor the chain shows every change by somebody who did not compute all later links anew, and no more.
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select, text

from kit.errors import EntryError, StoreError
from kit.stability.log import schema

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from sqlalchemy import Connection, Table

#: What has a link -> its table, and the columns that are sealed, in their order. A column that a later layout adds
#: is sealed only in rows saved from then on, so it needs a kind of its own.
KINDS: dict[str, Table] = {
    "layout": schema.schema_versions,
    "study": schema.studies,
    "reading": schema.observations,
    "photo": schema.photos,
}
_COLUMNS = {kind: tuple(column.name for column in table.columns) for kind, table in KINDS.items()}
_DIGITS = 16  # of the hash in an anchor: 64 bits
_AT_A_TIME = 5000  # rows fetched
_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=repr).encode
_HELD = "newest link of the chain"
_HEAD = text("SELECT seq, hash FROM chain ORDER BY seq DESC LIMIT 1")
_ONE = text("SELECT hash FROM chain WHERE seq = :seq")
_ADD = text("INSERT INTO chain (seq, kind, row_id, hash) VALUES (:seq, :kind, :row_id, :hash)")


@dataclass(frozen=True, slots=True)
class Link:
    """A place in the chain: how many rows were sealed up to there, and its hash."""

    seq: int
    hash: str

    @property
    def anchor(self) -> str:
        """What a person notes.

        Examples
        --------
        >>> Link(128, "7f3a91c205deb733" + 48 * "0").anchor
        '128 · 7f3a-91c2-05de-b733'
        """
        digits = self.hash[:_DIGITS]
        return f"{self.seq} · {'-'.join(digits[at : at + 4] for at in range(0, _DIGITS, 4))}"


def read_anchor(typed: str) -> Link:
    """A noted anchor, however its parts are set apart; the hash has its first 16 digits only.

    Raises
    ------
    EntryError
        It is none.

    Examples
    --------
    >>> read_anchor("128 7F3A 91C2 05DE B733")
    Link(seq=128, hash='7f3a91c205deb733')
    """
    found = re.fullmatch(r"\s*(\d{1,15})[^0-9a-f]+([0-9a-f][0-9a-f\s–-]*)", typed.casefold())
    digits = re.sub(r"[^0-9a-f]", "", found[2]) if found else ""
    if found is None or len(digits) != _DIGITS:
        msg = (
            f"{typed.strip()!r} is not an anchor. Type it as it was noted: a number, then 16 digits or letters a to f, "
            "such as 128 · 7f3a-91c2-05de-b733."
        )
        raise EntryError(msg)
    return Link(int(found[1]), digits)


def head(connection: Connection) -> Link | None:
    """The last link; None where the chain is empty."""
    row = connection.execute(_HEAD).first()
    return None if row is None else Link(*row)


@contextmanager
def held(connection: Connection) -> Iterator[Link | None]:
    """The head, remembered while this transaction, the only one that writes, adds to the chain."""
    info = connection.info  # of a connection that is cut it can no longer be asked
    info[_HELD] = last = head(connection)
    try:
        yield last
    finally:
        info.pop(_HELD, None)


def newest(connection: Connection) -> Link:
    """The last link, as it was read or as it was added by this transaction.

    Raises
    ------
    StoreError
        There is none: the chain was deleted.
    """
    last = connection.info.get(_HELD) or head(connection)
    if last is None:
        msg = (
            "The log is damaged: the chain over its rows is gone. Nothing was saved; go back to your latest copy of it."
        )
        raise StoreError(msg)
    return last


def holds(connection: Connection, link: Link) -> bool:
    """Whether the chain still has this link, of whose hash the beginning is enough."""
    found = connection.execute(_ONE, {"seq": link.seq}).scalar()
    return isinstance(found, str) and found.startswith(link.hash)


def begin(connection: Connection) -> None:
    """Draw the first link of a log by lot."""
    connection.execute(_ADD, {"seq": 0, "kind": "log", "row_id": 0, "hash": secrets.token_hex(32)})


def seal(connection: Connection, kind: str, row: Sequence[Any]) -> None:
    """Add the link of a row that was just written, given as the database has it: all its columns in order.

    Only one transaction at a time may do so; :meth:`kit.stability.log.backend.Backend.write` sees to that.
    """
    link = _link(connection, newest(connection), kind, row)
    connection.execute(_ADD, link)
    if _HELD in connection.info:
        connection.info[_HELD] = Link(link["seq"], link["hash"])


def seal_unsealed(connection: Connection) -> None:
    """Add the links of all rows that have none yet, kind by kind in the order of their numbers."""
    last = newest(connection)
    for kind in KINDS:
        sealed = select(schema.chain.c.row_id).where(schema.chain.c.kind == kind)
        sealed_last = connection.execute(sealed.order_by(schema.chain.c.seq.desc()).limit(1)).scalar() or 0
        query = text(f"{_select(kind)} WHERE {_COLUMNS[kind][0]} > :sealed ORDER BY 1")
        rows = connection.execute(query, {"sealed": sealed_last}, execution_options={"yield_per": _AT_A_TIME})
        for some in rows.partitions():
            links = []
            for row in some:
                links.append(_link(connection, last, kind, row))
                last = Link(links[-1]["seq"], links[-1]["hash"])
            connection.execute(insert(schema.chain), links)
    if _HELD in connection.info:
        connection.info[_HELD] = last


def _link(connection: Connection, last: Link, kind: str, row: Sequence[Any]) -> dict[str, Any]:
    return {"seq": last.seq + 1, "kind": kind, "row_id": row[0], "hash": _hash(connection, last.hash, kind, row)}


def _hash(connection: Connection, before: str, kind: str, row: Sequence[Any]) -> str:
    content: dict[str, Any] = dict(zip(_COLUMNS[kind], row, strict=True))
    if type(content.get("number")) is int:  # what SQLite's RETURNING says of a FLOAT that it reads back as 5.0
        content["number"] = float(content["number"])
    if kind == "study":
        content["names"] = {
            table.name: [list(one) for one in connection.execute(text(
                f"SELECT position, {column} FROM {table.name} WHERE study_id = :id ORDER BY position, {column}"
            ), {"id": row[0]})]
            for column, table in schema.study_names.items()
        }  # fmt: skip
    sealed = f"{before}\n{_json([kind, content])}"
    return hashlib.sha256(sealed.encode("utf-8", "surrogateescape")).hexdigest()


def _select(kind: str) -> str:
    return f"SELECT {', '.join(_COLUMNS[kind])} FROM {KINDS[kind].name}"


def faults(connection: Connection) -> Iterator[tuple[str, str]]:
    """What is not as it was sealed, in the order of the chain: the table, and a sentence. Reads every row once."""

    def stream(statement: str) -> Iterator[Any]:
        with connection.execute(text(statement), execution_options={"yield_per": _AT_A_TIME}) as found:
            yield from found

    rows = {kind: stream(f"{_select(kind)} ORDER BY 1") for kind in KINDS}
    ahead = {kind: next(found, None) for kind, found in rows.items()}
    before: str | None = None
    expected = 0

    def unsealed(kind: str, until: int | None) -> Iterator[tuple[str, str]]:
        while (row := ahead[kind]) is not None and (until is None or row[0] < until):
            words = "has no link in the chain: it was not saved by this kit, or its link was deleted"
            yield KINDS[kind].name, f"{_name(kind, row[0])} {words}."
            ahead[kind] = next(rows[kind], None)

    for seq, kind, row_id, digest in stream("SELECT seq, kind, row_id, hash FROM chain ORDER BY seq"):
        if seq != expected:
            yield "chain", f"{_gap(expected, seq)} of the chain gone: what they sealed may have been deleted."
            before = None
        expected = seq + 1
        if seq == 0 or kind not in KINDS:
            if (seq == 0) != (kind == "log"):
                yield "chain", f"Link {seq} of the chain is not as it was saved."
            before = digest if isinstance(digest, str) else None
            continue
        yield from unsealed(kind, row_id)
        row = ahead[kind]
        if row is None or row[0] != row_id:
            yield KINDS[kind].name, f"{_name(kind, row_id)} is gone: it was deleted after it was saved."
        else:
            ahead[kind] = next(rows[kind], None)
            if before is not None and _hash(connection, before, kind, row) != digest:
                yield KINDS[kind].name, f"{_name(kind, row_id)}, or its link in the chain, is not as it was saved."
        before = digest if isinstance(digest, str) else None
    if expected == 0:
        yield "chain", "The chain over the rows of the log is gone."
    for kind in KINDS:
        yield from unsealed(kind, None)


def _name(kind: str, number: object) -> str:
    return f"{kind.capitalize()} {number}"


def _gap(expected: int, found: int) -> str:
    return f"Link {expected} is" if found == expected + 1 else f"Links {expected} to {found - 1} are"
