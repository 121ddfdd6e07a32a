"""Stocks and dilutions: properties, and what is refused in which words."""

from __future__ import annotations

from functools import reduce
from operator import add
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.conversion import to_w_w
from kit.bench.dilution import dilute, make_stock, stock_for_level
from kit.errors import CompositionError, RangeError
from kit.formula.expansion import Materials
from kit.library.ingredient import Figure, Stock
from kit.library.library import Library

STRENGTHS = st.floats(0.001, 100)


@given(STRENGTHS, st.floats(0, 1, exclude_min=True), st.floats(0.001, 1e6))
def test_what_goes_in_comes_out(strength: float, part: float, amount: float) -> None:
    wanted = max(part * strength, 1e-6)
    made = dilute(strength, min(wanted, strength), amount)
    assert made.stock * strength == pytest.approx(min(wanted, strength) * amount)
    assert made.stock + made.diluent == pytest.approx(amount)
    assert 0 <= made.diluent < amount


@given(STRENGTHS, st.floats(0.001, 1e6))
def test_the_stock_itself_needs_no_diluent(strength: float, amount: float) -> None:
    assert dilute(strength, strength, amount).diluent == pytest.approx(0, abs=1e-9)
    assert dilute(strength, strength, amount).diluent >= 0


def test_diluting_only_weakens() -> None:
    with pytest.raises(
        RangeError,
        match=r"A solution of 10 cannot be diluted to 12: diluting only weakens\. Use a stock of 12 or stronger\.",
    ):
        dilute(10, 12, 100)


@pytest.mark.parametrize("numbers", [(0, 1, 1), (10, 0, 1), (10, 1, 0), (10, 1, -5), (float("nan"), 1, 1)])
def test_strengths_and_amounts_are_above_nothing(numbers: tuple[float, float, float]) -> None:
    with pytest.raises(RangeError, match=r"Strengths and amount must be more than 0; got "):
        dilute(*numbers)


@pytest.mark.parametrize(
    ("strength", "how", "words"),
    [
        (20, {"basis": "w/v"}, r"20 % w/v needs the density of the solution in g/mL .* Weigh 100 mL of it\."),
        (20, {"basis": "w/v", "density": 0}, "20 % w/v needs the density of the solution"),
        (20, {"basis": "v/v"}, "20 % v/v needs the density of the solution"),
        (20, {"basis": "v/v", "density": 0.9}, "20 % v/v needs the density of the pure active in g/mL"),
        (101, {"basis": "w/w"}, r"The strength comes to 101 % w/w; it must be from 0 to 100 %\."),
        (90, {"basis": "w/v", "density": 0.8}, r"The strength comes to 112\.5 % w/w"),
        (-1, {"basis": "w/w"}, r"The strength comes to -1 % w/w"),
        (20, {"basis": "m/m"}, r"The basis 'm/m' is not known\. Write one of w/w, w/v, v/v\."),
    ],
)
def test_what_a_basis_needs(strength: float, how: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        to_w_w(strength, **how)


@given(st.floats(0, 100), st.floats(0.8, 2), st.floats(0.6, 2))
def test_the_three_bases_agree(percent: float, density: float, active_density: float) -> None:
    w_v = percent * density
    v_v = w_v / active_density
    assert to_w_w(percent, "w/w") == percent
    assert to_w_w(min(w_v, 100 * density), "w/v", density=density) == pytest.approx(percent)
    assert to_w_w(v_v * (1 - 1e-12), "v/v", density=density, active_density=active_density) == pytest.approx(percent)


@given(st.floats(0, 60), st.floats(0, 40))
def test_the_solvent_makes_it_up_to_a_hundred(strength: float, other: float) -> None:
    stock = make_stock("Stock", "Citric Acid", strength, others={"Potassium Sorbate": other})
    assert sum(stock.contents.values()) == pytest.approx(100, abs=1e-9)
    assert stock.contents["Citric Acid"] == strength
    assert stock.contents["Aqua"] == pytest.approx(100 - strength - other, abs=1e-9)


@given(st.floats(0.1, 100), st.floats(0, 1))
def test_stock_for_a_level_brings_that_level(strength: float, part: float) -> None:
    stock = make_stock("Stock", "Citric Acid", strength)
    needed = stock_for_level(stock, part * strength)
    assert 0 <= needed <= 100
    substances = Materials(Library.bundled(), (stock,)).substances("Stock")
    assert needed * substances["Citric Acid"] / 100 == pytest.approx(part * strength)


def test_a_stock_keeps_what_its_label_says() -> None:
    stock = make_stock(
        "Citric 20",
        "Citric Acid",
        20,
        basis="w/v",
        density=1.08,
        others={"Potassium Sorbate": 0.2},
        made_on="2026-01-12",
        keep_until="2026-04-12",
        note="in brown glass",
    )
    assert (stock.active, stock.strength, stock.basis, stock.phase) == ("Citric Acid", 20, "w/v", "water")
    assert stock.density == Figure(1.08, "own")
    assert (stock.made_on, stock.keep_until, stock.note) == ("2026-01-12", "2026-04-12", "in brown glass")
    # By hand: 20 g in 108 g.
    assert stock.contents["Citric Acid"] == pytest.approx(100 * 20 / 108)


def test_contents_that_just_fill_it_leave_a_solvent_of_nothing() -> None:
    others = {"A": 16.3, "B": 42.7, "C": 10.4}
    assert reduce(add, [30.6, *others.values()]) > 100, (
        "this case would show nothing if the last digits came out otherwise"
    )
    assert make_stock("Full", "Active", 30.6, others=others).contents["Aqua"] == 0


def test_no_room_for_the_solvent() -> None:
    words = r"Strong: the active and the other contents add to 105 %, which leaves no room for Alcohol\."
    with pytest.raises(RangeError, match=words):
        make_stock("Strong", "Citric Acid", 90, others={"Parfum": 15}, solvent="Alcohol")


def test_the_active_is_not_among_the_others_as_well() -> None:
    with pytest.raises(RangeError, match=r"Twice: Citric Acid is its active and cannot be among .* Give it once\."):
        make_stock("Twice", "Citric Acid", 20, others={"Citric Acid": 1})


def test_a_part_below_nothing_is_refused() -> None:
    with pytest.raises(CompositionError, match="Odd: Parfum is given as -1 %"):
        make_stock("Odd", "Citric Acid", 20, others={"Parfum": -1})


@pytest.mark.parametrize(
    ("level", "words"),
    [
        (11, r"11 % of Citric Acid would need 110 % of Citric 10\. The stock must be stronger than 11 %\."),
        (-1, r"A level of -1 % of Citric Acid is not possible\. Give 0 % or more\."),
        (float("nan"), "A level of nan % of Citric Acid is not possible"),
    ],
)
def test_levels_a_stock_cannot_bring(level: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        stock_for_level(make_stock("Citric 10", "Citric Acid", 10), level)


def test_a_stock_without_an_active_brings_no_level() -> None:
    with pytest.raises(RangeError, match=r"Mystery states no active, .* Name the active in the stock\."):
        stock_for_level(Stock("Mystery", {"Aqua": 100.0}), 1)
