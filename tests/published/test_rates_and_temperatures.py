"""Rates, activation energies and mean kinetic temperatures in print.

OpenStax is P. Flowers et al., *Chemistry 2e*, chapter 12.
"""

from __future__ import annotations

import math

import pytest

from kit.stability.arrhenius import arrhenius
from kit.stability.kinetics import ZERO, energy_from_two, q10_factor, rate, rate_from_loss, share_left, time_to_share
from kit.stability.series import Series
from kit.stability.storage_temperature import ENERGY, GAS, mean_kinetic_temperature

# OpenStax, example 12.13: decomposition of hydrogen iodide [K -> 1/(M s)]
HYDROGEN_IODIDE = {555: 3.52e-7, 575: 1.22e-6, 645: 8.59e-5, 700: 1.16e-3, 781: 3.95e-2}


def test_hydrogen_iodide() -> None:
    found = arrhenius({kelvin - ZERO: k for kelvin, k in HYDROGEN_IODIDE.items()})
    assert found.energy == pytest.approx(180, abs=6)  # printed with two figures, 1.8 x 10^5 J/mol
    assert found.energy == pytest.approx(185.3, abs=0.05)  # regression, recomputed with SciPy
    low, high = found.energy_interval()
    assert low < 185.4 < high  # end points only, recomputed


def test_an_activation_energy_from_two_rates() -> None:
    """OpenStax, 12.5, exercises: 1.47 times faster at 37 than at 30 °C are 43.0 kJ/mol."""
    assert energy_from_two(1.47, 30, 37) == pytest.approx(43.0, abs=0.05)


@pytest.mark.parametrize(("warm", "factor"), [(45, 4), (95, 128)])
def test_a_rate_that_doubles_every_ten_degrees(warm: float, factor: float) -> None:
    """OpenStax, 12.5, exercises."""
    assert q10_factor(2, warm, 25) == factor


@pytest.mark.parametrize(("warm", "factor"), [(35, 2.97), (40, 4.99)])
def test_what_the_pharmacopoeias_energy_means_for_q10(warm: float, factor: float) -> None:
    """83 kJ/mol, recomputed; it is no Q10 of 2."""
    exponent = ENERGY / GAS * (1 / (25 + ZERO) - 1 / (warm + ZERO))
    assert math.exp(exponent) == pytest.approx(factor, abs=0.01)


def test_eighty_percent_lost() -> None:
    """OpenStax, example 12.6: k = 9.2e-3 1/s; 1.7 x 10^2 s, recomputed 174.94 s."""
    assert time_to_share(20, 9.2e-3) == pytest.approx(170, abs=5)
    assert time_to_share(20, 9.2e-3) == pytest.approx(174.94, abs=0.005)
    assert share_left(174.94, 9.2e-3) == pytest.approx(20, abs=0.001)


@pytest.mark.parametrize(
    ("left", "days", "tolerance"),
    [
        (10, 16.7, 0.05),  # OpenStax, example 12.6, check your learning: k = 0.138 1/d
        (50, 5.02, 0.005),  # OpenStax, example 12.11, check your learning: its half-life
        (90, 0.76348, 5e-6),  # the same k, recomputed
    ],
)
def test_times_of_one_first_order_rate(left: float, days: float, tolerance: float) -> None:
    assert time_to_share(left, 0.138) == pytest.approx(days, abs=tolerance)


@pytest.mark.parametrize(
    ("lost", "seconds", "published"),
    [  # OpenStax, 12.4, exercises: k x 1000 [1/s]
        (52.0, 300, 2.45), (52.9, 300, 2.51), (53.2, 300, 2.53), (53.9, 300, 2.58),
        (34.6, 180, 2.36), (35.9, 180, 2.47), (36.0, 180, 2.48), (35.4, 180, 2.43),
    ],
)  # fmt: skip
def test_a_rate_from_one_loss(lost: float, seconds: float, published: float) -> None:
    assert 1000 * rate_from_loss(lost, seconds) == pytest.approx(published, abs=0.005)


def test_hydrogen_peroxide() -> None:
    """OpenStax, example 12.7: 0.116 1/h from two points with rounded logarithms; exactly ln 2 / 6."""
    found = rate(Series("A", (0, 6, 12, 18, 24), (1.000, 0.500, 0.250, 0.125, 0.0625)), 40)
    assert found.k == pytest.approx(0.116, abs=0.0005)
    assert found.k == pytest.approx(math.log(2) / 6, rel=1e-12)
    assert found.start == pytest.approx(1.0)


def test_t90_by_definition() -> None:
    """First order ln(1/0.9)/k, zero order 0.1 A/k; k = 0.01 per month (definitions, from memory)."""
    assert time_to_share(90, 0.01) == pytest.approx(10.5361, abs=5e-5)
    assert time_to_share(90, 0.01, order="zero", start=1.0) == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("temperatures", "kinetic"),
    [  # formula and constants of USP <1160> (USP 29), 83.144 kJ/mol; recomputed, no printed example was found
        ((25, 25, 25, 25), 25.0000),
        ((20, 30), 26.2599),
        ((15, 20, 25, 30), 24.1041),
    ],
)
def test_mean_kinetic_temperatures(temperatures: tuple[float, ...], kinetic: float) -> None:
    assert mean_kinetic_temperature(temperatures) == pytest.approx(kinetic, abs=5e-5)
