"""Alligation: exact parts, mixtures from many stocks judged by SciPy's optimum, and the words of refusals."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.alligation import OnShelf, alligate, exactly, medial, mix_from_many
from kit.errors import RangeError

PERCENTS = st.integers(0, 1000).map(lambda n: n / 10)


@given(PERCENTS, PERCENTS, st.integers(0, 100), st.integers(1, 5000))
def test_mass_and_active_are_kept_exactly(one: float, other: float, share: int, amount: int) -> None:
    assume(one != other)
    wanted = float(exactly(one) * share / 100 + exactly(other) * (100 - share) / 100)
    made = alligate(one, other, wanted, amount)
    assert made.stronger_amount + made.weaker_amount == amount
    held = made.stronger_amount * made.strong + made.weaker_amount * made.weak
    assert held == made.amount * exactly(wanted)
    assert made.stronger_amount >= 0
    assert made.weaker_amount >= 0


def test_order_does_not_matter_and_decimals_are_decimals() -> None:
    assert alligate(20, 70, 30) == alligate(70, 20, 30)
    assert exactly(0.1) == Fraction(1, 10)
    assert alligate(0.3, 0.1, 0.2).parts == (1, 1)


def test_at_the_ends_one_stock_is_enough() -> None:
    assert alligate(50, 10, 50, 80).weaker_amount == 0
    assert alligate(50, 10, 10, 80).stronger_amount == 0


@given(st.lists(st.tuples(st.floats(0.1, 100), st.floats(0, 100)), min_size=1, max_size=6))
def test_a_mixture_lies_between_its_portions(portions: list[tuple[float, float]]) -> None:
    strengths = [strength for _, strength in portions]
    assert min(strengths) - 1e-9 <= medial(portions) <= max(strengths) + 1e-9


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        (
            (70, 20, 80),
            r"80 cannot be mixed from 70 and 20: .* above both\. Take a stock that is stronger, of 80 or more\.",
        ),
        ((70, 20, 10), r"it lies below both\. Take a stock that is weaker, of 10 or less\."),
        ((20, 20, 20), r"Both stocks are 20: mixed in any way they stay 20\. Take two of different strengths\."),
        ((70, -1, 10), r"Strengths must be 0 or more and the amount above 0; got 70, -1, 10, 100\."),
        ((70, 20, 30, 0), "the amount above 0; got 70, 20, 30, 0"),
        ((float("nan"), 20, 30), "Strengths must be 0 or more"),
    ],
)
def test_what_cannot_be_mixed(numbers: tuple[float, ...], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        alligate(*numbers)


@pytest.mark.parametrize("portions", [[], [(0, 5)], [(-1, 5), (2, 5)], [(1, -5)]])
def test_a_mixture_of_nothing(portions: list[tuple[float, float]]) -> None:
    with pytest.raises(RangeError, match="A mixture needs portions of 0 or more, together above 0"):
        medial(portions)


SHELVES = st.lists(
    st.builds(
        OnShelf,
        st.just(""),
        st.sampled_from([0.0, 1.0, 5.0, 10.0, 20.0, 50.0, 100.0]),
        st.sampled_from([float("inf"), 10.0, 30.0, 60.0]),
        st.sampled_from([0.0, 1.0, 2.5]),
    ),
    min_size=1,
    max_size=6,
)


@given(SHELVES, st.sampled_from([0.0, 1.0, 8.0, 20.0, 33.0]), st.sampled_from([1.0, 50.0, 100.0]))
def test_many_stocks_keep_to_the_shelf_and_hit_the_strength_at_the_least_cost(
    shelf: list[OnShelf], wanted: float, amount: float
) -> None:
    from scipy.optimize import linprog

    named = [OnShelf(f"stock {n}", s.strength, s.most, s.cost) for n, s in enumerate(shelf)]
    judge = linprog(
        [s.cost for s in named],
        A_eq=[[1.0] * len(named), [s.strength for s in named]],
        b_eq=[amount, wanted * amount],
        bounds=[(0, min(s.most, 1e6)) for s in named],
    )
    try:
        found = mix_from_many(named, wanted, amount)
    except RangeError:
        assert judge.status == 2, "the judge finds it possible"
        return
    assert judge.status == 0
    taken = [found.get(s.name, 0.0) for s in named]
    assert sum(taken) == pytest.approx(amount, rel=1e-12)
    assert sum(x * s.strength for x, s in zip(taken, named, strict=True)) == pytest.approx(wanted * amount, abs=1e-9)
    assert all(-1e-12 <= x <= s.most for x, s in zip(taken, named, strict=True))
    if len({s.cost for s in named}) > 1:
        cost = sum(x * s.cost for x, s in zip(taken, named, strict=True))
        assert cost == pytest.approx(judge.fun, abs=1e-6)


@pytest.mark.parametrize(
    ("shelf", "wanted", "words"),
    [
        (
            [OnShelf("a", 10), OnShelf("b", 50, most=20)],
            30,
            r"30 is too strong .* come to 18 at most\. Add a stronger stock",
        ),
        (
            [OnShelf("a", 10), OnShelf("b", 5, most=50)],
            2,
            r"2 is too weak .* come to 7\.5 at least\. Add a weaker stock",
        ),
        ([OnShelf("a", 10, most=40)], 10, r"All stocks together are 40, less than the 100 wanted\."),
        ([OnShelf("a", -1)], 10, "Strengths and what there is must be 0 or more"),
    ],
)
def test_what_the_shelf_cannot_give(shelf: list[OnShelf], wanted: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        mix_from_many(shelf, wanted, 100)


@pytest.mark.parametrize(("wanted", "amount"), [(10, -1), (10, 0), (-1, 100), (float("inf"), 100)])
def test_no_mixture_of_a_strength_or_an_amount_that_cannot_be(wanted: float, amount: float) -> None:
    with pytest.raises(RangeError):
        mix_from_many([OnShelf("a", 5), OnShelf("b", 20)], wanted, amount)
