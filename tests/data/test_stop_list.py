"""The European stop list and the table of names: complete rows, known words, and sentences that can be filled in."""

from __future__ import annotations

import datetime as dt
import re
import string

from kit.library.columns import split_list
from kit.library.sources import sources
from kit.resources import load_table
from tests.rows import each_of

ROWS = load_table("stop-list-eu").rows
NAMES = load_table("substance-names").rows
KINDS = {"prohibited", "uv-filter", "drug", "colour", "pack", "reach"}


def test_it_is_long_enough_to_hold_what_a_workshop_meets() -> None:
    assert len({row["name"] for row in ROWS}) >= 700
    assert len(NAMES) >= 600


def test_keys_are_unique_and_no_row_stands_twice() -> None:
    assert len({row["key"] for row in ROWS}) == len(ROWS)
    told = [(row["name"], row["holds_for"], row["from"], row["until"]) for row in ROWS]
    assert len(set(told)) == len(told)
    assert len({row["inci"] for row in NAMES}) == len(NAMES)


@each_of("row", ROWS, ids=lambda row: row["key"])
def test_a_row_is_complete(row: dict[str, str]) -> None:
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["key"])
    assert row["kind"] in KINDS
    assert row["severity"] in ("stop", "caution", "note")
    assert row["pending"] in ("yes", "no")
    assert row["entry"]
    assert row["source_key"] in sources()
    assert not row["traces_percent"] or 0 < float(row["traces_percent"]) < 1
    assert row["severity"] == "stop" or row["sentence"], "what is no plain prohibition says what it is"


@each_of("row", [row for row in ROWS if row["sentence"]], ids=lambda row: row["key"])
def test_a_sentence_says_how_much_was_found_and_is_filled_in_with_nothing_else(row: dict[str, str]) -> None:
    asked = {field for _, field, _, _ in string.Formatter().parse(row["sentence"]) if field is not None}
    assert "found" in asked
    assert asked <= {"name", "found"}
    assert row["sentence"].endswith(".")
    assert "safe" not in row["sentence"]


def test_days_are_days_in_order_and_rows_that_follow_each_other_do_not_overlap() -> None:
    for row in ROWS:
        days = [dt.date.fromisoformat(row[column]) for column in ("from", "until") if row[column]]
        assert days == sorted(days), row["key"]
        assert re.fullmatch(r"(\d{4}(-\d\d){0,2})?", row["as_of"]), row["key"]
    beads = {row["name"]: row["until"] for row in ROWS if row["until"]}
    later = {row["name"]: row["from"] for row in ROWS if row["from"] == "2027-10-17"}
    assert beads
    assert set(beads) <= set(later)
    assert set(beads.values()) == {"2027-10-16"}


def test_what_nobody_read_says_so() -> None:
    for row in ROWS:
        if row["source_key"] == "from-memory":
            assert not row["as_of"], row["key"]
        else:
            assert row["as_of"], row["key"]
    assert sources()["eu-annex-ii-group"].kind == "from memory"


def test_what_counts_as_another_counts_as_one_that_is_known() -> None:
    known = {row["inci"] for row in NAMES}
    assert {row["counts_as"] for row in NAMES if row["counts_as"]} <= known
    assert {row["inci"] for row in NAMES if row["counts_as"] == "Alcohol"} >= {"Alcohol Denat.", "SD Alcohol 40-B"}


def test_every_filter_of_the_annex_is_there_once_for_each_entry() -> None:
    """Annex VI of November 2022: entries 2 to 34 without the empty 5 and 19, and without 18, which was deleted."""
    found = {
        int(number)
        for row in ROWS
        if row["kind"] == "uv-filter"
        for number in re.findall(r"\d+", row["entry"].split(";")[0])
    }
    assert found == set(range(2, 35)) - {5, 18, 19}


@each_of(
    ("typed", "name"),
    [
        ("Lilial", "Butylphenyl Methylpropional"),
        ("80-54-6", "Butylphenyl Methylpropional"),
        ("Vitamin K1", "Phytonadione"),
        ("Borax", "Sodium Borate"),
        ("4-MBC", "4-Methylbenzylidene Camphor"),
        ("DBP", "Dibutyl Phthalate"),
        ("Formalin", "Formaldehyde"),
        ("Costus root oil", "Saussurea Lappa Root Oil"),
    ],
)
def test_an_everyday_name_leads_to_the_row(typed: str, name: str) -> None:
    rows = [row for row in ROWS if typed in (*split_list(row["other_names"]), *split_list(row["cas"]))]
    assert {row["name"] for row in rows} == {name}
