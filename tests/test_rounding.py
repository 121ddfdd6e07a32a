"""Rounding to a step, one value at a time and a whole set so that it still adds up."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from kit.rounding import round_to_step, round_to_total, round_with_rest

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


@given(VALUES, STEPS)
def test_only_the_largest_is_off_by_more_than_half_a_step_and_the_sum_holds(values: list[float], step: float) -> None:
    d = Decimal(repr(step))
    exact = [Decimal(repr(value)) for value in values]
    rounded = [Decimal(repr(value)) for value in round_with_rest(values, step)]
    assert all(value >= 0 and value % d == 0 for value in rounded)
    assert abs(sum(rounded, Decimal(0)) - sum(exact, Decimal(0))) <= d / 2
    off = [abs(a - b) for a, b in zip(rounded, exact, strict=True)]
    largest = values.index(max(values)) if values else 0
    assert all(each <= d / 2 for n, each in enumerate(off) if n != largest) or all(each < d for each in off)


def test_a_line_near_a_step_is_not_rounded_away_from_it() -> None:
    # Each by hand to its nearest tenth is 50.1, 24.0, 16.0, 10.0, which is 0.1 too much: the largest gives it up.
    assert round_with_rest([50.08, 23.97, 15.99, 9.96], 0.1) == [50.0, 24.0, 16.0, 10.0]
    assert round_with_rest([90.16, 3.36, 3.24, 3.24], 0.1) == [90.2, 3.4, 3.2, 3.2]
    assert round_with_rest([90.14, 3.34, 3.26, 3.26], 0.1) == [90.1, 3.3, 3.3, 3.3]
    # Ten of 0.4 are 4 in steps of 1: each would be nothing, and the first cannot take all.
    assert round_with_rest([0.4] * 10, 1.0) == round_to_total([0.4] * 10, 1.0)
    assert round_with_rest([], 0.1) == []
