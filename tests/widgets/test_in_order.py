"""What a hand does is heard in its order, and nothing of it is sent back over what it does next."""

from __future__ import annotations

import inspect
from typing import Any

import pytest
from ipykernel.comm.comm import BaseComm
from ipykernel.kernelbase import Kernel

import kit
from kit.widgets.in_order import InOrder
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.stopwatch import Stopwatch
from tests.widgets.hands import all_widgets, two_layers


def test_every_drawn_widget_of_a_panel_is_heard_by_the_main_thread() -> None:
    panels = (kit.FormulaPanel(two_layers()), kit.RatioPanel(two_layers()), kit.PartingTrialsPanel(two_layers()))
    drawn = [one for panel in panels for one in all_widgets(panel) if isinstance(one, InOrder)]
    assert {type(one).__name__ for one in drawn} >= {"Form", "FormulaTable", "RatioView", "ReadingRows", "Stopwatch"}
    assert {one.comm._reply_subshell_for({"method": "custom"}, "a subshell") for one in drawn} == {None}


def test_the_kernel_asks_that_way() -> None:
    if "subshell" in inspect.getsource(Kernel):
        assert "_reply_subshell_for" in inspect.getsource(Kernel.shell_channel_thread_main)
        assert hasattr(BaseComm, "_reply_subshell_for")


@pytest.mark.parametrize(
    ("made", "name", "first", "second"),
    [
        (ReadingRows, "texts", {"0.4": "4", "1.1": "9,5"}, {"0.4": "5"}),
        (Stopwatch, "marks", [0.4, 1.1], [0.4, 1.1, 2.0]),
    ],
)
def test_what_was_typed_is_not_sent_back_and_what_is_set_in_answer_is(
    made: Any, name: str, first: Any, second: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    widget = made()
    sent: list[str] = []
    monkeypatch.setattr(widget, "send_state", lambda key: sent.append(key))  # noqa: PLW0108 - it is given by its name

    def say(value: Any) -> None:
        rows = {"kind": "typed", "texts": value}
        widget._receive(widget, rows if name == "texts" else {"kind": "set", "values": {name: value}}, [])

    say(first)
    assert getattr(widget, name) == first
    assert sent == []
    widget.observe(lambda _: setattr(widget, name, type(first)()), names=[name])
    say(second)
    assert getattr(widget, name) == type(first)()
    assert sent == [name]
