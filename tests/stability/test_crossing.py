"""Where a confidence limit meets a limit: the closed form against the limit itself and against root search."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from kit.stability.pooling import MODELS, crossings, shelf_lives
from kit.stability.regression import Lines, straight_lines
from tests.stability.statsmodels_judge import estimate

if TYPE_CHECKING:
    from kit.stability.regression import Sided

NUMBERS = st.lists(st.integers(-300, 300), min_size=4, max_size=12)


def bound(line: Lines, day: float, side: int, sided: Sided = "one") -> float:
    """The confidence limit above (side 1) or below (side -1) the line."""
    return float(line.at(day)) + side * float(line.reach(day, 0.95, sided))


@given(NUMBERS, st.integers(-40, 40), st.integers(-60, 60), st.sampled_from([-1, 1]), st.sampled_from(["one", "two"]))
def test_the_crossing_is_where_the_limit_is_met(
    noise: list[int], slope: int, room: int, side: int, sided: Sided
) -> None:
    days = 7.0 * np.arange(len(noise))
    line = straight_lines(days, 50 + slope / 100 * days + np.array(noise) / 100)
    limit = 50 + side * room / 10
    name = "upper" if side > 0 else "lower"
    day = float(crossings(line, sided=sided, **{name: limit}))
    start = side * (limit - bound(line, 0, side, sided))
    if day == 0:
        assert start <= 1e-9
    elif np.isinf(day):
        assert all(side * (limit - bound(line, at, side, sided)) >= -1e-9 for at in (0, 10, 1e3, 1e6, 1e9))
    else:
        assert start >= 0
        assert bound(line, day, side, sided) == pytest.approx(limit, abs=1e-7)
        before, after = day * (1 - 1e-6), day * (1 + 1e-6) + 1e-9
        assert side * (limit - bound(line, before, side, sided)) >= -1e-12
        assert side * (limit - bound(line, after, side, sided)) <= 1e-12
        assert all(side * (limit - bound(line, part * day, side, sided)) >= -1e-9 for part in (0.1, 0.5, 0.9))


@given(NUMBERS, st.integers(5, 60))
def test_root_search_finds_the_same_day(noise: list[int], room: int) -> None:
    days = 7.0 * np.arange(len(noise))
    line = straight_lines(days, 50 - 0.02 * days + np.array(noise) / 100)
    day = float(crossings(line, lower=50 - room))
    if 0 < day < 1e5:
        found = brentq(lambda at: bound(line, at, -1) - (50 - room), 0, 2e5, xtol=1e-11, rtol=1e-14)
        assert day == pytest.approx(found, rel=1e-9, abs=1e-9)


def line(slope: float, s: float, level: float = 10.0) -> Lines:
    one = (np.array(value) for value in (5.0, 20.0, level, 1000.0, slope, 3 * s * s, 3.0, np.nan))
    return Lines(*one)


@pytest.mark.parametrize(
    ("slope", "s", "limits", "day"),
    [
        (-0.1, 0.0, {"lower": 8.0}, 40.0),  # no scatter: the line itself
        (0.1, 0.0, {"upper": 12.0}, 40.0),
        (-0.1, 0.0, {"lower": 10.0}, 20.0),  # at the mean of the days exactly
        (0.1, 0.0, {"lower": 8.0}, np.inf),  # away from the limit
        (0.0, 0.0, {"lower": 8.0}, np.inf),
        (0.0, 0.0, {}, np.inf),
        (0.0, 0.0, {"lower": 10.5}, 0.0),  # beyond it from the start
        (-0.1, 0.0, {"lower": 8.0, "upper": 13.0}, 40.0),
        (0.1, 0.0, {"lower": 7.0, "upper": 12.0}, 40.0),
        (-0.1, 9.0, {"lower": 8.0}, 0.0),  # too uncertain from the start
        (1.0, 0.1, {"lower": -100.0}, np.inf),  # steeper away than its uncertainty
    ],
)
def test_single_cases(slope: float, s: float, limits: dict[str, float], day: float) -> None:
    assert float(crossings(line(slope, s), **limits)) == pytest.approx(day)  # type: ignore[arg-type]


def test_a_flat_but_uncertain_line_crosses_on_both_sides_at_last() -> None:
    """With slope 0 the root has a plain form: z = sxx ((room / t s)² - 1 / n), square-rooted."""
    t = 2.353363434801823  # Student's t, 3 degrees of freedom, 95 % on one side (tables: 2.353)
    z = np.sqrt(1000 * ((2 / (t * 0.5)) ** 2 - 1 / 5))
    assert float(crossings(line(0.0, 0.5), lower=8.0)) == pytest.approx(20 + z, rel=1e-9)
    assert float(crossings(line(0.0, 0.5), upper=12.0)) == pytest.approx(20 + z, rel=1e-9)


def test_many_products_agree_with_statsmodels_one_by_one() -> None:
    random = np.random.default_rng(11)
    days = np.broadcast_to(np.array([0, 14, 28, 42, 56, 70, 84.0]), (60, 3, 7))
    starts, slopes = random.normal(100, 0.6, (60, 3, 1)), random.normal(-0.05, 0.01, (60, 3, 1))
    values = starts + slopes * days + random.normal(0, 0.5, days.shape)
    found = shelf_lives(days, values, lower=95)
    seen = set()
    for place in range(60):
        model, slopes_p, starts_p, day = estimate(days[place], values[place], 95)
        assert MODELS[found.codes[place]] == model
        assert found.compared.slopes_p[place] == pytest.approx(slopes_p, rel=1e-9, abs=1e-9)
        assert found.compared.intercepts_p[place] == pytest.approx(starts_p, rel=1e-9, abs=1e-9)
        assert found.days[place] == pytest.approx(day, rel=1e-9, abs=1e-9)
        seen.add(model)
    assert seen == {"common line", "common slope", "separate lines"}


def test_a_product_without_readings_is_not_a_number() -> None:
    nothing = np.full((2, 1, 4), np.nan)
    nothing[1] = [[9, 8, 7.1, 6]]
    found = shelf_lives(np.broadcast_to([0.0, 1, 2, 3], nothing.shape), nothing, lower=2)
    assert np.isnan(found.days[0])
    assert found.days[1] > 3
