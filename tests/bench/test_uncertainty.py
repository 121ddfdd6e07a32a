"""Uncertainty of weighed batches: propagation, an independent judge, and Monte Carlo."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.order import ARRANGEMENTS, WEIGHING_ORDERS, chains
from kit.bench.propagation import Estimate, coverage_factor, propagate
from kit.bench.uncertainty import ReadingUncertainty, draw_masses, simulate, weighing_uncertainty
from kit.bench.weighing import Batch, weigh
from kit.demos import demo
from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from tests.layers.some_formulas import formulas

if TYPE_CHECKING:
    from kit.bench.order import Arrangement, WeighingOrder

WAYS = st.sampled_from([(way, order) for way in ARRANGEMENTS for order in WEIGHING_ORDERS])
BALANCES = st.builds(
    Balance,
    st.sampled_from([0.001, 0.01, 0.1]),
    st.just(5000.0),
    st.sampled_from([None, 0.0, 0.02]),
    st.sampled_from([None, 0.03]),
)


def judged(batch: Batch, way: Arrangement, order: WeighingOrder) -> list[float]:
    """The standard uncertainties by the package uncertainties, from the readings up."""
    u = ReadingUncertainty.of(batch.balance).combined
    net: list[Any] = [w.grams for w in batch.weighings]
    for chain in chains(batch, way, order):
        before = uncertainties.ufloat(0, u)
        for n in chain:
            after = uncertainties.ufloat(0, u)
            net[n] = net[n] + after - before
            before = after
    whole = sum(net)
    return [(100 * one / whole).std_dev for one in net]


@given(formulas(other=True), st.floats(2, 3000), BALANCES, WAYS)
def test_an_independent_package_finds_the_same(
    formula: Formula, mass: float, balance: Balance, way: tuple[Arrangement, WeighingOrder]
) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g", balance)
    found = weighing_uncertainty(batch, *way)
    assert [line.standard for line in found.lines] == pytest.approx(judged(batch, *way), rel=1e-7, abs=1e-12)
    for line in found.lines:
        assert math.hypot(line.repeatability, line.resolution, line.linearity) == pytest.approx(line.standard)
        assert line.expanded == pytest.approx(1.959964 * line.standard)


@given(formulas(), st.integers(50, 500), st.sampled_from(list(ARRANGEMENTS)))
def test_ten_times_the_batch_has_a_tenth_of_the_doubt(formula: Formula, mass: int, way: Arrangement) -> None:
    small, large = (
        weighing_uncertainty(weigh(formula, f"{m} g", Balance(0.0001, 1e5)), way) for m in (mass, 10 * mass)
    )
    for one, other in zip(small.lines, large.lines, strict=True):
        assert one.standard == pytest.approx(10 * other.standard, rel=0.01)


def test_all_lines_together_are_certain() -> None:
    """The percents add to 100 whatever the errors: one more equation that the drawn ones must keep."""
    batch = weigh(demo(), "50 g")
    masses = draw_masses(batch, np.random.default_rng(3), 2000, "one vessel")
    percents = 100 * masses / masses.sum(axis=0)
    assert percents.sum(axis=0) == pytest.approx(np.full(2000, 100.0))


@pytest.mark.parametrize("way", list(ARRANGEMENTS))
@pytest.mark.parametrize("order", WEIGHING_ORDERS)
def test_both_ways_agree_within_the_scatter_of_the_draws(way: Arrangement, order: WeighingOrder) -> None:
    batch = weigh(demo(), "80 g", Balance(0.01, 500, 0.01, 0.01))
    found = weighing_uncertainty(batch, way, order)
    drawn = simulate(batch, np.random.default_rng(11), way, order, draws=200_000)
    # The standard deviation of 200 000 normal draws scatters by 1/sqrt(2 x 200 000) = 0.16 %; five times that here.
    for line, row in zip(found.lines, drawn.lines, strict=True):
        assert row.standard == pytest.approx(line.standard, rel=0.008)
        assert row.mean == pytest.approx(line.made, abs=6 * line.standard / math.sqrt(200_000))
        assert row.half_width == pytest.approx(line.expanded, rel=0.03)
    assert drawn.mass.standard == pytest.approx(found.mass_standard, rel=0.008)


def test_neighbours_in_one_vessel_share_a_reading() -> None:
    batch = weigh(demo(), "80 g", Balance(0.01, 500, 0.01, 0.01))
    correlations = np.atleast_2d(np.corrcoef(draw_masses(batch, np.random.default_rng(5), 100_000, "one vessel")))
    n = len(batch.weighings)
    assert np.diag(correlations, 1) == pytest.approx(np.full(n - 1, -0.5), abs=0.015)
    assert np.abs(correlations[np.triu_indices(n, 2)]).max() < 0.02
    apart = np.atleast_2d(np.corrcoef(draw_masses(batch, np.random.default_rng(5), 100_000, "separate")))
    assert np.abs(apart[np.triu_indices(n, 1)]).max() < 0.02


def test_the_whole_in_one_vessel_is_a_single_weighing() -> None:
    batch = weigh(demo(), "80 g")
    one = weighing_uncertainty(batch, "one vessel").mass_standard
    assert one == pytest.approx(0.01 / math.sqrt(6))
    assert weighing_uncertainty(batch, "vessel per phase").mass_standard == pytest.approx(one * math.sqrt(2))
    assert weighing_uncertainty(batch).mass_standard == pytest.approx(one * math.sqrt(11))


def test_draws_come_from_the_callers_generator() -> None:
    batch = weigh(demo(), "80 g")
    first, again = (simulate(batch, np.random.default_rng(1), draws=5000) for _ in range(2))
    assert first == again
    assert first != simulate(batch, np.random.default_rng(2), draws=5000)
    assert (first.draws, first.coverage) == (5000, 95.0)


@given(st.integers(1000, 9000), st.sampled_from([50.0, 90.0, 95.0, 99.0]))
def test_the_interval_leaves_as_many_below_as_above(draws: int, coverage: float) -> None:
    batch = weigh(demo(), "20 g")
    drawn = simulate(batch, np.random.default_rng(draws), draws=draws, coverage=coverage)
    chunks, rest = np.random.default_rng(draws), draws
    masses = []
    while rest:
        masses.append(draw_masses(batch, chunks, min(rest, 4096)).sum(axis=0))
        rest -= masses[-1].size
    whole = np.sort(np.concatenate(masses))
    below, above = int((whole < drawn.mass.low).sum()), int((whole > drawn.mass.high).sum())
    assert abs(below - above) <= 1
    assert draws - below - above == int(draws * coverage / 100)
    assert drawn.mass.mean == pytest.approx(whole.mean())
    assert drawn.mass.standard == pytest.approx(whole.std(ddof=1))


def test_rounding_is_known_and_stands_apart() -> None:
    toner = Formula("Toner", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    line = weighing_uncertainty(weigh(toner, "1.1 g", Balance(0.01, 500))).lines[1]
    # By hand: 3 % of 1.1 g is 0.033 g, weighed as 0.03 g: 100 x 0.03/1.1 = 2.727 %.
    assert line.made == pytest.approx(2.7273, abs=1e-4)
    assert line.deviation == pytest.approx(-0.2727, abs=1e-4)
    assert line.standard == pytest.approx(0.01 / math.sqrt(6) / 1.1 * math.hypot(97.27, 2.73), rel=1e-4)


def test_a_balance_too_coarse_says_so_and_nothing_breaks() -> None:
    batch = weigh(demo(), "3 g", Balance(2, 500))
    found = weighing_uncertainty(batch)
    assert [line.made for line in found.lines][:2] == [100.0, 0.0]
    assert found.lines[1].relative is None
    sentences = [finding.sentence for finding in found.findings]
    assert sentences[0].startswith("Glycerin 0.16 g, Sodium PCA (and) Aqua 0.08 g, ")
    assert sentences[0].endswith(
        ": nothing to a balance that reads 2 g. Make a bigger batch, a premix, or use a finer balance."
    )
    simulated = simulate(batch, np.random.default_rng(1), draws=1000)
    assert simulated.lines[1].half_width == 0
    assert len(found.table(simulated)) == 11
    with pytest.raises(RangeError, match="less than one step of the balance, 50 g"):
        weigh(demo(), "3 g", Balance(50, 500))


def test_a_line_beyond_the_tolerance_says_how_far() -> None:
    toner = Formula("Toner", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Panthenol", "0.5"))),))
    (finding,) = weighing_uncertainty(weigh(toner, "50 g", tolerance=2)).findings
    assert finding.sentence == (
        "Panthenol comes to 0.5 ± 0.016 % of the whole, off by up to 3.18 % of itself. You allow 2 %."
    )
    assert (finding.place.phase, finding.place.line, finding.source) == (0, 1, "JCGM 100:2008 (GUM)")
    assert weighing_uncertainty(weigh(toner, "50 g", tolerance=3.3)).findings == []


def test_the_table_has_both_ways_side_by_side() -> None:
    batch = weigh(demo(), "80 g")
    found = weighing_uncertainty(batch)
    assert list(found.table().columns)[-2:] == ["± % w/w", "± % of line"]
    both = found.table(simulate(batch, np.random.default_rng(1), draws=20_000))
    assert both["Monte Carlo standard % w/w"].to_numpy() == pytest.approx(both["standard % w/w"].to_numpy(), rel=0.03)


def test_what_cannot_be_asked() -> None:
    batch = weigh(demo(), "80 g")
    with pytest.raises(RangeError, match=r"999 draws are too few for an interval\. Ask for 1000 or more"):
        simulate(batch, np.random.default_rng(1), draws=999)
    for coverage in (0, 100, float("nan")):
        with pytest.raises(RangeError, match=r"must lie between 0 and 100 %, got .* 95 % is usual"):
            weighing_uncertainty(batch, coverage=coverage)
        with pytest.raises(RangeError, match="must lie between 0 and 100 %"):
            simulate(batch, np.random.default_rng(1), draws=1000, coverage=coverage)
    with pytest.raises(RangeError, match="A standard uncertainty is 0 or more"):
        Estimate(1.0, -0.1)
    with pytest.raises(RangeError, match="more than 0 degrees of freedom; got 1 with 0"):
        Estimate(1.0, 1.0, 0)


@given(
    st.lists(st.tuples(st.floats(1, 100), st.floats(0.001, 0.02)), min_size=3, max_size=3),
)
def test_numerical_propagation_agrees_with_the_package(inputs: list[tuple[float, float]]) -> None:
    def model(a: Any, b: Any, c: Any) -> Any:
        return 100 * a * b / (a + c)

    mine = propagate(model, *(Estimate(*one) for one in inputs))
    theirs = model(*(uncertainties.ufloat(*one) for one in inputs))
    assert mine.value == pytest.approx(theirs.nominal_value)
    assert mine.standard == pytest.approx(theirs.std_dev, rel=1e-3)


def test_an_input_known_exactly_adds_nothing() -> None:
    assert propagate(lambda a: 2 * a, Estimate(3.0)) == Estimate(6.0, 0.0, math.inf)


def test_coverage_factors() -> None:
    """JCGM 100:2008, table G.1."""
    found = [round(coverage_factor(p), 3) for p in (68.27, 90, 95, 95.45, 99, 99.73)]
    assert found == pytest.approx([1.000, 1.645, 1.960, 2.000, 2.576, 3.000], abs=1e-3)
