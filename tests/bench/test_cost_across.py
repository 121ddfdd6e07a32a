"""The cost at every ratio: straight, with its ends where a line falls to nothing."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.cost import cost
from kit.bench.cost_across import cost_across
from kit.bench.price import Price
from kit.bench.price_list import PriceList, demo_prices
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.ratio import RatioPath
from kit.library.library import Library

SHAKE = demo()
MATERIALS = Materials.of(SHAKE, Library.bundled())
PATH = RatioPath.of(SHAKE)
ACROSS = cost_across(PATH, MATERIALS, demo_prices())


@given(st.floats(ACROSS.low + 0.01, ACROSS.high - 0.01), st.floats(0, 60))
def test_at_each_ratio_it_is_what_the_moved_formula_costs(oil: float, waste: float) -> None:
    across = cost_across(PATH, MATERIALS, demo_prices(), waste_percent=waste)
    moved = cost(weigh(PATH.at(oil), "1000000 g"), MATERIALS, demo_prices(), waste_percent=waste)
    assert across.at(oil) == pytest.approx(moved.materials_per_100_g, rel=1e-9)
    assert across.at(oil) == pytest.approx(sum(part.at(oil) for part in across.parts))


@given(st.floats(0, 1))
def test_it_runs_straight_between_its_ends(share: float) -> None:
    (low, cheap), (high, dear) = ACROSS.points()
    assert ACROSS.at(low + share * (high - low)) == pytest.approx(cheap + share * (dear - cheap))
    assert ACROSS.slope == pytest.approx((dear - cheap) / (high - low))


def test_its_ends_are_where_a_line_has_nothing_left() -> None:
    # The oil layer holds 0.1 % Parfum as a level; 0.3/15 of it is Tocopherol and 5/15 kernel oil, so that the
    # ester that fills it has F - F x 5.3/15 - 0.1 and is nothing at F = 0.1 x 15/9.7.
    assert ACROSS.low == pytest.approx(0.1 * 15 / 9.7)
    assert min(PATH.percents(ACROSS.low)) == pytest.approx(0, abs=1e-9)
    assert min(PATH.percents(ACROSS.high)) == pytest.approx(0, abs=1e-9)
    assert ACROSS.now == 15
    with pytest.raises(RangeError, match=re.escape("An oil layer of 99.9 % cannot be made: it goes from 0.1546 to")):
        ACROSS.at(99.9)


def test_by_hand_in_a_formula_of_two_lines() -> None:
    phases = (
        Phase("Water", "water", (Line("Aqua", "q.s.", "fill"),)),
        Phase("Oil", "oil", (Line("Squalane", "20", "fill"),)),
    )
    formula = Formula("Two", phases)
    prices = PriceList("EUR", (Price("Aqua", 1, "kg", 1), Price("Squalane", 1, "kg", 101)))
    across = cost_across(RatioPath.of(formula), Materials(Library.bundled()), prices)
    assert [percent for percent, _ in across.points()] == [0, 100]
    assert [money for _, money in across.points()] == pytest.approx([0.1, 10.1])
    assert across.at(20) == pytest.approx(0.1 + 0.1 * 20)
    water, oil = across.parts
    assert (water.name, water.kind, oil.name, oil.kind, oil.base) == ("Water", "water", "Oil", "oil", 0)
    assert (water.base, water.slope, oil.slope) == pytest.approx((0.1, -0.001, 0.101))
    assert (across.currency, across.missing) == ("EUR", ())


def test_what_has_no_price_is_named_and_waste_has_its_range() -> None:
    across = cost_across(PATH, MATERIALS, PriceList("EUR", (Price("Aqua", 1, "kg", 1),)))
    assert "Parfum" in across.missing
    assert "Aqua" not in across.missing
    with pytest.raises(RangeError, match="Waste must be from 0 to less than 100 %"):
        cost_across(PATH, MATERIALS, demo_prices(), waste_percent=100)
