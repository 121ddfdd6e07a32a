"""Search: by words, with their mistakes, and by what is known of an ingredient."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.library.ingredient import Figure, Ingredient
from kit.library.library import Library
from kit.library.search import FIGURES, Wish, charges_of, roles_of, search, substances_of, usual_range
from kit.library.table import limits
from tests.present import present

LIBRARY = Library.bundled()
MINE = Ingredient("Prunus Domestica Seed Oil", "plum kernel oil", roles=("emollient",), phase="oil", own=True)


def names(wish: Wish, library: Library = LIBRARY) -> list[str]:
    return [hit.ingredient.inci for hit in search(library, wish, limits())]


def between(name: str, low: float | None, high: float | None) -> Wish:
    return Wish(**{f"{name}_from": low, f"{name}_to": high})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("words", "first", "why"),
    [
        ("glycerin", "Glycerin", ()),
        ("  GLYCERIN ", "Glycerin", ()),
        ("vegetable glyc", "Glycerin", ("also called vegetable glycerine",)),
        ("glicerin", "Glycerin", ("spelled like Glycerin",)),
        ("squalene", "Squalane", ("spelled like Squalane",)),
        ("tocoferol", "Tocopherol", ("spelled like Tocopherol",)),
        ("phenoxy", "Phenoxyethanol", ()),
        ("kernel apricot", "Prunus Armeniaca Kernel Oil", ("also called apricot kernel oil",)),
        ("chelator", "Caprylhydroxamic Acid", ("chelator",)),
    ],
)
def test_words_find_by_any_name_and_through_mistakes(words: str, first: str, why: tuple[str, ...]) -> None:
    found = search(LIBRARY, Wish(words))
    assert found[0].ingredient.inci == first
    assert found[0].why == why


def test_names_that_are_only_alike_stay_away_where_one_fits() -> None:
    assert names(Wish("linalool")) == ["Linalool"]


def test_no_words_find_everything_in_order_and_signs_alone_find_nothing() -> None:
    assert names(Wish()) == sorted((each.inci for each in LIBRARY), key=str.casefold)
    assert names(Wish("!?")) == []
    assert names(Wish("zzzzzz")) == []


@pytest.mark.parametrize("attribute", ["role", "phase", "charge"])
def test_a_filter_is_what_it_says(attribute: str) -> None:
    filters: dict[str, Any] = {"role": "chelator", "phase": "oil", "charge": "cationic"}
    wanted = filters[attribute]
    found = {hit.ingredient.inci for hit in search(LIBRARY, Wish(**{attribute: wanted}))}

    def fits(each: Ingredient) -> bool:
        return wanted in each.roles if attribute == "role" else getattr(each, attribute) == wanted

    assert found == {each.inci for each in LIBRARY if fits(each)}
    assert len(found) > 3


@pytest.mark.parametrize("name", FIGURES)
def test_a_range_keeps_what_lies_in_it_and_drops_what_is_not_known(name: str) -> None:
    values = sorted(getattr(each, name).value for each in LIBRARY if getattr(each, name) is not None)
    low, high = values[len(values) // 4], values[3 * len(values) // 4]
    found = search(LIBRARY, between(name, low, high))
    assert len(found) == sum(low <= value <= high for value in values)
    assert all(FIGURES[name] in hit.why[0] for hit in found)
    assert len(search(LIBRARY, between(name, None, None))) == len(LIBRARY)
    assert len(search(LIBRARY, between(name, None, high))) == sum(value <= high for value in values)


def test_a_percent_is_covered_by_the_usual_range() -> None:
    found = search(LIBRARY, Wish(role="preservative", usual_at=0.25))
    assert found
    assert all(present(hit.ingredient.usual_low).value <= 0.25 for hit in found)
    assert all(present(hit.ingredient.usual_high).value >= 0.25 for hit in found)
    assert "Phenoxyethanol" not in names(Wish(role="preservative", usual_at=0.25))  # 0.5 to 1
    (sodium_benzoate,) = [hit for hit in found if hit.ingredient.inci == "Sodium Benzoate"]
    assert sodium_benzoate.why == ("preservative", "usual range 0.2 to 0.5 %")


def test_limits_divide_the_library_in_two() -> None:
    named, unnamed = names(Wish(limited=True)), names(Wish(limited=False))
    assert "Phenoxyethanol (and) Ethylhexylglycerin" in named  # through its part
    assert {"Glycerin", "Squalane"} <= set(unnamed)
    assert sorted([*named, *unnamed]) == sorted(each.inci for each in LIBRARY)
    assert [hit.ingredient.inci for hit in search(LIBRARY, Wish(limited=True))] == []  # no limits given


def test_ones_own_are_found_apart() -> None:
    library = LIBRARY.with_own(MINE)
    assert names(Wish(own=True), library) == ["Prunus Domestica Seed Oil"]
    assert len(names(Wish(own=False), library)) == len(LIBRARY)
    assert "your own" in search(library, Wish("plum", own=True))[0].why


def test_a_number_is_never_taken_for_another_one() -> None:
    assert [
        hit.ingredient.inci for hit in search(LIBRARY, Wish("E171")) if "E171" not in hit.ingredient.other_names
    ] == []
    assert search(LIBRARY, Wish("polysorbat 20"))[0].ingredient.inci == "Polysorbate 20"


def test_the_choices_offered_are_those_that_occur() -> None:
    assert roles_of(LIBRARY) == sorted({role for each in LIBRARY for role in each.roles})
    assert charges_of([MINE, Ingredient("X", charge="salt")]) == ["salt"]
    assert substances_of(present(LIBRARY.get("Undecane (and) Tridecane")))[1:] == ("Undecane", "Tridecane")
    assert usual_range(MINE) == ""
    assert usual_range(Ingredient("X", usual_high=Figure(2, "own"))) == "at most 2"


bound = st.none() | st.floats(-1e4, 1e4)
ends = st.sampled_from([f"{name}_{end}" for name in FIGURES for end in ("from", "to")])
wishes = st.builds(
    lambda bounds, **more: Wish(**more, **bounds),
    words=st.text(max_size=20),
    role=st.sampled_from(["", "preservative", "no such role"]),
    phase=st.sampled_from(["", "water", "oil", "other"]),
    charge=st.sampled_from(["", "nonionic", "salt"]),
    bounds=st.dictionaries(ends, bound, max_size=4),
    usual_at=st.none() | st.floats(allow_nan=True),
    limited=st.sampled_from([None, True, False]),
    own=st.sampled_from([None, True, False]),
)


@given(wishes)
def test_search_never_falls_over_and_never_finds_one_thing_twice(wish: Wish) -> None:
    found = names(wish)
    assert len(set(found)) == len(found)


@given(wishes)
def test_a_narrower_wish_finds_no_more(wish: Wish) -> None:
    wide = Wish(phase=wish.phase, charge=wish.charge)
    assert set(names(wish)) <= set(names(wide))
