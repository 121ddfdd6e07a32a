"""An amount is text with a unit or a pint quantity at every front door; a bare number is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.bench import (
    StockBook,
    arrangement_findings,
    batch_from_ingredient,
    batch_from_on_hand,
    bottles_from,
    computed_curve,
    diluent_to_add,
    error_by_sensitivity,
    evaporated,
    expected_yield,
    for_bottles,
    from_pure,
    make_stock,
    neutralising_mass,
    plan_for_losses,
    stock_to_reach,
    strength_after,
    weigh,
    weighing_steps,
)
from kit.demos import demo
from kit.errors import UnitError
from kit.layers.pump_count import Strokes, count_doses
from kit.units import quantity

if TYPE_CHECKING:
    from collections.abc import Callable

BATCH = weigh(demo(), "100 g")


@pytest.mark.parametrize(
    "work",
    [
        lambda: weigh(demo(), 100),
        lambda: from_pure(make_stock("Acid", "Citric Acid", 20), 100),
        lambda: evaporated(demo(), 500, "1 g", 0),
        lambda: evaporated(demo(), "500 g", 1, 0),
        lambda: plan_for_losses(demo(), 500),
        lambda: expected_yield(500),
        lambda: batch_from_ingredient(demo(), "Glycerin", 5),
        lambda: batch_from_on_hand(demo(), {"Glycerin": 5}),
        lambda: for_bottles(3, 90, 0.95),
        lambda: bottles_from(1000, 0.95, "90 mL"),
        lambda: bottles_from("1000 g", 0.95, 90),
        lambda: weighing_steps(BATCH, vessel=150),
        lambda: arrangement_findings(BATCH, vessel=150),
        lambda: error_by_sensitivity(0.006, "0.12 g"),
        lambda: diluent_to_add(100, 20, 10),
        lambda: strength_after(100, 20, "10 g"),
        lambda: neutralising_mass("Citric Acid", "Sodium Hydroxide", 1),
        lambda: stock_to_reach(5.5, {"Lactic Acid": 1.0}, {"Triethanolamine": 100.0}, 100),
        lambda: computed_curve({"Lactic Acid": 1.0}, {"Triethanolamine": 100.0}, 100, [0.0]),
        lambda: StockBook("none.csv").check(low=5),
        lambda: count_doses(100, Strokes(1.0)),
        lambda: count_doses("100 mL", Strokes(1.0), unreached=2.5),
    ],
)
def test_a_bare_number_is_refused_with_the_line_to_type(work: Callable[[], object]) -> None:
    with pytest.raises(UnitError, match=r'has no unit \(got [\d.]+\)\. Write "[\d.]+ (g|mL)"\.'):
        work()


def test_a_pint_quantity_is_as_good_as_text() -> None:
    assert bottles_from(quantity(1, "kg"), 0.95, quantity(10, "cL")) == bottles_from("1000 g", 0.95, "100 mL")
    assert expected_yield(quantity(1, "kg")) == expected_yield("1 kg")
    assert weighing_steps(BATCH, vessel=quantity(0.15, "kg")) == weighing_steps(BATCH, vessel="150 g")
