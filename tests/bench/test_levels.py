"""Several levels from several stocks: exact, checked by NumPy, and clear where it cannot be done."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.dilution import make_stock
from kit.bench.levels import MOST_STOCKS, stocks_for_levels
from kit.errors import RangeError
from kit.formula.expansion import Materials, expand
from kit.formula.model import Formula, Phase
from kit.library.ingredient import Stock
from kit.library.library import Library

ACID = make_stock("Acid", "Citric Acid", 20, others={"Potassium Sorbate": 0.5})
PANTHENOL = make_stock("Panthenol stock", "Panthenol", 10, others={"Potassium Sorbate": 0.5})
KEEPER = make_stock("Keeper", "Potassium Sorbate", 20)
TENTHS = st.integers(1, 250).map(lambda n: n / 10)


@given(
    st.lists(st.lists(TENTHS, min_size=3, max_size=3), min_size=3, max_size=3), st.lists(TENTHS, min_size=3, max_size=3)
)
def test_any_three_stocks_against_a_linear_solver(rows: list[list[float]], amounts: list[float]) -> None:
    import numpy as np

    names = ("A", "B", "C")
    stocks = [
        Stock(f"stock {n}", {**dict(zip(names, row, strict=True)), "Aqua": 100 - sum(row)}, "A")
        for n, row in enumerate(rows)
    ]
    matrix = np.array(rows).T / 100
    assume(abs(np.linalg.det(matrix)) > 1e-5 and sum(amounts) < 90)
    wanted = matrix @ np.array(amounts)
    plan = stocks_for_levels(stocks, {name: round(float(x), 12) for name, x in zip(names, wanted, strict=True)})
    solved = np.linalg.solve(matrix, np.round(wanted, 12))
    assert [plan.stocks.get(s.name, 0.0) for s in stocks] == pytest.approx(list(solved), rel=1e-6, abs=1e-8)
    assert plan.displaced + plan.fill_left == pytest.approx(100)
    assert sum(plan.brought.values()) == pytest.approx(plan.displaced)
    for name, level in zip(names, wanted, strict=True):
        assert plan.brought[name] == pytest.approx(level, rel=1e-9)


def test_shared_substances_and_what_the_stocks_displace() -> None:
    plan = stocks_for_levels(
        [ACID, PANTHENOL, KEEPER], {"Citric Acid": 0.3, "Panthenol": 1, "Potassium Sorbate": 0.2}, other=5
    )
    # By hand: 0.3/0.2 = 1.5; 1/0.1 = 10; (0.2 - 0.005 x 11.5) / 0.2 = 0.7125.
    assert plan.stocks == pytest.approx({"Acid": 1.5, "Panthenol stock": 10, "Keeper": 0.7125})
    assert plan.displaced == pytest.approx(12.2125)
    assert plan.fill_left == pytest.approx(82.7875)
    assert plan.fill_in_all == pytest.approx(95 - 1.5)


def test_the_lines_expand_to_the_levels() -> None:
    levels = {"Citric Acid": 0.3, "Panthenol": 1.0, "Potassium Sorbate": 0.2}
    stocks = (ACID, PANTHENOL, KEEPER)
    formula = Formula("T", (Phase("W", "water", tuple(stocks_for_levels(stocks, levels).lines())),), materials=stocks)
    found = expand(formula, Materials.of(formula, Library.bundled()))
    assert {name: found[name] for name in levels} == pytest.approx(levels)
    assert sum(found.values()) == pytest.approx(100, abs=1e-9)


def test_of_more_stocks_than_substances_the_least_is_taken() -> None:
    weak = make_stock("Weak acid", "Citric Acid", 5)
    assert stocks_for_levels([weak, ACID], {"Citric Acid": 0.4}).stocks == {"Acid": 2.0}


def test_fewer_stocks_than_substances_may_fit_all_the_same() -> None:
    assert stocks_for_levels([ACID], {"Citric Acid": 4, "Potassium Sorbate": 0.1}).stocks == {"Acid": 20.0}


def test_blends_inside_a_stock_are_opened_up() -> None:
    nested = Stock("Nested", {"Acid": 50.0, "Aqua": 50.0}, "Citric Acid")
    materials = Materials(Library.bundled(), (ACID, nested))
    assert stocks_for_levels([nested], {"Citric Acid": 1}, materials=materials).stocks == {"Nested": 10.0}


@pytest.mark.parametrize(
    ("stocks", "wanted", "other", "words"),
    [
        ([ACID], {"Urea": 1}, 0, r"None of the stocks holds Urea\. Add a stock that does, or weigh it in by itself\."),
        (
            [ACID, PANTHENOL, KEEPER],
            {"Citric Acid": 0.4, "Panthenol": 1, "Potassium Sorbate": 0.05},
            0,
            (
                r"Sorbate comes to 0\.06 % with what Acid and Panthenol stock must bring for the other levels, "
                r"above the 0\.05 % wanted\. Want 0\.06 % or more, or make Acid and Panthenol stock with less of it\."
            ),
        ),
        (
            [ACID, PANTHENOL],
            {"Citric Acid": 0.4, "Panthenol": 1, "Potassium Sorbate": 0.3},
            0,
            r"Sorbate comes to only 0\.06 %, not the 0\.3 % wanted.* Add a stock of Potassium Sorbate alone\.",
        ),
        (
            [ACID, PANTHENOL],
            {"Citric Acid": 1, "Panthenol": 9},
            20,
            (
                r"The stocks come to 95 % and there is room for 80 %\. Panthenol stock must be at least 1\.2 times as "
                r"strong: 12 % w/w of Panthenol instead of 10 %\."
            ),
        ),
        ([ACID, PANTHENOL], {"Citric Acid": 19, "Panthenol": 9}, 20, "No single stock can be made strong enough"),
        # 55 % from a 60 % stock take 91.7 %; in half the formula it would have to be 110 % strong
        (
            [make_stock("S", "Urea", 60)],
            {"Urea": 55},
            50,
            "come to 91.67 % .* No single stock can be made strong enough",
        ),
        ([], {"A": 1}, 0, "Name at least one stock and one substance"),
        ([ACID, ACID], {"Citric Acid": 1}, 0, f"Give at most {MOST_STOCKS} stocks, each once"),
        ([ACID], {"Citric Acid": -1}, 0, "A level of -1 % of Citric Acid is not possible"),
        ([ACID], {"Citric Acid": 1}, 100, "The rest of the formula takes 100 %; it must be from 0 to below 100 %"),
    ],
)
def test_what_cannot_be_done(stocks: list[Stock], wanted: dict[str, float], other: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        stocks_for_levels(stocks, wanted, other=other)


def test_only_stocks_that_bring_the_substance_are_named_whichever_is_wanted_first() -> None:
    urea = make_stock("Urea stock", "Urea", 10)
    levels = {"Citric Acid": 0.4, "Panthenol": 1, "Urea": 1}
    for wanted in ({"Potassium Sorbate": 0.05} | levels, levels | {"Potassium Sorbate": 0.05}):
        # By hand: 0.4/0.2 = 2 % Acid and 1/0.1 = 10 % Panthenol stock bring 0.005 x 12 = 0.06 % of the sorbate.
        with pytest.raises(RangeError, match=r"Sorbate comes to 0\.06 % with what Acid and Panthenol stock must bring"):
            stocks_for_levels([urea, ACID, PANTHENOL], wanted)


def test_a_substance_that_cannot_be_at_fault_is_passed_over() -> None:
    # Without Urea the other two still do not fit: 0.4/0.2 = 2 % Acid, but 0.005/0.005 = 1 % for the sorbate. Without
    # Citric Acid they do, with 1 % Acid, and that brings 0.2 % of it.
    with pytest.raises(RangeError, match=r"Citric Acid comes to only 0\.2 %, not the 0\.4 % wanted"):
        stocks_for_levels(
            [make_stock("Urea stock", "Urea", 10), ACID], {"Urea": 1, "Citric Acid": 0.4, "Potassium Sorbate": 0.005}
        )


def test_the_advice_to_make_it_stronger_is_enough() -> None:
    """95 % of stock had room for 80 %: with the panthenol stock 1.2 times as strong, they fill it exactly."""
    strong = make_stock("Panthenol stock", "Panthenol", 12, others={"Potassium Sorbate": 0.6})
    plan = stocks_for_levels([ACID, strong], {"Citric Acid": 1, "Panthenol": 9}, other=20)
    assert plan.fill_left == pytest.approx(0, abs=1e-9)
