"""Percents that were computed are rounded, those that were typed are not, and the whole stays 100 %."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.demos import demo
from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.formula.moved import Ratio
from kit.formula.versions import rounded_percents
from tests.formula.made import water_and
from tests.present import present


def one_phase(*entries: str, **more: Any) -> Formula:
    return Formula("T", (Phase("W", "water", tuple(Line("Aqua", entry) for entry in entries)),), **more)


def entries(formula: Formula) -> list[str]:
    return [line.entry for _, _, line, _ in formula.each_line()]


def test_what_nobody_moved_comes_back_unchanged() -> None:
    formula = demo()
    assert rounded_percents(formula) is formula


def test_thirds_add_to_the_whole() -> None:
    third = repr(100 / 3)
    assert entries(rounded_percents(one_phase(third, third, third), 0.1)) == ["33.4", "33.3", "33.3"]


def test_qs_stays_and_takes_up_the_rounding() -> None:
    formula = rounded_percents(water_and(("Glycerin", "3.3334912345"), ("Urea", "2")))
    assert entries(formula) == ["q.s.", "3.333", "2"]
    assert formula.percents[0][0] == pytest.approx(94.667)


def test_qs_with_little_to_give_is_not_rounded_below_nothing() -> None:
    """Each to the nearest would be 33.4 + 33.4 + 33.3 = 100.1 %."""
    formula = rounded_percents(one_phase("q.s.", "33.36000000001", "33.36000000001", "33.25999999998"), 0.1)
    assert entries(formula) == ["q.s.", "33.3", "33.3", "33.2"]
    assert formula.percents[0][0] == pytest.approx(0.2)


@pytest.mark.parametrize("typed", ["4", "4.0", "0.35", "4,5", "800 ppm", "3,14159", "4 %"])
def test_what_was_typed_stays_as_typed(typed: str) -> None:
    assert entries(rounded_percents(water_and(("Glycerin", typed), ("Urea", "2.0004912345")))) == ["q.s.", typed, "2"]


def test_a_very_small_computed_amount_is_written_without_an_exponent() -> None:
    assert entries(rounded_percents(water_and(("Glycerin", "1.2345678901e-05")))) == ["q.s.", "0.0000123"]


def test_a_small_computed_amount_is_never_swallowed_and_a_typed_one_never_touched() -> None:
    moved = rounded_percents(water_and(("Glycerin", "0.00043823529411"), ("Urea", "3.3333333333333")))
    assert entries(moved) == ["q.s.", "0.000438", "3.333333"]
    assert entries(rounded_percents(water_and(("Glycerin", "0.00044"), ("Urea", "1.23e-05")))) == [
        "q.s.", "0.00044", "1.23e-05",
    ]  # fmt: skip


def test_the_largest_takes_what_a_long_typed_amount_leaves() -> None:
    formula = rounded_percents(one_phase("3,14159", "50.00001234", "46.85839766"))
    assert entries(formula) == ["3,14159", "50.00041", "46.858"]
    assert formula.is_complete


def test_an_incomplete_formula_cannot_be_rounded() -> None:
    with pytest.raises(RangeError, match="T cannot be kept yet: it adds to 90 %, not 100 %"):
        rounded_percents(one_phase("90"))


@given(
    st.lists(st.floats(0.001, 1), min_size=1, max_size=12),
    st.lists(st.sampled_from(["1", "0.5", "2,5", "800 ppm", "3,14159", "0.25 %"]), max_size=4),
    st.booleans(),
    st.sampled_from([0.001, 0.01, 0.1]),
)
def test_the_whole_stays_whole(parts: list[float], typed: list[str], rest: bool, step: float) -> None:
    known = one_phase(*typed).total if typed else 0.0
    moved = [repr((100 - known) * part / sum(parts)) for part in parts]
    formula = one_phase(*(["q.s.", *moved[1:]] if rest else moved), *typed)
    assume(formula.is_complete)
    rounded = rounded_percents(formula, step)
    assert rounded.is_complete
    assert entries(rounded)[len(moved) :] == typed
    for old, new in zip(formula.percents[0][rest:], rounded.percents[0][rest:], strict=True):
        assert abs(present(old) - present(new)) <= 1.5 * step + 1e-9
    assert rounded_percents(rounded, step).percents[0] == pytest.approx(rounded.percents[0], abs=1.5 * step)


def test_what_the_ratio_moved_is_rounded_however_few_its_digits_and_what_it_left_is_not() -> None:
    oil = (Line("Squalane", "55.1", "fill"), Line("Jojoba", "22.4"), Line("Tocopherol", "2.5"))
    water = (Line("Aqua", "q.s.", "fill"), Line("Urea", "0.43215", "level"))
    formula = Formula("T", (Phase("O", "oil", oil), Phase("W", "water", water)), ratio=Ratio(30.0))
    assert [round(present(x), 5) for x in formula.percents[0]] == [20.6625, 8.4, 0.9375]
    rounded = rounded_percents(formula)
    assert entries(rounded)[3:] == ["q.s.", "0.43215"]
    assert sorted(len(entry.partition(".")[2]) for entry in entries(rounded)[:3]) == [1, 3, 3]
    assert sum(present(percent) for percent in rounded.percents[0]) == pytest.approx(30.0, abs=0.001)
