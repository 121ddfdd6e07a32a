"""Finding an ingredient by what a maker calls it, and adding her own."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import FileFaultsError
from kit.library.ingredient import Figure, Ingredient
from kit.library.library import Library, all_names
from kit.library.table import _in_force, all_limits, ingredients, limits
from kit.resources import load_table
from tests.pace import on_this_machine
from tests.present import present

if TYPE_CHECKING:
    from collections.abc import Callable

LIBRARY = Library.bundled()


def incis(text: str, limit: int = 8) -> list[str]:
    return [found.inci for found in LIBRARY.find(text, limit)]


@pytest.mark.parametrize(
    ("typed", "inci"),
    [
        ("Glycerin", "Glycerin"),
        ("  gLYCERIN ", "Glycerin"),
        ("glycérine", "Glycerin"),
        ("jojoba", "Simmondsia Chinensis Seed Oil"),
        ("apricot kernel oil", "Prunus Armeniaca Kernel Oil"),
        ("coco caprylate", "Coco-Caprylate"),
        ("Caprylic / Capric Triglyceride", "Caprylic/Capric Triglyceride"),
        ("sodium PCA, 50 % solution", "Sodium PCA (and) Aqua"),
        ("E133", "CI 42090"),
    ],
)
def test_any_name_will_do(typed: str, inci: str) -> None:
    found = LIBRARY.get(typed)
    assert found is not None
    assert found.inci == inci
    assert typed in LIBRARY


@pytest.mark.parametrize("typed", ["", "  ", "unobtainium", "Glyc"])
def test_what_is_not_a_name_finds_nothing(typed: str) -> None:
    assert LIBRARY.get(typed) is None
    assert typed not in LIBRARY


@given(st.sampled_from(ingredients()), st.data())
def test_every_name_finds_its_ingredient_first(ingredient: Ingredient, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(all_names(ingredient)))
    assert LIBRARY.get(name.upper()) is ingredient
    assert LIBRARY.find(name)[0] is ingredient


@given(st.text(max_size=6), st.integers(-1, 12))
def test_typing_anything_never_fails_and_never_floods(text: str, limit: int) -> None:
    assert len(LIBRARY.find(text, limit)) <= max(limit, 0)


def test_beginnings_come_before_middles() -> None:
    found = incis("gly", limit=len(LIBRARY))
    assert found.index("Glycerin") < found.index("Propylene Glycol") < found.index("Ethylhexylglycerin")


def test_plain_names_and_several_words_are_found_in_any_order() -> None:
    assert incis("oil apr") == ["Prunus Armeniaca Kernel Oil"]
    assert "Citric Acid" in incis("ric acid")
    castor = incis("castor")
    assert castor[0] == "Ricinus Communis Seed Oil"
    assert {"PEG-40 Hydrogenated Castor Oil", "PEG-35 Castor Oil", "Hydrogenated Castor Oil"} <= set(castor)


def test_no_more_than_asked_for() -> None:
    assert len(incis("oil")) == 8
    assert len(incis("oil", limit=3)) == 3
    assert incis("", limit=3) == []
    assert incis("oil", limit=0) == []


def test_a_slip_of_the_pen_is_guessed() -> None:
    assert LIBRARY.nearest("Glicerine")[0] == "Glycerin"
    assert LIBRARY.nearest("pottasium sorbate")[0] == "Potassium Sorbate"
    assert LIBRARY.nearest("xxxxxxxxxxxx") == []


def test_names_are_alphabetical_pairs() -> None:
    names = LIBRARY.names()
    assert ("Aqua", "water") in names
    assert [inci.casefold() for inci, _ in names] == sorted(inci.casefold() for inci, _ in names)
    assert len(names) == len(LIBRARY) == len(list(LIBRARY))


def test_an_own_ingredient_is_added_and_the_old_library_stays_as_it_was() -> None:
    plum = Ingredient("Prunus Domestica Seed Oil", plain_name="plum kernel oil", phase="oil")
    more = LIBRARY.with_own(plum)
    assert present(more.get("plum kernel oil")).own
    assert more.find("plum")[0].inci == "Prunus Domestica Seed Oil"
    assert len(more) == len(LIBRARY) + 1
    assert LIBRARY.get("plum kernel oil") is None


def test_an_own_ingredient_takes_the_place_of_a_bundled_one() -> None:
    squalane = Ingredient("squalane", plain_name="my squalane", phase="oil", density=Figure(0.81, "own: data sheet"))
    more = LIBRARY.with_own(squalane)
    assert present(more.get("Squalane")).plain_name == "my squalane"
    assert len(more) == len(LIBRARY)
    assert [found.inci for found in more.find("squalane")] == ["squalane", "Hemisqualane"]


def test_adding_it_again_replaces_it() -> None:
    first = Ingredient("Cera Nova", phase="oil", note="first")
    second = Ingredient("Cera nova", phase="oil", note="second")
    more = LIBRARY.with_own(first).with_own(second)
    assert len(more.own) == 1
    assert present(more.get("cera nova")).note == "second"


def test_the_room_is_light_and_reads_nothing_before_it_is_asked(fresh_python: Callable[..., str]) -> None:
    code = """
import sys
import kit.library.library, kit.library.limit, kit.library.own, kit.library.sources, kit.library.table, kit.saving
heavy = {"numpy", "pandas", "pint", "plotly", "ipywidgets", "IPython", "jinja2"} & set(sys.modules)
assert not heavy, heavy
assert kit.library.table.ingredients.cache_info().currsize == 0
assert kit.library.library.Library.bundled().get("aqua").inci == "Aqua"
assert not {"numpy", "pandas", "pint"} & set(sys.modules)
"""
    assert fresh_python(code) == ""


def test_rows_of_the_bundled_table_that_cannot_be_read_are_all_named(monkeypatch: pytest.MonkeyPatch) -> None:
    table = load_table("ingredients")
    rows = [dict(row) for row in table.rows[:4]]
    rows[1]["density_g_ml"], rows[3]["density_g_ml"] = "heavy", "light"
    damaged = replace(table, rows=tuple(rows))
    monkeypatch.setattr(
        "kit.library.table.load_table", lambda name: damaged if name == "ingredients" else load_table(name)
    )
    with pytest.raises(FileFaultsError) as told:
        ingredients.__wrapped__()
    assert "data/ingredients/table.csv has 2 faults" in str(told.value)
    # the headings are row 1, so the second and the fourth ingredient stand in rows 3 and 5
    assert [str(fault).split(",")[0] for fault in told.value.faults] == ["row 3", "row 5"]
    for row in rows:
        row["density_g_ml"] = "1.250"  # the table is written with points: no thousands
    assert [present(one.density).value for one in ingredients.__wrapped__()] == [1.25] * 4


def test_the_tables_are_read_quickly() -> None:
    """The best of five, in processor time, so that a busy machine does not count against it: about 30 ms. [s]"""
    from kit.resources import load_table

    def once() -> float:
        for cached in (load_table, ingredients, all_limits, _in_force):
            cached.cache_clear()
        start = time.process_time()
        Library(ingredients()).get("aqua")
        limits()
        return time.process_time() - start

    assert min(once() for _ in range(5)) < on_this_machine(0.06)
