"""Plotly's script goes to a page once, and again to a page that asks for it."""

from __future__ import annotations

from typing import Any

import plotly.graph_objects as go
import pytest
from plotly.basewidget import BaseFigureWidget

from kit.widgets.chart import Chart


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Chart, Any, list[bytes]]]:
    """What charts send from now on, in a kernel that has sent nothing yet."""
    sent: list[tuple[Chart, Any, list[bytes]]] = []
    monkeypatch.setattr(Chart, "send", lambda self, content, buffers: sent.append((self, content, buffers)))
    monkeypatch.setattr(Chart, "_is_sent", False)
    return sent


def test_first_chart_sends_script_and_others_only_when_asked(sent: list[tuple[Chart, Any, list[bytes]]]) -> None:
    first, second = Chart(go.Figure()), Chart(go.Figure())
    script = BaseFigureWidget._esm
    assert [(one, content) for one, content, _ in sent] == [(first, {"is": "script"})]
    assert sent[0][2][0].decode() == str(script)
    second._handle_custom_msg({"want": "script"}, [])
    second._handle_custom_msg({"want": "something else"}, [])
    assert [one for one, _, _ in sent] == [first, second]


def test_chart_itself_is_small(sent: list[tuple[Chart, Any, list[bytes]]]) -> None:
    state = Chart(go.Figure()).get_state()
    assert len(state["_esm"]) < 10_000
