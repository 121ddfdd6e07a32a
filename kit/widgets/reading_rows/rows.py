"""The Python side of the reading rows: what they ask for, what was typed, and what is said about it.

The browser side knows no limit and no unit. It shows ``view``, sends what stands in the boxes with every key,
and shows what ``said`` holds for a row. Enter goes to the next row; on the last one it saves.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

import traitlets

from kit.widgets.in_order import InOrder

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.formula_table.table import FindingView

HERE = Path(__file__).resolve().parent


class RowView(TypedDict):
    """One box to type in: ``name`` is what a screen reader says, ``before`` and ``start`` what was read earlier."""

    key: str
    name: str
    label: str
    unit: str
    hint: str
    how: str
    limits: str
    before: str
    start: str
    optional: bool


class GroupView(TypedDict):
    """The rows of one bottle."""

    title: str
    rows: list[RowView]


class RowsView(TypedDict):
    """All rows on show, and what stands on the button below them; without words there is none."""

    groups: list[GroupView]
    save: str


class Said(TypedDict):
    """What is said about a row: how it is read, in words, and what is odd about it."""

    words: str
    findings: list[FindingView]


class ReadingRows(InOrder):
    """Rows to type readings into.

    Set ``view`` to lay the rows, hear with `on_save` when the hand is done; ``texts`` holds what stands in the boxes
    by their key, also of rows that are not on show. Raise ``focus`` by one to put the cursor into the first empty box.
    """

    _esm = (HERE / "rows.js").read_text(encoding="utf-8")
    _css = "\n".join(path.read_text(encoding="utf-8") for path in (HERE.parent / "base.css", HERE / "rows.css"))

    view: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    texts: traitlets.Dict[str, str] = traitlets.Dict().tag(sync=True)
    said: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    focus = traitlets.Int(0).tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self._listeners: list[Callable[[], object]] = []
        self.on_msg(self._receive)

    def on_save(self, callback: Callable[[], object]) -> None:
        """Call ``callback`` when the hand wants to save; ``texts`` is then what it sees."""
        self._listeners.append(callback)

    @property
    def keys_on_show(self) -> list[str]:
        """The keys of the rows from top to bottom."""
        return [row["key"] for group in self.view.get("groups", []) for row in group["rows"]]

    def type(self, key: str, text: str) -> None:
        """Put a text into a box, as a hand would."""
        self.texts = {**self.texts, key: text}

    def save(self) -> None:
        """Do what the button below the rows does."""
        for listener in tuple(self._listeners):
            listener()

    def _receive(self, _widget: object, content: object, _buffers: object) -> None:
        if not isinstance(content, dict) or content.get("kind") not in ("typed", "save"):
            return
        texts = content.get("texts")
        if isinstance(texts, dict) and all(isinstance(one, str) for pair in texts.items() for one in pair):
            self.take_as_typed(texts={**self.texts, **texts})
        if content["kind"] == "save":
            self.save()
