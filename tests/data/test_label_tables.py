"""The tables behind a label say where they come from, and hold together."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from kit.label.particulars import Particulars
from kit.library.columns import split_list
from kit.library.library import Library
from kit.library.sources import is_firm, sources
from kit.resources import load_table
from kit.visible_text import plain_letters

TABLES = (
    "allergens", "colourants", "colourants-us", "declaration-names", "duties", "label-cautions", "label-rules",
)  # fmt: skip


@pytest.mark.parametrize("name", TABLES)
def test_each_table_says_where_it_comes_from(name: str) -> None:
    about = load_table(name).about
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(about[field].strip()) > 5, field
    assert isinstance(about["as_of"], dt.date)
    assert set(about["units"]) == set(load_table(name).rows[0])


@pytest.mark.parametrize("name", TABLES)
def test_every_row_is_whole_and_cites_a_source_that_is_listed(name: str) -> None:
    for row in load_table(name).rows:
        assert None not in row.values()
        assert None not in row
        assert row["source_key"] in sources(), row


def test_no_word_leads_to_two_allergens() -> None:
    seen: dict[str, str] = {}
    for row in load_table("allergens").rows:
        for name in {
            plain_letters(each)
            for each in (row["label_name"], *split_list(row["names"]), *split_list(row["other_names"]))
        }:
            assert name not in seen, (name, seen.get(name), row["label_name"])
            seen[name] = row["label_name"]


def test_what_acts_as_law_was_read() -> None:
    for row in load_table("allergens").rows:
        assert is_firm(row["source_key"]) is (row["list"] != "removed"), row
        if row["list"] != "removed":
            assert re.fullmatch(r"Annex III, entry \d+", row["entry"]), row
    for row in load_table("colourants").rows:
        assert is_firm(row["source_key"]), row
        assert re.fullmatch(r"Annex IV, entry \d+", row["entry"]), row
    for row in load_table("label-cautions").rows:
        assert row["duty"] in ("must", "if", "habit"), row
        assert is_firm(row["source_key"]) is (row["duty"] != "habit"), row


def test_cas_numbers_have_their_check_digit() -> None:
    for row in load_table("allergens").rows:
        for number in split_list(row["cas"]):
            digits = number.replace("-", "")
            total = sum(place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), start=1))
            assert total % 10 == int(digits[-1]), number


def test_every_colourant_of_the_library_is_in_annex_iv() -> None:
    known = {plain_letters(row["name"]) for row in load_table("colourants").rows}
    for each in Library.bundled():
        if "colourant" in each.roles:
            assert plain_letters(each.inci) in known, each.inci


#: First words of names that stand so on labels of both.
SAME_WORDS = {"Hydrogenated", "PEG-35", "PEG-40", "PEG-60"}


def test_plants_of_the_library_have_a_name_for_the_united_states() -> None:
    named = {row["inci"] for row in load_table("declaration-names").rows}
    plants = {"Oil", "Butter", "Juice", "Extract", "Water"}
    for each in Library.bundled():
        words = each.inci.split()
        if not each.composition and words[-1] in plants and len(words) > 2 and words[0] not in SAME_WORDS:
            assert each.inci in named, each.inci


def test_the_fields_of_the_rules_are_those_of_a_label() -> None:
    fields = {*Particulars.__dataclass_fields__, "content", "declaration"}
    assert {row["field"] for row in load_table("label-rules").rows} <= fields


def test_cautions_name_what_they_are_about_by_its_inci_name() -> None:
    known = {each.inci for each in Library.bundled()}
    named = {name for row in load_table("label-cautions").rows for name in split_list(row["substances"])}
    assert len(named & known) >= 12
