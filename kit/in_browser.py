"""What is otherwise where the kit runs in a browser: one thread, no other processes, and not every package.

Pyodide is Python for browsers; it calls its platform "emscripten". The files that need a thread, a lock or another
process ask here, so that none of them has to know how a browser does it.
"""

from __future__ import annotations

import asyncio
import sys
import threading
from typing import TYPE_CHECKING

from kit.errors import KitError

if TYPE_CHECKING:
    from collections.abc import Callable

IN_BROWSER = sys.platform == "emscripten"

#: What a page of the course does not bring: as it is imported, and what it is for.
ABSENT = {
    "numpy": "arrays of numbers (numpy)",
    "pandas": "large tables (pandas)",
    "scipy": "statistics (scipy)",
    "sqlalchemy": "a store for readings (sqlalchemy)",
    "_sqlite3": "a store for readings (sqlite3)",
    "PIL": "a reader of photos (pillow)",
}

#: Where packages lie packed on a page until they are imported.
LAID_BY = "shakewell_later"


class NotHereError(KitError, ImportError):
    """Something needs a package that a page in a browser does not have."""


class PageTimer:
    """What the kit uses of :class:`threading.Timer`, on the one thread that a page has."""

    daemon = True

    def __init__(self, interval: float, function: Callable[[], object]) -> None:
        self._interval, self._function = interval, function
        self._handle: asyncio.TimerHandle | None = None

    def start(self) -> None:
        """Begin to wait."""
        self._handle = asyncio.get_running_loop().call_later(self._interval, self._function)

    def cancel(self) -> None:
        """Do not do it."""
        if self._handle is not None:
            self._handle.cancel()


def timer(seconds: float, work: Callable[[], object]) -> threading.Timer | PageTimer:
    """What does ``work`` once, so long after it is started. [s]"""
    return PageTimer(seconds, work) if IN_BROWSER else threading.Timer(seconds, work)


def in_background(work: Callable[[], object], name: str) -> None:
    """Do ``work`` beside everything else; in a browser there is no beside, and it is left out."""
    if not IN_BROWSER:
        threading.Thread(target=work, daemon=True, name=name).start()
