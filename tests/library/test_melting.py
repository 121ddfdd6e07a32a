"""Where butters, waxes and fatty alcohols melt."""

from __future__ import annotations

import datetime as dt

import pytest

from kit.library.library import Library
from kit.library.melting import Melting, melting_of, meltings
from kit.library.sources import sources
from kit.resources import load_table
from tests.present import present

TABLE = load_table("melting")


def test_the_table_says_where_it_comes_from_and_is_large_enough() -> None:
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(TABLE.about[field].strip()) > 5, field
    assert isinstance(TABLE.about["as_of"], dt.date)
    assert {*TABLE.about["units"], *TABLE.about["columns"]} == set(TABLE.rows[0])
    assert len(meltings()) == len(TABLE.rows) >= 25


@pytest.mark.parametrize("row", TABLE.rows, ids=lambda row: row["inci"])
def test_a_range_is_ordered_and_sourced(row: dict[str, str]) -> None:
    assert -80 < float(row["melts_from_degc"]) <= float(row["melts_to_degc"]) < 200
    assert row["source_key"] in sources()


@pytest.mark.parametrize(
    ("inci", "celsius", "state"),
    [
        ("Theobroma Cacao Seed Butter", 20, "solid"),
        ("Butyrospermum Parkii Butter", 25, "soft"),
        ("Cocos Nucifera Oil", 19.9, "solid"),
        ("Cocos Nucifera Oil", 28, "melted"),
        ("Lauric Acid", 43.6, "melted"),
        ("Isopropyl Myristate", 20, "melted"),
    ],
)
def test_states(inci: str, celsius: float, state: str) -> None:
    assert present(melting_of(inci)).state_at(celsius) == state


def test_words_and_unknown_names() -> None:
    assert Melting("X", 24, 24, "own").text == "24 °C"
    assert present(melting_of("cetearyl ALCOHOL")).text == "43 to 53 °C"
    assert melting_of("Aqua") is None


def test_every_butter_of_the_library_has_a_range_above_room_temperature() -> None:
    butters = [each.inci for each in Library.bundled() if each.inci.endswith("Butter")]
    assert len(butters) >= 8
    for inci in butters:
        assert present(melting_of(inci)).melts_to > 24, inci


@pytest.mark.parametrize(
    ("inci", "low", "high"),
    [
        # cocoa butter form V and VI as an encyclopedia prints them: 33.8 and 36.3 °C
        ("Theobroma Cacao Seed Butter", 33.8, 36.3),
        # United States Pharmacopeia 29, cetostearyl alcohol: 48 to 55 °C
        ("Cetearyl Alcohol", 48, 55),
    ],
)
def test_the_upper_end_agrees_with_a_second_source(inci: str, low: float, high: float) -> None:
    assert low <= present(melting_of(inci)).melts_to <= high
