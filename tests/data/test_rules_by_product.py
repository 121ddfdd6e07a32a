"""Tables whose rows hold for some products only: every word known, and nothing remembered that stops a product."""

from __future__ import annotations

from itertools import pairwise

import pytest

from kit.findings import SEVERITIES
from kit.iso_dates import is_iso_date
from kit.library.columns import split_list
from kit.library.condition import read_condition
from kit.library.description import Description, product_types
from kit.library.limit import LIMIT_KINDS
from kit.library.sources import is_firm
from kit.resources import load_table
from kit.visible_text import plain_letters

BY_PRODUCT = (
    "colourants", "colourants-us", "label-cautions", "limits-eu", "limits-us", "stop-list-eu", "stop-list-us",
)  # fmt: skip


@pytest.mark.parametrize("name", BY_PRODUCT)
def test_every_row_says_for_which_products_it_holds_in_words_that_are_known(name: str) -> None:
    for row in load_table(name).rows:
        for kind in ("leave-on", "rinse-off"):
            assert read_condition(row["holds_for"]).holds(Description(kind)) in (True, False, None), row


@pytest.mark.parametrize("name", ["label-cautions", "limits-us", "stop-list-us"])
def test_keys_stand_once_and_days_are_days(name: str) -> None:
    rows = load_table(name).rows
    assert len({row["key"] for row in rows}) == len(rows)
    for row in rows:
        days = [day for day in (row["from"], row["until"]) if day]
        assert all(map(is_iso_date, days)), row
        assert all(first < last for first, last in pairwise(days)), row


def test_a_row_of_the_stop_list_is_of_a_known_kind_and_a_memory_never_stops() -> None:
    for row in load_table("stop-list-us").rows:
        assert row["kind"] in LIMIT_KINDS, row
        assert row["severity"] in SEVERITIES, row
        assert "{found}" in row["sentence"], row
        assert "{name}" in row["sentence"], row
        assert is_firm(row["source_key"]) or row["severity"] != "stop", row
        assert bool(row["as_of"]) is is_firm(row["source_key"]), row


def test_annex_iv_is_whole() -> None:
    rows = load_table("colourants").rows
    assert [int(row["entry"].rpartition(" ")[2]) for row in rows] == list(range(1, 154))
    assert {row["dissolves_in"] for row in rows} == {"water", "oil", "pigment"}
    assert len({plain_letters(row["name"]) for row in rows}) == len(rows)


def test_every_colour_of_annex_iv_is_listed_in_the_united_states_or_told_there_or_has_another_use() -> None:
    """Whites and fillers are no colours there where they do not colour."""
    fillers = {"CI 77002", "CI 77004", "CI 77120", "CI 77220", "CI 77231", "CI 77713", "CI 75130", "Magnesium Stearate"}
    listed = {row["name"] for row in load_table("colourants-us").rows}
    told = {row["name"] for row in load_table("stop-list-us").rows if row["kind"] == "colour"}
    assert not listed & told
    assert {row["name"] for row in load_table("colourants").rows} - listed - told == fillers


def test_a_type_of_product_is_part_of_one_that_is_known() -> None:
    for kind in product_types().values():
        assert kind.words.endswith(".")
        assert kind.product_kind in ("", "leave-on", "rinse-off")
        assert set(kind.lineage) <= set(product_types())


def test_a_substance_has_one_name_on_both_sides_of_the_ocean() -> None:
    """A further name that is another row's own name leads nowhere, and a rule would miss its substance."""
    tables = ("stop-list-eu", "stop-list-us")
    own = {plain_letters(row["name"]) for table in tables for row in load_table(table).rows}
    for table in tables:
        for row in load_table(table).rows:
            others = {plain_letters(name) for name in split_list(row["other_names"])}
            assert others & own <= {plain_letters(row["name"])}, row
