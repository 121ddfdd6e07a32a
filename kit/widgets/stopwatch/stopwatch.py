"""The Python side of the stopwatch: which marks were set, and how it ended.

The browser side (``stopwatch.js``) reads the clock and knows nothing else. A running watch is kept as the moment at
which it was started, so a page that is drawn anew goes on with it.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import traitlets

from kit.widgets.in_order import InOrder

HERE = Path(__file__).resolve().parent

#: A thumb is no better than this. [s]
STEP = 0.1
#: How a watch can have ended: not yet, with the layers parted, or stopped before they had.
ENDINGS = ("", "parted", "watched")


class Stopwatch(InOrder):
    """Marks in seconds since it was started, as a hand set them.

    Attributes
    ----------
    started
        When it was started, by the clock of the browser; 0 while it is not in use. [ms since 1970]
    marks
        In the order in which they were set. [s]
    stopped, ending
        When it was stopped and how; 0 and empty while it runs. [s]

    Examples
    --------
    >>> watch = Stopwatch()
    >>> watch.start(), watch.mark(12.04), watch.stop(30.0, "parted")
    (None, None, None)
    >>> watch.marks, watch.stopped, watch.ending
    ([12.0], 30.0, 'parted')
    """

    _esm = (HERE / "stopwatch.js").read_text(encoding="utf-8")
    _css = "\n".join(path.read_text(encoding="utf-8") for path in (HERE.parent / "base.css", HERE / "stopwatch.css"))

    started = traitlets.Float(0.0).tag(sync=True)
    marks: traitlets.List[float] = traitlets.List(traitlets.Float()).tag(sync=True)
    stopped = traitlets.Float(0.0).tag(sync=True)
    ending = traitlets.Enum(ENDINGS, "").tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self.on_msg(self._receive)

    def _receive(self, _widget: object, content: object, _buffers: object) -> None:
        values = content.get("values") if isinstance(content, dict) and content.get("kind") == "set" else None
        if isinstance(values, dict) and values.keys() <= {"started", "marks", "stopped", "ending"}:
            self.take_as_typed(**values)

    @traitlets.validate("marks")
    def _only_times(self, proposal: dict[str, Any]) -> list[float]:
        """Times above 0, in order."""
        return sorted(mark for mark in proposal["value"] if 0 < mark < math.inf)

    # ---- a hand at work ---------------------------------------------------------------------------------

    def start(self) -> None:
        """Start anew, as the first press does."""
        self.clear()
        self.started = 1.0

    def mark(self, seconds: float) -> None:
        """Set a mark, as the next press does. [s]"""
        self.marks = [*self.marks, round(seconds / STEP) * STEP]

    def stop(self, seconds: float, ending: str) -> None:
        """Stop it: "parted" or "watched". [s]"""
        with self.hold_trait_notifications():
            self.stopped, self.ending = seconds, ending

    def clear(self) -> None:
        """Put it back to nought."""
        with self.hold_trait_notifications():
            self.started, self.marks, self.stopped, self.ending = 0.0, [], 0.0, ""

    @property
    def words(self) -> str:
        """What it shows, in words."""
        if not self.started:
            return "Stopwatch: not started."
        marks = ", ".join(f"{mark:g} s" for mark in self.marks) or "none"
        ends = {"": "", "parted": f" Parted at {self.stopped:g} s.", "watched": f" Stopped at {self.stopped:g} s."}
        return f"Stopwatch: marks at {marks}.{ends[self.ending]}"
