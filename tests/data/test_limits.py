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
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.library.ingredient import Ingredient
    from kit.library.limit import Limit

ROWS = load_table("limits-eu").rows
ELSEWHERE = load_table("limits-us").rows
SUBSTANCES = {each.inci: each for each in ingredients()}
LIMITS = {limit.key: limit for limit in limits()}

#: Elements and compounds that limits count and that no table of the kit holds, with their formulas.
COUNTED = {
    "Sulfur dioxide": "SO2", "4-Hydroxybenzoic acid": "C7H6O3", "Zinc": "Zn", "Fluorine": "F", "Strontium": "Sr",
    "Sulfur": "S", "Mercury": "Hg", "Aluminium": "Al",
}  # fmt: skip


@each_of("row", [*ROWS, *ELSEWHERE], ids=lambda row: row["key"])
def test_a_row_is_complete_and_its_source_is_a_law(row: dict[str, str]) -> None:
    assert sources()[row["source_key"]].kind == "law" or "yes" in (row["conditional"], row["pending"])
    read_condition(row["holds_for"])
    assert row["conditional"] in ("yes", "no")
    assert re.fullmatch(
        r"Annex (III|V|XVII), (entr(y|ies) \d.*|whole list|entry not yet given)|section 7\d+\.\d+|whole section|"
        r"conclusion of the panel",
        row["entry"],
    )
    assert re.fullmatch(r"\d{4}(-\d\d){0,2}", row["as_of"]) or row["source_key"] == "from-memory"
    assert float(row["max_percent"]) < 100 or row["ph_low"] or row["ph_high"] or row["conditional"] == "yes"
    assert bool(row["expressed_as"]) == bool(row["expressed_as_molar_mass_g_mol"])
    assert row["conditional"] == "no" or row["scope"], "a condition must be said"


def test_keys_are_unique() -> None:
    assert len({row["key"] for row in ROWS}) == len(ROWS)
    assert len({row["key"] for row in ELSEWHERE}) == len(ELSEWHERE)


@each_of("limit", [*limits("eu"), *limits("us")], ids=lambda limit: limit.key)
def test_a_limit_is_about_single_substances_and_one_as_acid_knows_their_molar_masses(limit: Limit) -> None:
    for name in limit.substances:
        entry = SUBSTANCES.get(name)
        assert entry is None or not entry.composition
        if limit.expressed_as:
            assert (entry and entry.molar_mass) or plain_letters(name) in salts(), name
    assert set(limit.needs) <= set(limit.substances)


def test_no_substance_has_its_molar_mass_in_two_tables() -> None:
    assert {salt.inci for salt in salts().values()}.isdisjoint(n for n, each in SUBSTANCES.items() if each.molar_mass)


@each_of("limit", [each for each in limits() if each.expressed_as], ids=lambda limit: limit.key)
def test_the_acid_is_counted_with_the_molar_mass_of_the_table(limit: Limit) -> None:
    if limit.expressed_as in SUBSTANCES:
        assert limit.expressed_as_molar_mass == present(SUBSTANCES[limit.expressed_as].molar_mass).value
        assert limit.factor(limit.expressed_as_molar_mass) == 1.0
    elif plain_letters(limit.expressed_as) in salts():
        assert limit.expressed_as_molar_mass == salts()[plain_letters(limit.expressed_as)].molar_mass
    else:
        assert limit.expressed_as_molar_mass == pytest.approx(Formula(COUNTED[limit.expressed_as]).mass, abs=0.01)


@each_of("ingredient", [each for each in ingredients() if "preservative" in each.roles])
def test_every_preservative_has_a_limit(ingredient: Ingredient) -> None:
    parts = ingredient.composition or {ingredient.inci: 100.0}
    limited = {name for limit in limits() for name in limit.substances}
    assert limited & set(parts), ingredient.inci


@each_of(
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
    assert LIMITS["bht"].source.endswith("Annex III, entry 325 (Regulation (EU) 2022/2195), as of 2025-12-08")


def test_a_stricter_row_that_hangs_on_a_condition_stands_beside_one_that_always_holds() -> None:
    weaker, fine = LIMITS["musk-ketone-eau-de-toilette"], LIMITS["musk-ketone-perfume"]
    assert weaker.conditional
    assert not fine.conditional
    assert weaker.max_percent < fine.max_percent
    assert weaker.holds_for == fine.holds_for
