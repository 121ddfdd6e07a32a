"""Serial dilution and aliquots: every step can be measured, the strength is exact, waste is small."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.serial import aliquot, serial_plan
from kit.errors import RangeError


@given(
    st.floats(0.5, 100),
    st.floats(0.001, 7).map(lambda x: 10**x),
    st.floats(0.01, 5),
    st.floats(0.1, 3).map(lambda x: 10**x),
    st.floats(0.001, 1),
)
def test_every_step_fits_and_the_strength_is_exact(
    start: float, ratio: float, least: float, span: float, part: float
) -> None:
    most = least * span
    assume(span >= 1.25 and ratio < span**8)
    plan = serial_plan(start, start / ratio, part * most, least, most)
    assert plan.reached == pytest.approx(start / ratio, rel=1e-9)
    for step in plan.steps:
        assert step.take >= least * (1 - 1e-9)
        assert step.makes <= most * (1 + 1e-9)
        assert step.diluent > 0
    for before, after in pairwise(plan.steps):
        assert before.makes >= after.take * (1 - 1e-9)
    assert plan.steps[-1].makes >= plan.amount * (1 - 1e-9)


@given(st.floats(1, 40), st.integers(1, 400))
def test_one_step_with_nothing_left_over_where_that_can_be_measured(factor: float, tenths: int) -> None:
    amount = tenths / 10
    assume(factor > 1.001 and amount / factor >= 0.82)
    plan = serial_plan(10, 10 / factor, amount, 0.82, 500)
    assert len(plan.steps) == 1
    assert plan.waste == pytest.approx(0, abs=1e-9)
    assert plan.steps[0].take == pytest.approx(amount / factor)


def test_a_further_step_is_taken_where_it_saves_more_than_the_wanted_amount() -> None:
    # One step of 1 in 1000 would make 1000 g to use 100 g; two make 10 g and 100 g.
    plan = serial_plan(10, 0.01, 100, 1, 2000)
    assert [(step.take, step.makes) for step in plan.steps] == [(1, 10), (1, 100)]
    assert plan.waste == 9
    single = serial_plan(10, 0.01, 100, 1, 2000, steps=1)
    assert (len(single.steps), single.waste) == (1, 900)
    # 70 times, at least 2 g and at most 100 g, 30 g wanted: 5 times (2 g in 10 g), then 14 times (30 / 14 g in 30 g),
    # so 10 - 30 / 14 g stay; 7 and 10 times would leave 11 g, and so would any other pair of round factors or more
    assert serial_plan(7, 0.1, 30, 2, 100, steps=2).waste == pytest.approx(10 - 30 / 14)


def test_factors_that_are_not_round_are_taken_where_they_save_a_tenth() -> None:
    # 14 x 14 x 14 x 14 = 38416: 1 g in 14 g four times over leaves three times 13 g. The nearest round factor, 20,
    # leaves 3.8 + 19 + 19 + 6 = 47.8 g, with 38416 / 8000 = 4.8 for the first step.
    equal = serial_plan(38.416, 0.001, 14, 1, 40, steps=4)
    assert [(step.take, step.makes) for step in equal.steps] == [(1, 14)] * 4
    assert equal.waste == 39
    # 2401 is 7 x 7 x 7 x 7, which leaves 18 g; three times 8, which is round, and 2401 / 512 = 4.69 leave 18.69 g, less
    # than a tenth more.
    near = serial_plan(2401, 1, 7, 1, 30, steps=4)
    assert [step.makes for step in near.steps] == pytest.approx([2401 / 512, 8, 8, 8])
    assert near.waste == pytest.approx(2401 / 512 - 1 + 7 + 7 + 1)
    # 91 times, of which the vessel does 90 at once: 1 g in 91 / 90 g and 1 g of that in 90 g, so 1 / 90 g stays.
    # 1.25 times and then 72.8 times would leave 1.25 - 90 / 72.8 = 0.0137 g, 50 times last 1.82 - 1.8 = 0.02 g.
    full = serial_plan(91, 1, 90, 1, 90, steps=2)
    assert [step.makes for step in full.steps] == pytest.approx([91 / 90, 90])
    assert full.waste == pytest.approx(1 / 90, rel=1e-6)
    # 81 x 90 x 90 = 656100: 80 + 89 + 0 g stay; three equal steps of 86.9 times would leave 85.9 + 85.9 g
    three = serial_plan(656100, 1, 90, 1, 90, steps=3)
    assert [step.makes for step in three.steps] == pytest.approx([81, 90, 90])
    assert three.waste == pytest.approx(169, rel=1e-6)


def test_a_round_factor_may_fill_the_vessel() -> None:
    # 200 times at most 100 at once: twice and 100 times leaves 1 g, 4 and 50 times 2 g.
    plan = serial_plan(200, 1, 100, 1, 100, steps=2)
    assert [(step.take, step.makes) for step in plan.steps] == [(1, 2), (1, 100)]
    twice = serial_plan(500_000, 1, 100, 1, 100, steps=3)
    assert [(step.take, step.makes) for step in twice.steps] == [(1, 100), (1, 50), (1, 100)]  # 99 + 49 g stay


def test_no_easy_pair_of_factors_wastes_less() -> None:
    plan = serial_plan(10, 0.01, 100, 1, 200, steps=2)
    for first in range(5, 200):
        second = 1000 / first
        if second <= 200:
            made_last = max(100.0, second)
            take = made_last / second
            waste = max(first, take) - take + made_last - 100
            assert plan.waste <= waste * 1.1 + 1e-9


def test_rounded_to_the_balance() -> None:
    plan = serial_plan(10, 0.003, 100, 0.82, 500, readability=0.01)
    for step in plan.steps:
        assert round(step.take / 0.01) == pytest.approx(step.take / 0.01)
        assert round(step.makes / 0.01) == pytest.approx(step.makes / 0.01)
    assert plan.reached == pytest.approx(0.003, rel=1e-3)
    assert plan.reached != 0.003


def test_a_vessel_that_holds_a_fifth_more_than_the_least_is_enough() -> None:
    # 1.2 times twice is 1.44 times: 100 g in 120 g, and 100 g of those in 120 g
    plan = serial_plan(1.44, 1, 120, 100, 120)
    assert [step.take for step in plan.steps] == pytest.approx([100, 100])
    assert [step.makes for step in plan.steps] == pytest.approx([120, 120])
    assert plan.waste == pytest.approx(20)


def test_in_words() -> None:
    plan = serial_plan(10, 0.005, 100, 0.82, 500, readability=0.01)
    assert plan.sentences("% w/w") == [
        "Take 0.82 g of the stock and make up to 16.4 g (1 in 20): 0.5 % w/w, of which 15.4 g stay over.",
        "Take 1 g of solution 1 and make up to 100 g (1 in 100): 0.005 % w/w.",
    ]
    assert "mL of the stock" in serial_plan(10, 1, 100, 1, 500, unit="mL").sentences()[0]


@pytest.mark.parametrize(
    ("numbers", "more", "words"),
    [
        ((10, 0, 100, 1, 200), {}, "must all be above 0"),
        (
            (10, 10, 100, 1, 200),
            {},
            r"A solution of 10 cannot be diluted to 10: diluting only weakens\. Use a stock stronger than 10\.",
        ),
        ((10, 1, 300, 1, 200), {}, r"300 g is more than one step can hold, 200 g\. Make it in parts\."),
        (
            (10, 1, 100, 190, 200),
            {},
            r"The least that can be measured, 190 g, is too near the most of one step, 200 g\.",
        ),
        ((10, 1e-30, 100, 1, 200), {}, r"would take more than 8 steps\. Start from a weaker stock"),
        (
            (10, 0.01, 100, 1, 200),
            {"steps": 1},
            r"one step weakens at most 200 times; diluting 1000 times takes from 2 to 8 steps, not 1\.",
        ),
        ((10, 0.01, 100, 1, 200), {"steps": 9}, r"takes from 2 to 8 steps, not 9\."),
        ((10, 1, 100, 1, 200), {"readability": -0.01}, r"readability must be 0 or more, got -0\.01\."),
        ((10, 1, 100, 1, 200), {"readability": float("nan")}, "readability is not a number to compute with"),
        # 1.2 times 100 is 120, and less room than that is none
        ((10, 1, 100, 100, 119), {}, r"The least that can be measured, 100 g, is too near the most of one step, 119 g"),
    ],
)
def test_what_cannot_be_diluted(numbers: tuple[float, ...], more: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        serial_plan(*numbers, **more)


@given(st.floats(0.001, 0.5), st.floats(0.6, 100), st.floats(1, 5))
def test_a_portion_of_an_aliquot_holds_the_dose(needed: float, least: float, larger: float) -> None:
    made = aliquot(needed, least, least * larger)
    assert made.weigh >= least * (1 - 1e-12)
    assert made.weigh - needed <= least * (1 + 1e-12)
    assert made.weigh * made.portion / made.total == pytest.approx(needed)
    assert made.weigh + made.diluent == pytest.approx(made.total)


def test_the_portion_is_the_least_unless_given() -> None:
    assert aliquot(2, 120).portion == 120


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((130, 120), r"130 can be weighed directly: the balance weighs 120 and more\. No aliquot is needed\."),
        ((2, 120, 100), r"A portion of 100 is below the least weight, 120\."),
        ((0, 120), "must all be above 0"),
    ],
)
def test_aliquots_that_make_no_sense(numbers: tuple[float, ...], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        aliquot(*numbers)
