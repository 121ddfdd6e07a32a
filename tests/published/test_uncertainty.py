"""Uncertainty and premixes in print."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import uncertainties
from scipy import stats

from kit.bench.balance import Balance, error_by_sensitivity, least_by_sensitivity
from kit.bench.own_model import Input, draw_model
from kit.bench.premix import premix_amounts
from kit.bench.propagation import Estimate, combined, coverage_factor, propagate, rectangular, triangular
from kit.bench.uncertainty import ReadingUncertainty, simulate, weighing_uncertainty
from kit.bench.weighing import weigh
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from tests.present import present


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

    def concentration(mass: Any, purity: Any, volume: Any) -> Any:
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

    def length(standard: Any, d1: Any, d2: Any, d3: Any, *rest: Any) -> Any:
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
    batch = weigh(halves(), f"{all_digits(100 * math.sqrt(12))} g", Balance(math.sqrt(12), 500))
    found, drawn = weighing_uncertainty(batch), simulate(batch, np.random.default_rng(92), draws=2_000_000)
    assert found.mass_standard == pytest.approx(2.00, abs=1e-6)
    assert found.factor * found.mass_standard == pytest.approx(3.92, abs=0.005)
    assert drawn.mass.standard == pytest.approx(2.00, abs=0.01)
    assert drawn.mass.low - batch.mass == pytest.approx(-3.88, abs=0.01)
    assert drawn.mass.high - batch.mass == pytest.approx(3.88, abs=0.01)


def test_the_older_rule_of_pharmacy() -> None:
    """With a sensitivity requirement of 6 mg, and the same through the newer rule with 2 s in its place.

    University of North Carolina, pharmacy laboratory page "Weighing": 50 mg can be 12 % wrong. A textbook chapter,
    "Accurate weighing for prescriptions": 5 % needs 120 mg, 1 % 600 mg.
    """
    assert error_by_sensitivity("6 mg", "50 mg") == pytest.approx(12)
    assert least_by_sensitivity("6 mg", 5) == pytest.approx(0.120)
    assert least_by_sensitivity("6 mg", 1) == pytest.approx(0.600)
    balance = Balance(readability=0.001, capacity=120, repeatability=0.003)
    assert balance.weighing_error(0.050) == pytest.approx(12)
    assert balance.least_weight(5) == pytest.approx(0.120)
    assert balance.least_weight(1) == pytest.approx(0.600)


def test_limits_of_three_kinds() -> None:
    """JCGM 100:2008 (GUM), 4.3.4, 4.3.7 and 4.3.9: a stated 95 % is divided by 1.96, rectangular by √3, triangular √6.

    QUAM (2000), example A1: a flask within 0.1 mL is triangular and printed as 0.04 mL; with 0.02 mL of repeatability
    and 0.084 mL of temperature, rectangular, it comes to 0.07 mL (the parts from memory, the sum from table A1.1).
    """
    assert triangular(0.1) == pytest.approx(0.04, abs=0.005)
    assert Estimate.near(100, 0.1).standard == pytest.approx(0.1 / math.sqrt(6))
    assert combined((triangular(0.1), 0.02, rectangular(0.084))) == pytest.approx(0.07, abs=0.005)
    assert (0.1 / coverage_factor(95), rectangular(0.1), triangular(0.1)) == pytest.approx(
        (0.1 / 1.96, 0.1 / math.sqrt(3), 0.1 / math.sqrt(6)), rel=1e-4
    )


#: JCGM 100:2008 (GUM), H.2, table H.2: five sets of V [V], I [mA] and φ [rad], as encoded in a public test.
H2 = ((5.007, 19.663, 1.0456), (4.994, 19.639, 1.0438), (5.005, 19.640, 1.0468), (4.990, 19.685, 1.0428),
      (4.999, 19.678, 1.0433))  # fmt: skip
#: What H.2 makes of them, with value and standard uncertainty as printed in table H.4. [Ω]
IMPEDANCE = {
    "R": (lambda v, i, phi: v / i * math.cos(phi), 127.732, 0.071),
    "X": (lambda v, i, phi: v / i * math.sin(phi), 219.847, 0.295),
    "Z": (lambda v, i, _phi: v / i, 254.260, 0.236),
}


@pytest.mark.parametrize("name", IMPEDANCE)
def test_resistance_and_reactance_measured_together(name: str) -> None:
    """JCGM 100:2008 (GUM), H.2: correlated inputs, u from equation 16; table H.2 prints r = -0.36, 0.86 and -0.65."""
    columns = np.array(H2).T * [[1], [1e-3], [1]]
    correlations = np.corrcoef(columns)
    assert correlations[0, 1] == pytest.approx(-0.36, abs=0.005)
    assert correlations[0, 2] == pytest.approx(0.86, abs=0.005)
    assert correlations[1, 2] == pytest.approx(-0.65, abs=0.005)
    inputs = [Estimate(float(row.mean()), float(row.std(ddof=1) / math.sqrt(5))) for row in columns]
    pairs = {(i, j): float(correlations[i, j]) for i, j in ((0, 1), (0, 2), (1, 2))}
    model, value, standard = IMPEDANCE[name]
    found = propagate(model, *inputs, correlations=pairs)
    assert found.value == pytest.approx(value, abs=0.001)
    assert found.standard == pytest.approx(standard, abs=0.001)
    # Taken as independent, the doubt of R and X would be several times or half of that.
    assert propagate(model, *inputs).standard != pytest.approx(standard, rel=0.1)


def test_the_same_drawn_from_correlated_inputs() -> None:
    """JCGM 100:2008 (GUM), H.2, by Monte Carlo with the rounded correlations of table H.2."""
    inputs = {"v": Input(4.999, 3.2e-3), "i": Input(19.661e-3, 9.5e-6), "phi": Input(1.04446, 7.5e-4)}
    pairs = {("v", "i"): -0.36, ("v", "phi"): 0.86, ("i", "phi"): -0.65}
    found = draw_model(lambda v, i, phi: v / i * np.cos(phi), inputs, seed=2, draws=400_000, correlations=pairs)
    assert found.result.mean == pytest.approx(127.732, abs=0.001)
    assert found.result.standard == pytest.approx(0.071, abs=0.0015)


def add_up(x1: float, x2: float, x3: float, x4: float) -> float:
    return x1 + x2 + x3 + x4


@pytest.mark.parametrize(
    ("spreads", "shape", "standard", "half"),
    [
        ((1, 1, 1, 1), "normal", 2.00, 3.92),  # 9.2.2, table 2
        ((math.sqrt(3),) * 4, "rectangular", 2.00, 3.88),  # 9.2.3, table 3
        ((math.sqrt(3),) * 3 + (10 * math.sqrt(3),), "rectangular", 10.1, 17.0),  # 9.2.4 (from memory)
    ],
)
def test_four_added(spreads: tuple[float, ...], shape: str, standard: float, half: float) -> None:
    """JCGM 101:2008, 9.2: the sum of four inputs; tables 2 and 3 as encoded in a public test."""
    inputs = {f"x{n}": Input(0, spread, shape) for n, spread in enumerate(spreads, 1)}  # type: ignore[arg-type]
    found = draw_model(add_up, inputs, seed=9, draws=2_000_000)
    assert found.result.standard == pytest.approx(standard, abs=0.055 if standard > 2.5 else 0.01)
    assert (found.result.low, found.result.high) == pytest.approx((-half, half), abs=0.005 * half)
    if standard > 2.5:  # the law of propagation would say ± 19.8
        assert 1.96 * propagate(add_up, *(Estimate(0, one.standard) for one in inputs.values())).standard > 19


def test_the_calibration_of_a_weight() -> None:
    """JCGM 101:2008, 9.3 (from memory): first-order propagation says 0.0539 mg, the draws 0.0754 mg.

    Shortest 95 % interval 1.0834 to 1.3825 mg. The buoyancy term is a product of two inputs that are 0 apart.
    """

    def deviation(m: object, dm: object, air: object, weight: object, reference: object) -> object:
        return (m + dm) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000  # type: ignore[operator]

    inputs = {
        "m": Input(100_000.000, 0.050),
        "dm": Input(1.234, 0.020),
        "air": Input(1.20, 0.10, "rectangular"),
        "weight": Input(8000, 1000, "rectangular"),
        "reference": Input(8000, 50, "rectangular"),
    }
    found = draw_model(deviation, inputs, seed=93, draws=1_000_000)
    assert found.result.mean == pytest.approx(1.2341, abs=0.0005)
    assert found.result.standard == pytest.approx(0.0754, abs=0.0005)
    assert found.shortest == pytest.approx((1.0834, 1.3825), abs=0.003)
    first = propagate(deviation, *(Estimate(one.value, one.standard) for one in inputs.values()))  # type: ignore[arg-type]
    assert first.standard == pytest.approx(0.0539, abs=0.0005)


def test_a_calibration_standard_drawn() -> None:
    """QUAM (2000), example A1, drawn: 1002.7 mg/L with u 0.9 mg/L, as by propagation."""
    inputs = {"m": Input(100.28, 0.05), "p": Input(0.9999, 0.0001, "rectangular"), "v": Input(100.0, 0.07)}
    found = draw_model(lambda m, p, v: 1000 * m * p / v, inputs, seed=1, draws=400_000)
    assert found.result.mean == pytest.approx(1002.7, abs=0.05)
    assert found.result.standard == pytest.approx(0.9, abs=0.05)


def test_a_logarithm_is_lopsided() -> None:
    """NPL report DEM-ES-011, 9.2, as encoded in a public test: y = ln x, x from 0.1 to 1.1.

    By propagation -0.511 with u 0.481; by draws -0.665 with u 0.606 and 95 % shortest from -1.895 to 0.095.
    """
    first = propagate(math.log, Estimate.within(0.6, 0.5))
    assert first.value == pytest.approx(-0.511, abs=0.001)
    # The public test takes the derivative, 0.2887 / 0.6; half the change across ± u is 0.523.
    assert rectangular(0.5) / 0.6 == pytest.approx(0.481, abs=0.001)

    def logarithm(x: object) -> object:
        return np.log(x)  # type: ignore[call-overload]

    found = draw_model(logarithm, {"x": Input(0.6, 0.5, "rectangular")}, seed=5, draws=1_000_000)
    assert found.result.mean == pytest.approx(-0.665, abs=0.003)
    assert found.result.standard == pytest.approx(0.606, abs=0.003)
    assert found.shortest == pytest.approx((-1.895, 0.095), abs=0.01)


def test_a_falling_ball() -> None:
    """NIST Technical Note 1900, example E3, as encoded in a public test: 5.82 mPa·s, u 1.11, 95 % from 4.05 to 8.39."""

    def viscosity(mu: object, t: object, rho: object, rho_c: object, t_c: object, ball: object) -> object:
        return mu * t * (ball - rho) / (t_c * (ball - rho_c))  # type: ignore[operator]

    inputs = {"mu": Input(4.63, 0.0463), "t": Input(61, 6.1), "rho": Input(1180, 0.5), "rho_c": Input(810, 0.5)}
    inputs |= {"t_c": Input(36.6, 5.49), "ball": Input(2217, 0.5)}
    found = draw_model(viscosity, inputs, seed=3, draws=1_000_000)
    assert found.result.mean == pytest.approx(5.82, abs=0.01)
    assert found.result.standard == pytest.approx(1.11, abs=0.02)
    assert (found.result.low, found.result.high) == pytest.approx((4.05, 8.39), abs=0.02)


def test_an_expansion_coefficient_of_few_repeats() -> None:
    """NIST Technical Note 1900, example E13, as encoded in a public test: 1.7266e-5 1/K with u 1.76e-6."""
    inputs = {"before": (1.4999, 0.0001), "t0": (288.15, 0.02), "after": (1.5021, 0.0002), "t1": (373.10, 0.05)}

    def expansion(before: float, t0: float, after: float, t1: float) -> float:
        return (after - before) / (before * (t1 - t0))

    found = propagate(expansion, *(Estimate(*one) for one in inputs.values()))
    assert found.value == pytest.approx(1.7266e-5, abs=1e-9)
    assert found.standard == pytest.approx(1.76e-6, abs=1e-8)


def test_degrees_of_freedom_of_two() -> None:
    """A metrology course's notes, as encoded in a public test: 0.57 with 9 and 0.25 without limit make 12.8."""
    found = propagate(lambda a, b: a + b, Estimate(1, 0.57, 9), Estimate(1, 0.25))
    assert found.freedom == pytest.approx(12.8, abs=0.1)


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
    assert present(off["Aqua"]) < 0.1
