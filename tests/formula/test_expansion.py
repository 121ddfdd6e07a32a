"""A formula falls apart into substances, and nothing of it is lost."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import CompositionError
from kit.formula.expansion import Materials, expand, substances_table, where_from
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Ingredient, Material, Stock
from tests.formula.made import LIBRARY, NAMES, findings, shares, water_and

ACID = Stock("Acid stock", {"Citric Acid": 10, "Potassium Sorbate": 0.2, "Aqua": 89.8})


def of(formula: Formula) -> Materials:
    return Materials.of(formula, LIBRARY)


@st.composite
def nested(draw: st.DrawFn) -> Formula:
    """Stocks of stocks of the maker's own blends of bundled blends, and a formula of any of them."""
    materials: list[Material] = []
    for level in range(draw(st.integers(0, 5))):
        parts = draw(shares([*NAMES[:3], "Something unknown", *(made.name for made in materials)]))
        kind = draw(st.booleans())
        materials.append(
            Stock(f"Stock {level}", parts) if kind else Ingredient(f"Blend {level}", composition=parts, own=True)
        )
    mixed = draw(shares([*NAMES[::20], *(made.name for made in materials)]))
    chosen = tuple(Line(name, repr(percent)) for name, percent in mixed.items())
    top = tuple(Line(made.name, "q.s.") for made in materials[-1:] if made.name not in mixed)
    return Formula("Nest", (Phase("W", "water", (*chosen, *top)),), materials=tuple(materials))


@settings(max_examples=600)
@given(nested())
def test_mass_is_conserved_at_any_depth(formula: Formula) -> None:
    materials = of(formula)
    found = expand(formula, materials)
    assert sum(found.values()) == pytest.approx(formula.total, rel=1e-9)
    assert min(found.values()) >= 0
    assert all(
        not known.composition or set(known.composition) == {known.name} for x in found if (known := materials.get(x))
    )
    assert list(found.values()) == sorted(found.values(), reverse=True)
    by_line = where_from(formula, materials)
    assert {name: pytest.approx(sum(lines.values())) for name, lines in by_line.items()} == found


def test_a_composition_that_just_passes_loses_nothing() -> None:
    third = Stock("Third", {"Aqua": 33.3333333, "Glycerin": 33.3333333, "Alcohol": 33.3333333})  # 99.9999999
    formula = Formula("T", (Phase("W", "water", (Line("Third", "100"),)),), materials=(third,))
    assert sum(expand(formula, of(formula)).values()) == pytest.approx(100, rel=1e-13)


def test_a_stock_is_told_apart_by_hand() -> None:
    """3.5 % of a stock with 10 % citric acid brings 0.35 %; 0.2 % sorbate in it 0.007 %; the water adds up."""
    formula = water_and(("Acid stock", "3.5"), ("Potassium Sorbate", "0.2"), materials=(ACID,))
    found = expand(formula, of(formula))
    assert found == {
        "Aqua": pytest.approx(96.3 + 3.5 * 0.898),
        "Citric Acid": pytest.approx(0.35),
        "Potassium Sorbate": pytest.approx(0.207),
    }
    assert where_from(formula, of(formula))["Potassium Sorbate"] == {
        "Acid stock": pytest.approx(0.007),
        "Potassium Sorbate": pytest.approx(0.2),
    }


def test_any_name_of_a_material_comes_to_the_same_substance() -> None:
    formula = water_and(("glycerine", "2"), ("GLYCERIN", "3"))
    assert expand(formula, of(formula))["Glycerin"] == pytest.approx(5)


def test_an_own_material_stands_before_a_bundled_one() -> None:
    own = Ingredient("glycerin", composition={"Glycerin 99": 87, "Aqua": 13}, own=True)
    formula = water_and(("Glycerin", "10"), materials=(own,))
    assert expand(formula, of(formula)) == {"Aqua": pytest.approx(91.3), "Glycerin 99": pytest.approx(8.7)}
    assert of(formula).ingredient("GLYCERIN") is own


def test_a_stock_is_no_ingredient_and_an_unknown_name_is_nothing() -> None:
    materials = Materials(LIBRARY, (ACID,))
    assert materials.get("acid STOCK ") is ACID
    assert materials.ingredient("Acid stock") is None
    assert materials.get("moon dust") is None
    assert materials.ingredient("moon dust") is None


def test_an_unknown_name_counts_as_one_substance() -> None:
    formula = water_and((" Moon dust ", "3"))
    assert expand(formula, of(formula)) == {"Aqua": 97, "Moon dust": 3}


def test_lines_without_a_percent_or_a_name_are_left_out() -> None:
    formula = Formula(
        "T", (Phase("W", "water", (Line("Aqua", "90"), Line("Glycerin", ""), Line("Urea", "some"), Line("", "4"))),)
    )
    assert expand(formula, of(formula)) == {"Aqua": 90}
    assert where_from(formula, of(formula)) == {"Aqua": {"Aqua": 90}}


def test_a_loop_is_named_with_its_whole_chain() -> None:
    ring = (
        Stock("One", {"Two": 50, "Aqua": 50}),
        Stock("Two", {"Three": 100}),
        Ingredient("Three", composition={"one": 10, "Glycerin": 90}),
    )
    formula = water_and(("Two", "5"), materials=ring)
    with pytest.raises(CompositionError) as raised:
        expand(formula, of(formula))
    assert str(raised.value) == (
        "Two is made of itself: Two → Three → One → Two. Take it out of one of these compositions."
    )
    assert [f.severity for f in findings(formula, "is made of itself")] == ["stop"]


def test_a_loop_deeper_down_names_only_the_loop() -> None:
    ring = (Stock("A", {"B": 100}), Stock("B", {"C": 100}), Stock("C", {"B": 100}))
    with pytest.raises(CompositionError, match=r"^B is made of itself: B → C → B\. "):
        Materials(LIBRARY, ring).substances("A")


def test_many_levels_are_split_once_each() -> None:
    """Thirty levels that each name two of the next are 2**30 ways down; three thousand in a row are one."""
    pairs = [Stock(f"{side}{n}", {f"a{n + 1}": 50, f"b{n + 1}": 50}) for n in range(30) for side in "ab"]
    row = [Stock(f"Row {n}", {f"Row {n + 1}": 99.99, "Glycerin": 0.01}) for n in range(3000)]
    materials = Materials(LIBRARY, (*pairs, *row))
    assert materials.substances("a0") == pytest.approx({"a30": 50, "b30": 50})
    deep = materials.substances("Row 0")
    assert deep["Row 3000"] == pytest.approx(100 * 0.9999**3000)
    assert sum(deep.values()) == pytest.approx(100)


def test_a_single_substance_that_lists_itself_is_no_loop() -> None:
    pure = Ingredient("Pure", composition={"Pure": 100}, own=True)
    assert Materials(LIBRARY, (pure,)).substances("Pure") == {"Pure": 100}


def test_the_table_shows_which_line_brings_what() -> None:
    formula = water_and(("Acid stock", "3.5"), ("Potassium Sorbate", "0.2"), materials=(ACID,))
    table = substances_table(formula, of(formula))
    assert list(table.columns) == ["substance", "percent w/w", "by way of"]
    assert list(table["substance"]) == ["Aqua", "Citric Acid", "Potassium Sorbate"]
    assert list(table["by way of"]) == ["Aqua, Acid stock", "Acid stock", "Acid stock, Potassium Sorbate"]
    assert table["percent w/w"].sum() == pytest.approx(100)
