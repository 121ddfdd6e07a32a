"""The table of HLB: known ingredients, known sources, and what can be computed is computed again."""

from __future__ import annotations

import pytest

from kit.library.library import Library
from kit.library.sources import is_firm, sources
from kit.resources import load_table
from tests.rows import each_of

ROWS = load_table("hlb").rows
EMULSIFIERS = {row["inci"]: row for row in ROWS if row["kind"] == "emulsifier"}
LIBRARY = {each.inci for each in Library.bundled()}

# Molar masses of ethylene oxide and of the alcohols and acids it stands on [g/mol], from their formulas.
ETHYLENE_OXIDE = 44.053
LAURYL, CETYL, STEARYL, STEARIC = 186.34, 242.45, 270.50, 284.48

# Units of ethylene oxide and what they stand on: HLB = percent of ethylene oxide / 5 (Griffin 1954).
NOMINAL = {
    "Laureth-4": (4, LAURYL),
    "Laureth-23": (23, LAURYL),
    "Ceteth-20": (20, CETYL),
    "Steareth-21": (21, STEARYL),
    "Ceteareth-12": (12, (CETYL + STEARYL) / 2),
    "Ceteareth-25": (25, (CETYL + STEARYL) / 2),
    "PEG-8 Stearate": (8, STEARIC),
    "PEG-40 Stearate": (40, STEARIC),
    "PEG-100 Stearate": (100, STEARIC),
}

# Read in lists as well: the formula must come within half a unit of them.
LISTED = {"Steareth-2": (2, STEARYL), "Steareth-20": (20, STEARYL), "Ceteth-2": (2, CETYL)}


def percent_over_five(units: int, rest: float) -> float:
    return 20 * units * ETHYLENE_OXIDE / (units * ETHYLENE_OXIDE + rest)


def test_there_are_enough_and_each_side_is_there() -> None:
    assert len(ROWS) >= 60
    assert len(EMULSIFIERS) >= 40
    assert len(ROWS) - len(EMULSIFIERS) >= 30


@each_of("row", ROWS, ids=lambda row: f"{row['inci']}-{row['kind']}-{row['for']}")
def test_a_row_is_about_a_known_ingredient_and_whole(row: dict[str, str]) -> None:
    assert row["inci"] in LIBRARY
    assert row["source_key"] in sources()
    value = float(row["hlb"])
    assert 0 < value <= 40
    assert value <= 20 or "past 20" in row["note"]
    if row["kind"] == "required":
        assert row["for"] in ("o/w", "w/o")
    else:
        assert row["kind"] == "emulsifier"
        assert row["for"] == ("w/o" if value <= 6 else "o/w" if value >= 8 else "")


def test_nothing_stands_twice() -> None:
    keys = [(row["inci"], row["kind"], row["for"] if row["kind"] == "required" else "") for row in ROWS]
    assert len(set(keys)) == len(keys)


def test_what_is_marked_as_computed_is_computed() -> None:
    assert {row["inci"] for row in ROWS if row["source_key"] == "griffin-1954"} == set(NOMINAL)


@each_of(("inci", "nominal"), NOMINAL.items())
def test_ethers_and_esters_follow_from_their_ethylene_oxide(inci: str, nominal: tuple[int, float]) -> None:
    assert float(EMULSIFIERS[inci]["hlb"]) == pytest.approx(percent_over_five(*nominal), abs=0.051)


@each_of(("inci", "nominal"), LISTED.items())
def test_listed_ethers_agree_with_the_formula(inci: str, nominal: tuple[int, float]) -> None:
    assert float(EMULSIFIERS[inci]["hlb"]) == pytest.approx(percent_over_five(*nominal), abs=0.5)


@each_of(
    ("inci", "expected"),
    [
        # a second source for what another gave: Griffin (1949), table 5, and the papers of the mixtures
        ("Sorbitan Trioleate", 1.8),
        ("Sorbitan Sesquioleate", 3.7),
        ("Sorbitan Oleate", 4.3),
        ("Sorbitan Stearate", 4.7),
        ("Polysorbate 80", 15.0),
    ],
)
def test_two_sources_agree(inci: str, expected: float) -> None:
    assert float(EMULSIFIERS[inci]["hlb"]) == expected
    assert is_firm(EMULSIFIERS[inci]["source_key"])


def test_the_mixtures_of_a_published_table_follow() -> None:
    """PMC3969497, table I: for HLB 12, 62.1 % polysorbate 20 beside sorbitan oleate; 53.1 % polysorbate 80 beside
    sorbitan laurate; 77.3 % PEG-35 castor oil beside sorbitan laurate; 72.0 % of the hydrogenated beside the oleate."""
    for high, low, percent in (
        ("Polysorbate 20", "Sorbitan Oleate", 62.1),
        ("Polysorbate 80", "Sorbitan Laurate", 53.1),
        ("PEG-35 Castor Oil", "Sorbitan Laurate", 77.3),
        ("PEG-40 Hydrogenated Castor Oil", "Sorbitan Oleate", 72.0),
    ):
        top, bottom = (float(EMULSIFIERS[inci]["hlb"]) for inci in (high, low))
        assert percent / 100 * top + (1 - percent / 100) * bottom == pytest.approx(12, abs=0.006)
