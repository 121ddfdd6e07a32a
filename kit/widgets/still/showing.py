"""A panel in a notebook: alive, and beside it as a still that is stored with the notebook and kept up to date.

The two are two outputs of one cell, the still first. It hides while the panel lives, by its own style sheet, and is
what is seen where no kernel runs. It is drawn anew when the hand rests; where it came out the same, nothing is sent.
"""

from __future__ import annotations

import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from kit.stored_stills import lay_by, marked
from kit.widgets.soon import Soon
from kit.widgets.still.drawing import still

if TYPE_CHECKING:
    import ipywidgets as ipw

#: The hand must rest so long before stills are drawn anew; while it never rests, they are drawn so often. [s]
REST, AT_MOST = 0.8, 10.0


class Shown:
    """A panel that a cell shows, and the still that was last sent of it."""

    def __init__(self, panel: ipw.Widget, cell: str, run: str) -> None:
        from IPython.display import DisplayHandle

        self.panel, self.cell, self.run = panel, cell, run
        self.html = self._drawn()
        self.handle: Any = DisplayHandle(panel.model_id)  # type: ignore[no-untyped-call]
        self.handle.display(self._bundle(), raw=True)  # type: ignore[no-untyped-call]

    @property
    def is_open(self) -> bool:
        """Whether the panel is still there."""
        return self.panel.comm is not None

    def renew(self) -> None:
        """Send the still anew, if it has changed."""
        if "pandas" in sys.modules:
            import pandas as pd  # noqa: F401  # a cell may be importing it: plotly would look into half of it
        html = self._drawn()
        if html != self.html:
            self.html = html
            self.handle.update(self._bundle(), raw=True)

    def _drawn(self) -> str:
        return marked(self.panel.model_id, still(self.panel))

    def _bundle(self) -> dict[str, str]:
        lay_by(self.html)
        return {"text/html": self.html, "text/plain": type(self.panel).__name__}


_SHOWN: list[Shown] = []


def is_in_notebook() -> bool:
    """Whether there is a page to show something in."""
    return hasattr(_shell(), "kernel")


def show(panel: ipw.Widget) -> None:
    """Show the still of a panel in the cell that runs now, if one does."""
    shell = _shell()
    if not hasattr(shell, "kernel"):
        return
    if _RENEWAL.ask not in shell.events.callbacks["post_execute"]:
        shell.events.register("post_execute", _RENEWAL.ask)  # after each cell, and after each message of a widget
    parent = getattr(shell, "get_parent", shell.kernel.get_parent)() or {}  # in a browser only the kernel knows
    cell = str(parent.get("metadata", {}).get("cellId", ""))
    run = str(parent.get("header", {}).get("msg_id", ""))
    # a cell that is run again shows new panels; those of its last run are seen no more
    _SHOWN[:] = [one for one in _SHOWN if one.is_open and not (cell and one.cell == cell and one.run != run)]
    _SHOWN.append(Shown(panel, cell, run))


def renew() -> None:
    """Draw every still anew, until the hand goes on."""
    for one in tuple(_SHOWN):
        if _RENEWAL.is_asked():
            return  # and this is done when it rests again
        with suppress(RuntimeError, ValueError):  # what changes at this moment is drawn at the next rest
            _SHOWN.remove(one)  # the next round begins with those that this one does not come to
            if one.is_open:
                _SHOWN.append(one)
                one.renew()


_RENEWAL = Soon(renew, REST, AT_MOST, at_exit=False)


def renew_soon() -> None:
    """Draw stills anew at the next rest, for something was shown that was neither a cell's nor a hand's doing."""
    if _SHOWN:
        _RENEWAL.ask()


def _shell() -> Any:
    from IPython import get_ipython

    return get_ipython()
