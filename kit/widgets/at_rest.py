"""What may follow once the hand rests: on the loop of the kernel, so that nothing else runs meanwhile."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

#: A pause that a hand takes for none. [s]
REST = 0.2


class AtRest:
    """Do something once nothing has asked for it during ``after``; at once where no loop runs, as in a script. [s]

    Unlike `Soon` it is done in the thread that handles what the hand does, one after the other.

    Examples
    --------
    >>> done = []
    >>> AtRest(lambda: done.append("drawn")).ask()
    >>> done
    ['drawn']
    """

    def __init__(self, work: Callable[[], object], after: float = REST) -> None:
        self._work, self._after = work, after
        self._waits: asyncio.TimerHandle | None = None

    def ask(self) -> None:
        """Let it be done once the hand rests."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._work()
            return
        self.forget()
        self._waits = loop.call_later(self._after, self.now)

    def now(self) -> None:
        """Do it now, if it is still to be done."""
        if self._waits is not None:
            self.forget()
            self._work()

    def forget(self) -> None:
        """Do not do it."""
        if self._waits is not None:
            self._waits.cancel()
            self._waits = None
