"""What is otherwise where the kit runs in a browser: one thread, no other processes, and not every package.

Pyodide is Python for browsers; it calls its platform "emscripten". The files that need a thread, a lock or another
process ask here, so that none of them has to know how a browser does it.
"""

from __future__ import annotations

import asyncio
import sys
import threading
from importlib.abc import MetaPathFinder
from typing import TYPE_CHECKING, Any

from kit.errors import KitError

if TYPE_CHECKING:
    from collections.abc import Callable

IN_BROWSER = sys.platform == "emscripten"

#: What a page of the course does not bring, and what people call it: arrays, photos and the store of readings.
ABSENT = {name: name for name in ("numpy", "pandas", "scipy", "sqlalchemy")} | {"PIL": "pillow", "_sqlite3": "sqlite3"}


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


class _Finder(MetaPathFinder):
    """Asked last of all: says in a sentence what is not there."""

    def find_spec(self, fullname: str, _path: object = None, _target: object = None) -> None:
        if fullname in ABSENT:
            msg = (
                f"This part needs the package {ABSENT[fullname]}, which this page does not have. Everything else here "
                "goes on without it; the kit on a computer of your own has all of it."
            )
            raise NotHereError(msg)


def begin() -> None:
    """Make the kernel of a page ready for the kit: called by the first ``import kit``, and only there."""
    sys.path[:] = [folder for folder in sys.path if folder]  # each import would ask the page's store for a file first
    sys.meta_path.append(_Finder())
    from IPython import get_ipython

    shell: Any = get_ipython()
    if shell is None:
        return
    shell.set_custom_exc((NotHereError,), lambda *about, **_: sys.stdout.write(f"{about[2]}\n"))
    shell.Completer.use_jedi = False  # a slow package that is left out
    manager = shell.kernel.comm_manager
    answer = manager.comm_msg

    def comm_msg(*message: object) -> None:
        answer(*message)
        shell.events.trigger("post_execute")  # as Jupyter's own kernel does; stills are drawn anew by it

    manager.comm_msg = comm_msg
