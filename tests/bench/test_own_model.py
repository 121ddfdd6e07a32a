"""Monte Carlo of a maker's own model, and correlated inputs in propagation: judged by another package."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.own_model import MOST_DRAWS, Input, draw_model, tolerance
from kit.bench.propagation import Estimate, cholesky, correlation_matrix, propagate
from kit.errors import RangeError

VALUES = st.floats(1, 100)
SPREADS = st.floats(0.001, 0.1)
SHAPES = st.sampled_from(["normal", "rectangular", "triangular"])


def strength(grams: Any, millilitres: Any, assay: Any) -> Any:
    """% w/v from what is weighed, what it is made up to, and how pure it is."""
    return grams * assay / millilitres


@st.composite
def correlated(draw: st.DrawFn) -> tuple[list[Estimate], dict[tuple[int, int], float]]:
    """Three estimates with correlations that can be: those of three columns of few random numbers."""
    numbers = st.lists(st.floats(-1, 1), min_size=3, max_size=3)
    columns = np.array([draw(numbers) for _ in range(3)]) + np.eye(3) * draw(st.floats(0.5, 3))
    covariance = columns @ columns.T
    scale = np.sqrt(np.diag(covariance))
    matrix = covariance / np.outer(scale, scale)
    estimates = [Estimate(draw(VALUES), draw(SPREADS)) for _ in range(3)]
    return estimates, {(i, j): float(np.clip(matrix[i, j], -1, 1)) for i, j in ((0, 1), (0, 2), (1, 2))}


@given(correlated())
def test_an_independent_package_finds_the_same(given_: tuple[list[Estimate], dict[tuple[int, int], float]]) -> None:
    estimates, pairs = given_
    matrix = np.array(correlation_matrix(3, pairs))
    judged = strength(*uncertainties.correlated_values_norm([(one.value, one.standard) for one in estimates], matrix))
    found = propagate(strength, *estimates, correlations=pairs)
    assert found.value == pytest.approx(judged.nominal_value)
    # The package takes slopes, the kit half the change across ± u: the same to second order.
    assert found.standard == pytest.approx(judged.std_dev, rel=0.02, abs=1e-9 + 0.01 * abs(found.value) * 0.01)
    lower = np.array(cholesky(matrix.tolist()))
    assert lower @ lower.T == pytest.approx(matrix, abs=1e-6)


@given(VALUES, SPREADS, st.floats(-1, 1))
def test_a_difference_of_two_readings_of_one_balance(value: float, u: float, r: float) -> None:
    """By hand: u²(a - b) = 2 u² (1 - r); an error that both share cancels."""
    found = propagate(lambda a, b: a - b, Estimate(value, u), Estimate(value, u), correlations={(0, 1): r})
    assert found.standard == pytest.approx(u * math.sqrt(2 * (1 - r)), abs=1e-7)
    assert propagate(lambda a, b: a - b, Estimate(1, u), Estimate(1, u), correlations={}).standard == pytest.approx(
        u * math.sqrt(2)
    )


@settings(max_examples=15)
@given(st.tuples(VALUES, VALUES, VALUES), st.tuples(SHAPES, SHAPES, SHAPES), st.integers(0, 2**31))
def test_small_spreads_give_what_propagation_gives(
    values: tuple[float, float, float], shapes: tuple[str, str, str], seed: int
) -> None:
    names = ("grams", "millilitres", "assay")
    inputs = {
        name: Input(value, value * 0.01, shape)  # type: ignore[arg-type]
        for name, value, shape in zip(names, values, shapes, strict=True)
    }
    drawn = draw_model(strength, inputs, seed=seed, draws=50_000)
    first = propagate(strength, *(Estimate(one.value, one.standard) for one in inputs.values()))
    assert drawn.result.standard == pytest.approx(first.standard, rel=0.03)
    assert drawn.result.mean == pytest.approx(first.value, abs=0.03 * first.standard)
    assert drawn.shortest[1] - drawn.shortest[0] <= drawn.result.high - drawn.result.low
    again = draw_model(strength, inputs, seed=seed, draws=50_000)
    assert again == drawn


def test_a_model_with_an_if_is_computed_draw_by_draw() -> None:
    def priced(grams: float) -> float:
        return 2.0 if grams < 10 else 3.0

    found = draw_model(priced, {"grams": Input(10, 1, "rectangular")}, seed=4, draws=4000)
    assert found.result.mean == pytest.approx(2.5, abs=0.03)
    assert draw_model(math.exp, {"x": Input(0, 0.1)}, seed=4, draws=4000).result.mean == pytest.approx(1.005, abs=0.005)


def test_a_constant_and_a_sharp_input() -> None:
    found = draw_model(lambda x: 5.0, {"x": Input(1, 0)}, seed=1, draws=1000)
    assert (found.result.mean, found.result.standard, found.shortest) == (5.0, 0.0, (5.0, 5.0))


@pytest.mark.parametrize(("standard", "digits", "expected"), [(0.0353, 2, 0.0005), (0.0353, 1, 0.005), (31.7, 2, 0.5)])
def test_the_numerical_tolerance(standard: float, digits: int, expected: float) -> None:
    """JCGM 101, 7.9.2: u = c x 10^l with so many digits, δ = ½ 10^l; its examples have 0.035 and 0.0005."""
    assert tolerance(standard, digits) == pytest.approx(expected)


def test_the_adaptive_procedure_stops_when_it_is_settled() -> None:
    quick = draw_model(lambda x: x, {"x": Input(10, 0.1)}, seed=8, digits=1)
    assert (quick.settled, quick.draws) == (True, 20_000)
    slow = draw_model(lambda x: x, {"x": Input(10, 0.1)}, seed=8)
    assert slow.settled
    assert slow.draws > quick.draws
    assert slow.result.standard == pytest.approx(0.1, abs=0.0005)
    assert slow.result.low == pytest.approx(10 - 0.196, abs=tolerance(0.1))
    assert slow.draws <= MOST_DRAWS
    assert draw_model(lambda x: x, {"x": Input(1, 0.1)}, seed=8, draws=2000).settled is None


def test_few_repeats_scatter_more() -> None:
    found = draw_model(lambda x: x, {"x": Input(0, 1, "t", 4)}, seed=6, draws=400_000)
    assert found.result.high == pytest.approx(2.776, abs=0.05)  # t of 4 degrees of freedom, JCGM 100 table G.2
    assert Input(0, 1, "t", 4).standard == pytest.approx(math.sqrt(2))
    assert Input(0, 1, "t", 2).standard == math.inf


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: Input(1, -1), r"a spread of 0 or more, got 1 and -1\."),
        (
            lambda: Input(1, 1, "round"),  # type: ignore[arg-type]
            r"The shape 'round' is not known\. Write normal, rectangular, triangular",
        ),
        (lambda: Input(1, 1, "normal", 5), r"Degrees of freedom, above 0, belong to the shape t and to it alone\."),
        (lambda: Input(1, 1, "t"), r"belong to the shape t"),
        (
            lambda: draw_model(strength, {"x": Input(1, 1)}, seed=1),
            r"asks for grams, millilitres, assay; the inputs",
        ),
        (lambda: draw_model(abs, {"x": Input(1, 1)}, seed=1, draws=10), r"10 draws are too few for an interval\."),
        (lambda: draw_model(lambda x: x, {"x": Input(1, 1)}, seed=1, digits=3), r"One or two digits .* not 3\."),
        (
            lambda: draw_model(np.log, {"x": Input(0, 1)}, seed=1, draws=1000),
            r"The model gives no number for \d+ of 1000 draws: it divides by what can be 0",
        ),
        (
            lambda: draw_model(math.exp, {"x": Input(700, 20)}, seed=1, draws=1000),
            r"gives no number for \d+ of 1000 draws",
        ),
        (
            lambda: draw_model(lambda x: x, {"x": Input(0, 1)}, seed=1, draws=1000, correlations={("x", "y"): 0.5}),
            r"There is no input 'y'\. There are: x\.",
        ),
        (
            lambda: draw_model(
                lambda x, y: x + y,
                {"x": Input(0, 1), "y": Input(0, 1, "triangular")},
                seed=1,
                draws=1000,
                correlations={("x", "y"): 0.5},
            ),
            r"Only normal inputs can be drawn as correlated; y is triangular\.",
        ),
        (lambda: propagate(max, Estimate(1), Estimate(1), correlations={(0, 2): 0.5}), r"no pair \(0, 2\) among 2 in"),
        (lambda: propagate(max, Estimate(1), Estimate(1), correlations={(0, 1): 2}), r"between -1 and 1, got 2\."),
        (
            lambda: propagate(strength, *[Estimate(1)] * 3, correlations={(0, 1): 0.9, (1, 2): 0.9, (0, 2): -0.9}),
            r"These correlations contradict one another",
        ),
        (
            lambda: propagate(max, Estimate(1, 1, 5), Estimate(1), correlations={(0, 1): 0.5}),
            r"Degrees of freedom are not known for a result of correlated inputs\.",
        ),
    ],
)
def test_what_cannot_be(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]
