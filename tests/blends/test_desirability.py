"""Desirability: the published tyre tread, and what may be said of a best blend."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import t

from kit.blends.desirability import Goal, best_blend, drawn_means, overall_desirability, together
from kit.blends.models import fit_blend, fit_every_model, likeliest_model
from kit.blends.next_bottle import least_known, most_promising
from kit.blends.region import BlendRegion, Part
from kit.blends.scheffe import model_matrix
from kit.blends.trial_file import demo_trial
from kit.errors import EntryError, KitError
from tests.present import present

TRIAL = demo_trial()
FITS = [
    likeliest_model(fit_every_model(TRIAL.points, TRIAL.scores[name], TRIAL.region.names, name))
    for name in TRIAL.scores
]
GOALS = [TRIAL.goals[name] for name in TRIAL.scores]


def test_the_tyre_tread_of_derringer_and_suich() -> None:
    """The optimum of the paper's example: goals, responses, four desirabilities and their mean (from memory of its
    section on results: d = 0.189, 1, 0.656, 0.932 and D = 0.583; the responses are printed with fewer digits)."""
    goals = (
        Goal("more", 120, 170), Goal("more", 1000, 1300), Goal("target", 400, 600, 500), Goal("target", 60, 75, 67.5),
    )  # fmt: skip
    found = [
        float(goal.desirability(response)) for goal, response in zip(goals, (129.5, 1300, 465.7, 68.0), strict=True)
    ]
    assert found == pytest.approx([0.189, 1.0, 0.656, 0.932], abs=0.0021)
    assert overall_desirability(found) == pytest.approx(0.583, abs=0.002)


@given(st.floats(-20, 20), st.floats(0.2, 5), st.floats(0.2, 5))
def test_desirability_lies_between_nothing_and_all(score: float, steepness: float, importance: float) -> None:
    more, less = (Goal(aim, 1, 5, None, steepness, importance) for aim in ("more", "less"))
    peak = Goal("target", 1, 5, 2, steepness)
    for goal in (more, less, peak):
        assert 0 <= float(goal.desirability(score)) <= 1
    straight = float(Goal("more", 1, 5).desirability(score)) + float(Goal("less", 1, 5).desirability(score))
    assert straight == pytest.approx(1)
    assert float(peak.desirability(2)) == 1
    parts = [float(goal.desirability(score)) for goal in (more, less)]
    weighed = overall_desirability(parts, [importance, 1.0])
    assert min(parts) - 1e-12 <= weighed <= max(parts) + 1e-12
    usual = Goal("less", 1, 5, None, steepness)
    assert float(together([more, usual], [score, score])) == pytest.approx(weighed)


def test_the_best_blend_is_where_scipy_finds_it_and_no_better_is_on_the_grid() -> None:
    best = best_blend(TRIAL.region, FITS, GOALS)
    assert TRIAL.region.holds(best.point, 1e-7)
    assert best.desirability >= max(best.desirabilities) - 1e-12

    def loss(free: np.ndarray) -> float:
        point = [*free, 100 - free.sum()]
        return -float(together(GOALS, [fit.predict([point])[0] for fit in FITS])[0])

    low, high = TRIAL.region.parts[2].low, TRIAL.region.parts[2].high
    judge = minimize(
        loss, best.point[:2], method="SLSQP", bounds=[(part.low, part.high) for part in TRIAL.region.parts[:2]],
        constraints=[
            {"type": "ineq", "fun": lambda free: 100 - free.sum() - low},
            {"type": "ineq", "fun": lambda free: high - 100 + free.sum()},
        ],
    )  # fmt: skip
    assert best.desirability >= -float(judge.fun) - 1e-4
    assert best.chance is not None
    assert best.ranges is not None
    assert best.chances is not None
    assert 0.5 < best.chance <= 1
    for (low, high), share, part in zip(best.ranges, best.point, TRIAL.region.parts, strict=True):
        assert part.low - 1e-9 <= low <= high <= part.high + 1e-9
        assert low - 5 <= share <= high + 5
    assert best == best_blend(TRIAL.region, FITS, GOALS)


def test_more_scatter_makes_the_best_less_sure() -> None:
    rough = np.random.default_rng(5)
    values = [value + rough.normal(0, 1.0) for value in TRIAL.scores["slip"] if value is not None]
    unsure = fit_blend(TRIAL.points, values, "quadratic", TRIAL.region.names, "slip")
    sure = best_blend(TRIAL.region, FITS[:1], GOALS[:1])
    wide = best_blend(TRIAL.region, [unsure], GOALS[:1])
    assert wide.ranges is not None
    assert sure.ranges is not None
    assert sum(high - low for low, high in wide.ranges) > sum(high - low for low, high in sure.ranges)


def test_the_next_bottle() -> None:
    learn = least_known(TRIAL.region, TRIAL.points)
    # Adding it raises the determinant more than any other blend of the grid (numpy as judge).
    made = model_matrix(TRIAL.points, "quadratic")
    gains = [
        np.linalg.det((more := np.vstack([made, model_matrix([spot], "quadratic")])).T @ more)
        for spot in TRIAL.region.grid()
    ]
    there = np.vstack([made, model_matrix([learn.point], "quadratic")])
    assert np.linalg.det(there.T @ there) == pytest.approx(max(gains), rel=1e-9)
    assert learn.amount == pytest.approx(np.linalg.det(there.T @ there) / np.linalg.det(made.T @ made) - 1, rel=1e-6)
    hope = most_promising(TRIAL.region, FITS, GOALS)
    assert TRIAL.region.holds(hope.point, 1e-7)
    assert 0 < hope.amount < 1
    assert "desirability is expected to rise" in hope.sentence
    assert "know least" in learn.sentence


def test_what_has_no_best_is_said() -> None:
    exact = fit_blend([(100, 0, 0), (0, 100, 0), (0, 0, 100)], [1.0, 2.0, 3.0], "linear")
    open_ended = best_blend(TRIAL.region, [exact], [Goal("more", 0, 4)])
    assert (open_ended.chance, open_ended.ranges) == (None, None)
    for work, words in (
        (lambda: Goal("most", 1, 2), "'most' is no aim"),  # type: ignore[arg-type]
        (lambda: Goal("more", 2, 2), "two ends, the lower first"),
        (lambda: Goal("target", 1, 2), "target must lie between 1 and 2"),
        (lambda: Goal("more", 1, 2, None, 0), "Steepness and importance"),
        (lambda: best_blend(TRIAL.region, FITS, []), "0 goals for 2 scored things"),
        (lambda: best_blend(TRIAL.region, FITS[:1], [Goal("more", 50, 60)]), "No blend within the bounds"),
        (lambda: overall_desirability([]), "Give one for each goal"),
        (lambda: most_promising(TRIAL.region, [exact], [Goal("more", 0, 4)]), "leave nothing to judge a hope by"),
        (lambda: least_known(TRIAL.region, TRIAL.points[:3]), "do not settle a quadratic model"),
    ):
        with pytest.raises(KitError, match=words):
            work()


def test_a_goal_in_words_and_what_is_none() -> None:
    assert Goal("more", 120, 170).in_words("wear") == (
        "wear: of no use at 120 or below, all that is wanted from 170 upwards"
    )
    assert Goal("less", 2, 5).in_words("drag") == "drag: all that is wanted up to 2, of no use from 5 upwards"
    assert Goal("target", 60, 75, 67.5).in_words("slip") == "slip: 67.5 is wanted, of no use at 60 and at 75"
    for parts, weights in (([0.5, -0.1], [1.0, 1.0]), ([0.5, 0.5], [1.0, -1.0])):
        with pytest.raises(EntryError, match="must be 0 or more"):
            overall_desirability(parts, weights)
    assert overall_desirability([0.25, 1.0], [3.0, 1.0]) == pytest.approx(0.25**0.75)  # weights in the exponents


@pytest.mark.parametrize("number", [0.0, 100.0, -1.0])
def test_steepness_and_importance_lie_between_0_and_100(number: float) -> None:
    for numbers in ((number, 1.0), (1.0, number)):
        with pytest.raises(KitError, match="above 0 and below 100"):
            Goal("more", 1, 2, None, *numbers)
    for allowed in (0.01, 99.5):
        assert Goal("more", 1, 2, None, allowed, allowed).steepness == allowed


@pytest.mark.parametrize("target", [1.0, 2.0])
def test_a_target_lies_within_its_ends(target: float) -> None:
    with pytest.raises(KitError, match="target must lie between 1 and 2"):
        Goal("target", 1, 2, target)


def test_the_chance_of_a_best_blend_is_that_of_one_more_score() -> None:
    """Of one goal: that a score drawn from the t of the fit lies above what is of no use (Peterson 2004)."""
    random = np.random.default_rng(3)
    points = [(share, 100.0 - share) for share in (0.0, 0.0, 25.0, 50.0, 50.0, 75.0, 100.0, 100.0)]
    fit = fit_blend(points, [5 + 0.02 * a + random.normal(0, 1.5) for a, _ in points], "linear")
    region = BlendRegion((Part("a"), Part("b")))
    low = 5.5
    best = best_blend(region, [fit], [Goal("more", low, 9.0)])
    mean, error = (float(one[0]) for one in fit.predict([best.point]))
    scatter = np.sqrt(error**2 + present(fit.error) ** 2)
    # 400 worlds: a share is known to some 0.025
    assert best.chance == pytest.approx(float(t.sf((low - mean) / scatter, fit.freedom)), abs=0.05)
    assert [(one.mean, one.low, one.high) for one in best.scores] == [fit.interval(best.point)]
    assert best.scores[0].desirability == pytest.approx((mean - low) / (9.0 - low))
    # at each blend of the grid likewise
    for spot, chance in zip(best.grid, present(best.chances), strict=True):
        mean, error = (float(one[0]) for one in fit.predict([spot]))
        judged = float(t.sf((low - mean) / np.hypot(error, present(fit.error)), fit.freedom))
        assert chance == pytest.approx(judged, abs=0.09)


def test_95_of_100_worlds_have_their_best_blend_in_the_range() -> None:
    """A score with its top within the region: of as many worlds drawn by themselves, so many tops lie there."""
    random = np.random.default_rng(8)
    points = [(float(share), 100.0 - share) for share in range(0, 101, 10)]
    fit = fit_blend(points, [a * (100 - a) / 250 + random.normal(0, 0.7) for a, _ in points], "quadratic")
    best = best_blend(BlendRegion((Part("a"), Part("b"))), [fit], [Goal("more", 0, 30)])
    # a + b and ab: b1 x + b2 (1 - x) + b12 x (1 - x) is highest at x = 1/2 + (b1 - b2) / (2 b12)
    size = 200_000
    scale = np.sqrt(fit.freedom / random.chisquare(fit.freedom, size)) * present(fit.error)
    drawn = fit.estimates + scale[:, None] * random.multivariate_normal(np.zeros(3), fit.covariance, size)
    tops = 100 * (0.5 + (drawn[:, 0] - drawn[:, 1]) / (2 * drawn[:, 2]))
    low, high = present(best.ranges)[0]
    assert np.mean((tops >= low - 0.5) & (tops <= high + 0.5)) == pytest.approx(0.95, abs=0.04)
    assert np.mean((tops >= low + 1) & (tops <= high - 1)) < 0.95
    # and of the worlds of this very seed, 2.5 of 100 lie beyond each end
    spots = np.array([*best.grid, best.point])
    means, _ = drawn_means(fit, [tuple(map(float, spot)) for spot in spots], np.random.default_rng(0))
    assert (low, high) == pytest.approx(tuple(np.quantile(spots[means.argmax(axis=1), 0], [0.025, 0.975])))


def test_what_is_hoped_of_a_blend_is_what_it_gains_where_it_gains() -> None:
    """Of a mean with a t about it: the gain over the best made so far, by as many draws of its own."""
    random = np.random.default_rng(3)
    points = [(share, 100.0 - share) for share in (20.0, 20.0, 40.0, 60.0, 60.0)]
    fit = fit_blend(points, [4 + 0.02 * a + random.normal(0, 1.0) for a, _ in points], "linear")
    goal = Goal("more", 0.0, 12.0)
    hope = most_promising(BlendRegion((Part("a"), Part("b"))), [fit], [goal])
    made = max(float(fit.predict([point])[0][0]) for point in points) / 12
    mean, error = (float(one[0]) for one in fit.predict([hope.point]))
    drawn = np.clip((mean + error * random.standard_t(fit.freedom, 200_000)) / 12, 0, 1)
    # 400 worlds: the mean of what is gained is known to some 7 of 100
    assert hope.amount == pytest.approx(float(np.clip(drawn - made, 0, None).mean()), rel=0.25)
    assert f"expected to rise by {hope.amount:.2g} above" in hope.sentence
