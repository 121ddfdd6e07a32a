"""Lines of many series at once, held against statsmodels and SciPy."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from kit.stability.regression import Lines, lines_through_origin, straight_lines, student_t

# Whole numbers turned into readings: days that differ, and values with a decimal or two.
POINTS = st.lists(st.tuples(st.integers(0, 1000), st.integers(-5000, 5000)), min_size=3, max_size=20)


def arrays(points: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    x, y = np.array(points, dtype=float).T
    assume(len(set(x.tolist())) >= 3)
    y = y / 100 + 90
    assume(float(np.ptp(stats.linregress(x, y).intercept + stats.linregress(x, y).slope * x - y)) > 1e-3)
    return x, y


@given(POINTS, st.integers(-200, 2000))
def test_a_line_agrees_with_both_judges(points: list[tuple[int, int]], day: int) -> None:
    x, y = arrays(points)
    found, judge, other = straight_lines(x, y), sm.OLS(y, sm.add_constant(x)).fit(), stats.linregress(x, y)
    scale = float(np.abs(y).max())
    assert [found.intercept, found.slope] == pytest.approx(list(judge.params), rel=1e-9, abs=1e-9 * scale)
    assert float(found.slope) == pytest.approx(other.slope, rel=1e-9, abs=1e-12 * scale)
    assert [found.intercept_error, found.slope_error] == pytest.approx(list(judge.bse), rel=1e-9)
    assert [other.intercept_stderr, other.stderr] == pytest.approx(list(judge.bse), rel=1e-9)
    assert float(found.s) == pytest.approx(float(np.sqrt(judge.scale)), rel=1e-9)
    assert float(found.df) == judge.df_resid
    assert float(found.r_squared) == pytest.approx(judge.rsquared, abs=1e-9)
    assert float(found.f) == pytest.approx(judge.fvalue, rel=1e-8, abs=1e-12)
    frame = judge.get_prediction(np.array([[1.0, day]])).summary_frame(alpha=0.1)
    mean, near, far = float(found.at(day)), float(found.reach(day, 0.90)), float(found.reach(day, 0.90, of="reading"))
    sides = [mean, mean - near, mean + near, mean - far, mean + far]
    judged = frame[["mean", "mean_ci_lower", "mean_ci_upper", "obs_ci_lower", "obs_ci_upper"]].to_numpy()[0]
    assert sides == pytest.approx(list(judged), rel=1e-9, abs=1e-9 * scale)
    # One-sided 95 % is one side of two-sided 90 %.
    assert float(found.reach(day, 0.95, "one")) == pytest.approx(near, rel=1e-12)


@given(POINTS)
def test_a_line_through_zero_agrees_with_the_judge(points: list[tuple[int, int]]) -> None:
    x, y = arrays(points)
    found, judge = lines_through_origin(x, y), sm.OLS(y, x).fit()
    assert float(found.slope) == pytest.approx(float(judge.params[0]), rel=1e-9)
    assert float(found.slope_error) == pytest.approx(float(judge.bse[0]), rel=1e-9)
    assert float(found.r_squared) == pytest.approx(judge.rsquared, rel=1e-9)  # about zero, as the judge says too
    assert float(found.f) == pytest.approx(judge.fvalue, rel=1e-8)


@given(POINTS, st.integers(1, 9))
def test_readings_far_from_zero_lose_no_digits(points: list[tuple[int, int]], power: int) -> None:
    x, y = arrays(points)
    near, far = straight_lines(x, y), straight_lines(x + 10.0**power, y)
    assert float(far.slope) == pytest.approx(float(near.slope), rel=1e-9, abs=1e-12)
    assert float(far.s) == pytest.approx(float(near.s), rel=1e-9)


def test_many_series_are_each_fitted_alone() -> None:
    random = np.random.default_rng(7)
    x, y = random.uniform(0, 90, (4, 3, 9)), random.normal(50, 2, (4, 3, 9))
    y[1, 2, 5:] = np.nan
    x[3, 0, 0] = np.nan
    many = straight_lines(x, y)
    for place in np.ndindex(4, 3):
        there = np.isfinite(x[place]) & np.isfinite(y[place])
        one = straight_lines(x[place][there], y[place][there])
        for field in fields(Lines):
            assert getattr(many, field.name)[place] == pytest.approx(float(getattr(one, field.name)), rel=1e-12)


def test_what_cannot_be_known_is_nan_and_no_warning() -> None:
    same_day = straight_lines([5, 5, 5], [1, 2, 3])
    assert np.isnan(same_day.slope)
    assert np.isnan(same_day.slope_error)
    two = straight_lines([0, 1], [3.0, 4.0])
    assert float(two.slope) == pytest.approx(1)
    assert np.isnan(two.s)
    none = straight_lines([np.nan, np.nan], [1, 2])
    assert np.isnan(none.level)
    assert float(none.count) == 0


def test_readings_on_a_line_have_no_scatter_but_rounding() -> None:
    days = np.arange(0, 90, 7)
    assert float(straight_lines(days, 5.3 - 0.1 * days).s) == 0
    assert float(straight_lines(days, np.full(days.shape, 5.3)).s) == 0
    # The last digit of a balance is no rounding of the computer.
    assert float(straight_lines(days, 5.3 + 1e-6 * (-1.0) ** days).s) > 9e-7


@pytest.mark.parametrize("df", [1, 2, 5, 30, 500])
def test_student_t(df: int) -> None:
    assert float(student_t(0.95, np.array(float(df)), "one")) == pytest.approx(stats.t.ppf(0.95, df), rel=1e-10)
    assert float(student_t(0.95, np.array(float(df)), "two")) == pytest.approx(stats.t.ppf(0.975, df), rel=1e-10)
