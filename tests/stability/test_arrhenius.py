"""Rates against temperature, held against SciPy; printed cases are in tests/published."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import curve_fit

from kit.errors import EntryError, RangeError
from kit.stability.arrhenius import arrhenius, arrhenius_of_readings
from kit.stability.kinetics import GAS, ZERO, Arrhenius, energy_from_two, q10_factor, rate
from kit.stability.series import Series

RATES = {25.0: 0.0011, 35.0: 0.0027, 45.0: 0.0081, 55.0: 0.0190}
DAYS = np.array([0, 14, 28, 56, 84.0])


def true_k(temperature: float, energy: float = 80.0) -> float:
    return 0.002 * math.exp(-energy / GAS * (1 / (temperature + ZERO) - 1 / (25 + ZERO)))


def kept(temperatures: tuple[float, ...], noise: float, seed: int = 1) -> dict[float, list[Series]]:
    random = np.random.default_rng(seed)
    return {
        t: [
            Series(batch, tuple(DAYS), tuple(start * np.exp(-true_k(t) * DAYS) + random.normal(0, noise, DAYS.size)))
            for batch, start in (("A", 100.0), ("B", 97.0))
        ]
        for t in temperatures
    }


def test_the_line_through_ln_k_is_scipys() -> None:
    found = arrhenius(RATES)
    x = np.array([-1 / (t + ZERO) / GAS for t in RATES])
    judge = stats.linregress(x, np.log(list(RATES.values())))
    assert found.energy == pytest.approx(judge.slope, rel=1e-9)
    assert found.energy_error == pytest.approx(judge.stderr, rel=1e-9)
    low, high = found.energy_interval()
    assert (high - low) / 2 == pytest.approx(stats.t.ppf(0.975, 2) * judge.stderr, rel=1e-9)
    at = found.at(40)
    assert math.log(at.k) == pytest.approx(judge.intercept - judge.slope / (40 + ZERO) / GAS, rel=1e-9)
    # The interval of the line at 40 °C by the textbook: t s sqrt(1/n + (x - mean)²/Sxx).
    middle, x40 = x.mean(), -1 / (40 + ZERO) / GAS
    s = math.sqrt(float(((np.log(list(RATES.values())) - judge.intercept - judge.slope * x) ** 2).sum()) / 2)
    reach = stats.t.ppf(0.975, 2) * s * math.sqrt(1 / 4 + (x40 - middle) ** 2 / ((x - middle) ** 2).sum())
    assert (math.log(at.lower), math.log(at.upper)) == pytest.approx((math.log(at.k) - reach, math.log(at.k) + reach))
    assert found.method == "line through ln k"


def test_the_curve_through_k_is_scipys() -> None:
    found = arrhenius(RATES, curve=True)
    x = np.array([-1 / (t + ZERO) / GAS + 1 / (40 + ZERO) / GAS for t in RATES])
    best, covariance = curve_fit(lambda at, k, e: k * np.exp(e * at), x, list(RATES.values()), (0.004, 80))
    assert found.energy == pytest.approx(best[1], rel=1e-5)
    assert found.energy_error == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-3)
    assert found.at(40).k == pytest.approx(best[0], rel=1e-5)
    assert found.method == "curve through k"
    assert found.energy != pytest.approx(arrhenius(RATES).energy, rel=1e-3)


def test_rates_and_readings_agree_where_there_is_no_noise() -> None:
    series = kept((25, 35, 45), noise=0)
    for found in (
        arrhenius([rate(many, t) for t, many in series.items()]),
        arrhenius([rate(many, t) for t, many in series.items()], curve=True),
        arrhenius_of_readings(series),
    ):
        assert found.energy == pytest.approx(80, rel=1e-6)
        assert found.at(30).k == pytest.approx(true_k(30), rel=1e-6)


def test_all_readings_at_once_cover_the_truth_about_as_often_as_they_say() -> None:
    """60 simulated studies; the interval of ln k at 25 °C is asymptotic, so about 95 % of them."""
    covered = sum(
        found.lower <= true_k(25) <= found.upper
        for seed in range(60)
        for found in [arrhenius_of_readings(kept((25, 35, 45), 0.5, seed)).at(25)]
    )
    assert covered >= 52  # with 95 % the chance of fewer is below 1 in 100
    assert arrhenius_of_readings(kept((25, 35, 45), 0.5)).df == 3 * 2 * 5 - 2 - 2


def test_zero_order_readings() -> None:
    series = {t: [Series("A", tuple(DAYS), tuple(100 - 20 * true_k(t) * DAYS))] for t in (25.0, 35.0, 45.0)}
    found = arrhenius_of_readings(series, "zero")
    assert found.energy == pytest.approx(80, rel=1e-6)
    assert found.at(25).k == pytest.approx(20 * true_k(25), rel=1e-6)
    assert found.method == "curve through all readings"


@given(st.floats(40, 150), st.floats(5, 40))
def test_q10_of_an_energy_is_the_factor_of_ten_degrees(energy: float, cold: float) -> None:
    rates = {t: true_k(t, energy) for t in (cold, cold + 10, cold + 20)}
    found = arrhenius(rates)
    middle, lower, upper = found.q10(cold)
    assert middle == pytest.approx(rates[cold + 10] / rates[cold])
    assert lower <= middle <= upper
    assert energy_from_two(middle, cold, cold + 10) == pytest.approx(energy)


def test_the_interval_of_q10_follows_that_of_the_energy() -> None:
    found = arrhenius(RATES)
    low, high = found.energy_interval()
    factor = math.exp(low / GAS * (1 / (25 + ZERO) - 1 / (35 + ZERO)))
    assert found.q10(25)[1] == pytest.approx(factor)
    assert found.q10(25)[2] > found.q10(25)[0]
    assert high > found.energy


def test_a_time_until_ninety_percent_is_left_has_an_interval() -> None:
    at = arrhenius(RATES).at(30)
    best, shortest, longest = at.time_to_share(90)
    assert best == pytest.approx(math.log(1 / 0.9) / at.k)
    assert shortest == pytest.approx(math.log(1 / 0.9) / at.upper)
    assert longest == pytest.approx(math.log(1 / 0.9) / at.lower)
    assert shortest < best < longest


def test_two_temperatures_have_no_interval_and_say_so() -> None:
    found = arrhenius({25: 0.001, 40: 0.004})
    assert found.energy == pytest.approx(energy_from_two(4, 25, 40))
    assert found.energy_interval() == (-math.inf, math.inf)
    at = found.at(30)
    assert (at.lower, at.upper) == (0, math.inf)
    assert at.time_to_share(90)[1:] == (0, math.inf)
    said = " ".join(finding.sentence for finding in at.findings)
    assert "Two temperatures fix the line exactly: nothing shows whether the rates follow it" in said


def test_cautions() -> None:
    found = arrhenius({**RATES, 15.0: -0.0001})
    said = [finding.sentence for finding in found.at(5).findings]
    assert said[0] == "At 15 °C nothing was lost, so that temperature was left out."
    assert "An emulsion that breaks, a layer that settles, wax that melts" in said[1]
    assert said[-1] == "5 °C lies outside the temperatures studied, 25 to 55 °C: extrapolated."
    assert not any("extrapolated" in finding.sentence for finding in found.at(25).findings)


@pytest.mark.parametrize("rates", [{25.0: 0.001}, {25.0: 0.001, 35.0: 0.0}, {}])
def test_one_temperature_gives_nothing(rates: dict[float, float]) -> None:
    with pytest.raises(EntryError, match=re.escape("needs rates at two temperatures or more, better at three")):
        arrhenius(rates)


def test_words_of_what_is_refused() -> None:
    with pytest.raises(RangeError, match="-300 °C is not possible: nothing is colder than"):
        arrhenius({-300: 1, 25: 2})
    with pytest.raises(RangeError, match="Q10 must be above 0, got 0"):
        q10_factor(0, 45, 25)
    with pytest.raises(RangeError, match="A factor of 2 between 25 and 25 °C gives no activation energy"):
        energy_from_two(2, 25, 25)


def test_two_temperatures_have_no_interval_in_their_middle_either() -> None:
    found = arrhenius({20: 0.001, 40: 0.004})
    at = found.at(found.middle - ZERO)
    assert at.k == pytest.approx(0.002)
    assert (at.lower, at.upper) == (0, math.inf)


def test_the_interval_away_from_the_middle_is_that_of_propagation() -> None:
    """JCGM 100:2008, 5.2.2: u² = u(ln k)² + 2 x u(ln k, E) + x² u(E)², with x = (1/T₀ - 1/T) / R."""
    fit = Arrhenius(80.0, 5.0, 300.0, -5.0, 0.1, 0.2, 4, (20.0, 30.0, 40.0), "curve through k")
    for celsius in (20.0, 26.85, 40.0):
        x = (1 / 300 - 1 / (celsius + 273.15)) / 8.314462618e-3
        error = math.sqrt(0.1**2 + 2 * x * 0.2 + x**2 * 5**2)
        found = fit.at(celsius)
        assert math.log(found.k) == pytest.approx(-5 + 80 * x)
        assert math.log(found.upper / found.k) == pytest.approx(2.776445 * error, rel=1e-6)  # t of 4 degrees, 95 %
        assert math.log(found.k / found.lower) == pytest.approx(2.776445 * error, rel=1e-6)
        assert found.findings == ()
    for beyond in (19.9, 40.1):
        assert "lies outside the temperatures studied, 20 to 40 °C" in fit.at(beyond).findings[0].sentence
    low, high = fit.energy_interval(0.9)
    assert (low, high) == pytest.approx((80 - 2.131847 * 5, 80 + 2.131847 * 5), rel=1e-6)
