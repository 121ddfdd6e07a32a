"""The newest still of every panel that lives, where the server that writes the notebook finds it.

The page tells a notebook of a new still only while it remembers the run that showed the panel; a page that was loaded
anew has forgotten it, though the panels in it live on. So the kernel lays each still into a folder that the launcher
names, and the server puts the newest into the notebook whenever that is saved. Without the launcher there is no such
folder, and a notebook holds what the page knew.
"""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path
from typing import Any

#: The launcher names the folder here, for the server and its kernels.
VARIABLE = "SHAKEWELL_STILLS"

_MARKED = re.compile(r'<div class="sw-still sw-still-([0-9a-f]{32})">')


def marked(key: str, html: str) -> str:
    """A still with the key of its panel on it."""
    return f'<div class="sw-still sw-still-{key}">{html}</div>'


def lay_by(html: str) -> None:
    """Lay a marked still where the server finds it, if there is such a place."""
    folder, found = os.environ.get(VARIABLE), _MARKED.match(html)
    if folder and found:
        place = Path(folder) / f"{found[1]}.html"
        fresh = place.with_suffix(".new")
        with suppress(OSError):  # a still is a help beside the panel; a full disk must not stop the hand
            fresh.write_text(html, encoding="utf-8")
            fresh.replace(place)


def put_in(model: dict[str, Any], **_: object) -> None:
    """Put the newest stills into a notebook that the server is about to write; Jupyter's hook ``pre_save``."""
    folder = os.environ.get(VARIABLE)
    if not folder or model.get("type") != "notebook" or not isinstance(model.get("content"), dict):
        return
    for cell in model["content"].get("cells", ()):
        for output in cell.get("outputs", ()):
            html = output.get("data", {}).get("text/html", "")
            found = _MARKED.match(html if isinstance(html, str) else "".join(html))
            if found:
                with suppress(OSError):  # a panel of another day has none
                    output["data"]["text/html"] = (Path(folder) / f"{found[1]}.html").read_text(encoding="utf-8")
