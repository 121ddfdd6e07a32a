"""Uncertainty and premixes in print."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from scipy import stats

from kit.bench.balance import Balance
from kit.bench.montecarlo import simulate
from kit.bench.premix import premix_amounts
from kit.bench.propagation import Estimate, combined, propagate, rectangular
from kit.bench.uncertainty import ReadingUncertainty, weighing_uncertainty
from kit.bench.weighing import weigh
from kit.formula.model import Formula, Line, Phase


def halves() -> Formula:
    return Formula("Halves", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Glycerin", "50"))),))


def test_one_reading_and_the_difference_of_two() -> None:
    """JCGM 100:2008 (GUM), F.2.2.1: u = 0.29 d for a reading; d/sqrt 6 = 0.408248 d for a difference."""
    one = ReadingUncertainty.of(Balance(1, 500)).combined
    assert one == pytest.approx(0.288675, abs=1e-6)
    assert combined((one, one)) == pytest.approx(0.408248, abs=1e-6)
    batch = weigh(halves(), "200 g", Balance(1, 500))
    assert weighing_uncertainty(batch, "one vessel").mass_standard == pytest.approx(0.408248, abs=1e-6)


def test_a_calibration_standard() -> None:
    """EURACHEM/CITAC, Quantifying Uncertainty in Analytical Measurement, 2nd ed. (2000), example A1, table A1.1."""

    def concentration(mass: float, purity: float, volume: float) -> float:
        return 1000 * mass * purity / volume

    inputs = ((100.28, 0.05), (0.9999, 0.000058), (100.0, 0.07))
    found = propagate(concentration, *(Estimate(*one) for one in inputs))
    assert found.value == pytest.approx(1002.7, abs=0.05)
    assert found.standard == pytest.approx(0.9, abs=0.05)
    assert found.standard / found.value == pytest.approx(0.0009, abs=5e-5)
    judge = concentration(*(uncertainties.ufloat(*one) for one in inputs))
    assert found.standard == pytest.approx(judge.std_dev, rel=1e-6)
    # The purity is given as 0.9999 ± 0.0001, rectangular, and printed as 0.000058 (same table).
    assert rectangular(0.0001) == pytest.approx(0.000058, abs=5e-7)


def test_an_end_gauge() -> None:
    """JCGM 100:2008 (GUM), H.1: inputs as encoded by W. Guthrie; the printed results are from memory."""

    def length(standard: float, d1: float, d2: float, d3: float, *rest: float) -> float:
        alpha, difference, mean, swing, apart = rest
        return standard + d1 + d2 + d3 - standard * (difference * (mean + swing) + alpha * apart)

    inputs = [(50_000_623, 25, 18), (215, 5.8, 24), (0, 3.9, 5), (0, 6.7, 8), (11.5e-6, 1.2e-6)]
    inputs += [(0, 0.58e-6, 50), (-0.1, 0.2), (0, 0.35), (0, 0.029, 2)]
    found = propagate(length, *(Estimate(*one) for one in inputs))
    assert found.value == pytest.approx(50_000_838, abs=0.5)
    assert found.standard == pytest.approx(32, abs=0.5)
    assert math.floor(found.freedom) == 16
    factor = stats.t.ppf(0.995, 16)
    assert factor == pytest.approx(2.92, abs=0.005)
    assert factor * found.standard == pytest.approx(93, abs=0.9)
    judge = length(*(uncertainties.ufloat(*one[:2]) for one in inputs))
    assert found.standard == pytest.approx(judge.std_dev, rel=1e-6)


def test_a_sum_of_four_rectangular_errors() -> None:
    """JCGM 101:2008, 9.2.3 (from memory): u = 2.00, 95 % within ± 3.88, where propagation would say ± 3.92.

    Two dishes have four readings, each rectangular with a standard deviation of 1 where d = sqrt 12.
    """
    batch = weigh(halves(), f"{100 * math.sqrt(12)!r} g", Balance(math.sqrt(12), 500))
    found, drawn = weighing_uncertainty(batch), simulate(batch, np.random.default_rng(92), draws=2_000_000)
    assert found.mass_standard == pytest.approx(2.00, abs=1e-6)
    assert found.factor * found.mass_standard == pytest.approx(3.92, abs=0.005)
    assert drawn.mass.standard == pytest.approx(2.00, abs=0.01)
    assert drawn.mass.low - batch.mass == pytest.approx(-3.88, abs=0.01)
    assert drawn.mass.high - batch.mass == pytest.approx(3.88, abs=0.01)


def test_the_older_rule_of_pharmacy() -> None:
    """With a sensitivity requirement of 6 mg in place of 2 s.

    University of North Carolina, pharmacy laboratory page "Weighing": 50 mg can be 12 % wrong. A textbook chapter,
    "Accurate weighing for prescriptions": 5 % needs 120 mg, 1 % 600 mg.
    """
    balance = Balance(readability=0.001, capacity=120, repeatability=0.003)
    assert balance.weighing_error(0.050) == pytest.approx(12)
    assert balance.least_weight(5) == pytest.approx(0.120)
    assert balance.least_weight(1) == pytest.approx(0.600)


def test_the_least_weight_of_the_pharmacopoeia() -> None:
    """USP general chapter 41 (official 1 August 2019): 0.30000 g at s = 0.00015 g; never below 820 d."""
    assert Balance(0.0001, 200, 0.00015).least_weight(0.10) == pytest.approx(0.30000, abs=5e-6)
    assert Balance(0.0001, 200, 0.00001).least_weight(0.10) == pytest.approx(820 * 0.0001)
    assert Balance(0.0001, 200, 0.00015).weighing_error(0.300) == pytest.approx(0.10)


def test_an_aliquot() -> None:
    """A textbook chapter, "Accurate weighing for prescriptions": 2 mg by way of 120 mg; a portion of 125 mg."""
    portion = premix_amounts(need=2, least=120, strength=100 * 2 / 125)
    assert portion.active == 120
    assert portion.make == pytest.approx(7500)
    assert portion.carrier == pytest.approx(7380)
    assert portion.use == pytest.approx(125)
    assert portion.use * portion.active / portion.make == pytest.approx(2)


def test_habits_of_the_trade() -> None:
    """Common practice: trial batches of 50 g, 0.5 % preservative, 0.2 % antioxidant in a tenth of oil layer."""
    antioxidant = (Line("Coco-Caprylate", "9.8", "fill"), Line("Tocopherol", "0.2"))
    water = (Line("Aqua", "q.s.", "fill"), Line("Sodium Benzoate", "0.5"))
    trial = weigh(Formula("Trial", (Phase("W", "water", water), Phase("O", "oil", antioxidant))), "50 g")
    grams = {w.material: w.grams for w in trial.weighings}
    assert (grams["Sodium Benzoate"], grams["Tocopherol"]) == (0.25, 0.10)
    assert trial.formula.phase_total(1) == pytest.approx(10)
    assert 100 * 0.2 / trial.formula.phase_total(1) == pytest.approx(2)
    off = {line.weighing.material: line.relative for line in weighing_uncertainty(trial).lines}
    assert off["Sodium Benzoate"] == pytest.approx(3.2, abs=0.05)
    assert off["Tocopherol"] == pytest.approx(8.0, abs=0.05)
    assert off["Aqua"] < 0.1
