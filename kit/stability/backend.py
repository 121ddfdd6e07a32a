"""Where a log lies, and how it is read from and written to there: in one transaction, with failures in plain words."""

from __future__ import annotations

import random
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy.exc import DBAPIError, IntegrityError

from kit.errors import StoreError
from kit.stability import chain
from kit.stability.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection, Engine

Result = TypeVar("Result")
Problem = BaseException | None


@contextmanager
def in_plain_words(sentence: Callable[[Problem], str]) -> Iterator[None]:
    """Turn what the database says into a sentence for the maker; a constraint it held goes on as it is."""
    try:
        yield
    except IntegrityError:
        raise
    except DBAPIError as error:
        raise StoreError(sentence(error.orig)) from error
    except UnicodeDecodeError as error:  # a name or a text that is none any more
        raise StoreError(sentence(error)) from error


@dataclass(frozen=True)
class Backend:
    """An open log, in a file or on a server.

    Attributes
    ----------
    engine
        Begins each transaction as the log wants it.
    name
        What a sentence calls the log. Never holds a password.
    sentence
        Turns the database's own error into words.
    passing
        True for an error that may be gone in a moment: another's lock.
    wait
        How long such an error is waited out. [s]
    photos
        The folder of the photos; None where none was named for a shared log.
    user
        Who records, as the server knows it; empty for a file.
    path
        The file; None on a server.
    watch
        Notices a log that was moved, replaced or cut while it is open.
    """

    engine: Engine
    name: str
    sentence: Callable[[Problem], str]
    passing: Callable[[Problem], bool]
    wait: float
    photos: Path | None = None
    user: str = ""
    path: Path | None = None
    watch: Watch = field(default_factory=lambda: Watch(""))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that only reads."""
        self._forget_where_changed()
        with in_plain_words(self.sentence), self.engine.begin() as connection:
            yield connection

    def _forget_where_changed(self) -> None:
        if self.watch.other_hands():
            self.engine.dispose()

    @cached_property
    def _writing(self) -> Engine:
        return writing(self.engine)

    def write(self, work: Callable[[Connection], Result], clash: Callable[[Connection], None] | None = None) -> Result:
        """Do ``work`` in one transaction, whole or not at all; it is on the disk when this returns.

        Only one who writes is let in at a time, so that the chain has one end.
        Another's lock is waited out for :attr:`wait` seconds. Where a constraint held, because another was quicker,
        ``clash`` is called to say so, and ``work`` is done once more: it then sees what the other saved.
        """
        clashed = False
        until = time.monotonic() + self.wait
        while True:
            try:
                self._forget_where_changed()
                with self._writing.begin() as connection, chain.held(connection) as last:
                    self.watch.look_within(connection, last)
                    result = work(connection)
                    newest = chain.newest(connection)
                    self.watch.look()
                self.watch.saved(newest)
                return result
            except IntegrityError:
                if clashed:
                    raise
                clashed = True
                if clash is not None:
                    with self.reading() as connection:
                        clash(connection)
            except UnicodeDecodeError as error:
                raise StoreError(self.sentence(error)) from error
            except DBAPIError as error:
                if not self.passing(error.orig) or time.monotonic() >= until:
                    raise StoreError(self.sentence(error.orig)) from error
            time.sleep(random.uniform(0.005, 0.025))


def writing(engine: Engine) -> Engine:
    """The same engine for a transaction that writes: in SQLite it takes the lock at once, so it never gives way."""
    return engine.execution_options(begin_with="BEGIN IMMEDIATE")
