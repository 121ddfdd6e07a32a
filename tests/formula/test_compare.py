"""Versions side by side."""

from __future__ import annotations

import pytest
from hypothesis import given

from kit.demos import demo
from kit.formula.compare import compare, comparison_table
from kit.formula.editing import remove_line, set_line
from kit.formula.model import Formula, Line, Phase
from kit.formula.versions import keep_version, version_label
from tests.formula.made import formulas, water_and

OLD = water_and(("Glycerin", "6"), ("Urea", "2"))
NEW = keep_version(set_line(remove_line(OLD, 0, 2), 0, 1, entry="4"), OLD)


def test_each_material_of_any_version_has_its_row() -> None:
    rows = {row.material: (row.phase, row.percents, row.change) for row in compare([OLD, NEW])}
    assert rows == {
        "Aqua": ("Water layer", (92, 96), 4),
        "Glycerin": ("Water layer", (6, 4), -2),
        "Urea": ("Water layer", (2, None), -2),
    }


def test_a_material_that_is_new_changes_from_nothing() -> None:
    (row,) = [row for row in compare([NEW, OLD]) if row.material == "Urea"]
    assert (row.percents, row.change) == ((None, 2), 2)


def test_the_same_material_in_two_phases_has_two_rows_and_twice_in_one_phase_one() -> None:
    formula = Formula(
        "T",
        (
            Phase("A", "water", (Line("Aqua", "60"), Line("Aqua", "10"))),
            Phase("B", "water", (Line("Aqua", "30"), Line("", "0"))),
        ),
    )
    assert [(row.phase, row.percents) for row in compare([formula])] == [("A", (70,)), ("B", (30,))]


@given(formulas())
def test_a_formula_does_not_change_against_itself(formula: Formula) -> None:
    assert all(row.change == 0 for row in compare([formula, formula]))


def test_the_table_names_each_version_and_its_unit() -> None:
    table = comparison_table([OLD, NEW])
    assert list(table.columns) == ["phase", "ingredient", "version 1, % w/w", "version 2, % w/w", "change"]
    assert table["change"].sum() == pytest.approx(0)
    assert version_label(NEW) == "version 2"


def test_the_demo_against_its_earlier_version() -> None:
    formula = demo()
    changes = {row.material: row.change for row in compare([formula.earlier[-1], formula]) if abs(row.change) > 1e-9}
    assert changes == {"Aqua": pytest.approx(2), "Glycerin": pytest.approx(-2)}
