"""Rates and their intervals; printed cases are in tests/published."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
import statsmodels.formula.api as smf
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kit.errors import EntryError, RangeError
from kit.stability.kinetics import energy_from_two, kelvin, q10_factor, rate, rate_from_loss, share_left, time_to_share
from kit.stability.series import Series

if TYPE_CHECKING:
    from collections.abc import Callable

DAYS = (0.0, 14.0, 28.0, 56.0, 84.0)
ONE = Series("A", DAYS, (100.2, 96.9, 94.8, 89.2, 84.9))
TWO = Series("B", DAYS, (102.1, 99.6, 96.2, 91.7, 86.3))


def test_a_rate_is_the_slope_of_the_logarithms() -> None:
    found, judge = rate(ONE, 40), stats.linregress(DAYS, np.log(ONE.values))
    assert found.k == pytest.approx(-judge.slope, rel=1e-9)
    assert found.error == pytest.approx(judge.stderr, rel=1e-9)
    assert found.start == pytest.approx(math.exp(judge.intercept), rel=1e-9)
    low, high = found.interval(0.9)
    assert (high - low) / 2 == pytest.approx(stats.t.ppf(0.95, 3) * judge.stderr, rel=1e-9)
    assert found.t90 == pytest.approx(math.log(1 / 0.9) / found.k)
    assert (found.df, found.readings) == (3, 5)


def test_zero_order_is_the_slope_of_the_readings() -> None:
    found, judge = rate([ONE], 40, "zero"), stats.linregress(DAYS, ONE.values)
    assert found.k == pytest.approx(-judge.slope, rel=1e-9)
    assert found.t90 == pytest.approx(0.1 * judge.intercept / found.k)


def test_batches_share_a_slope_each_with_its_start() -> None:
    import pandas as pd

    found = rate([ONE, TWO], 40)
    frame = pd.DataFrame({"day": DAYS * 2, "y": np.log(ONE.values + TWO.values), "batch": list("AAAAABBBBB")})
    judge = smf.ols("y ~ day + C(batch)", frame).fit()
    assert found.k == pytest.approx(-judge.params["day"], rel=1e-9)
    assert found.error == pytest.approx(judge.bse["day"], rel=1e-9)
    assert found.df == judge.df_resid


def test_where_nothing_is_lost_there_is_no_end() -> None:
    found = rate(Series("A", (0, 1, 2), (1.0, 1.1, 1.2)), 25)
    assert found.k < 0
    assert found.t90 == math.inf


@pytest.mark.parametrize(
    ("series", "words"),
    [
        (Series("A", (0, 1), (2, 1)), "At 40 °C a batch has readings on fewer than three days"),
        (Series("A", (0, 1, 2), (2, 1, 0)), "At 40 °C there is a reading of 0: first order takes logarithms"),
        ([], "At 40 °C a batch has readings on fewer than three days"),
    ],
)
def test_what_gives_no_rate(series: Series | list[Series], words: str) -> None:
    with pytest.raises(EntryError, match=words):
        rate(series, 40)


@given(st.floats(1, 99), st.floats(1e-6, 10), st.sampled_from(["zero", "first"]), st.floats(0.5, 200))
def test_after_that_time_that_share_is_left(left: float, k: float, order: str, start: float) -> None:
    time = time_to_share(left, k, order=order, start=start)  # type: ignore[arg-type]
    assert share_left(time, k, order=order, start=start) == pytest.approx(left)  # type: ignore[arg-type]


def test_zero_order_ends_at_nothing() -> None:
    assert share_left(1000, 0.5, order="zero", start=100) == 0


@given(st.floats(0.1, 99.9), st.floats(0.1, 1e4))
def test_a_rate_from_a_loss_gives_that_loss(lost: float, time: float) -> None:
    assert share_left(time, rate_from_loss(lost, time)) == pytest.approx(100 - lost)


def test_words_of_what_is_refused() -> None:
    with pytest.raises(RangeError, match="What is left must lie between 0 and 100 % of the start, got 100 %"):
        time_to_share(100, 0.1)
    with pytest.raises(RangeError, match="The rate constant must be above 0, got 0: where nothing is lost"):
        time_to_share(90, 0)
    with pytest.raises(RangeError, match="The start must be above 0, got -1"):
        time_to_share(90, 1, order="zero", start=-1)
    with pytest.raises(RangeError, match=re.escape("A loss of 100 % in 5 gives no rate")):
        rate_from_loss(100, 5)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: kelvin(-273.15), "nothing is colder than -273.15"),
        (lambda: kelvin(-300), "-300 °C is not possible"),
        (lambda: time_to_share(0, 0.1), "between 0 and 100 % of the start, got 0"),
        (lambda: time_to_share(100, 0.1), "between 0 and 100 % of the start, got 100"),
        (lambda: time_to_share(90, 0.0), "The rate constant must be above 0, got 0"),
        (lambda: time_to_share(90, 0.1, order="zero", start=0.0), "The start must be above 0, got 0"),
        (lambda: rate_from_loss(0, 1), "A loss of 0 % in 1 gives no rate"),
        (lambda: rate_from_loss(100, 1), "A loss of 100 % in 1 gives no rate"),
        (lambda: rate_from_loss(10, 0), "A loss of 10 % in 0 gives no rate"),
        (lambda: q10_factor(0, 30, 20), "Q10 must be above 0, got 0"),
        (lambda: energy_from_two(0, 20, 30), "gives no activation energy"),
        (lambda: energy_from_two(2, 30, 30), "gives no activation energy"),
        (lambda: share_left(-1, 0.1), "0 or more"),
        (lambda: share_left(1, -0.1), "0 or more"),
        (lambda: share_left(1, 0.1, start=0), "above 0"),
    ],
)
def test_what_has_no_rate_and_no_time_is_refused(work: Callable[[], float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()


def test_times_shares_and_factors_by_hand() -> None:
    assert kelvin(-273.0) == pytest.approx(0.15)
    assert time_to_share(0.5, 0.1) == pytest.approx(math.log(200) / 0.1)
    assert time_to_share(90, 0.1, order="zero", start=50) == pytest.approx(50)  # 5 of 50 units at 0.1 a day
    assert share_left(20, 0.5, order="zero", start=40) == pytest.approx(75)  # 10 of 40 units are lost
    assert share_left(100, 0.5, order="zero", start=40) == 0
    assert rate_from_loss(0.5, 10) == pytest.approx(-math.log(0.995) / 10)
    assert q10_factor(0.5, 40, 20) == pytest.approx(0.25)
    # R ln 2 / (1/293.15 K - 1/303.15 K)
    assert energy_from_two(2, 20, 30) == pytest.approx(8.314462618e-3 * math.log(2) / (1 / 293.15 - 1 / 303.15))
    assert energy_from_two(2, 30, 20) == pytest.approx(-energy_from_two(2, 20, 30))
