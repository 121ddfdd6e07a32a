"""Many ratios at once give what one ratio at a time gives."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from kit.demos import demo
from kit.formula.expansion import Materials
from kit.formula.requirements import requirements
from kit.layers.ratio import RatioPath
from kit.layers.sweep import sweep
from kit.layers.window import window_of
from kit.library.library import Library
from kit.library.table import limits
from tests.layers.some_formulas import materials_of, two_layers


def test_rows_are_the_path_and_rooms_are_the_slacks() -> None:
    formula = demo()
    path = RatioPath.of(formula)
    required = requirements(formula, Materials.of(formula, Library.bundled()), limits())
    oil = np.linspace(0, path.most, 41)
    many = sweep(path, oil, required)
    for n, ratio in enumerate(oil):
        assert many.percents[n] == pytest.approx(path.percents(float(ratio)), abs=1e-12)
        assert many.room[n] == pytest.approx([rule.slack(path.percents(float(ratio))) for rule in required], abs=1e-12)


def test_mass_is_kept_in_every_row_of_random_formulas() -> None:
    random = Random(11)
    for _ in range(100):
        path = RatioPath.of(two_layers(random))
        many = sweep(path, np.linspace(0, path.most, 50))
        assert many.percents.sum(axis=1) == pytest.approx(np.full(50, 100.0), abs=1e-9)


def test_the_allowed_rows_are_those_inside_the_window() -> None:
    formula = demo()
    path = RatioPath.of(formula)
    required = requirements(formula, Materials.of(formula, Library.bundled()), limits())
    ends = window_of(path, required)
    many = sweep(path, np.linspace(0, path.most, 10_001), required)
    inside = many.oil[many.allowed]
    assert inside.min() == pytest.approx(ends.low, abs=0.01)
    assert inside.max() == pytest.approx(ends.high, abs=0.01)
    table = many.table()
    assert table["every rule holds"].sum() == len(inside)
    assert list(table.columns[:2]) == ["oil layer %", "Aqua"]


def test_materials_of_random_formulas_are_known() -> None:
    formula = two_layers(Random(1))
    assert all(materials_of(formula).get(line.material) for _, _, line, _ in formula.each_line())
