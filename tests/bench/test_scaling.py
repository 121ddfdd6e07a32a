"""From bottles to a batch mass."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.scaling import BatchSize, Order, for_bottles
from kit.errors import RangeError, UnitError
from kit.units import quantity


@given(st.floats(0.1, 1e6), st.floats(0, 200), st.floats(0, 95))
def test_what_is_weighed_less_the_loss_is_product_and_overage(product: float, overage: float, loss: float) -> None:
    mass = BatchSize(product, overage, loss).mass
    assert mass * (1 - loss / 100) == pytest.approx(product * (1 + overage / 100))


def test_bottles_become_a_mass_through_the_density() -> None:
    # By hand: 6 x 90 mL x 0.96 g/mL = 518.4 g; 5 % more, and a tenth of what is weighed stays behind.
    size = for_bottles(6, "9 cL", 0.96, overage=5, loss=10)
    assert size.product == pytest.approx(518.4)
    assert size.mass == pytest.approx(518.4 * 1.05 / 0.9)
    assert for_bottles(6, quantity(0.09, "litre"), 0.96).product == pytest.approx(518.4)


def test_nothing_is_made_beyond_the_product_unless_it_is_asked_for() -> None:
    # By hand: no overage and no loss, so 300 g stay 300 g, and 6 x 90 mL x 0.96 g/mL = 518.4 g stay 518.4 g.
    assert BatchSize(300).mass == 300
    assert for_bottles(6, "90 mL", 0.96).mass == pytest.approx(518.4)
    # 5 % more is 315 g; a tenth left behind of what is weighed asks for 300 ÷ 0.9.
    assert BatchSize(300, overage=5).mass == pytest.approx(315)
    assert BatchSize(300, loss=10).mass == pytest.approx(300 / 0.9)


def test_an_order_is_by_mass_or_by_bottles() -> None:
    order = Order(grams=300, bottles=4, fill=50, overage=2, loss=1)
    assert order.size(0.9) == BatchSize(300, 2, 1)
    by_bottles = Order("bottles", grams=300, bottles=4, fill=50, overage=2, loss=1).size(0.9)
    assert by_bottles.product == pytest.approx(180)
    assert (by_bottles.overage, by_bottles.loss) == (2, 1)


def test_a_fill_is_a_volume_with_its_unit() -> None:
    with pytest.raises(UnitError, match=r'fill has no unit \(got 90\)\. Write "90 mL"\.'):
        for_bottles(6, 90, 1.0)
    with pytest.raises(UnitError, match="fill must be an amount that can be turned into mL, got 90"):
        for_bottles(6, "90 g", 1.0)


@pytest.mark.parametrize(("count", "fill"), [(0, "90 mL"), (-1, "90 mL"), (3, "0 mL"), (3, "-5 mL")])
def test_no_bottles_or_nothing_in_them(count: int, fill: str) -> None:
    with pytest.raises(RangeError, match=r"Count at least one bottle and fill it with more than 0 mL; got "):
        for_bottles(count, fill, 1.0)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((0,), r"The amount of product must be more than 0 g, got 0 g\."),
        ((-3,), r"more than 0 g, got -3 g\."),
        ((float("nan"),), "more than 0 g, got nan g"),
        ((100, -1), r"The overage must be 0 % or more, got -1 %\."),
        ((100, 0, -1), r"The process loss must be from 0 to less than 100 %, got -1 %\."),
        ((100, 0, 100), r"less than 100 %, got 100 %\."),
    ],
)
def test_numbers_out_of_range(numbers: tuple[float, ...], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        BatchSize(*numbers)


def test_a_density_of_nothing_gives_no_batch() -> None:
    with pytest.raises(RangeError, match=r"more than 0 g, got 0 g"):
        for_bottles(3, "90 mL", 0.0)
