"""Work that waits until the hand rests: asked for with every change, done once, away from the hand."""

from __future__ import annotations

import atexit
import threading
import time
from typing import TYPE_CHECKING, ClassVar
from weakref import WeakSet

from kit.in_browser import timer

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.in_browser import PageTimer


class Soon:
    """Do something ``after`` a rest, in a thread of its own, and ``at_most`` so long after it was first asked for. [s]

    Asking costs microseconds. With ``at_exit``, what is still to be done when the process ends is done then.

    Examples
    --------
    >>> done = []
    >>> soon = Soon(lambda: done.append("saved"), after=60)
    >>> soon.ask(), soon.ask(), soon.now()
    (None, None, None)
    >>> done
    ['saved']
    """

    _all: ClassVar[WeakSet[Soon]] = WeakSet()

    def __init__(
        self, work: Callable[[], object], after: float, at_most: float | None = None, *, at_exit: bool = True
    ) -> None:
        self._work, self._after, self._at_most = work, after, after if at_most is None else at_most
        self._lock, self._working = threading.Lock(), threading.RLock()
        self._timer: threading.Timer | PageTimer | None = None
        self._first = self._last = 0.0
        if at_exit:
            Soon._all.add(self)

    def ask(self) -> None:
        """Let it be done soon."""
        with self._lock:
            self._last = time.monotonic()
            if self._timer is None:
                self._first = self._last
                self._wait(self._after)

    def now(self) -> None:
        """Do it at once if it was asked for and is not done yet, and wait until it is."""
        with self._lock:
            asked, self._timer = self._timer, None
        if asked is not None:
            asked.cancel()
        with self._working:  # and wait for one that is on its way
            if asked is not None:
                self._work()

    def forget(self) -> None:
        """Do not do it."""
        with self._lock:
            asked, self._timer = self._timer, None
        if asked is not None:
            asked.cancel()

    def is_asked(self) -> bool:
        """Whether it is still to be done."""
        return self._timer is not None

    def _wait(self, seconds: float) -> None:
        self._timer = mine = timer(seconds, lambda: self._due(mine))
        mine.daemon = True
        mine.start()

    def _due(self, mine: threading.Timer | PageTimer) -> None:
        with self._lock:
            if self._timer is not mine:
                return  # it was done or forgotten meanwhile
            now = time.monotonic()
            rest = min(self._last + self._after, self._first + self._at_most) - now
            if rest > 0.001:
                self._wait(rest)
                return
            self._timer = None
        with self._working:
            self._work()


@atexit.register
def _finish() -> None:
    for soon in [*Soon._all]:
        soon.now()
