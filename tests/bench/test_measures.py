"""Spoons and drops: as weighed by their maker, or not at all."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.measures import OwnMeasure, own_measure, read_measure
from kit.errors import EntryError, RangeError

SPOON = own_measure("level teaspoon", "Xanthan Gum", [(1, 2.4), (1, 2.8), (1, 2.6)])
DROP = own_measure("drop", "Parfum", [(20, 0.50), (20, 0.54)])

WEIGHINGS = st.lists(st.tuples(st.integers(1, 50), st.floats(0.01, 100)), min_size=1, max_size=6)


@given(WEIGHINGS, st.floats(0.1, 100))
def test_a_count_and_its_grams_are_two_sides_of_one(weighings: list[tuple[int, float]], count: float) -> None:
    measure = own_measure("scoop", "Urea", weighings)
    found = measure.grams(count)
    assert measure.count(found.grams) == pytest.approx(count)
    assert found.low <= found.grams * (1 + 1e-12)
    assert found.grams <= found.high * (1 + 1e-12)


def test_each_is_all_grams_over_all_counts() -> None:
    assert SPOON.each == pytest.approx(2.6)
    # Standard deviation of 2.4, 2.8, 2.6 is 0.2: 7.69 % of 2.6.
    assert SPOON.spread == pytest.approx(7.692, abs=0.001)
    assert DROP.each == pytest.approx(0.026)
    assert own_measure("drop", "Parfum", [(20, 0.5)]).spread is None


def test_words_name_the_spread_or_say_that_it_is_not_known() -> None:
    assert "3 weighings scatter by 7.7 %. An approximation of your own" in SPOON.sentence
    assert "never spoon or drop them" in SPOON.sentence
    assert "weighed once: how much it varies is not known" in own_measure("drop", "Parfum", [(20, 0.5)]).sentence
    assert str(SPOON.grams(2)) == "about 5.2 g (4.8 to 5.6 g)"


@pytest.mark.parametrize("text", ["30 drops", "30 Drop", "30,0  drops."])
def test_many_of_a_measure_are_read(text: str) -> None:
    assert read_measure(text, "parfum", [SPOON, DROP]).grams == pytest.approx(0.78)


@pytest.mark.parametrize("text", ["2 tsp", "1 tablespoon", "2 fl oz", "1 floz", "3 fluid ounces", "30 drops", "1 cup"])
def test_a_measure_that_was_never_weighed_is_not_converted(text: str) -> None:
    with pytest.raises(RangeError, match=r"of Glycerin has no weight of its own.*enter it as your own measure"):
        read_measure(text, "Glycerin", [SPOON, DROP])


def test_a_spoon_of_one_powder_says_nothing_about_another() -> None:
    with pytest.raises(RangeError, match="'level teaspoon' of Urea has no weight of its own"):
        read_measure("1 level teaspoon", "Urea", [SPOON])


def test_what_is_no_measure() -> None:
    with pytest.raises(EntryError, match="'3 heaps' is no count of one of your measures"):
        read_measure("3 heaps", "Urea", [SPOON])
    with pytest.raises(EntryError, match="does not start with a number"):
        read_measure("some drops", "Parfum", [DROP])


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: own_measure("drop", "Parfum", []), "'drop' of Parfum has no weight of its own"),
        (lambda: OwnMeasure(" ", "Parfum", ((1, 1.0),)), "needs a name and the material"),
        (lambda: OwnMeasure("drop", "", ((1, 1.0),)), "needs a name and the material"),
        (
            lambda: own_measure("drop", "Parfum", [(0, 1.0)]),
            r"count at least one and weigh more than 0 g; got 0 of 1 g",
        ),
        (lambda: own_measure("drop", "Parfum", [(20, 0.0)]), "got 20 of 0 g"),
        (lambda: DROP.grams(0), r"Count more than 0 of 'drop', got 0\."),
        (lambda: DROP.grams(-3), r"Count more than 0 of 'drop', got -3\."),
        (lambda: DROP.count(-1), r"Give more than 0 g of Parfum, got -1 g\."),
    ],
)
def test_measures_that_cannot_be(work: object, words: str) -> None:
    with pytest.raises((RangeError, EntryError), match=words):
        work()  # type: ignore[operator]
