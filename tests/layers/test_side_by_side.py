"""Variants side by side, and the family that is saved with a formula."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.demos import demo
from kit.errors import RangeError, UnknownNameError
from kit.formula.files import read_formula, save_formula
from kit.formula.versions import variant_formula, with_variant, without_variant
from kit.layers.bottle import Bottle
from kit.layers.ratio import RatioPath
from kit.layers.side_by_side import family_table, side_by_side
from kit.library.library import Library
from kit.library.table import limits

if TYPE_CHECKING:
    from pathlib import Path

    from kit.formula.model import Formula

BOTTLE = Bottle.cylinder("44 mm", "120 mL")


def family() -> Formula:
    formula = demo()
    path = RatioPath.of(formula)
    formula = with_variant(formula, "dry skin", path.at(25.0), "more oil")
    return with_variant(formula, "summer", path.at(11.0))


def test_variants_add_to_100_and_are_found_again_in_the_file(tmp_path: Path) -> None:
    formula = family()
    for variant in formula.variants:
        assert variant_formula(formula, variant.name).is_complete
    save_formula(formula, tmp_path / "shake.toml")
    assert read_formula(tmp_path / "shake.toml") == formula
    assert "variants" in save_formula(formula, tmp_path / "shake.csv")[0].sentence


def test_a_variant_of_the_same_name_is_replaced_and_can_be_taken_out() -> None:
    formula = with_variant(family(), "Dry Skin", RatioPath.of(demo()).at(20.0))
    assert [variant.name for variant in formula.variants] == ["Dry Skin", "summer"]
    assert [variant.name for variant in without_variant(formula, "dry skin").variants] == ["summer"]
    with pytest.raises(UnknownNameError, match=r"has no variant 'winter'\. Its family: Dry Skin, summer"):
        variant_formula(formula, "winter")
    with pytest.raises(RangeError, match="A variant needs a name"):
        with_variant(formula, " ")


def test_columns_follow_from_the_formula() -> None:
    formula = family()
    formulas = {"now": formula} | {v.name: variant_formula(formula, v.name) for v in formula.variants}
    columns = side_by_side(formulas, Library.bundled(), limits(), BOTTLE, 90.0)
    assert [column.sizes["Oil layer"] for column in columns] == pytest.approx([15, 25, 11])
    assert all(sum(column.heights.values()) == pytest.approx(BOTTLE.level(90.0)) for column in columns)
    assert columns[1].order[0] == "Aqua"
    table = family_table(columns)
    assert list(table.columns) == ["phase", "line", "unit", "now", "dry skin", "summer"]
    lines = table[table["unit"] == "% w/w"]
    assert lines[lines["line"] != "whole layer"]["dry skin"].sum() == pytest.approx(100)


def test_six_are_too_many_and_a_bottle_too_small_only_hides_the_heights() -> None:
    formulas = {f"v{n}": demo() for n in range(6)}
    with pytest.raises(RangeError, match=r"6 variants are too many to see side by side\. Choose 5 or fewer"):
        side_by_side(formulas, Library.bundled(), limits(), BOTTLE, 90.0)
    (column,) = side_by_side({"v": demo()}, Library.bundled(), limits(), BOTTLE, 500.0)
    assert column.heights == {}
    assert column.density is not None


def test_costs_are_a_row_of_their_own_where_they_are_known() -> None:
    formulas = {"now": demo(), "later": demo()}
    costs = iter([(1.25, "EUR", True), (2.5, "EUR", False), None, (1.0, "EUR", True)])
    columns = side_by_side(formulas, Library.bundled(), limits(), BOTTLE, 90.0, lambda formula, materials: next(costs))
    assert [column.cost for column in columns] == [(1.25, "EUR", True), (2.5, "EUR", False)]
    table = family_table(columns).set_index("line")
    assert list(table.loc["materials of 100 g"]) == ["", "EUR", 1.25, 2.5]
    assert list(table.loc["everything has a price"]) == ["", "", "yes", "no"]
    columns = side_by_side(formulas, Library.bundled(), limits(), BOTTLE, 90.0, lambda formula, materials: next(costs))
    table = family_table(columns).set_index("line")
    assert list(table.loc["materials of 100 g"])[2:] == [pytest.approx(float("nan"), nan_ok=True), 1.0]
    assert "everything has a price" not in table.index
    without = side_by_side(formulas, Library.bundled(), limits(), BOTTLE, 90.0)
    assert "materials of 100 g" not in family_table(without).set_index("line").index
