"""The effective drop size: found again from made-up readings, honest about its interval, and plain words otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.layers.drop_fit import TIMINGS, DropFit, Timing, fit_drop_size
from kit.layers.separation import clearing, time_until
from kit.layers.shaken import DropSizes, Shaken
from tests.layers.shaken_examples import ROUND, STRAIGHT, made
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.layers.bottle import Bottle
    from kit.layers.separation import Seen


def readings(
    shaken: Shaken, seen: Seen, parts: Iterable[float] = (10, 25, 45, 70, 85), noise: float = 0.0, seed: int = 1
) -> list[Timing]:
    """What would be read when so many percent have left. [min, mm]"""
    seconds = [time_until(shaken, part) for part in parts]
    heights = clearing(shaken, seconds).clear(seen)
    heights = heights + noise * np.random.default_rng(seed).standard_normal(len(seconds))
    return [Timing(s / 60, max(float(h), 0.0)) for s, h in zip(seconds, heights, strict=True)]


@settings(max_examples=25)
@given(
    st.floats(8, 900),
    st.floats(1.1, 2.5),
    st.sampled_from((0.15, -0.15)),
    st.sampled_from((STRAIGHT, ROUND)),
    st.sampled_from(("lower", "upper")),
)
def test_a_known_size_is_found_again(median: float, spread: float, gap: float, bottle: Bottle, seen: Seen) -> None:
    truth = made(18, 70, gap=gap, bottle=bottle, sizes=DropSizes(median, spread))
    guess = replace(truth, sizes=DropSizes(100.0, spread))
    found = fit_drop_size(guess, readings(truth, seen), seen)
    assert found.median == pytest.approx(median, rel=1e-3)
    assert found.low <= found.median <= found.high


@pytest.mark.slow
def test_the_interval_holds_the_truth_about_as_often_as_it_says() -> None:
    truth = made(sizes=DropSizes(140.0, 1.6))
    held = 0
    for seed in range(40):
        found = fit_drop_size(truth, readings(truth, "lower", (5, 10, 20, 40, 60, 80), 1.0, seed), "lower")
        held += found.low <= 140 <= found.high
    assert held >= 34  # 38 of 40 on average at 95 %


def test_the_order_of_the_rows_and_the_size_before_do_not_matter() -> None:
    truth = made(sizes=DropSizes(140.0, 1.6))
    rows = readings(truth, "lower", noise=0.5)
    one = fit_drop_size(truth, rows, "lower")
    other = fit_drop_size(replace(truth, sizes=DropSizes(20.0, 1.6)), rows[::-1], "lower")
    assert other.median == pytest.approx(one.median, rel=1e-6)
    assert one.residuals == pytest.approx([t.millimetres - c for t, c in zip(one.timings, one.computed, strict=True)])


def test_the_sentence_says_size_interval_and_how_it_was_found() -> None:
    truth = made(sizes=DropSizes(140.0, 1.6))
    words = fit_drop_size(truth, readings(truth, "lower", noise=0.5), "lower").sentence()
    assert words.startswith("Effective drop size 1")
    assert "95 % interval" in words
    assert "slope of the model and Student's t, 5 readings, spread held at 1.6" in words


def test_a_curve_that_one_size_cannot_follow_is_pointed_at() -> None:
    bent = [Timing(1, 30), Timing(2, 31), Timing(4, 32), Timing(8, 33), Timing(16, 60)]
    assert "bend the curve in ways that one drop size cannot follow" in fit_drop_size(made(), bent, "lower").sentence()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([(1, 5), (2, 9)], r"2 of at least 3 readings: shake, then note the clear layer at three times or more"),
        ([(0, 0), (2, 9), (3, 12)], r"A reading at 0 min: count the minutes from the end of shaking, above 0"),
        ([(1, 5), (2, 9), (3, 90)], r"was 90 mm at 3 min, but in this bottle it lies between 0 and 63\.7 mm"),
        ([(1, -2), (2, 9), (3, 12)], r"was -2 mm at 1 min, but in this bottle it lies between 0"),
        ([(1, 5), (2, 20), (3, 8)], r"contradict one another: 20 mm at 2 min, then only 8 mm at 3 min\."),
        ([(2, 5), (2, 6), (2, 7)], r"All readings are at 2 min\. Read at different times"),
        ([(9, 63.7), (12, 63.5), (15, 63)], r"Every reading has the final 63\.7 mm, so the clearing itself was missed"),
        ([(1, 0), (2, 0), (3, 0)], r"Every reading is 0 mm, so nothing had cleared yet\. Read later"),
        ([(1e6, 1), (2e6, 2), (3e6, 3)], r"No drop size between 1 and 5000 µm explains these readings"),
    ],
)
def test_rows_that_cannot_be_fitted_say_why(rows: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        fit_drop_size(made(), [Timing(*row) for row in rows], "lower")


def test_rows_are_read_as_people_type_them() -> None:
    assert TIMINGS.read("0,5 2.5\n \n1 min; 5 mm") == (Timing(0.5, 2.5), Timing(1.0, 5.0))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("two 5", r"Row 2: 'two' is not a number"),
        ("2", r"Row 2: '2' must hold 2 numbers: min and mm\."),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row: str, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        TIMINGS.read(f"1 5\n{row}")


@each_of(
    ("rows", "words"),
    [
        # the clear lower layer ends at 63.7 mm; a ruler reads to 1 mm, so 2 mm more may be read; it may fall by 3 mm
        ([(1, 20), (2, 40), (60, 65.6)], ""),
        ([(1, 20), (2, 40), (60, 65.8)], "it lies between 0 and 63.7 mm"),
        ([(1, 0), (2, 20), (4, 40)], ""),
        ([(1, 23), (2, 20), (4, 40)], ""),
        ([(1, 23.1), (2, 20), (4, 40)], "contradict one another: 23.1 mm at 1 min, then only 20 mm at 2 min"),
        ([(1, 62.6), (2, 63), (4, 63.7)], ""),
        ([(1, 62.8), (2, 63), (4, 63.7)], "so the clearing itself was missed"),
    ],
)
def test_how_far_readings_may_err(rows: list[tuple[float, float]], words: str) -> None:
    timings = [Timing(*row) for row in rows]
    if not words:
        assert fit_drop_size(made(), timings, "lower").median > 0
        return
    with pytest.raises(RangeError, match=words):
        fit_drop_size(made(), timings, "lower")


@each_of(
    ("off", "high", "told"),
    [
        (2.1, 20, True),
        (-2.1, 20, True),
        (2.0, 10, False),
        (1.9, 10, False),
        (3.9, 40, False),
        (4.0, 40, False),
        (4.1, 40, True),
    ],
)
def test_a_reading_is_pointed_at_that_is_off_by_2_mm_and_by_a_tenth_of_the_highest(
    off: float, high: float, told: bool
) -> None:
    timings = (Timing(1, 5), Timing(2, high / 2), Timing(3, high))
    fit = DropFit(100.0, 90.0, 110.0, 1.6, timings, (5, high / 2 - off, high))
    assert (f"The one at 2 min is {off:+.1f} mm off" in fit.sentence()) == told
    assert ("bend the curve" in fit.sentence()) == told
    assert fit.typical_error == pytest.approx(abs(off) / 2**0.5)  # one residual, two degrees of freedom


def test_a_size_at_either_end_of_what_is_looked_at_explains_nothing() -> None:
    for rows in ([(1e-5, 5), (2e-5, 20), (3e-5, 50)], [(1e5, 5), (2e5, 20), (3e5, 50)]):
        with pytest.raises(RangeError, match="No drop size between 1 and 5000 µm explains these readings"):
            fit_drop_size(made(), [Timing(*row) for row in rows], "lower")
