"""Colour differences held against a library made for colour; Sharma's printed pairs are in tests/published."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.stability.colour_difference import BEYOND, CLASSES, class_of, delta_e_76, delta_e_2000, difference_words
from tests.colour_judge import colour

AXIS = st.floats(-100, 100).map(lambda number: round(number, 3))
LAB = st.tuples(st.floats(0, 100).map(lambda number: round(number, 3)), AXIS, AXIS)


def opposite(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Hues so nearly opposite that rounding decides which way round is the shorter, or no hue at all."""
    hues = [math.degrees(math.atan2(b, a)) for _, a, b in (one, other)]
    return abs(abs(hues[0] - hues[1]) - 180) < 5 or min(math.hypot(*one[1:]), math.hypot(*other[1:])) < 1e-6


@given(LAB, LAB)
def test_both_agree_with_the_judge(one: tuple[float, float, float], other: tuple[float, float, float]) -> None:
    assert delta_e_76(one, other) == pytest.approx(float(colour.difference.delta_E_CIE1976(one, other)), abs=1e-9)
    if not opposite(one, other):
        assert delta_e_2000(one, other) == pytest.approx(
            float(colour.difference.delta_E_CIE2000(one, other)), rel=1e-9, abs=1e-9
        )


@given(LAB, LAB)
def test_a_difference_has_no_direction(one: tuple[float, float, float], other: tuple[float, float, float]) -> None:
    assert delta_e_2000(one, one) == 0
    assert delta_e_2000(one, other) >= 0
    if not opposite(one, other):
        assert delta_e_2000(one, other) == pytest.approx(delta_e_2000(other, one), rel=1e-9, abs=1e-9)


def test_greys_differ_in_lightness_alone() -> None:
    assert delta_e_76((50, 0, 0), (60, 0, 0)) == 10
    # On greys CIEDE2000 is the difference in lightness over S_L at the mean lightness, here 55.
    assert delta_e_2000((50, 0, 0), (60, 0, 0)) == pytest.approx(10 / (1 + 0.015 * 25 / math.sqrt(45)))


def test_words_name_both_formulas_and_no_verdict() -> None:
    words = difference_words((62.1, 4.5, 18.0), (60.9, 5.1, 20.4))
    assert words == "CIEDE2000 1.68, CIE76 2.75 (small by its table)"
    ends = [end for end, _ in CLASSES]
    assert ends == sorted(ends)
    assert class_of(1e9) == BEYOND
