"""What helps to read the lessons: key words, refusals, sentences that fit the page, tables that are escaped."""

from __future__ import annotations

import pytest

from kit.bench.dilution import dilute
from kit.course import glossary, key_words, refusal, tell, what_comes_when
from kit.course.listing import Listing
from kit.errors import KitError
from kit.resources import load_table


def test_the_glossary_is_by_the_alphabet_and_each_lesson_has_its_own_words() -> None:
    terms = [row[0] for row in glossary().rows]
    assert terms == sorted(terms, key=str.casefold)
    shown = [row for lesson in load_table("lessons").rows for row in key_words(lesson["lesson"]).rows]
    assert sorted(row[0] for row in shown) == sorted(terms)
    assert {row[1] for row in what_comes_when().rows} == {row["notebook"] for row in load_table("lessons").rows}


def test_what_is_asked_wrongly_is_told() -> None:
    with pytest.raises(KitError, match=r"The glossary has no term of lesson '99'. It has terms of 00, 01, "):
        key_words("99")
    with pytest.raises(KitError, match=r"dilute did not refuse. Ask it for its answer without 'refusal'."):
        refusal(dilute, 20, 10, 100)
    assert refusal(dilute, 10, 20, 100).startswith("A solution of 10 cannot be diluted to 20")


def test_a_sentence_fits_the_page_and_no_word_is_broken(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["Caprylic/Capric", "Triglyceride"] * 20
    tell(*words)
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines())) <= 72
    assert said.split() == words


def test_a_listing_is_escaped_as_html_and_plain_as_text() -> None:
    listing = Listing(("a<b", "c"), (("<script>", "x & y"), ("empty", "")))
    html = listing._repr_html_()
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert "a&lt;b" in html
    assert html.count("<td") == 4
    assert repr(listing) == "a<b: <script>\nc: x & y\n\na<b: empty"
