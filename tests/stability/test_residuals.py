"""What the residuals say, held against SciPy and statsmodels."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.anova import anova_lm

from kit.stability.regression import Check, chance_of_so_few_runs, studentised
from kit.stability.series import Series
from kit.stability.shelf_life import ShelfLife, shelf_life
from tests.present import present
from tests.stability.shelf_life_data import arrays, potency

RANDOM = np.random.default_rng(17)
DAYS = np.repeat(np.arange(0, 98, 7.0), 1)


def check(found: ShelfLife, name: str) -> Check:
    return next(one for one in found.checks if one.name == name)


def test_studentised_residuals_and_the_largest() -> None:
    y = 100 - 0.05 * DAYS + RANDOM.normal(0, 0.3, DAYS.size)
    y[9] -= 2.0
    judge = sm.OLS(y, sm.add_constant(DAYS)).fit().get_influence()
    found = shelf_life([Series("A", tuple(DAYS), tuple(y))], lower=90)
    assert found.lines is not None
    wide = found.lines.pick((slice(None), None))
    mine = studentised(found.lines, DAYS[None], y[None] - wide.at(DAYS))[0]
    assert mine == pytest.approx(judge.resid_studentized_internal)
    largest = check(found, "largest residual")
    deleted = float(np.abs(judge.resid_studentized_external).max())
    p = DAYS.size * 2 * stats.t.sf(deleted, DAYS.size - 3)
    assert largest.p == pytest.approx(p)
    assert largest.caution
    assert "batch A, day 63, more than chance explains" in largest.words
    assert any("batch A, day 63" in finding.sentence for finding in found.findings if finding.severity == "caution")


def test_the_distribution() -> None:
    y = 100 - 0.05 * DAYS + RANDOM.normal(0, 0.3, DAYS.size)
    found = shelf_life([Series("A", tuple(DAYS), tuple(y))], lower=90)
    judge = sm.OLS(y, sm.add_constant(DAYS)).fit().get_influence().resid_studentized_internal
    assert check(found, "distribution").p == pytest.approx(stats.shapiro(judge).pvalue)
    few = shelf_life([Series("A", tuple(DAYS[:8]), tuple(y[:8]))], lower=90)
    assert check(few, "distribution").words == "8 readings are too few to judge how their residuals are distributed."


def test_runs_by_counting_every_order() -> None:
    for above, below in ((3, 4), (5, 5), (1, 6), (2, 2)):
        signs = [one for one in product((0, 1), repeat=above + below) if sum(one) == above]
        runs = [1 + sum(a != b for a, b in pairwise(one)) for one in signs]
        for most in range(1, above + below + 1):
            share = sum(count <= most for count in runs) / len(runs)
            assert chance_of_so_few_runs(above, below, most) == pytest.approx(share)


def test_a_curve_shows_in_the_order_of_its_residuals() -> None:
    y = 100 - 0.1 * DAYS + 0.002 * (DAYS - 45) ** 2 + 0.01 * (-1) ** np.arange(DAYS.size)
    found = shelf_life([Series("A", tuple(DAYS), tuple(y))], lower=80)
    order = check(found, "order in time")
    assert order.caution
    assert "perhaps a curve, not a line" in order.words
    # the same counted from NumPy's own line: a bowl lies above it, below it and above it again
    signs = y - np.polyval(np.polyfit(DAYS, y, 1), DAYS) >= 0
    changes = int((signs[1:] != signs[:-1]).sum())
    assert changes == 2
    assert f"change side 2 times in {DAYS.size} days" in order.words
    assert order.p == pytest.approx(chance_of_so_few_runs(int(signs.sum()), int((~signs).sum()), changes + 1))
    straight = shelf_life([Series("A", tuple(DAYS[:6]), tuple(y[:6]))], lower=80)
    assert "Readings on 6 days are too few to see an order" in check(straight, "order in time").words


@pytest.mark.parametrize(
    ("model", "formula", "groups"),
    [
        ("common line", "value ~ day", "value ~ C(day)"),
        ("common slope", "value ~ day + C(batch)", "value ~ C(day):C(batch) - 1"),
        ("separate lines", "value ~ day * C(batch)", "value ~ C(day):C(batch) - 1"),
    ],
)
def test_lack_of_fit_is_the_model_against_a_mean_for_each_group(model: str, formula: str, groups: str) -> None:
    import pandas as pd

    series = potency("b2", "b5", "b7")
    rows = [(s.batch, day, value) for s in series for day, value in zip(s.days, s.values, strict=True)]
    frame = pd.DataFrame(rows, columns=["batch", "day", "value"])
    frame["cell"] = frame.batch + "/" + frame.day.astype(str)
    full = "value ~ C(day)" if model == "common line" else "value ~ C(cell)"
    table = anova_lm(smf.ols(formula, frame).fit(), smf.ols(full, frame).fit())
    found = shelf_life(series, lower=95, model=model)  # type: ignore[arg-type]
    judged = stats.f.sf(table.loc[1, "F"], table.loc[1, "df_diff"], table.loc[1, "df_resid"])
    assert check(found, "lack of fit").p == pytest.approx(judged)


def test_without_repeats_there_is_no_lack_of_fit() -> None:
    y = tuple(100 - 0.1 * DAYS + RANDOM.normal(0, 0.1, DAYS.size))
    found = shelf_life([Series("A", tuple(DAYS), y)], lower=80)
    assert check(found, "lack of fit").words == "No readings were repeated on one day, so lack of fit cannot be tested."
    twice = [Series("A", tuple(DAYS) * 2, y * 2)]
    assert "Repeated readings agree exactly" in check(shelf_life(twice, lower=80), "lack of fit").words


def test_the_arrays_of_published_data_are_as_long_as_they_should_be() -> None:
    days, values = arrays(potency("b2", "b5", "b7"))
    assert int(np.isfinite(days).sum()) == int(np.isfinite(values).sum()) == 31


def test_lack_of_fit_with_one_degree_of_freedom_by_hand() -> None:
    # days 0, 10 and 20, each read twice: means 100, 97 and 98; pure 6 × 0.5² = 1.5 on 3 degrees. The line through the
    # means falls 0.1 a day and misses them by 2/3, -4/3 and 2/3: 2 × 8/3 = 16/3 on one degree; F = 10.67
    days, values = (0.0, 0.0, 10.0, 10.0, 20.0, 20.0), (99.5, 100.5, 96.5, 97.5, 97.5, 98.5)
    found = check(shelf_life([Series("A", days, values)], lower=80), "lack of fit")
    assert found.p == pytest.approx(stats.f.sf(16 / 3 / (1.5 / 3), 1, 3))
    assert found.caution == (present(found.p) < 0.05)


@pytest.mark.parametrize(
    ("days", "order", "normal"), [(6, False, False), (7, True, False), (11, True, False), (12, True, True)]
)
def test_from_how_many_days_and_readings_on_the_residuals_are_judged(days: int, order: bool, normal: bool) -> None:
    y = 100 - 0.05 * DAYS + np.array([0.2, -0.1, 0.3, -0.3, 0.1, -0.2, 0.25] * 2)
    found = shelf_life([Series("A", tuple(DAYS[:days]), tuple(y[:days]))], lower=90)
    assert (check(found, "order in time").p is not None) == order
    assert (check(found, "distribution").p is not None) == normal
