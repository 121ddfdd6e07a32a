"""Solutions in water: one identity between volume and density, and words for what lies outside."""

from __future__ import annotations

import math
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.liquids.alcohol import ethanol_density
from kit.liquids.aqueous import AqueousSolution, aqueous_solution, aqueous_solutions
from kit.liquids.water import water_density_at
from tests.pace import on_this_machine
from tests.present import present
from tests.rows import each_of

SOLUTIONS = st.sampled_from(aqueous_solutions())
UNIT = st.floats(0, 1)


def inside(solution: AqueousSolution, share: float, warmth: float) -> tuple[float, float]:
    """A percentage and a temperature that the solution covers."""
    return share * solution.most, solution.coldest + warmth * (solution.warmest - solution.coldest)


@given(SOLUTIONS, UNIT, UNIT)
def test_volume_is_water_and_what_is_dissolved(solution: AqueousSolution, share: float, warmth: float) -> None:
    percent, celsius = inside(solution, share, warmth)
    volume = (100 - percent) / water_density_at(celsius) + percent * solution.apparent_volume(percent, celsius)
    assert solution.density(percent, celsius) == pytest.approx(100 / volume, rel=1e-12)


@given(SOLUTIONS, UNIT)
def test_a_trace_changes_nothing_and_takes_finite_room(solution: AqueousSolution, warmth: float) -> None:
    _, celsius = inside(solution, 0, warmth)
    assert solution.density(0, celsius) == pytest.approx(water_density_at(celsius), rel=1e-12)
    limit = solution.apparent_volume(0, celsius)
    assert -0.5 < limit < 1.5
    assert solution.apparent_volume(0.001, celsius) == pytest.approx(limit, abs=2e-3)


@given(SOLUTIONS, UNIT, UNIT, st.floats(1e-6, 0.002))
def test_density_has_no_steps(solution: AqueousSolution, share: float, warmth: float, step: float) -> None:
    percent, celsius = inside(solution, share * 0.998, warmth)
    near = solution.density(percent + step * solution.most, celsius)
    assert near == pytest.approx(solution.density(percent, celsius), abs=2 * step)


@given(UNIT, UNIT)
def test_ethanol_is_that_of_the_tables_on_the_water_of_the_kit(share: float, warmth: float) -> None:
    """The tables' own water differs from Tanaka's by up to 0.000 006 g/mL."""
    solution = aqueous_solution("Alcohol")
    assert solution is not None
    percent, celsius = inside(solution, share, warmth)
    assert solution.density(percent, celsius) == pytest.approx(ethanol_density(percent, celsius), abs=8e-6)


def test_a_hydrate_brings_part_of_what_is_weighed() -> None:
    epsom = aqueous_solution("magnesium sulfate HEPTAHYDRATE")
    dry = aqueous_solution("Magnesium Sulfate")
    assert epsom is not None
    assert dry is not None
    assert epsom.brings == pytest.approx(120.37 / 246.47, abs=1e-4)
    assert dry.brings == 1.0
    assert epsom.density(10, 20) == dry.density(10, 20)


def test_what_is_outside_is_said_with_the_range() -> None:
    salt = aqueous_solution("Sodium Chloride")
    assert salt is not None
    with pytest.raises(
        RangeError, match=r"Sodium Chloride: solutions in water are known from 0 to 26\.5 % w/w, not at"
    ):
        salt.density(30, 20)
    with pytest.raises(RangeError, match=r"known from 0 to 100 °C, not at -5 °C"):
        salt.apparent_volume(10, -5)
    with pytest.raises(RangeError, match="not at nan %"):
        salt.density(float("nan"), 20)


def test_what_nobody_measured_is_none() -> None:
    assert aqueous_solution("Xanthan Gum") is None


def test_thirty_lines_take_less_than_a_millisecond() -> None:
    each = aqueous_solutions()
    for solution in each:
        solution.density(1, solution.coldest)
    best = min(_seconds(each) for _ in range(5))
    assert best < on_this_machine(20e-6)


def _seconds(solutions: tuple[AqueousSolution, ...]) -> float:
    start = time.perf_counter()
    for solution in solutions:
        solution.density(2, solution.coldest)
    return (time.perf_counter() - start) / len(solutions)


@each_of("solution", aqueous_solutions())
def test_a_table_holds_to_its_edges_and_no_further(solution: AqueousSolution) -> None:
    for percent in (0.0, solution.most):
        for celsius in (solution.coldest, solution.warmest):
            assert 0.5 < solution.density(percent, celsius) < 2.5
    for percent, celsius in ((-0.01, solution.warmest), (solution.most * 1.001, solution.warmest),
                             (1.0, solution.coldest - 0.01), (1.0, solution.warmest + 0.01)):  # fmt: skip
        with pytest.raises(RangeError, match="solutions in water are known from"):
            solution.apparent_volume(percent, celsius)


def test_a_weak_solution_is_as_sure_as_water_and_one_away_from_its_temperature_less_sure() -> None:
    # in proportion up to 10 %; beside it what 1 g expands by, squared density times share times the distance
    salt = present(aqueous_solution("Sodium Chloride"))
    assert [salt.uncertainty_at(percent, 20) for percent in (0, 5, 10, 20)] == pytest.approx(
        [0, salt.uncertainty / 2, salt.uncertainty, salt.uncertainty]
    )
    single = [one for one in aqueous_solutions() if one.expansion_uncertainty > 0 and one.most >= 5]
    assert single
    for one in single:
        assert one.measured_at in (20.0, 25.0)
        assert one.uncertainty_at(5, one.measured_at) == pytest.approx(one.uncertainty / 2)
        away = one.measured_at + 10
        if away <= one.warmest:
            grown = one.density(5, away) ** 2 * 0.05 * 10 * one.expansion_uncertainty
            assert one.uncertainty_at(5, away) == pytest.approx(math.hypot(one.uncertainty / 2, grown))
