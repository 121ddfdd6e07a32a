"""The table of limits: every row about something known, and the figures those of the regulation."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from molmass import Formula

from kit.library.condition import read_condition
from kit.library.sources import sources
from kit.library.table import ingredients, limits, salts
from kit.resources import load_table
from kit.visible_text import plain_letters
from tests.present import present

if TYPE_CHECKING:
    from kit.library.ingredient import Ingredient
    from kit.library.limit import Limit

ROWS = load_table("limits-eu").rows
ELSEWHERE = load_table("limits-us").rows
SUBSTANCES = {each.inci: each for each in ingredients()}
LIMITS = {limit.key: limit for limit in limits()}

# Regulation (EC) No 1223/2009, Annex V as of 26 May 2026: entry -> every figure the kit takes from it. [% w/w]
ANNEX_V = {
    1: {0.5, 2.5}, 2: {2.0}, 3: {0.5}, 4: {0.6}, 7: {0.15, 0.2}, 9: {0.2}, 11: {0.5}, 12: {0.4, 0.8}, 13: {0.6},
    14: {0.5}, 18: {0.2}, 20: {0.0, 0.1}, 21: {0.1}, 22: {0.15}, 25: {0.3}, 26: {0.5}, 27: {0.6}, 28: {0.1}, 29: {1.0},
    32: {0.2, 0.5}, 33: {0.6}, 34: {1.0}, 35: {0.5, 1.0}, 38: {0.1}, 39: {0.0, 0.0015}, 42: {0.3}, 43: {0.0, 1.0},
    44: {0.1}, 45: {0.1}, 46: {0.5}, 47: {0.1}, 48: {0.1}, 50: {0.3}, 51: {0.5}, 53: {0.1}, 54: {0.1}, 55: {0.0, 0.15},
    56: {0.0, 0.0075, 0.01, 0.02}, 57: {0.0, 0.0015}, 58: {0.4}, 59: {0.2}, 60: {0.7},
}  # fmt: skip
# The same, Annex III as of 8 December 2025.
ANNEX_III = {
    12: {2.0, 4.0, 12.0}, 62: {2.5}, 98: {0.5, 2.0, 3.0}, 286: {0.5, 1.0, 2.5}, 287: {3.0, 5.0}, 325: {0.8},
    375: {1.0}, 376: {0.05, 0.3}, 377: {0.5, 2.0},
}  # fmt: skip


@pytest.mark.parametrize("row", [*ROWS, *ELSEWHERE], ids=lambda row: row["key"])
def test_a_row_is_complete_and_its_source_is_a_law(row: dict[str, str]) -> None:
    assert sources()[row["source_key"]].kind == "law" or row["conditional"] == "yes"
    read_condition(row["holds_for"])
    assert row["conditional"] in ("yes", "no")
    assert re.fullmatch(
        r"Annex (III|V|XVII), (entr(y|ies) \d.*|whole list)|section 700\.1\d|whole section|conclusion of the panel",
        row["entry"],
    )
    assert re.fullmatch(r"\d{4}(-\d\d){0,2}", row["as_of"])
    assert float(row["max_percent"]) < 100 or row["ph_low"] or row["ph_high"]
    assert bool(row["expressed_as"]) == bool(row["expressed_as_molar_mass_g_mol"])
    assert row["conditional"] == "no" or row["scope"], "a condition must be said"


def test_keys_are_unique() -> None:
    assert len({row["key"] for row in ROWS}) == len(ROWS)
    assert len({row["key"] for row in ELSEWHERE}) == len(ELSEWHERE)


@pytest.mark.parametrize("limit", [*limits("eu"), *limits("us")], ids=lambda limit: limit.key)
def test_a_limit_is_about_single_substances_and_one_as_acid_knows_their_molar_masses(limit: Limit) -> None:
    for name in limit.substances:
        entry = SUBSTANCES.get(name)
        assert entry is None or not entry.composition
        if limit.expressed_as:
            assert (entry and entry.molar_mass) or plain_letters(name) in salts(), name
    assert set(limit.needs) <= set(limit.substances)


def test_no_substance_has_its_molar_mass_in_two_tables() -> None:
    assert {salt.inci for salt in salts().values()}.isdisjoint(SUBSTANCES)


@pytest.mark.parametrize("limit", [each for each in limits() if each.expressed_as], ids=lambda limit: limit.key)
def test_the_acid_is_counted_with_the_molar_mass_of_the_table(limit: Limit) -> None:
    if limit.expressed_as in SUBSTANCES:
        assert limit.expressed_as_molar_mass == present(SUBSTANCES[limit.expressed_as].molar_mass).value
        assert limit.factor(limit.expressed_as_molar_mass) == 1.0
    elif plain_letters(limit.expressed_as) in salts():
        assert limit.expressed_as_molar_mass == salts()[plain_letters(limit.expressed_as)].molar_mass
    elif limit.expressed_as == "Sulfur dioxide":
        assert limit.expressed_as_molar_mass == pytest.approx(Formula("SO2").mass, abs=0.005)
    else:  # C7H6O3, an isomer of salicylic acid
        assert limit.expressed_as == "4-Hydroxybenzoic acid"
        assert limit.expressed_as_molar_mass == present(SUBSTANCES["Salicylic Acid"].molar_mass).value


@pytest.mark.parametrize("ingredient", [each for each in ingredients() if "preservative" in each.roles])
def test_every_preservative_has_a_limit(ingredient: Ingredient) -> None:
    parts = ingredient.composition or {ingredient.inci: 100.0}
    limited = {name for limit in limits() for name in limit.substances}
    assert limited & set(parts), ingredient.inci


@pytest.mark.parametrize(
    ("annex", "figures"),
    [("Annex V", ANNEX_V), ("Annex III", ANNEX_III)],
)
def test_the_figures_are_those_of_the_annex(annex: str, figures: dict[int, set[float]]) -> None:
    found: dict[int, set[float]] = {}
    for limit in limits():
        entry = re.match(rf"{annex}, entr(?:y|ies) (\d+)(?!a)\b", limit.entry)
        if entry and limit.kind == "limit":
            found.setdefault(int(entry[1]), set()).add(limit.max_percent)
    assert found == figures


@pytest.mark.parametrize(
    ("key", "substance", "percent"),
    [  # the level of a salt or ester that just meets its limit as acid; molar masses from molmass 2026.1.8
        ("benzoic-rinse-off", "Sodium Benzoate", 2.9500),
        ("sorbic", "Potassium Sorbate", 0.8038),
        ("dehydroacetic", "Sodium Dehydroacetate", 0.6784),
        ("salicylic-preservative", "Sodium Salicylate", 0.5796),
        ("methylparaben", "Methylparaben", 0.4406),
        ("ethylparaben", "Ethylparaben", 0.4812),
        ("propyl-butylparaben", "Propylparaben", 0.1827),
        ("propyl-butylparaben", "Butylparaben", 0.1969),
    ],
)
def test_the_level_of_a_salt_that_just_meets_its_limit(key: str, substance: str, percent: float) -> None:
    limit, molar_mass = LIMITS[key], present(SUBSTANCES[substance].molar_mass)
    assert limit.max_percent / limit.factor(molar_mass.value) == pytest.approx(percent, abs=2e-4)


def test_the_citation_names_regulation_entry_and_date() -> None:
    expected = "Regulation (EC) No 1223/2009 on cosmetic products, Annex V, entry 4, as of 2026-05-26"
    assert LIMITS["sorbic"].source == expected
    assert LIMITS["bht"].source.endswith("Annex III, entry 325, as of 2025-12-08")


def test_a_stricter_row_that_hangs_on_a_condition_stands_beside_one_that_always_holds() -> None:
    face, hair = LIMITS["cetrimonium-face"], LIMITS["cetrimonium-leave-on"]
    assert face.conditional
    assert not hair.conditional
    assert face.max_percent < hair.max_percent
