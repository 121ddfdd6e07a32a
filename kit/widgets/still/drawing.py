"""Any panel as plain HTML, from the tree of its widgets: what stands in it now, and nothing that can be pressed.

No panel draws a still of its own. Each kind of widget has one function here, which reads what the browser is sent. The
HTML has no script and asks nothing of another file. An untrusted notebook takes away style sheets and drawings, so the
order of the elements alone must be readable, and a drawing goes in as a picture whose text says what it shows.
"""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.visible_text import visible
from kit.widgets.form import Form
from kit.widgets.formula_table import FormulaTable
from kit.widgets.html import SIGNS
from kit.widgets.ratio_view import RatioView
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.still.cleaning import cleaned
from kit.widgets.still.pictures import figure_still, ratio_picture
from kit.widgets.stopwatch import Stopwatch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

#: The look of a still, and who is seen: see the file.
STYLE = f"<style>\n{(Path(__file__).resolve().parent / 'still.css').read_text(encoding='utf-8')}</style>"

#: A title is one also where the style sheet is taken away.
TITLE = 'class="sw-title" style="font-weight:650;font-size:1.25em"'


def still(widget: ipw.Widget) -> str:
    """What a panel shows, as HTML that needs neither kernel nor script; to stand in a frame of the class sw-still."""
    return STYLE + drawn(widget).replace('class="sw-title"', TITLE)


def drawn(widget: ipw.Widget) -> str:
    """The same without the frame around it; nothing for what is hidden."""
    layout = getattr(widget, "layout", None)
    if isinstance(layout, ipw.Layout) and (layout.display == "none" or layout.visibility == "hidden"):
        return ""
    for kind, draw in _DRAWN:
        if isinstance(widget, kind):
            return draw(widget)
    if hasattr(widget, "to_plotly_json"):
        return figure_still(widget)
    return _control(widget)


def _html(widget: ipw.HTML) -> str:
    return f"<div>{cleaned(widget.value)}</div>" if widget.value else ""


def _box(widget: ipw.Box) -> str:
    return "".join(drawn(child) for child in widget.children)


def _accordion(widget: ipw.Accordion) -> str:
    return "".join(
        _folded(str(title), drawn(child), is_open=number == widget.selected_index)
        for number, (title, child) in enumerate(zip(widget.titles, widget.children, strict=False))
    )


def _form(form: Form) -> str:
    """Words and values of what is asked for now, what is wrong with them, and what was said last."""
    rows = []
    for one in form.fields:
        if one["name"] in form.hidden:
            continue
        text = ", ".join(str(form.texts.get(one["name"], "")).split("\n"))
        fault = form.faults.get(one["name"], "")
        value = f"{text} {one['unit']}".strip() if text else "—"
        rows.append([one["words"], f"{value} ({SIGNS['stop']} {fault})" if fault else value])
    table = _table((), rows)
    sentence = form.said.get("sentence", "")
    sign = "✓" if form.said.get("severity") == "note" else SIGNS["stop"]
    inside = table + (_line(f"{sign} {sentence}") if sentence else "")
    return _folded(form.fold, inside) if form.fold else inside


def _formula_table(table: FormulaTable) -> str:
    view: Mapping[str, Any] = table.view
    if not view:
        return ""
    head = ["ingredient", "also called", "typed", "% w/w", view["grams_head"], "holds", "change"]
    holds = dict(table.holds)
    rows, said = [], [*view["findings"]]
    for phase, lines in zip(view["phases"], view["lines"], strict=True):
        rows.append([f"{phase['name']} ({phase['kind']})", "", "", phase["total"], "", "", ""])
        said += phase["findings"]
        for line in lines:
            rows.append(
                [line["material"], line["plain"], line["entry"], line["percent"], line["grams"],
                 holds.get(line["hold"], line["hold"]), line["change"]]
            )  # fmt: skip
            said += line["findings"]
    rows.append(["Total", "", "", view["total"], "", "", ""])
    if view["total_sentence"]:
        said.insert(0, {"severity": "stop", "sentence": view["total_sentence"], "source": ""})
    return (
        _line(view["title"], "sw-title")
        + _line(view["subtitle"], "sw-subtitle")
        + _table(head, rows, numbers=(2, 3, 4, 6))
        + "".join(_finding(one) for one in said)
    )


