"""What a balance can weigh, and what its plate may not say."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import PLATE, Balance
from kit.errors import EntryError, RangeError, UnitError
from kit.inputs import read_all
from kit.units import quantity


def typed(readability: str, capacity: str = "", repeatability: str = "", linearity: str = "") -> Balance:
    """A balance as a form reads it."""
    texts = {"readability": readability, "capacity": capacity, "repeatability": repeatability, "linearity": linearity}
    return Balance(**read_all(PLATE, texts, beside_unit=True))


def test_a_balance_is_made_from_quantities() -> None:
    assert Balance.of("10 mg", "0.6 kg") == Balance(readability=0.01, capacity=600)
    assert Balance.of(quantity(10, "mg"), quantity(0.6, "kg")) == Balance.of("0.01 g", "600 g")
    assert Balance.of("0.1 g").capacity == 500


def test_a_bare_number_or_a_volume_is_refused() -> None:
    with pytest.raises(UnitError, match=r'readability has no unit \(got 0\.01\)\. Write "0\.01 g"\.'):
        Balance.of(0.01)
    with pytest.raises(UnitError, match="capacity must be an amount that can be turned into g, got 600"):
        Balance.of("0.01 g", "600 mL")


@pytest.mark.parametrize("readability", [0, -0.01, 500, 501, float("nan")])
def test_the_step_lies_between_nothing_and_the_capacity(readability: float) -> None:
    with pytest.raises(RangeError, match=r"must lie between 0 and the capacity, 500 g\. It is printed .* 'd ='"):
        Balance(readability=readability)


@pytest.mark.parametrize("repeatability", [-0.001, float("nan")])
def test_repeatability_is_not_below_nothing(repeatability: float) -> None:
    with pytest.raises(RangeError, match=r"The repeatability must be 0 g or more, got "):
        Balance(repeatability=repeatability)


@pytest.mark.parametrize("tolerance", [0, -1, float("nan")])
def test_a_tolerance_of_nothing_is_refused(tolerance: float) -> None:
    with pytest.raises(RangeError, match=r"must be more than 0 %, got .* 1 % is a common choice"):
        Balance().least_weight(tolerance)


@given(st.floats(1e-4, 1), st.floats(0.01, 50), st.floats(0, 5))
def test_the_least_weight_follows_the_larger_of_scatter_and_step(d: float, tolerance: float, s: float) -> None:
    least = Balance(d, 1e4, s).least_weight(tolerance)
    assert least == pytest.approx(2 * max(s, 0.41 * d) * 100 / tolerance)
    assert Balance(d, 1e4, 0.0).least_weight(tolerance) == Balance(d, 1e4).least_weight(tolerance)


def test_every_number_of_the_plate_is_a_quantity() -> None:
    assert Balance.of("0.01 g", "600 g", "8 mg", quantity(20, "mg")) == Balance(0.01, 600, 0.008, 0.02)


def test_a_balance_is_typed_into_boxes_marked_in_grams() -> None:
    assert typed("0.01") == Balance(0.01, 500)
    assert typed(" 10 mg ", "0,6 kg", "0,008", "±0.02") == Balance(0.01, 600, 0.008, 0.02)
    with pytest.raises(EntryError, match=r"Balance reads: This is empty\. Type it"):
        typed(" ")
    assert "The smallest step it shows. It is printed" in PLATE[0].help
    with pytest.raises(EntryError, match="Repeatability: 'fine' does not start with a number"):
        typed("0.01", repeatability="fine")
    with pytest.raises(EntryError, match=r"Linearity, ± must be an amount that can be turned into g, got 2\.0 ml"):
        typed("0.01", linearity="2 ml")


@pytest.mark.parametrize("linearity", [-0.001, float("nan")])
def test_linearity_is_not_below_nothing(linearity: float) -> None:
    with pytest.raises(RangeError, match=r"The linearity must be 0 g or more, got .* Give it without its ± sign"):
        Balance(linearity=linearity)


def test_numbers_that_do_not_belong_together() -> None:
    with pytest.raises(RangeError, match=r"A repeatability of 800 g cannot belong to .* carries 500 g\. Look at its u"):
        Balance(repeatability=800)
    with pytest.raises(RangeError, match="A linearity of 500 g cannot belong to a balance that carries 500 g"):
        Balance(linearity=500)
    with pytest.raises(RangeError, match="must lie between 0 and the capacity, inf g"):
        Balance(0.01, float("inf"))


@given(st.floats(1e-4, 1), st.floats(0.01, 50), st.floats(0, 5))
def test_the_weighing_error_is_the_other_side_of_the_least_weight(d: float, tolerance: float, s: float) -> None:
    balance = Balance(d, 1e4, s)
    assert balance.weighing_error(balance.least_weight(tolerance)) == pytest.approx(tolerance)


def test_nothing_cannot_be_weighed() -> None:
    for mass in (0, -1, float("nan")):
        with pytest.raises(RangeError, match="A weighing must be of more than 0 g, got"):
            Balance().weighing_error(mass)
