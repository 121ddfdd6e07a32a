"""What may follow once the hand rests: on the loop of the kernel, piece by piece, and the hand goes first."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

#: A pause that a hand takes for none; and one between two pieces, in which it is heard if it goes on. [s]
REST, BREATH = 0.25, 0.02


class AtRest:
    """Do something once nothing has asked for anything during a rest; at once where no loop runs, as in a script.

    Unlike `Soon` it is done in the thread that handles what the hand does. All that waits is done in the order in
    which it was first asked for, a piece at a time; whatever is asked for meanwhile begins the rest anew.

    Examples
    --------
    >>> done = []
    >>> AtRest(lambda: done.append("drawn")).ask()
    >>> done
    ['drawn']
    """

    def __init__(self, work: Callable[[], object]) -> None:
        self._work = work

    def ask(self) -> None:
        """Let it be done once the hand rests."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._work()
            return
        _WAITING[self] = None
        _wait(loop, REST)

    @property
    def is_asked(self) -> bool:
        """Whether it is still to be done."""
        return self in _WAITING

    def now(self) -> None:
        """Do it now, if it is still to be done."""
        if self.is_asked:
            self.forget()
            self._work()

    def forget(self) -> None:
        """Do not do it."""
        _WAITING.pop(self, None)


_WAITING: dict[AtRest, None] = {}
_NEXT: list[asyncio.TimerHandle] = []


def _wait(loop: asyncio.AbstractEventLoop, seconds: float) -> None:
    for handle in _NEXT:
        handle.cancel()
    _NEXT[:] = [loop.call_later(seconds, _one)] if _WAITING else []


def _one() -> None:
    try:
        for first in tuple(_WAITING)[:1]:
            first.now()
    finally:
        _wait(asyncio.get_running_loop(), BREATH)
