"""What has been read of each pull of a study: counted by the database once, and then kept up to date.

A log only grows, so what was counted stays true: of a log that stays open, only the pulls of rows that were sealed
since are counted anew.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from itertools import chain as chained
from threading import Lock
from typing import TYPE_CHECKING, Any

from sqlalchemy import case, func, select, tuple_

from kit.stability.log import chain, schema
from kit.stability.log.rows import as_saved
from kit.stability.schedule import REMARK
from kit.stability.study import WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import ColumnElement, Connection, Select

    from kit.stability.log.chain import Link
    from kit.stability.schedule import Pull

_TABLE = schema.observations
_PULL = (_TABLE.c.batch, _TABLE.c.condition, _TABLE.c.time_point)
_REPLACED = select(_TABLE.c.replaces).where(_TABLE.c.replaces.is_not(None))
_BETWEEN = "\x1f"  # the unit separator of ASCII, which no key holds
_MANY = 500  # rows sealed since, beyond which counting all of them is as quick


class PullsRead:
    """What has been read of each pull of one study, the day of its last reading, and what was remarked.

    An open log may be asked by several threads at once.
    """

    def __init__(self, study_id: int) -> None:
        self.study_id = study_id
        self.read: dict[Pull, tuple[frozenset[str], date]] = {}
        self.remarks: dict[Pull, str] = {}
        self._until: Link | None = None
        self._lock = Lock()

    def follow(self, connection: Connection) -> None:
        """Count what was saved since the last time; everything, where the log is not the same up to there."""
        with self._lock:
            head, until = chain.head(connection), self._until
            if until is not None and head == until:
                return
            if head and until and head.seq - until.seq <= _MANY and chain.holds(connection, until):
                if pulls := self._sealed_since(connection, until):
                    read, remarks = self._counted(connection, pulls)
                    for pull in pulls:  # one of which all was withdrawn is there no more
                        self.read.pop(pull, None)
                        self.remarks.pop(pull, None)
                    self.read.update(read)
                    self.remarks.update(remarks)
            else:
                self.read, self.remarks = self._counted(connection, None)
            self._until = head

    def _sealed_since(self, connection: Connection, until: Link) -> list[Pull]:
        link = schema.chain.c
        query = select(*_PULL).distinct().join_from(schema.chain, _TABLE, link.row_id == _TABLE.c.id)
        query = query.where(link.seq > until.seq, link.kind == "reading", _TABLE.c.study_id == self.study_id)
        return [(row[0], row[1], row[2]) for row in connection.execute(query)]

    def _counted(
        self, connection: Connection, pulls: Iterable[Pull] | None
    ) -> tuple[dict[Pull, tuple[frozenset[str], date]], dict[Pull, str]]:
        asked = [_TABLE.c.study_id == self.study_id]
        if pulls is not None:
            asked.append(tuple_(*_PULL).in_(pulls))
        attributes = cache(lambda text: frozenset(text.split(_BETWEEN)))
        day = cache(date.fromisoformat)
        query = _by_pull(_TABLE.c.attribute, _TABLE.c.observed_on).where(*asked)
        # A correction stays in its cell and can change no more than the day, or take the reading back: so all rows are
        # counted at once, which takes half the time, and only the pulls with a correction once more without what was
        # replaced; what was withdrawn counts for nothing there.
        corrected = select(*_PULL).where(_TABLE.c.id.in_(_REPLACED))
        counts = _TABLE.c.value != WITHDRAWN
        again = _by_pull(case((counts, _TABLE.c.attribute)), case((counts, _TABLE.c.observed_on)))
        again = again.where(*asked, _TABLE.c.id.not_in(_REPLACED), tuple_(*_PULL).in_(corrected))
        remarked = select(*_PULL, _TABLE.c.value).where(
            *asked, _TABLE.c.attribute == REMARK, counts, _TABLE.c.id.not_in(_REPLACED)
        )
        with as_saved(f"A reading of study {self.study_id}"):
            read = {
                (batch, condition, point): (names, latest)
                for batch, condition, point, names, latest in chained(
                    connection.execute(query), connection.execute(again)
                )
            }
            found = {pull: (attributes(names), day(latest)) for pull, (names, latest) in read.items() if names}
        return found, {(row[0], row[1], row[2]): row[3] for row in connection.execute(remarked)}


def _by_pull(attribute: ColumnElement[str], day: ColumnElement[str]) -> Select[Any]:
    """The attributes that were read of each pull, and the last day."""
    found = select(*_PULL, func.aggregate_strings(attribute, _BETWEEN), func.max(day))
    return found.group_by(*_PULL)
