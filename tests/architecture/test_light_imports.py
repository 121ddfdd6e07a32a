"""A room brings with it no more than it needs, proved in interpreters of their own."""

from __future__ import annotations

import ast
import pkgutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.architecture.test_imports import CALCULATION, GROUND, SEEN_BY_PEOPLE

if TYPE_CHECKING:
    from collections.abc import Callable

KIT = Path(__file__).resolve().parent.parent.parent / "kit"
ROOMS = sorted(GROUND | CALCULATION)

#: What one formula passes through from the keyboard to the weighing sheet and the bottle.
ONE_FORMULA = ("library", "liquids", "formula", "bench", "label", "layers")
ARRAYS = {"numpy", "pandas", "scipy", "pint", "sqlalchemy", "openpyxl"}


def modules_of(name: str) -> list[str]:
    """The modules of a room."""
    if not (KIT / name).is_dir():
        return [f"kit.{name}"]
    return [
        f"kit.{name}",
        *(found.name for found in pkgutil.walk_packages([str(KIT / name)], f"kit.{name}.")),
    ]


def loaded_by(modules: list[str], fresh_python: Callable[..., str]) -> set[str]:
    """The names of the packages in memory after importing ``modules`` in a fresh interpreter."""
    code = (
        "import importlib, sys\n"
        f"for name in {modules!r}:\n    importlib.import_module(name)\n"
        "print(sorted({name.split('.')[0] for name, module in sys.modules.items() if module is not None}))"
    )
    return set(ast.literal_eval(fresh_python(code)))


@pytest.mark.parametrize("name", ROOMS)
def test_a_calculation_room_alone_brings_nothing_that_shows(name: str, fresh_python: Callable[..., str]) -> None:
    loaded = loaded_by(modules_of(name), fresh_python)
    assert "kit" in loaded
    assert loaded & SEEN_BY_PEOPLE == set()


def test_the_rooms_of_one_formula_bring_no_arrays(fresh_python: Callable[..., str]) -> None:
    modules = [module for name in ONE_FORMULA for module in modules_of(name)]
    assert len(modules) > len(ONE_FORMULA)
    assert loaded_by(modules, fresh_python) & ARRAYS == set()


#: The whole way of one formula, as a panel goes it, without the panel.
THE_WHOLE_WAY = """
import sys
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.formula.checks import check
from kit.formula.expansion import Materials, expand
from kit.layers.bottle import HeightScale, bundled_bottles, room_findings, stand
from kit.layers.density import layers_of, product_density
from kit.layers.density_words import density_findings
from kit.layers.ratio import RatioPath, stacked_bands
from kit.layers.window import window
from kit.library.library import Library
from kit.library.table import limits

formula = demo()
materials = Materials.of(formula, Library.bundled())
path, bottle = RatioPath.of(formula), bundled_bottles()["round 100 mL"]
fill = 0.85 * bottle.brimful
moved = path.at(20)
layers = layers_of(moved, materials)
heights = HeightScale.of(path, materials, bottle, fill)
allowed = window(formula, materials, limits())
assert abs(sum(expand(moved, materials).values()) - 100) < 1e-9
assert allowed.holds(20) and check(moved, materials, limits()) is not None
assert sum(w.grams for w in weigh(moved, "250 g").weighings) > 249.9
assert abs(heights.oil_for(heights.height_share(20)) - 20) < 1e-9
assert stand(layers, bottle, fill)[-1].top > 0 and product_density(layers) > 0
assert room_findings(bottle, fill) == [] == density_findings(layers)
assert len(stacked_bands(path)) == 11
print(sorted({name.split(".")[0] for name, module in sys.modules.items() if module is not None}))
"""


def test_a_formula_goes_the_whole_way_without_arrays(fresh_python: Callable[..., str]) -> None:
    loaded = set(ast.literal_eval(fresh_python(THE_WHOLE_WAY)))
    assert {"kit", "tomlkit"} <= loaded
    assert loaded & (ARRAYS | SEEN_BY_PEOPLE) == set()


def test_this_test_would_notice(fresh_python: Callable[..., str]) -> None:
    assert {"pandas", "numpy"} <= loaded_by(["kit.errors", "pandas"], fresh_python)
    assert "plotly" in loaded_by(["kit.errors", "plotly"], fresh_python)
