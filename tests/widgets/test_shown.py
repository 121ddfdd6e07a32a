"""What is shown in a control is no hand's act, whatever control and browser make of it."""

from __future__ import annotations

import ipywidgets as ipw
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.widgets.panel import number_box
from kit.widgets.shown import on_grid, on_hand, show_in, value_in
from tests.widgets.hands import browser_sends


@pytest.mark.parametrize("value", [5.0, 0.001, 1e5])
def test_a_number_is_shown_as_it_is_also_outside_the_usual_range(value: float) -> None:
    box = number_box("g", 5.0, 1.0, 10.0)
    show_in(box, value, within=(1.0, 10.0))
    assert box.value == value
    show_in(box, 6.0, within=(1.0, 10.0))
    assert (box.value, box.min, box.max) == (6.0, 1.0, 10.0)


def test_the_browser_sends_back_what_was_once_taken_for_a_wish() -> None:
    """Percents of a slider's length make 510.99999999999994 of 511, seen with noUiSlider in JupyterLab."""
    slider = ipw.FloatSlider(min=1, max=2000, step=1, value=511)
    assert browser_sends(slider) == 510.99999999999994
    heard: list[float] = []
    on_hand(slider, heard.append)
    slider.set_state({"value": browser_sends(slider)})
    assert heard == []
    assert value_in(slider) == 511
    slider.set_state({"value": 511.99999999999994})
    assert heard == [512]
    slider.set_state({"value": 510.99999999999994})  # and back: that is a hand again
    assert heard == [512, 511]


@given(
    st.sampled_from([(0, 30, 0.5), (1, 2000, 1), (10, 100, 0.5), (0, 2000, 5), (0, 100, 0.1), (0, 47.3, 0.5)]),
    st.floats(0.001, 5000),
    st.booleans(),
)
@example((1, 2000, 1), 1.5, False)
def test_a_slider_gives_back_exactly_what_it_was_shown(
    ends: tuple[float, float, float], value: float, widened: bool
) -> None:
    least, most, step = ends
    slider = ipw.FloatSlider(min=least, max=most, step=step, value=least)
    heard: list[float] = []
    on_hand(slider, heard.append)
    show_in(slider, value, within=(least, most) if widened else None)
    for _ in range(3):
        slider.set_state({"value": browser_sends(slider)})
        assert slider.value == pytest.approx(on_grid(slider, value), abs=1e-6 * step)
        assert value_in(slider) == value
        show_in(slider, value, within=(least, most) if widened else None)
    assert heard == []


@given(st.floats(1e-3, 1e9), st.integers(0, 6))
def test_a_number_that_is_shown_rounded_is_not_stored_rounded(value: float, places: int) -> None:
    box = number_box("g", 1.0, 0.0, 100.0)
    heard: list[float] = []
    on_hand(box, heard.append)
    show_in(box, value, round(value, places), within=(0.0, 100.0))
    box.set_state({"value": box.value})
    assert (value_in(box), heard) == (value, [])
    box.set_state({"value": box.value / 2 + 1})
    assert heard == ([] if box.value == round(value, places) else [box.value])


def test_narrowing_a_range_is_no_wish() -> None:
    box = number_box("g", 1.0, 0.0, 10.0)
    heard: list[float] = []
    on_hand(box, heard.append)
    show_in(box, 5000.0, within=(0.0, 10.0))
    show_in(box, 3.0, within=(0.0, 10.0))
    assert (box.value, box.max, heard) == (3.0, 10.0, [])


def test_a_list_that_loses_an_entry_and_a_colour_in_capitals_are_no_wish() -> None:
    box, picker = ipw.Dropdown(options=["a", "b"]), ipw.ColorPicker(value="#ABCDEF", concise=False)
    heard: list[str] = []
    for control in (box, picker):
        on_hand(control, heard.append)
    show_in(box, "c", among=["b", "c"])
    show_in(picker, "#ABCDE0")
    picker.set_state({"value": "#abcde0"})
    assert (box.value, heard) == ("c", [])
    box.set_state({"index": 0})
    assert heard == ["b"]


def test_the_browser_is_told_range_and_value_in_one_message(monkeypatch: pytest.MonkeyPatch) -> None:
    slider = ipw.FloatSlider(min=0, max=30, step=0.5, value=3)
    sent: list[object] = []
    monkeypatch.setattr(slider, "send_state", lambda key=None: sent.append(sorted(key or ())))
    show_in(slider, 44.5, within=(0, 30))
    assert sent == [["max", "value"]]
    assert slider.value == 44.5
