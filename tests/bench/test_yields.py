"""What a batch should give, and the limits of that."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.losses import expected_yield
from kit.bench.scaling import BatchSize
from kit.errors import RangeError
from kit.rounding import all_digits


@given(st.floats(0.01, 1e6), st.floats(0, 99), st.floats(0, 99))
def test_the_limits_hold_the_expected_and_never_more_than_was_weighed_in(
    mass: float, loss: float, within: float
) -> None:
    found = expected_yield(f"{all_digits(mass)} g", loss, within)
    assert found.low <= found.grams * (1 + 1e-9) + 1e-9
    assert found.grams <= found.high * (1 + 1e-9) + 1e-9
    assert found.high <= mass
    assert found.grams == pytest.approx(mass * (100 - loss) / 100)


def test_it_is_the_product_and_the_overage_that_the_batch_was_made_for() -> None:
    # 900 g of product, 5 % more on purpose, 10 % lost: 1050 g weighed in, 945 g expected
    size = BatchSize(900, overage=5, loss=10)
    assert size.mass == pytest.approx(1050)
    assert expected_yield(f"{all_digits(size.mass)} g", size.loss).grams == pytest.approx(900 * 1.05)


@pytest.mark.parametrize(
    ("mass", "loss", "within", "words"),
    [
        (0, 0, 5, "A batch must weigh more than 0 g, got 0 g."),
        (100, 100, 5, "The process loss must be from 0 to less than 100 %, got 100 %."),
        (100, -1, 5, "The process loss must be from 0 to less than 100 %, got -1 %."),
        (100, 0, 100, "The limits of the yield must be from 0 to less than 100 %, got 100 %. 5 % is a common choice."),
    ],
)
def test_what_makes_no_sense_is_told(mass: float, loss: float, within: float, words: str) -> None:
    with pytest.raises(RangeError) as error:
        expected_yield(f"{all_digits(mass)} g", loss, within)
    assert str(error.value) == words
