"""The Python side of the formula table: what it shows, and what the hand did.

The browser side (the four ``.js`` files) knows no arithmetic. It shows the dict ``view`` and sends one message for each
thing a hand does; whoever listens computes and sets a new ``view``. Positions count from 0.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypedDict

import traitlets

from kit.formula.model import HOLDS as HOLDS_IN_WORDS
from kit.widgets.in_order import InOrder

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Severity

HERE = Path(__file__).resolve().parent

#: The parts of the browser side, joined in this order to one module.
SCRIPTS = ("elements", "names", "sheet", "table")

#: What the hand did: ``kind`` is a key of `EDITS`, the other keys are that kind's.
Edit = dict[str, Any]

#: The kinds of message, and what each carries. ``after`` is the place after which something is put, -1 for
#: the very top. ``to_line`` and ``to`` are where the thing stands once it has moved. ``text`` is what was
#: typed, unread; in a paste it holds several cells, with tabs and line ends, to be laid down from ``line``
#: and ``field`` ("material" or "amount") on.
EDITS: dict[str, dict[str, type[int] | type[str]]] = {
    "set_material": {"phase": int, "line": int, "text": str},
    "set_entry": {"phase": int, "line": int, "text": str},
    "set_hold": {"phase": int, "line": int, "value": str},
    "set_phase_name": {"phase": int, "text": str},
    "set_phase_kind": {"phase": int, "value": str},
    "add_line": {"phase": int, "after": int},
    "remove_line": {"phase": int, "line": int},
    "move_line": {"phase": int, "line": int, "to_phase": int, "to_line": int},
    "add_phase": {"after": int},
    "remove_phase": {"phase": int},
    "move_phase": {"phase": int, "to": int},
    "paste": {"phase": int, "line": int, "field": str, "text": str},
    "undo": {},
    "redo": {},
}

#: The ways a line can hold when the ratio moves, and how the table words them.
HOLDS: list[list[str]] = [[hold, words] for hold, words in HOLDS_IN_WORDS.items()]


class FindingView(TypedDict):
    """A finding as the table shows it."""

    severity: Severity
    sentence: str
    source: str


class PhaseView(TypedDict):
    """A layer as the table shows it; ``colour_index`` counts the layers of one kind."""

    name: str
    kind: Literal["water", "oil", "other"]
    total: str
    colour_index: int
    findings: list[FindingView]


class LineView(TypedDict):
    """A line as the table shows it; every number is already words.

    A ``key`` that stays with its line lets a half-typed entry travel with it when others move.
    """

    key: str
    material: str
    plain: str
    entry: str
    percent: str
    grams: str
    hold: Literal["share", "level", "fill"]
    change: str
    findings: list[FindingView]
    field_marks: dict[str, Severity]


class FormulaView(TypedDict):
    """All that the table shows. ``lines`` holds one list for each of ``phases``.

    ``add_name`` stands faintly in an ingredient field that is still empty ("ingredient" when it is "").
    """

    title: str
    subtitle: str
    phases: list[PhaseView]
    lines: list[list[LineView]]
    total: str
    total_state: Literal["ok", "stop"]
    total_sentence: str
    findings: list[FindingView]
    grams_head: str
    can_undo: bool
    can_redo: bool
    add_name: str


def read_edit(content: object) -> Edit | None:
    """The edit in a message from the browser, or None when it is not one of `EDITS`.

    Examples
    --------
    >>> read_edit({"kind": "set_hold", "phase": 0, "line": 2, "value": "fill", "more": 1})
    {'kind': 'set_hold', 'phase': 0, 'line': 2, 'value': 'fill'}
    >>> read_edit({"kind": "set_hold", "phase": "0"}) is None
    True

    """
    if not isinstance(content, dict) or not isinstance(content.get("kind"), str):
        return None
    fields = EDITS.get(content["kind"])
    if fields is None or any(type(content.get(name)) is not wanted for name, wanted in fields.items()):
        return None
    return {"kind": content["kind"], **{name: content[name] for name in fields}}


class FormulaTable(InOrder):
    """The formula as a table to type in.

    Set ``view`` (a `FormulaView`) to show a formula, and hear with `on_edit` what the hand did.

    Examples
    --------
    >>> table = FormulaTable(names=[["Glycerin", "glycerol"]])
    >>> table.on_edit(lambda edit: print(edit["kind"]))

    """

    _esm = "\n".join((HERE / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)
    _css = "\n".join(path.read_text(encoding="utf-8") for path in (HERE.parent / "base.css", HERE / "table.css"))

    view: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    names: traitlets.List[list[str]] = traitlets.List().tag(sync=True)
    holds: traitlets.List[list[str]] = traitlets.List(default_value=HOLDS).tag(sync=True)
    read_only = traitlets.Bool(default_value=False).tag(sync=True)
    #: The number of the last message heard: by it the browser side knows that ``view`` is the answer.
    answered = traitlets.Int(0).tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self._listeners: list[Callable[[Edit], object]] = []
        self.on_msg(self._receive)

    def on_edit(self, callback: Callable[[Edit], object]) -> None:
        """Call ``callback`` with each edit; a message that is no known edit is let pass.

        Set the new ``view`` before the callback returns, so that the focus can follow a line that was moved.
        """
        self._listeners.append(callback)

    def _receive(self, _widget: object, content: object, _buffers: object) -> None:
        edit = read_edit(content)
        try:
            for listener in tuple(self._listeners) if edit else ():
                listener(dict(edit or {}))
        finally:
            number = content.get("number") if isinstance(content, dict) else None
            if type(number) is int:
                self.answered = number

    def __repr__(self) -> str:
        lines = sum(len(lines) for lines in self.view.get("lines", []))
        return f"FormulaTable({self.view.get('title', '')!r}, {lines} line{'s' if lines != 1 else ''})"
