"""The Python side of the ratio view: a bottle drawn to scale, and the whole formula at every ratio.

The browser side (``ratio.js``) turns millimetres and percents into pixels and nothing else. It sends what the
hand asks for; whoever listens computes and sets a new ``view``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypedDict

import traitlets

from kit.widgets.in_order import InOrder

if TYPE_CHECKING:
    from collections.abc import Callable

HERE = Path(__file__).resolve().parent

#: What the hand asks for: an oil layer by mass [% w/w of the whole], or the line between the layers at a
#: height [mm]. ``serial`` comes back in the answering view, so that the browser never asks ahead of it.
ASKS: dict[str, str] = {"oil": "oil", "height": "mm"}


class LayerView(TypedDict):
    """One layer as it stands in the bottle. [mm]"""

    kind: Literal["water", "oil", "other"]
    name: str
    bottom: float
    top: float
    label: str
    colour: str


class BandView(TypedDict):
    """One line of the formula at every ratio, as points (oil, lower edge, upper edge). [% w/w of the whole]"""

    name: str
    kind: Literal["water", "oil", "other"]
    points: list[tuple[float, float, float]]
    colour: str


class EndView(TypedDict):
    """Where a rule stops holding. [% w/w oil layer of the whole]"""

    at: float
    label: str


class RatioPicture(TypedDict, total=False):
    """All that the view shows; ``message`` alone where there is nothing to draw."""

    message: str
    title: str
    subtitle: str
    axis: str
    outline: list[tuple[float, float]]
    height: float
    layers: list[LayerView]
    room_label: str
    grip: float | None
    most: float
    now: float
    now_label: str
    step: float
    bands: list[BandView]
    low: EndView
    high: EndView
    is_open: bool
    crossings: list[EndView]
    serial: int


class RatioView(InOrder):
    """A bottle and a picture of all ratios; set ``view`` and hear with `on_ask` what the hand wants."""

    _esm = (HERE / "ratio.js").read_text(encoding="utf-8")
    _css = "\n".join(path.read_text(encoding="utf-8") for path in (HERE.parent / "base.css", HERE / "ratio.css"))

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self._listeners: list[Callable[[str, float, int], object]] = []
        self.on_msg(self._receive)

    def on_ask(self, callback: Callable[[str, float, int], object]) -> None:
        """Call ``callback(kind, value, serial)`` with each ask; a message that is no known ask is let pass."""
        self._listeners.append(callback)

    def _receive(self, _widget: object, content: object, _buffers: object) -> None:
        if not isinstance(content, dict) or content.get("kind") not in ASKS:
            return
        value, serial = content.get(ASKS[content["kind"]]), content.get("serial")
        if isinstance(value, int | float) and isinstance(serial, int):
            for listener in tuple(self._listeners):
                listener(content["kind"], float(value), serial)

    def __repr__(self) -> str:
        return f"RatioView({self.view.get('now_label', self.view.get('message', ''))!r})"
