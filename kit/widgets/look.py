"""How all panels look and speak: their style sheet, the colours of charts by theme, and large text for a projector."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any
from weakref import WeakSet, WeakValueDictionary

import anywidget
import traitlets

from kit.figures.theme import FONT_SIZE, LARGE_FONT_SIZE, theme_css

if TYPE_CHECKING:
    from kit.widgets.chart import Chart

HERE = Path(__file__).resolve().parent


class PanelLook(anywidget.AnyWidget):
    """Brings the panels' style sheet, lets a screen reader say an answer that has changed, and marks what scrolls."""

    _css = "\n".join([*((HERE / name).read_text(encoding="utf-8") for name in ("base.css", "panel.css")), theme_css()])
    _esm = (HERE / "panel.js").read_text(encoding="utf-8")
    large = traitlets.Bool().tag(sync=True)

    def __init__(self, **more: Any) -> None:
        super().__init__(large=_session.large, **more)
        _session.looks.add(self)


class _Session:
    """Whether text is large in this session, and what is to be told when that changes."""

    def __init__(self) -> None:
        self.large = False
        self.looks: WeakSet[PanelLook] = WeakSet()
        #: By their place in memory, for a figure cannot be a member of a set.
        self.figures: WeakValueDictionary[int, Chart] = WeakValueDictionary()


_session = _Session()


def projector(on: bool = True) -> None:
    """Show every panel in large text, for a room that looks on; ``projector(False)`` goes back.

    It holds until the kernel stops, also for panels that are shown later.
    """
    before = font_size()
    _session.large = on
    for look in _session.looks:
        look.large = on
    for figure in _session.figures.values():
        high = figure.layout.height and figure.layout.height * font_size() / before
        figure.update_layout(font_size=font_size(), height=high)


def font_size() -> int:
    """The size of the words of a chart. [px]"""
    return LARGE_FONT_SIZE if _session.large else FONT_SIZE


def follow(figure: Chart) -> None:
    """Let the words of a live chart be large when the panels' are."""
    _session.figures[id(figure)] = figure