def _ratio(widget: RatioView) -> str:
    view: Mapping[str, Any] = widget.view
    if not view:
        return ""
    if view.get("message"):
        return _line(view["message"])
    layers = [[layer["name"], layer["label"]] for layer in reversed(view["layers"])]
    ends = [[f"{end['at']:.1f} %", end["label"]] for end in view["crossings"]]
    return (
        _line(view.get("title", ""), "sw-title")
        + _line(view.get("subtitle", ""), "sw-subtitle")
        + _line(view["now_label"])
        + ratio_picture(view)
        + _table(["layer, from the top", "height and density"], layers)
        + (_table(["oil layer", "where a rule ends"], ends) if ends else "")
    )


def _readings(widget: ReadingRows) -> str:
    found = []
    for group in widget.view.get("groups", []):
        rows = []
        for row in group["rows"]:
            said = widget.said.get(row["key"], {})
            told = [said.get("words", ""), *(one["sentence"] for one in said.get("findings", ()))]
            value = widget.texts.get(row["key"], "")
            rows.append(
                [row["label"], f"{value} {row['unit']}".strip() if value else "—", row["before"], " ".join(told)]
            )
        found.append(_line(group["title"]) + _table(["reading", "typed", "before", ""], rows))
    return "".join(found)


def _stopwatch(widget: Stopwatch) -> str:
    return _line(widget.words)


def _control(widget: ipw.Widget) -> str:
    """An ordinary control, as a maker's own cell may add: its words and its value; nothing for what has neither."""
    said, value = str(getattr(widget, "description", "") or ""), getattr(widget, "value", None)
    if isinstance(widget, ipw.Button) or (not said and value is None):
        return ""
    shown = ", ".join(map(str, value)) if isinstance(value, (tuple, list)) else str("" if value is None else value)
    return _line(f"{said}: {shown}" if said and shown else said or shown)


_DRAWN: tuple[tuple[type, Callable[[Any], str]], ...] = (
    (ipw.HTML, _html),
    (Form, _form),
    (FormulaTable, _formula_table),
    (RatioView, _ratio),
    (ReadingRows, _readings),
    (Stopwatch, _stopwatch),
    (ipw.Accordion, _accordion),
    (ipw.Box, _box),
)


# ---- small pieces -----------------------------------------------------------------------------------------


def _text(words: object) -> str:
    return escape(visible(str(words)))


def _line(words: str, name: str = "") -> str:
    if not words:
        return ""
    lines = _text(words).replace("\n", "<br>")
    return f'<div class="{name}">{lines}</div>' if name else f"<div>{lines}</div>"


def _finding(one: Mapping[str, Any]) -> str:
    source = f" ({one['source']})" if one["source"] else ""
    return _line(f"{SIGNS[one['severity']]} {one['severity']}: {one['sentence']}{source}")


def _folded(title: str, inside: str, *, is_open: bool = False) -> str:
    if not inside:
        return ""
    return f"<details{' open' if is_open else ''}><summary>{_text(title)}</summary>{inside}</details>"


def _table(head: Sequence[str], rows: Iterable[Sequence[object]], *, numbers: Iterable[int] = ()) -> str:
    right = set(numbers)

    def cells(row: Sequence[object], tag: str) -> str:
        return "".join(
            f"<{tag} class='sw-number'>{_text(cell)}</{tag}>" if n in right else f"<{tag}>{_text(cell)}</{tag}>"
            for n, cell in enumerate(row)
        )

    body = "".join(f"<tr>{cells(row, 'td')}</tr>" for row in rows)
    if not body:
        return ""
    top = f"<thead><tr>{cells(head, 'th')}</tr></thead>" if any(head) else ""
    return f"<table>{top}<tbody>{body}</tbody></table>"
