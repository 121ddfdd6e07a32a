"""Which cautions a formula's papers carry."""

from __future__ import annotations

import pytest

from kit.demos import demo
from kit.formula.expansion import Materials, expand
from kit.formula.model import Formula, Line, Phase
from kit.label.cautions import cautions_for
from kit.library.ingredient import Ingredient, Stock
from kit.library.library import Library
from kit.papers.registry import make_paper
from kit.product.product import Product
from kit.resources import load_table

ROWS = {row["key"]: row for row in load_table("cautions").rows}
GENERAL = [row["sentence"] for row in ROWS.values() if not row["substances"] and not row["roles"]]
NONE = Materials(Library.bundled())


def keys(*substances: str, materials: Materials = NONE) -> set[str]:
    said = cautions_for(substances, materials)
    return {key for key, row in ROWS.items() if row["sentence"] in said and row["sentence"] not in GENERAL}


@pytest.mark.parametrize(
    ("substance", "expected"),
    [
        ("Aqua", {"microbes"}),
        ("Alcohol", {"flammable"}),
        ("Isopropyl Alcohol", {"flammable"}),
        ("Sodium Hydroxide", {"caustic"}),
        ("Citric Acid", {"acid"}),
        ("Salicylic Acid", {"acid"}),
        ("Xanthan Gum", {"powder"}),
        ("Sodium Benzoate", {"powder"}),
        ("Parfum", {"allergy"}),
        ("Linalool", {"allergy"}),
        ("Hydrogen Peroxide", {"peroxide"}),
        ("Squalane", set()),
        ("Moon dust", set()),
    ],
)
def test_each_substance_brings_its_own(substance: str, expected: set[str]) -> None:
    assert keys(substance) == expected


def test_a_role_brings_its_caution_too() -> None:
    own = Ingredient("Moon petals", roles=("fragrance part",), own=True)
    assert keys("Moon petals", materials=Materials(Library.bundled(), (own,))) == {"allergy"}


def test_the_general_ones_always_stand_last() -> None:
    assert len(GENERAL) == 4
    assert cautions_for([], NONE) == GENERAL
    assert cautions_for(["Aqua"], NONE) == [ROWS["microbes"]["sentence"], *GENERAL]
    assert all(row["source"] for row in ROWS.values())


def test_every_substance_named_in_the_table_is_known() -> None:
    named = {name.strip() for row in ROWS.values() for name in row["substances"].split(";") if name.strip()}
    assert [name for name in sorted(named) if name not in Library.bundled()] == []


def test_what_hides_in_a_stock_is_found() -> None:
    stock = Stock("Lye stock", {"Sodium Hydroxide": 10, "Aqua": 90})
    phase = Phase("W", "water", (Line("Lye stock", "1"), Line("Squalane", "99")))
    formula = Formula("T", (phase,), materials=(stock,))
    materials = Materials.of(formula, Library.bundled())
    assert keys(*expand(formula, materials), materials=materials) == {"caustic", "microbes"}


def test_the_sheet_of_the_demo_carries_them_all() -> None:
    text = make_paper("batch_sheet", Product(demo())).html
    assert all(f"<li>{ROWS[key]['sentence']}</li>" in text for key in ("microbes", "acid", "powder", "allergy"))
    assert all(f"<li>{sentence}</li>" in text for sentence in GENERAL)
    assert ROWS["caustic"]["sentence"] not in text
