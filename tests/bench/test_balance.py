"""What a balance can weigh, and what its plate may not say."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.errors import RangeError, UnitError
from kit.units import quantity


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
    with pytest.raises(
        RangeError, match=r"must lie between 0 and the capacity, 500 g\. It is printed .* 'd ='"
    ):
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
def test_the_least_weight_follows_the_larger_of_scatter_and_step(
    d: float, tolerance: float, s: float
) -> None:
    least = Balance(d, 1e4, s).least_weight(tolerance)
    assert least == pytest.approx(2 * max(s, 0.41 * d) * 100 / tolerance)
    assert Balance(d, 1e4, 0.0).least_weight(tolerance) == Balance(d, 1e4).least_weight(tolerance)
