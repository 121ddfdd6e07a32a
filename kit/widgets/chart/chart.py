"""The Python side of a live chart: plotly's figure widget, with a script of a few lines in place of five megabytes.

Plotly sends the whole of its script with every figure. Here the first chart of a kernel sends it right after itself,
and a page that has not got it (it was loaded anew, or opened later) asks for it once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

import plotly
import plotly.graph_objects as go
import traitlets

HERE = Path(__file__).resolve().parent
SCRIPT = Path(plotly.__file__).resolve().parent / "package_data" / "widgetbundle.js"


class Chart(go.FigureWidget):  # type: ignore[misc]  # plotly's widget has no types
    """A figure that can be changed in place.

    Attributes
    ----------
    script_follows
        True while plotly's script is on its way to the page unasked.
    """

    _esm = (HERE / "chart.js").read_text(encoding="utf-8")
    script_follows = traitlets.Bool(False).tag(sync=True)
    _is_sent: ClassVar[bool] = False

    def __init__(self, figure: go.Figure) -> None:
        super().__init__(figure)
        self.on_msg(self._answer)
        if self.script_follows:
            self._send_script()
            self.script_follows = False

    @traitlets.default("script_follows")
    def _is_first(self) -> bool:
        first, Chart._is_sent = not Chart._is_sent, True
        return first

    def _answer(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if content.get("want") == "script":
            self._send_script()

    def _send_script(self) -> None:
        self.send({"is": "script"}, buffers=[SCRIPT.read_bytes()])
