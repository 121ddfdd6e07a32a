"""An open log: how it is read from and written to, in one transaction, and whether it is still the one that was opened.

A file that was renamed, deleted or replaced under an open log can still be written to on most systems; the reading
would be acknowledged and lost. So its place is looked at before each write and before each is acknowledged, and
within the write the newest link of the chain that was ever seen must still be there.
"""

from __future__ import annotations

import random
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy.exc import DBAPIError, IntegrityError

from kit.errors import StoreError
from kit.stability.log import chain
from kit.stability.log.network import network_kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from os import stat_result
    from pathlib import Path

    from sqlalchemy import Connection, Engine

_STILL_TYPED = "Nothing was saved, and what you typed is still here."
_AGAIN = "then choose “Read the log again” (or open it anew) and save again."


@dataclass
class Watch:
    """What is known of an open log: its file as it was last seen, and the newest link of its chain.

    ``path`` is None for a log on a server, which has no file to be moved. ``beside`` says of a log that an older kit
    wrote whether something lay in the second file that it kept; None for any other.
    """

    name: str
    path: Path | None = None
    newest: chain.Link | None = None
    beside: bool | None = None
    _file: tuple[int, int] | None = None  # device and number on it: inode, or file index on Windows
    _state: tuple[int, int] | None = None  # when it was last written to [ns], and its size

    def begin(self) -> None:
        """Take the file that lies at the path as the one that is meant."""
        if self.path is not None:
            found = self.path.stat()
            self._file, self._state = (found.st_dev, found.st_ino), None

    def other_hands(self) -> bool:
        """Whether somebody else wrote to the file since it was last seen.

        SQLite notices another's transaction by itself. It does not notice a file that was cut or copied over, so
        whatever it remembers of it is then to be forgotten.

        Raises
        ------
        StoreError
            As :meth:`look`.
        """
        before, self._state = self._state, self.look()
        return before != self._state

    def look(self) -> tuple[int, int] | None:
        """When the file was last written to [ns], and its size [bytes].

        Raises
        ------
        StoreError
            Another file lies at the path, or none: it was renamed, deleted or replaced. The sentence says what to do.
        """
        if self.path is None or self._file is None:
            return None
        try:
            found = self.path.stat()
        except OSError as error:
            msg = (
                f"{self.name} is no longer where it was opened: it was renamed, moved or deleted. {_STILL_TYPED} Put "
                "it back under its old name and save again, or open it in its new place."
            )
            raise StoreError(msg) from error
        if (found.st_dev, found.st_ino) != self._file:
            msg = (
                f"{self.name} was replaced: another file now has its name. {_STILL_TYPED} See which of the two is the "
                f"right one and put that in its place, {_AGAIN}"
            )
            raise StoreError(msg)
        return _state(found)

    def look_within(self, connection: Connection, last: chain.Link | None) -> None:
        """The same within a transaction that writes, and whether the chain still holds what was seen of it before.

        Raises
        ------
        StoreError
            As :meth:`look`, or the log is an older copy of itself, or another.
        """
        self.look()
        if self.newest not in (None, last) and not chain.holds(connection, self.newest):
            msg = (
                f"{self.name} is an older copy of the log that was opened, or another log: entry {self.newest.anchor} "
                f"is not in it. {_STILL_TYPED} See whether a backup was put in its place and which is right, {_AGAIN}"
            )
            raise StoreError(msg)

    def saved(self, link: chain.Link) -> None:
        """Look once more after the commit, before it is acknowledged, and remember the newest link.

        Raises
        ------
        StoreError
            The file was moved in the very moment of saving.
        """
        try:
            self._state = self.look()
        except StoreError as error:
            msg = (
                f"{self.name} was moved or replaced in the very moment of saving: what you typed is in the file that "
                f"was moved away, if anywhere, and not in this place. Put that file back, {_AGAIN}"
            )
            raise StoreError(msg) from error
        if self.newest is None or link.seq >= self.newest.seq:
            self.newest = link


def _state(found: stat_result) -> tuple[int, int]:
    return found.st_mtime_ns, found.st_size


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

    @cached_property
    def network(self) -> str:
        """The kind of network folder that the file lies on; empty for a disk of one's own, and for a server."""
        return "" if self.path is None else network_kind(self.path)

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
