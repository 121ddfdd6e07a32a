"""Many ratios at once give what one ratio at a time gives."""

from __future__ import annotations

import tracemalloc
from random import Random

import numpy as np
import pytest

from kit.demos import demo
from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.requirements import requirements
from kit.layers.ratio import RatioPath
from kit.layers.sweep import sweep, sweep_in_pieces
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


def test_pieces_side_by_side_are_the_whole_and_need_no_more_memory_for_more_ratios() -> None:
    formula = two_layers(Random(7))
    path = RatioPath.of(formula)
    required = requirements(formula, materials_of(formula), limits())
    oil = np.linspace(0, path.most, 10_001)
    whole, pieces = sweep(path, oil, required), list(sweep_in_pieces(path, oil, required, most=997))
    assert [len(piece.oil) for piece in pieces] == [997] * 10 + [31]
    assert np.array_equal(np.concatenate([piece.percents for piece in pieces]), whole.percents)
    assert np.array_equal(np.concatenate([piece.allowed for piece in pieces]), whole.allowed)
    assert list(sweep_in_pieces(path, [])) == []
    with pytest.raises(RangeError, match="Give 1 or more"):
        sweep_in_pieces(path, oil, most=0)

    def most_memory(ratios: int) -> int:
        many = np.linspace(0, path.most, ratios)
        tracemalloc.start()
        allowed = sum(int(piece.allowed.sum()) for piece in sweep_in_pieces(path, many, required, most=1_000))
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert 0 <= allowed <= ratios
        return most

    most_memory(1_000)
    assert most_memory(50_000) < 1.5 * most_memory(5_000)


def test_a_row_with_a_line_below_zero_is_not_allowed() -> None:
    formula = Formula("Shake", (
        Phase("W", "water", (Line("Aqua", "79", "fill"), Line("Glycerin", "1", "level"))),
        Phase("O", "oil", (Line("Squalane", "19", "fill"), Line("Tocopherol", "1", "level"))),
    ))  # fmt: skip
    path = RatioPath.of(formula)
    many = sweep(path, [0.5, 1.0, 50.0, 99.0, 99.5])  # 1 g of each layer keeps its level, so less than 1 % cannot be
    assert many.allowed.tolist() == [False, True, True, True, False]
    table = many.table()
    assert list(table.columns) == ["oil layer %", "Aqua", "Glycerin", "Squalane", "Tocopherol", "every rule holds"]
    assert table["Squalane"].tolist() == pytest.approx([-0.5, 0, 49, 98, 98.5])
    assert table["every rule holds"].tolist() == many.allowed.tolist()
