"""Rounding to a step, one value at a time and a whole set so that it still adds up."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from kit.rounding import round_to_step, round_to_total

STEPS = st.sampled_from([0.001, 0.01, 0.05, 0.1, 0.25, 1.0, 5.0])
VALUES = st.lists(st.floats(0, 1e6, allow_nan=False), max_size=20)


@given(VALUES, STEPS)
def test_a_set_keeps_its_rounded_sum(values: list[float], step: float) -> None:
    rounded = [Decimal(repr(value)) for value in round_to_total(values, step)]
    exact = sum((Decimal(repr(value)) for value in values), Decimal(0))
    assert abs(sum(rounded, Decimal(0)) - exact) <= Decimal(repr(step)) / 2


@given(VALUES, STEPS)
def test_each_value_moves_by_less_than_a_step_and_lies_on_one(values: list[float], step: float) -> None:
    d = Decimal(repr(step))
    for value, rounded in zip(values, round_to_total(values, step), strict=True):
        assert abs(Decimal(repr(rounded)) - Decimal(repr(value))) <= d
        assert Decimal(repr(rounded)) % d == 0


@given(VALUES, STEPS)
def test_what_is_rounded_stays(values: list[float], step: float) -> None:
    once = round_to_total(values, step)
    assert round_to_total(once, step) == once


@given(st.floats(-1e6, 1e6), STEPS)
def test_one_value_goes_to_the_nearest_step(value: float, step: float) -> None:
    d = Decimal(repr(step))
    rounded = Decimal(repr(round_to_step(value, step)))
    assert abs(rounded - Decimal(repr(value))) <= d / 2
    assert rounded % d == 0


def test_the_missing_step_goes_to_the_greatest_remainder() -> None:
    assert round_to_total([33.31, 33.34, 33.35], 0.1) == [33.3, 33.3, 33.4]


def test_among_equal_remainders_the_larger_value_and_then_the_earlier_gets_the_step() -> None:
    assert round_to_total([0.5, 3.5, 2.0], 1) == [0, 4, 2]
    assert round_to_total([1.5, 1.5, 2.0], 1) == [2, 1, 2]


def test_nothing_comes_of_nothing() -> None:
    assert round_to_total([], 0.1) == []
    assert round_to_total([0.0, 0.0], 0.1) == [0.0, 0.0]
