"""A stopwatch for hands that hold a bottle: the space bar starts it and sets marks."""

from kit.widgets.stopwatch.stopwatch import Stopwatch

__all__ = ["Stopwatch"]
