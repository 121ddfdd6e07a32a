"""What the browser sends is heard in the order in which a hand did it, and never sent back over what it does next.

Two things would bring it out of order. ipywidgets holds a changed value back while an earlier one is not answered, so
the press of a button at another widget overtakes it; a message of the widget's own is never held back. And newer
kernels hear widgets in several threads, each where it last spoke itself; then a press is worked before, or while, what
was done before it. A panel's widgets are heard by the main thread, one message after the other, as cells are run.
"""

from __future__ import annotations

from typing import Any

import anywidget


class InOrder(anywidget.AnyWidget):
    """A drawn widget that is heard in the main thread of the kernel, with all others of its kind."""

    def open(self) -> None:
        """Open the way to the browser."""
        super().open()
        if self.comm is not None:
            self.comm._reply_subshell_for = _by_the_main_thread  # asked by ipykernel from 7 on for each message

    def take_as_typed(self, **values: object) -> None:
        """Set traits to what the browser shows already, and send nothing of it back.

        What an observer sets to something else in answer is sent as ever.
        """
        with self._lock_property(**values), self.hold_trait_notifications():
            for name, value in values.items():
                setattr(self, name, value)


def _by_the_main_thread(_data: Any, _subshell: str | None) -> None:
    """The number of the subshell that hears a message: none, which is the main thread."""
