"""Scheffé fits: the handbook's example to its printed digits, and statsmodels as judge."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from kit.blends.designs import constrained_design, simplex_centroid, simplex_lattice
from kit.blends.models import fit_blend, fit_every_model, likeliest_model
from kit.blends.region import BlendRegion, Part
from kit.blends.scheffe import MODELS, Model, model_matrix
from kit.errors import KitError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.blends.region import Point

#: NIST/SEMATECH e-Handbook 5.5.4.2, table 5.4: yarn elongation, polyethylene, polystyrene, polypropylene.
YARN: dict[Point, tuple[float, ...]] = {
    (0, 0, 100): (16.8, 16.0),
    (0, 50, 50): (10.0, 9.7, 11.8),
    (0, 100, 0): (8.8, 10.0),
    (50, 0, 50): (17.7, 16.4, 16.6),
    (50, 50, 0): (15.0, 14.8, 16.1),
    (100, 0, 0): (11.0, 12.4),
}
POINTS = [point for point, values in YARN.items() for _ in values]
VALUES = [value for values in YARN.values() for value in values]


def test_the_handbooks_yarn_to_its_printed_digits() -> None:
    fit = fit_blend(POINTS, VALUES, "quadratic", ("X1", "X2", "X3"), "elongation")
    printed = {  # "Parameter Estimates": estimate, standard error, t; the sixth and fifth chance
        "X1": (11.7, 0.603692, 19.38), "X2": (9.4, 0.603692, 15.57), "X3": (16.4, 0.603692, 27.17),
        "X1 × X2": (19, 2.608249, 7.28), "X1 × X3": (11.4, 2.608249, 4.37), "X2 × X3": (-9.6, 2.608249, -3.68),
    }  # fmt: skip
    for one in fit.coefficients:
        assert one.error is not None
        assert one.t is not None
        assert (round(one.estimate, 6), round(one.error, 6), round(one.t, 2)) == printed[one.name]
    assert [round(cast("float", one.chance), 4) for one in fit.coefficients[-2:]] == [0.0018, 0.0051]
    # "Summary of Fit" and "Analysis of Variance"
    assert round(fit.r2, 6) == 0.951356
    assert round(cast("float", fit.r2_adjusted), 6) == 0.924331
    assert round(cast("float", fit.error), 5) == 0.85375
    residual, total = fit.variation("residual"), fit.variation("total")
    assert residual is not None
    assert total is not None
    assert (residual.freedom, round(residual.squares, 2), round(residual.mean, 4)) == (9, 6.56, 0.7289)
    # The handbook prints the sums of squares about nothing (2878.27 of 2884.83), and divides the first by its six
    # coefficients (479.7117) beside the five degrees of freedom that it prints; ours are about the mean.
    about_nothing = total.squares + 15 * float(np.mean(VALUES)) ** 2
    assert round(about_nothing, 2) == 2884.83
    assert round(about_nothing - residual.squares, 2) == 2878.27
    assert round((about_nothing - residual.squares) / 6, 4) == pytest.approx(479.7117, abs=1e-4)
    # Six blends, six coefficients: nothing is left for lack of fit; all residual is pure error.
    assert fit.variation("lack of fit") is None
    pure = fit.variation("pure error")
    assert pure is not None
    assert pure.freedom == 9
    assert pure.squares == pytest.approx(residual.squares)
    # "maximum elongation … about 75% - 80% component 3 and 20% - 25% component 1"
    mix = [(x, 0.0, 100 - x) for x in range(101)]
    assert 20 <= mix[int(np.argmax(fit.predict(mix)[0]))][0] <= 30
    assert fit.findings == []
    assert fit.equation.startswith("elongation = 11.7 X1 +9.4 X2")


@st.composite
def scored(draw: st.DrawFn) -> tuple[Sequence[Point], list[float], Model]:
    """A design with some blends twice and a score for each bottle, some missing."""
    region = BlendRegion(tuple(Part(name, draw(st.integers(0, 20)), 90) for name in "abcd"[: draw(st.integers(3, 4))]))
    points = list(constrained_design(region).points)
    points += draw(st.lists(st.sampled_from(points), max_size=6))
    values = draw(st.lists(st.floats(-9, 9), min_size=len(points), max_size=len(points)))
    return points, [value + n % 3 for n, value in enumerate(values)], draw(st.sampled_from(MODELS))


@given(scored())
def test_statsmodels_agrees(case: tuple[Sequence[Point], list[float], Model]) -> None:
    points, values, model = case
    try:
        fit = fit_blend(points, values, model)
    except KitError:
        return
    judge = sm.OLS(values, model_matrix(points, model)).fit()
    scale = max(map(abs, values)) + 1
    assert fit.estimates == pytest.approx(judge.params, rel=1e-9, abs=1e-9 * scale * 100)
    if fit.error is None:
        return
    assert [one.error for one in fit.coefficients] == pytest.approx(judge.bse, rel=1e-8, abs=1e-9)
    assert list(fit.residuals) == pytest.approx(judge.resid, abs=1e-9 * scale * 100)
    influence = judge.get_influence()
    assert list(fit.leverages) == pytest.approx(influence.hat_matrix_diag, abs=1e-9)
    if fit.press is not None and max(fit.leverages) < 0.99:
        assert fit.press == pytest.approx(float(np.sum(influence.resid_press**2)), rel=1e-7, abs=1e-9)
    low, high = fit.interval(points[0])[1:]
    judged = judge.get_prediction(model_matrix(points[:1], model)).conf_int()[0]
    assert (low, high) == pytest.approx(tuple(judged), rel=1e-7, abs=1e-7)
    whole = fit.variation("total")
    assert whole is not None
    assert sum(row.squares for row in fit.anova if row.source in ("model", "residual")) == pytest.approx(whole.squares)
    shuffled = list(reversed(range(len(points))))
    again = fit_blend([points[n] for n in shuffled], [values[n] for n in shuffled], model)
    assert again.estimates == pytest.approx(fit.estimates, rel=1e-7, abs=1e-7 * scale)


def test_lack_of_fit_is_what_statsmodels_finds_between_the_model_and_a_mean_for_each_blend() -> None:
    fit = fit_blend(POINTS, VALUES, "linear")
    groups = np.array([[float(point == other) for other in YARN] for point in POINTS])
    f, chance, _ = sm.OLS(VALUES, groups).fit().compare_f_test(sm.OLS(VALUES, model_matrix(POINTS, "linear")).fit())
    lack = fit.variation("lack of fit")
    assert lack is not None
    assert (lack.f, lack.chance) == pytest.approx((float(f), float(chance)), rel=1e-9)
    assert "Try a richer model" in fit.findings[0].sentence


def test_a_score_without_scatter_is_found_again() -> None:
    region = BlendRegion((Part("a"), Part("b"), Part("c")))
    points = [*simplex_lattice(region, 3).points, *simplex_centroid(region).points]
    true = np.array([4.0, 5.0, 6.0, 3.0, -2.0, 0.0, 27.0])
    fits = fit_every_model(points, list(map(float, model_matrix(points, "special cubic") @ true)))
    assert [fit.model for fit in fits] == list(MODELS)
    assert fits[-1].estimates == pytest.approx(true, abs=1e-9)
    assert likeliest_model(fits) is fits[-1]
    few = [(100, 0, 0), (0, 100, 0), (0, 0, 100), (50, 50, 0), (50, 0, 50)]  # a quadratic model has six coefficients
    assert [fit.model for fit in fit_every_model(few, [1.0, 2.0, 3.0, 4.0, 5.0])] == ["linear"]
    two = fit_every_model([(100, 0), (0, 100), (50, 50), (50, 50)], [1.0, 2.0, 4.0, 4.2])
    assert [fit.model for fit in two] == ["linear", "quadratic"]  # two parts have no three


def test_a_model_that_foretells_no_bottle_is_not_the_likeliest() -> None:
    """Six blends, six coefficients: a quadratic model goes through every score, and no bottle is left to foretell."""
    spots = simplex_lattice(BlendRegion((Part("a"), Part("b"), Part("c"))), 2).points
    linear, quadratic = fit_every_model(spots, [1.0, 8.0, 2.0, 9.0, 1.0, 3.0])
    assert quadratic.r2_predicted is None
    assert linear.r2_predicted is not None
    assert linear.r2_predicted < 0
    assert likeliest_model((linear, quadratic)) is linear
    assert likeliest_model((quadratic, linear)) is linear
    # of none that foretells, and of two that foretell alike, the simpler, which stands first
    corners = fit_blend([(100, 0, 0), (0, 100, 0), (0, 0, 100)], [1.0, 2.0, 4.0], "linear")
    assert likeliest_model((corners, quadratic)) is corners
    hardly, plainly = replace(quadratic, r2_predicted=0.9000001), replace(quadratic, r2_predicted=0.91)
    assert likeliest_model((replace(linear, r2_predicted=0.9), hardly)).model == "linear"
    assert likeliest_model((replace(linear, r2_predicted=0.9), plainly)) is plainly


def test_what_cannot_be_fitted_is_said_and_what_is_doubtful_too() -> None:
    corners = [(100.0, 0.0, 0.0), (0.0, 100.0, 0.0), (0.0, 0.0, 100.0)]
    for points, values, model, words in (
        (corners, [1.0, 2.0], "linear", "3 bottles and 2 scores of slip"),
        (corners, [None] * 3, "linear", "No bottle has a score of slip yet"),
        (corners, [5.0] * 3, "linear", "All 3 scores of slip are 5"),
        (corners, [1.0, 2.0, 4.0], "quadratic", "has 6 coefficients, and only 3 bottles have a score"),
        (corners, [1.0, None, None], "linear", "only 1 bottle has a score"),
        (corners * 3, list(range(9)), "quadratic", "The 3 different blends with a score cannot tell the 6 coeff"),
    ):
        with pytest.raises(KitError, match=words):
            fit_blend(points, values, cast("Model", model), what="slip")
    exact = fit_blend(corners, [1.0, 2.0, 4.0], "linear")
    assert (exact.error, exact.r2_predicted, exact.coefficients[0].error) == (None, None, None)
    assert exact.interval(corners[0])[1:] == (-np.inf, np.inf)
    assert "As many coefficients as bottles" in exact.findings[0].sentence
    partly = fit_blend([*corners, *corners], [1, None, 4, 1.2, 2, None], "linear", what="slip")
    assert partly.left_out == (1, 5)
    assert "No score of slip yet: bottles 2, 6" in partly.findings[0].sentence


def test_what_a_fit_says_of_itself() -> None:
    def said(points: Sequence[Point], values: Sequence[float], model: Model) -> str:
        return " ".join(one.sentence for one in fit_blend(points, values, model, ("A", "B", "C"), "slip").findings)

    once = [(100, 0, 0), (0, 100, 0), (0, 0, 100), (50, 50, 0), (0, 50, 50)]
    single = said(once, (1, 5, 2, 9, 1), "linear")
    assert "No blend was made twice" in single
    assert "this model foretells nothing yet" in single  # R² predicted below 0 (Allen 1974)
    twice = said(POINTS, VALUES, "quadratic")
    assert "No blend was made twice" not in twice
    assert "foretells nothing" not in twice
    fit = fit_blend(POINTS, VALUES, "quadratic", ("X1", "X2", "X3"), "elongation")
    assert list(fit.table()["term"]) == [one.name for one in fit.coefficients]
    assert len(fit.terms) == len(fit.coefficients) == 6


def test_an_interval_of_another_coverage_is_that_of_statsmodels() -> None:
    fit = fit_blend(POINTS, VALUES, "quadratic")
    judge = (
        sm.OLS(VALUES, model_matrix(POINTS, "quadratic")).fit().get_prediction(model_matrix(POINTS[2:3], "quadratic"))
    )
    for coverage, alpha in ((80.0, 0.2), (99.0, 0.01)):
        assert fit.interval(POINTS[2], coverage)[1:] == pytest.approx(tuple(judge.conf_int(alpha=alpha)[0]))


def test_the_rows_of_the_variation_have_the_handbooks_freedom_and_one_compares_with_another() -> None:
    """NIST/SEMATECH 5.5.4.2: 5 for the model, 9 for error, 14 in all. A row of no freedom has no mean square."""
    fit = fit_blend(POINTS, VALUES, "quadratic")
    assert [(row.source, row.freedom) for row in fit.anova] == [
        ("model", 5), ("residual", 9), ("pure error", 9), ("total", 14),
    ]  # fmt: skip
    model, judge = fit.anova[0], sm.OLS(VALUES, model_matrix(POINTS, "quadratic")).fit()
    assert (model.f, model.chance) == pytest.approx((judge.fvalue, judge.f_pvalue))
    assert replace(model, freedom=0).mean == 0
    assert replace(model, freedom=4, squares=2.0).mean == 0.5


def test_what_a_fit_says_is_said_only_where_it_holds() -> None:
    fit = fit_blend(POINTS, VALUES, "linear", what="slip")
    lack = next(row for row in fit.anova if row.source == "lack of fit")

    def said(**changed: object) -> str:
        return " ".join(one.sentence for one in replace(fit, **changed).findings)  # type: ignore[arg-type]

    # a chance of 4 in 100 is told, of 6 not: the usual 5 %
    assert "lack of fit, chance 0.04)" in said(anova=(replace(lack, chance=0.04),))
    assert "lack of fit, chance" not in said(anova=(replace(lack, chance=0.06),))
    assert "(R² predicted -0.25): this model foretells nothing yet" in said(r2_predicted=-0.25)
    assert "foretells nothing" not in said(r2_predicted=0.0)  # no farther off than the plain mean
    heavy = (0.2, 0.95, *fit.leverages[2:-1], 0.97)
    assert "The fit at bottle 2, 15 rests on its own score alone or nearly so" in said(leverages=heavy)
    assert "rests on its own score" not in said(leverages=(0.2, 0.85, *fit.leverages[2:]))
    assert "rests on its own score" not in said(leverages=heavy, error=None)
    assert "No score of slip yet: bottle 3; left out here." in said(left_out=(2,))
    assert "No score yet: bottles 1, 3; left out here." in said(left_out=(0, 2), what="")
    first, *rest = fit.coefficients
    down = replace(fit, coefficients=(replace(first, estimate=-1.5), *rest), what="")
    assert down.equation.startswith("score = -1.5 x1 +")


def test_the_table_of_a_fit_has_its_figures() -> None:
    fit = fit_blend(POINTS, VALUES, "linear")
    judge = sm.OLS(VALUES, model_matrix(POINTS, "linear")).fit()
    found = fit.table()
    for column, figures in (
        ("estimate", judge.params), ("standard error", judge.bse), ("t", judge.tvalues), ("chance", judge.pvalues),
    ):  # fmt: skip
        assert list(found[column]) == pytest.approx(list(figures))
