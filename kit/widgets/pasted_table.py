"""What is to become of a pasted table where lines are there already: asked once, and nothing changes before."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.widgets.form import Button, Form
from kit.widgets.typing_in import is_table_beside_lines, paste_notes

if TYPE_CHECKING:
    from kit.widgets.bench import Bench
    from kit.widgets.formula_table.table import Edit

REPLACES = "All lines that are here go; title, stocks, rules and steps stay. Undo brings them back"
ADDS = "What is here stays as it is, and the percents of both count together"


class PastedTable(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    r"""Takes what a hand pastes into the formula table; where it could add or replace, two buttons ask.

    Examples
    --------
    >>> from kit.widgets.bench import Bench
    >>> asked = PastedTable(Bench())
    >>> asked.take({"kind": "paste", "phase": 0, "line": 0, "field": "material", "text": "Aqua\t90\nUrea\t10"})
    >>> asked.is_asking
    True
    """

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._edit: Edit | None = None
        self.question = ipw.HTML()
        self.form = Form(
            [],
            [
                Button("replace", "Replace all lines", lambda: self._do("replace"), REPLACES, primary=True),
                Button("add", "Add", lambda: self._do("add"), ADDS),
            ],
        )
        super().__init__([self.question, self.form])
        self._put_away()

    @property
    def is_asking(self) -> bool:
        """Whether a person has to choose what becomes of the pasted rows."""
        return self._edit is not None

    def take(self, edit: Edit) -> None:
        """Do a paste, or ask what it is to do; the table that is asked about is the one that was pasted last."""
        found = is_table_beside_lines(self._bench.formula, edit)
        if found is None:
            self._put_away()
            self._apply(edit)
            return
        self._edit = edit
        count, here = len(found.rows), sum(1 for *_, line, _ in self._bench.formula.each_line() if not line.is_blank)
        self.form.call("add", "Add as new layers" if found.names_phases else "Add to this layer")
        self.form.tell("")
        self.question.value = (
            '<div class="sw-sentences"><div class="sw-finding" data-severity="caution">▲ '
            f"<b>{count} rows were pasted, and {here} {'line is' if here == 1 else 'lines are'} here already.</b> "
            f"Nothing is changed yet. {escape(_first(found.rows[0].material, count))} "
            "Choose whether they replace all lines or come beside them.</div></div>"
        )
        self.form.show("replace", "add")

    def _do(self, how: str) -> str:
        edit = self._edit
        if edit is None:
            return ""
        self._put_away()
        self._apply({**edit, "how": how})
        return ""

    def _apply(self, edit: Edit) -> None:
        before = self._bench.formula
        notes = paste_notes(before, edit)
        self._bench.apply(edit)
        if notes and self._bench.formula != before:
            self._bench.told = " ".join(filter(None, [self._bench.told, *notes]))

    def _put_away(self) -> None:
        self._edit = None
        self.question.value = ""
        self.form.tell("")
        self.form.show()


def _first(material: str, count: int) -> str:
    return f"The first of them is {material}." if material and count > 1 else ""
