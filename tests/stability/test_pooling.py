"""Which model the tests of batches lead to, held against the analysis of variance of statsmodels."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.anova import anova_lm

from kit.stability.pooling import MODELS, compare
from kit.stability.regression import straight_lines

READINGS = st.lists(
    st.lists(
        st.tuples(st.integers(0, 300), st.integers(-3000, 3000)), min_size=4, max_size=9, unique_by=lambda p: p[0]
    ),
    min_size=2,
    max_size=4,
)


def padded(batches: list[list[tuple[int, int]]]) -> tuple[np.ndarray, np.ndarray]:
    both = np.full((2, 1, len(batches), max(map(len, batches))), np.nan)
    for place, points in enumerate(batches):
        both[:, 0, place, : len(points)] = np.array(points, dtype=float).T
    return both[0], 100 + both[1] / 100


def same(p: float, judged: float) -> bool:
    """Near 1 a rounding error in F moves p by its square root."""
    return p == pytest.approx(judged, rel=1e-7, abs=1e-9 if judged < 0.999 else 1e-5)


@settings(max_examples=15)
@given(READINGS)
def test_both_p_values_and_the_lines_agree_with_the_judge(batches: list[list[tuple[int, int]]]) -> None:
    days, values = padded(batches)
    rows = [(str(b), d, 100 + v / 100) for b, points in enumerate(batches) for d, v in points]
    frame = pd.DataFrame(rows, columns=["batch", "day", "value"])
    full = smf.ols("value ~ day + C(batch) + C(batch):day", frame).fit()
    assume(full.ssr > 1e-3)
    sloped, shared = smf.ols("value ~ C(batch) + day", frame).fit(), smf.ols("value ~ day", frame).fit()
    table, two = anova_lm(shared, sloped, full), anova_lm(shared, sloped)
    found = compare(days, values)
    alone = anova_lm(full)
    assert same(found.slopes_p[0], alone.loc["C(batch):day", "PR(>F)"])
    # The F of the judge, with the degrees of freedom of the mean square below it; the judge's own p takes those of the
    # smaller model.
    p = stats.f.sf(table.loc[1, "F"], len(batches) - 1, full.df_resid)
    assert same(found.intercepts_p[0], p)
    against_sloped = compare(days, values, "common slope")
    assert same(against_sloped.intercepts_p[0], two.loc[1, "Pr(>F)"])
    assert against_sloped.slopes_p[0] == found.slopes_p[0]
    lines = found.lines(np.array([2])).pick(0)
    assert lines.slope[0] == pytest.approx(sloped.params["day"], rel=1e-9, abs=1e-12)
    assert lines.slope_error[0] == pytest.approx(sloped.bse["day"], rel=1e-9)
    assert lines.s[0] == pytest.approx(np.sqrt(sloped.scale), rel=1e-9)
    assert lines.intercept_error[0] == pytest.approx(sloped.bse["Intercept"], rel=1e-9)
    pooled = found.lines(np.array([3]), "pooled").pick(0)
    assert pooled.s[-1] == pytest.approx(np.sqrt(full.scale), rel=1e-9)
    assert pooled.df[0] == full.df_resid


def test_the_level_decides_slopes_first() -> None:
    random = np.random.default_rng(3)
    days = np.broadcast_to(np.arange(0, 70, 10.0), (500, 3, 7))
    found = compare(days, random.normal(50, 1, days.shape))
    codes = found.codes()
    assert set(codes) == {1, 2, 3}
    assert ((codes == 3) == (found.slopes_p < 0.25)).all()
    assert ((codes == 2) == ((found.slopes_p >= 0.25) & (found.intercepts_p < 0.25))).all()
    assert (found.codes(level=1e-12) == 1).all()


def test_one_batch_is_not_tested() -> None:
    found = compare([[[0, 1, 2, 3]]], [[[4.0, 3.1, 1.9, 1.0]]])
    assert np.isnan(found.slopes_p[0])
    assert MODELS[found.codes()[0]] == "one batch"
    alone = straight_lines([0, 1, 2, 3], [4.0, 3.1, 1.9, 1.0])
    assert found.lines(found.codes()).slope[0, 0] == pytest.approx(float(alone.slope))


def test_a_batch_without_readings_changes_nothing() -> None:
    days, values = np.array([[[0, 1, 2, 3.0]] * 3]), np.array([[[9, 8, 7.2, 6], [9.1, 8, 7, 6], [np.nan] * 4]])
    with_it, without = compare(days, values), compare(days[:, :2], values[:, :2])
    assert with_it.slopes_p == pytest.approx(without.slopes_p)
    assert with_it.intercepts_p == pytest.approx(without.intercepts_p)
    for code in (1, 2, 3):
        lines = with_it.lines(np.array([code])).pick(0)
        assert lines.slope[:2] == pytest.approx(without.lines(np.array([code])).slope[0])
        assert np.isnan(lines.slope[2])


@pytest.mark.parametrize(
    ("starts", "slopes", "model"),
    [((10, 10), (1, 1), "common line"), ((10, 11), (1, 1), "common slope"), ((10, 10), (1, 2), "separate lines")],
)
def test_exact_readings_decide_for_themselves(starts: tuple[int, int], slopes: tuple[int, int], model: str) -> None:
    days = np.arange(0, 50, 10.0)
    values = [[start - 0.1 * slope * days for start, slope in zip(starts, slopes, strict=True)]]
    found = compare(np.broadcast_to(days, (1, 2, 5)), values)
    assert MODELS[found.codes()[0]] == model
