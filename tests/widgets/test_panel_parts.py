"""The small pieces that every panel is made of."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import ipywidgets as ipw
import pytest

from kit.findings import Finding
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, heading, problem, sheet
from kit.widgets.look import PanelLook
from kit.widgets.panel import Panel
from tests.widgets.hands import HOSTILE, rows, typed, words

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


@pytest.mark.parametrize(
    "html",
    [
        heading(HOSTILE, HOSTILE),
        findings_list([Finding("stop", HOSTILE, source=HOSTILE)]),
        problem(HOSTILE),
        done(HOSTILE),
        sheet([HOSTILE], [[HOSTILE]], kinds=[f'"{HOSTILE}'], foot=[HOSTILE], caption=HOSTILE),
    ],
)
def test_text_from_a_person_is_escaped_wherever_html_is_made(html: str) -> None:
    assert "<img" not in html
    assert "&lt;img src=x onerror=&quot;alert(1)&quot;&gt;" in html


def test_findings_say_their_severity_in_words_and_their_source() -> None:
    box = ipw.HTML(findings_list([Finding("caution", "Weigh it in parts.", source="common practice")]))
    assert words(box) == "▲ caution Weigh it in parts. common practice"
    assert findings_list([]) == ""


def test_a_sheet_keeps_its_cells_and_refuses_rows_of_another_length() -> None:
    html = sheet(["a", "b"], [["1", "2"], ["3", "4"]], numbers=(1,), kinds=["oil"], foot=["", "6"])
    assert rows(ipw.HTML(html)) == [["1", "2"], ["3", "4"]]
    assert html.count('class="sw-number"') == 4
    assert html.count('data-kind="oil"') == 1


def test_a_row_is_named_by_its_first_cell_unless_that_is_a_number_or_empty() -> None:
    """What a screen reader says of each cell: HTML Standard, 4.9.12.1, forming relationships between cells."""
    named = sheet(["layer", "", "mm"], [["Oil", "x", "19"], ["", "y", "2"]], numbers=(2,), caption="Layers & air")
    assert re.findall(r'<th scope="(\w+)"[^>]*>(\w+)<', named) == [("col", "layer"), ("col", "mm"), ("row", "Oil")]
    assert 'aria-label="Layers &amp; air"' in named
    assert 'scope="row"' not in sheet(["%", "layers"], [["5", "two"]], numbers=(0,))


def test_a_fault_of_the_kit_is_not_passed_off_as_the_makers() -> None:
    form = Form((), [Button("divide", "Divide", lambda: str(1 / 0))])
    with pytest.raises(ZeroDivisionError):
        form.press("divide")


class CountingPanel(Panel):
    """Counts how often it is refreshed, and changes the bench while it is."""

    watches = ("formula", "tolerance")

    def __init__(self, bench: Bench) -> None:
        self.count = 0
        self.seen_refreshing: list[bool] = []
        super().__init__(bench, [])

    def refresh(self) -> None:
        self.count += 1
        self.seen_refreshing.append(self._refreshing)
        self.bench.tolerance += 0.5


def test_a_panel_refreshes_at_the_start_and_at_each_change_and_never_within_itself(bench: Bench) -> None:
    panel = CountingPanel(bench)
    typed(bench, 0, 1, "5")
    bench.fill = 50
    assert panel.count == 2
    assert panel.seen_refreshing == [True, True]
    assert not panel._refreshing


def test_a_panel_that_fails_once_is_not_dead(bench: Bench) -> None:
    panel = CountingPanel(bench)
    panel.refresh = lambda: 1 / 0  # type: ignore[method-assign, assignment]
    with pytest.raises(ZeroDivisionError):
        typed(bench, 0, 1, "5")
    del panel.refresh
    typed(bench, 0, 1, "6")
    assert panel.count == 2


def test_every_panel_brings_its_look(bench: Bench) -> None:
    panel = CountingPanel(bench)
    assert isinstance(panel.children[-1], PanelLook)
    assert {"shakewell", "shakewell-panel"} <= set(panel._dom_classes)
