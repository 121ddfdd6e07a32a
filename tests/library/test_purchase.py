"""What a maker paid, and what stands on her pack."""

from __future__ import annotations

import pytest

from kit.errors import KitError
from kit.library.ingredient import Purchase


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"price": -1.0}, "A price of -1 is not possible. Give what the pack cost, 0 or more."),
        ({"price": float("nan")}, "A price of nan is not possible"),
        ({"price": 5.0, "currency": "EUR"}, "A price needs its currency and what the pack holds"),
        ({"price": 5.0, "amount": 1.0, "unit": "kg"}, "A price needs its currency and what the pack holds"),
        ({"currency": "a euro"}, "'a euro' is not a currency. Write its code or symbol"),
        ({"amount": 0.0, "unit": "g"}, "A pack of 0 g is not possible."),
        ({"amount": 5.0}, "The pack needs both an amount and its unit, such as 250 and g."),
        ({"unit": "g"}, "The pack needs both an amount and its unit, such as 250 and g."),
        ({"amount": 5.0, "unit": "mm"}, "'mm' is not a unit of a pack. Use one of"),
        ({"amount": 5.0, "unit": "barrel"}, "'barrel' is not a unit of a pack."),
        ({"bought_on": "31.5.2026"}, "'31.5.2026' is not a date. Write 'bought on' as year-month-day"),
        ({"keep_until": "2026-13-01"}, "'2026-13-01' is not a date. Write 'keep until'"),
        ({"bought_on": "2026-02-30"}, "'2026-02-30' is not a date. Write 'bought on'"),
    ],
)
def test_what_cannot_be_is_told(given: dict[str, object], sentence: str) -> None:
    with pytest.raises(KitError) as caught:
        Purchase(**given)  # type: ignore[arg-type]
    assert sentence in str(caught.value)
