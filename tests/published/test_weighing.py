"""Weighing in print: the least weight of USP general chapter 41, and where its 0.41 d comes from."""

from __future__ import annotations

import math

import pytest

from kit.bench.balance import LEAST_REPEATABILITY, Balance
from kit.bench.weighing import weigh
from kit.formula.model import Formula, Line, Phase


def test_the_chapters_own_example() -> None:
    """USP general chapter 41 (official 1 August 2019), its example: s = 0.00015 g gives 300.00 mg at 0.10 %."""
    balance = Balance(readability=0.0001, capacity=200, repeatability=0.00015)
    assert balance.least_weight(0.10) == pytest.approx(0.30000, abs=5e-6)


@pytest.mark.parametrize("readability", [0.00001, 0.001, 0.01, 0.1])
def test_no_balance_weighs_less_than_820_steps(readability: float) -> None:
    """USP general chapter 41: where s is below 0.41 d, 0.41 d counts, so that the least is 820 d at 0.10 %."""
    for repeatability in (None, 0.0, 0.40 * readability):
        least = Balance(readability, 200, repeatability).least_weight(0.10)
        assert least / readability == pytest.approx(820)
    assert Balance(readability, 200, 0.42 * readability).least_weight(0.10) / readability == pytest.approx(840)


def test_two_roundings_scatter_by_0_41_steps() -> None:
    """JCGM 100:2008, F.2.2.1: one reading rounded to d has u = d / (2 √3); a difference of two d / √6 = 0.408 d."""
    one = 1 / (2 * math.sqrt(3))
    assert one == pytest.approx(0.288675, abs=1e-6)
    assert math.hypot(one, one) == pytest.approx(0.408248, abs=1e-6)
    assert round(math.hypot(one, one), 2) == LEAST_REPEATABILITY


def test_a_batch_speaks_below_820_steps_and_is_silent_from_there() -> None:
    """The same rule where it is used: 1 % of the batch on a balance of 0.001 g, at 0.10 %, needs 0.82 g."""
    formula = Formula("Toner", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Glycerin", "1"))),))
    balance = Balance(readability=0.001, capacity=200)
    assert weigh(formula, "82 g", balance, 0.10).findings == []
    (finding,) = weigh(formula, "81.9 g", balance, 0.10).findings
    assert "below 0.82 g it can be off by more than 0.1 %. Make 82 g or more" in finding.sentence
