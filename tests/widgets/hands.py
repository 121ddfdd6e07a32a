"""What the tests of this room share: a small formula, hostile text, and eyes for what a panel says."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.formula.model import Formula, Line, Phase
from kit.inputs import Choice

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.widgets.bench import Bench
    from kit.widgets.form import Form

#: Runs a script wherever it is taken for HTML.
HOSTILE = '<img src=x onerror="alert(1)">'


def two_layers(**more: Any) -> Formula:
    """A small shake: water with q.s., 15 % oil layer."""
    water = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"), Line("Sodium Benzoate", "0.4", "level"))
    oil = (Line("Coco-Caprylate", "14.7", "fill"), Line("Tocopherol", "0.3"))
    phases = (Phase("Water layer", "water", water), Phase("Oil layer", "oil", oil))
    return Formula(**{"title": "Shake", "phases": phases, **more})


def one_phase(*lines: tuple[str, str], name: str = "Water layer", **more: Any) -> Formula:
    """One water phase with these lines."""
    return Formula("Toner", (Phase(name, "water", tuple(Line(*line) for line in lines)),), **more)


def typed(bench: Bench, phase: int, line: int, text: str) -> None:
    """Type an amount."""
    bench.apply({"kind": "set_entry", "phase": phase, "line": line, "text": text})


def entries(formula: Formula) -> list[list[str]]:
    return [[line.entry for line in phase.lines] for phase in formula.phases]


def names(formula: Formula) -> list[list[str]]:
    return [[line.material for line in phase.lines] for phase in formula.phases]


def flat(formula: Formula) -> list[float]:
    """The percents of a formula that is complete."""
    return [percent for phase in formula.percents for percent in phase if percent is not None]


def words(box: ipw.HTML) -> str:
    """What a person reads in a box."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", box.value)).split())


def rows(box: ipw.HTML) -> list[list[str]]:
    """The body of the table in a box, cell by cell."""
    body = re.search(r"<tbody>(.*)</tbody>", box.value, re.DOTALL)
    assert body, box.value
    return [
        [unescape(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)]
        for row in body[1].split("</tr>")[:-1]
    ]


def all_widgets(widget: ipw.Widget) -> Iterator[ipw.Widget]:
    """A widget and everything inside it."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from all_widgets(child)


def html_of(widget: ipw.Widget) -> str:
    """Everything inside a panel that the browser takes for HTML."""
    return "\n".join(inner.value for inner in all_widgets(widget) if isinstance(inner, ipw.HTML))


def is_hidden(widget: ipw.Widget) -> bool:
    return bool(widget.layout.display == "none")


def said(form: Form) -> str:
    """What a form says below its buttons."""
    return str(form.said.get("sentence", ""))


def offered(form: Form, name: str) -> dict[Any, str]:
    """What a list of a form offers: value and words."""
    reader = form.inputs[name].reader
    assert isinstance(reader, Choice)
    return dict(reader.options)
