"""What a maker paid, and what stands on her pack."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.library.purchase import Purchase


@pytest.mark.parametrize(
    ("purchase", "density", "mass", "per_gram"),
    [
        (Purchase(9.5, "EUR", 500, "g"), None, 500.0, 0.019),
        (Purchase(12.0, "EUR", 1, "kg"), None, 1000.0, 0.012),
        (Purchase(9.2, "GBP", 500, "mL"), 0.92, 460.0, 0.02),
        (Purchase(9.2, "GBP", 0.5, "L"), 0.92, 460.0, 0.02),
        (Purchase(9.2, "GBP", 500, "mL"), None, None, None),
        (Purchase(lot="A 17"), 1.0, None, None),
        (Purchase(amount=250, unit="g", lot="A 17"), None, 250.0, None),
    ],
)
def test_a_pack_is_weighed_and_priced(
    purchase: Purchase, density: float | None, mass: float | None, per_gram: float | None
) -> None:
    assert purchase.mass(density) == (None if mass is None else pytest.approx(mass))
    assert purchase.price_per_gram(density) == (None if per_gram is None else pytest.approx(per_gram))


@given(st.floats(0.01, 1e5), st.floats(0.01, 1e5), st.floats(0.3, 5))
def test_the_unit_of_the_pack_makes_no_difference(price: float, amount: float, density: float) -> None:
    grams = Purchase(price, "EUR", amount, "g").price_per_gram()
    kilograms = Purchase(price, "EUR", amount / 1000, "kg").price_per_gram()
    millilitres = Purchase(price, "EUR", amount / density, "mL").price_per_gram(density)
    assert grams == pytest.approx(kilograms, rel=1e-12)
    assert grams == pytest.approx(millilitres, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"price": -1.0}, "A price of -1 is not possible. Give what the pack cost, 0 or more."),
        ({"price": float("nan")}, "A price of nan is not possible"),
        ({"price": 5.0, "currency": "EUR"}, "A price needs its currency and what the pack holds"),
        ({"price": 5.0, "amount": 1.0, "unit": "kg"}, "A price needs its currency and what the pack holds"),
        ({"currency": "euro"}, "'euro' is not a currency. Write its three capital letters"),
        ({"amount": 0.0, "unit": "g"}, "A pack of 0 g is not possible."),
        ({"amount": 5.0}, "The pack needs both an amount and its unit, such as 250 and g."),
        ({"unit": "g"}, "The pack needs both an amount and its unit, such as 250 and g."),
        ({"amount": 5.0, "unit": "mm"}, "'mm' is not a unit of a pack. Use one of"),
        ({"amount": 5.0, "unit": "barrel"}, "'barrel' is not a unit of a pack."),
        ({"bought_on": "31.5.2026"}, "'31.5.2026' is not a date. Write 'bought on' as year-month-day"),
        ({"keep_until": "2026-13-01"}, "'2026-13-01' is not a date. Write 'keep until'"),
    ],
)
def test_what_cannot_be_is_told(given: dict[str, object], sentence: str) -> None:
    with pytest.raises(KitError) as caught:
        Purchase(**given)  # type: ignore[arg-type]
    assert sentence in str(caught.value)
