"""Text on its way to a spreadsheet: never run there, and back as it was."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.spreadsheet_text import RUN_BY_SPREADSHEETS, guarded, unguarded

HOSTILE = st.lists(st.sampled_from(["=", "+", "-", "@", "'", "\t", "\r", "\n", " ", "1", "5,4", "a"]), max_size=6).map(
    "".join
)


@given(st.text() | HOSTILE)
def test_every_text_comes_back_as_it_was(text: str) -> None:
    assert unguarded(guarded(text)) == text


@given(st.text() | HOSTILE)
def test_nothing_but_a_negative_number_starts_as_a_formula_does(text: str) -> None:
    out = guarded(text)
    assert not out.startswith(RUN_BY_SPREADSHEETS) or out[1:].replace(",", ".").replace(".", "", 1).isdecimal()


@pytest.mark.parametrize(
    "text", ["=1+1", "+A1", "-A1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1", "'=1", "-1+1", "-5%"]
)
def test_what_would_be_run_is_guarded(text: str) -> None:
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", ["", "5,4", "-5,4", "-12.5", "'tis clear", "a=b", "62,1 -4,5 18", "it's"])
def test_what_would_not_is_left_alone(text: str) -> None:
    assert guarded(text) == text == unguarded(text)
