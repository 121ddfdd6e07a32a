"""What people type at the bench finds the ingredient they mean, first of all."""

from __future__ import annotations

import csv
from pathlib import Path

from kit.library.library import Library
from kit.library.search import Wish, search
from tests.present import present
from tests.rows import each_of

FILES = sorted(Path(__file__).parent.glob("plain_names*.csv"))
TYPED = [
    (row["typed"], row["inci"])
    for path in FILES
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
]
LIBRARY = Library.bundled()


def test_there_are_many_and_none_is_typed_twice() -> None:
    assert len(TYPED) >= 60
    assert len({typed.casefold() for typed, _ in TYPED}) == len(TYPED)


@each_of(("typed", "inci"), TYPED)
def test_a_plain_name_finds_its_ingredient_first(typed: str, inci: str) -> None:
    assert present(LIBRARY.get(typed)).inci == inci
    assert LIBRARY.find(typed)[0].inci == inci
    assert search(LIBRARY, Wish(typed))[0].ingredient.inci == inci
