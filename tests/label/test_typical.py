"""Usual shares of allergens in essential oils: named as an estimate, never in place of a statement."""

from __future__ import annotations

import pytest

from kit.label.allergens import allergen_named
from kit.label.statements import collected, read_statement
from kit.label.typical import typical_shares
from kit.library.library import Library
from kit.library.sources import sources
from kit.resources import load_table
from tests.label.made import LAVENDER, entry, listed, product
from tests.rows import each_of

ROWS = load_table("essential-oils").rows
OILS = list(dict.fromkeys(row["oil"] for row in ROWS))


def test_an_oil_without_a_statement_is_counted_with_usual_shares_and_says_so() -> None:
    # by hand: 1 % of lavender oil brings 0.325 % of linalool (32.5 % of it) and 0.005 % of limonene (0.5 % of it)
    found = listed(product(("Aqua", "q.s."), ("Lavandula Angustifolia Oil", "1")))
    assert found.names[:2] == ("Aqua", "Lavandula Oil/Extract")
    linalool = entry(found, "Linalool")
    assert linalool.percent == pytest.approx(0.325)
    assert "Estimated: the usual share of Lavandula Angustifolia Oil stands in" in linalool.reason
    assert entry(found, "Limonene").percent == pytest.approx(0.005)
    assert "Coumarin" not in found.names  # 0.03 % of 1 % is below 0.001 %
    (caution,) = [each for each in found.findings if "No allergen statement of Lavandula" in each.sentence]
    assert caution.severity == "caution"
    assert "Linalool 32.5 % (20 to 45)" in caution.sentence
    assert "Ask its supplier" in caution.sentence


def test_the_name_of_the_oil_stays_and_the_list_weighs_as_much_as_the_formula() -> None:
    found = listed(product(("Aqua", "q.s."), ("Melaleuca Alternifolia Leaf Oil", "2")))
    assert entry(found, "Melaleuca Alternifolia Leaf Oil").percent == pytest.approx(2)
    assert sum(each.percent for each in found.entries if not each.within) == pytest.approx(100)
    assert {each.name for each in found.entries if each.within} == {
        "Alpha-Terpinene", "Terpinolene", "Pinene", "Terpineol", "Limonene",
    }  # fmt: skip


def test_the_suppliers_statement_takes_the_place_of_the_estimate() -> None:
    statement = collected([read_statement("Lavandula Angustifolia Oil", "Linalool 40", "lot 7")])
    found = listed(product(("Aqua", "q.s."), (LAVENDER.inci, "1")), statements=statement)
    assert entry(found, "Linalool").percent == pytest.approx(0.4)
    assert "Linalyl Acetate" not in found.names
    assert "Estimated" not in entry(found, "Linalool").reason
    assert not [each for each in found.findings if "usual shares" in each.sentence]


def test_what_a_maker_said_an_oil_is_made_of_counts_before_the_estimate() -> None:
    from kit.library.ingredient import Ingredient

    oil = Ingredient(
        "Citrus Limon Peel Oil", roles=("essential oil",), composition={"Limonene": 60.0, "Rest": 40.0}, phase="oil"
    )
    found = listed(product(("Aqua", "q.s."), (oil.inci, "1"), materials=(oil,)))
    assert entry(found, "Limonene").percent == pytest.approx(0.6)
    assert "Citral" not in found.names


def test_allergens_of_two_oils_and_of_the_pure_substance_add_up() -> None:
    lines = (("Aqua", "q.s."), ("Citrus Aurantium Dulcis Peel Oil", "0.1"), ("Citrus Paradisi Peel Oil", "0.1"))
    found = listed(product(*lines, ("Limonene", "0.1")))
    # 0.1 × 0.945 + 0.1 × 0.94 + 0.1
    assert "0.2885 %" in entry(found, "Limonene").reason


def test_the_united_states_hear_nothing_of_it() -> None:
    found = listed(product(("Aqua", "q.s."), (LAVENDER.inci, "1")), "us")
    assert found.names == ("Water", "Lavandula Angustifolia (Lavender) Oil")
    assert not [each for each in found.findings if "usual shares" in each.sentence]


@each_of("row", ROWS, ids=lambda row: f"{row['oil']}, {row['part']}")
def test_a_row_names_an_entry_of_the_list_with_ordered_shares_and_a_source(row: dict[str, str]) -> None:
    allergen = allergen_named(row["part"])
    assert allergen is not None
    assert allergen.label_name == row["part"]
    assert row["source_key"] in sources()
    assert bool(row["low"]) == bool(row["high"])
    if row["low"]:
        assert 0 <= float(row["low"]) <= float(row["typical"]) <= float(row["high"]) <= 100


@pytest.mark.parametrize("oil", OILS)
def test_the_shares_of_an_oil_are_no_more_than_the_oil_and_no_part_stands_twice(oil: str) -> None:
    shares = typical_shares(oil)
    assert sum(each.share for each in shares) <= 100
    assert len({each.allergen.label_name for each in shares}) == len(shares)
    bundled = Library.bundled().get(oil)
    assert bundled is not None
    assert "essential oil" in bundled.roles


def test_there_are_twelve_oils_and_an_unknown_one_has_none() -> None:
    assert len(OILS) >= 12
    assert typical_shares("Helianthus Annuus Seed Oil") == ()
