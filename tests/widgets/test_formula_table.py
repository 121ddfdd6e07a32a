from __future__ import annotations

import re
from typing import Any

import pytest

from kit.widgets.formula_table import Edit, FormulaTable, read_edit
from kit.widgets.formula_table.table import EDITS

EXAMPLES: list[Edit] = [
    {"kind": "set_material", "phase": 0, "line": 1, "text": "Glycerin"},
    {"kind": "set_entry", "phase": 0, "line": 1, "text": "4,0 %"},
    {"kind": "set_hold", "phase": 0, "line": 1, "value": "level"},
    {"kind": "set_phase_name", "phase": 1, "text": "Oil layer"},
    {"kind": "set_phase_kind", "phase": 1, "value": "oil"},
    {"kind": "add_line", "phase": 0, "after": -1},
    {"kind": "remove_line", "phase": 0, "line": 0},
    {"kind": "move_line", "phase": 0, "line": 0, "to_phase": 1, "to_line": 2},
    {"kind": "add_phase", "after": 1},
    {"kind": "remove_phase", "phase": 1},
    {"kind": "move_phase", "phase": 1, "to": 0},
    {"kind": "paste", "phase": 0, "line": 0, "field": "material", "text": "Aqua\t80\nGlycerin\t4"},
    {"kind": "undo"},
    {"kind": "redo"},
]


def sent(table: FormulaTable, content: object) -> None:
    """What the kernel does when a message arrives from the browser."""
    table._handle_custom_msg(content, [])


def test_every_kind_of_edit_has_an_example() -> None:
    assert [example["kind"] for example in EXAMPLES] == list(EDITS)


@pytest.mark.parametrize("example", EXAMPLES, ids=[example["kind"] for example in EXAMPLES])
def test_an_edit_reaches_the_listener_as_it_was_sent(example: Edit) -> None:
    table = FormulaTable()
    heard: list[Edit] = []
    table.on_edit(heard.append)
    sent(table, {**example, "number": 7})
    assert heard == [example]
    assert table.answered == 7


@pytest.mark.parametrize(
    "content",
    [
        None,
        "undo",
        [],
        {},
        {"kind": ["undo"]},
        {"kind": "launch"},
        {"kind": "set_entry", "phase": 0, "line": 1},
        {"kind": "set_entry", "phase": "0", "line": 1, "text": "4"},
        {"kind": "set_entry", "phase": 0, "line": 1.0, "text": "4"},
        {"kind": "set_entry", "phase": True, "line": 1, "text": "4"},
        {"kind": "set_entry", "phase": 0, "line": 1, "text": 4},
    ],
)
def test_what_is_no_edit_is_let_pass(content: object) -> None:
    table = FormulaTable()
    heard: list[Edit] = []
    table.on_edit(heard.append)
    sent(table, content)
    assert heard == []
    assert read_edit(content) is None


def test_a_message_that_is_let_pass_is_still_answered_so_that_the_table_does_not_wait() -> None:
    table = FormulaTable()
    sent(table, {"kind": "launch", "number": 3})
    assert table.answered == 3


def test_the_answer_comes_after_the_new_view() -> None:
    table, order = FormulaTable(), []
    table.observe(lambda change: order.append(change["name"]), names=["view", "answered"])
    table.on_edit(lambda edit: table.set_trait("view", {"title": "After-swim body shake"}))
    sent(table, {"kind": "undo", "number": 1})
    assert order == ["view", "answered"]


def test_each_listener_gets_an_edit_of_its_own() -> None:
    table = FormulaTable()
    heard: list[Edit] = []
    table.on_edit(lambda edit: edit.clear())
    table.on_edit(heard.append)
    sent(table, {"kind": "redo"})
    assert heard == [{"kind": "redo"}]


def test_what_python_gives_is_what_the_browser_gets() -> None:
    state = FormulaTable(view={"title": "Bath shake"}, names=[["Aqua", "water"]], read_only=True).get_state()
    assert state["view"] == {"title": "Bath shake"}
    assert state["names"] == [["Aqua", "water"]]
    assert state["read_only"] is True
    assert [value for value, _label in state["holds"]] == ["share", "level", "fill"]


def test_the_browser_side_is_one_module_that_asks_nothing_of_the_network() -> None:
    script, style = FormulaTable._esm, FormulaTable._css
    assert script.count("export default") == 1
    assert not re.search(r"https?:|\bimport\b|\bfetch\b|XMLHttpRequest|innerHTML", script)
    assert not re.search(r"https?:|url\(|@import", style)


def tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"(--sw-[a-z-]+): (#[0-9a-f]{6});", block))


def test_the_dark_dress_is_the_same_in_jupyterlab_and_outside_it() -> None:
    light, lab, outside = (
        tokens(re.search(re.escape(head) + r"\s*{([^}]*)}", FormulaTable._css).group(1))  # type: ignore[union-attr]
        for head in (
            "\n.shakewell",
            '[data-jp-theme-light="false"] .shakewell',
            "body:not([data-jp-theme-light]) .shakewell",
        )
    )
    assert lab == outside
    assert light.keys() == lab.keys()
    assert len(light) == 19


@pytest.mark.parametrize(
    ("view", "words"),
    [
        ({}, "FormulaTable('', 0 lines)"),
        ({"title": "Toner", "lines": [[{}], []]}, "FormulaTable('Toner', 1 line)"),
        ({"title": "Toner", "lines": [[{}, {}], [{}]]}, "FormulaTable('Toner', 3 lines)"),
    ],
)
def test_its_name_in_a_cell_is_short(view: dict[str, Any], words: str) -> None:
    assert repr(FormulaTable(view=view)) == words
