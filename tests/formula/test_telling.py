"""What a file holds and how two states of it differ, in words, for whatever bytes it holds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.files.telling import differs_in, in_words

TONER = b'title = "Toner"\nversion = 2\n[[phase]]\n[[phase.line]]\ningredient = "Aqua"\namount = "100"\n'


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("toner.toml", TONER, "Toner, version 2, 1 line"),
        ("toner.toml", TONER.replace(b"= 2", b"= 2.9"), "6 lines"),
        ("toner.csv", b"ingredient,amount\nAqua,90\nUrea,10\n", "toner, version 1, 2 lines"),
        ("stocks.csv", b"date,stock\n2026-01-01,Acid\n\n", "1 row"),
        ("label.txt", b"Toner\n\n85 mL\n", "2 lines"),
        ("sheet.pdf", b"%PDF\0" + b"x" * 1995, "2.0 kB"),
        ("f.toml", b"\xff\xfe", "0.0 kB"),
    ],
)
def test_what_it_holds(name: str, data: bytes, said: str) -> None:
    assert in_words(name, data) == said


def test_a_file_with_faults_differs_in_its_lines() -> None:
    faulty = TONER.replace(b"= 2", b"= 2.9")
    assert differs_in("toner.toml", TONER, faulty) == "with 1 line: version = 2; without 1 line: version = 2.9"
    assert differs_in("toner.toml", TONER, TONER + b"\n# mine\n") == "written in another way only"
    assert differs_in("toner.toml", TONER, TONER.replace(b"100", b"90")) == "Aqua \u25b2 more: 90 % to 100 %"


@given(st.sampled_from(["f.toml", "f.csv", "f.xlsx", "f.db"]), st.binary(max_size=40), st.binary(max_size=40))
def test_any_bytes_are_told_of(name: str, one: bytes, two: bytes) -> None:
    assert in_words(name, one)
    assert (differs_in(name, one, two) == "the same") == (one == two)


def test_a_file_beside_one_that_is_empty_differs_in_its_lines() -> None:
    assert differs_in("label.txt", b"Toner\n85 mL\n", b"") == "another content"
    assert differs_in("prices.csv", b"material,price\nUrea,8\n", b"") == "another content"
