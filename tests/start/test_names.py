"""``import kit`` costs next to nothing, and its names come from their rooms when they are used."""

from __future__ import annotations

import ast
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import kit
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable

SOURCE = Path(kit.__file__)


@each_of("name", kit.__all__)
def test_each_public_name_is_where_the_table_says(name: str) -> None:
    found = getattr(kit, name)
    assert found.__name__.split(".")[-1] == name
    assert getattr(found, "__module__", found.__name__).startswith("kit.")


def test_the_names_are_listed_for_completion_and_for_star_imports() -> None:
    assert isinstance(kit.__all__, tuple)
    assert list(kit.__all__) == sorted(kit.__all__)
    assert set(kit.__all__) <= set(dir(kit))


def test_editors_are_told_the_same_names() -> None:
    told = [
        alias.asname
        for node in ast.parse(SOURCE.with_suffix(".pyi").read_text(encoding="utf-8")).body
        if isinstance(node, ast.ImportFrom) and node.module
        for alias in node.names
    ]
    assert sorted(told, key=str) == list(kit.__all__)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("Formla", "kit has no name 'Formla'. Did you mean 'Formula'?"),
        ("formula_", "kit has no name 'formula_'. Did you mean 'Formula'?"),
        ("openbench", "kit has no name 'openbench'. Did you mean 'open_bench'?"),
        ("xylophone", "kit has no name 'xylophone'."),
    ],
)
def test_a_misspelt_name_gets_a_hint(name: str, sentence: str) -> None:
    with pytest.raises(AttributeError) as refused:
        getattr(kit, name)
    assert str(refused.value) == sentence


def test_the_slow_address_checker_is_kept_out(fresh_python: Callable[..., str]) -> None:
    code = "import kit, nbformat, jsonschema, sys; print(sys.modules['rfc3987_syntax'], 'lark' in sys.modules)"
    assert fresh_python(code) == "None False"


def test_without_the_kit_the_checker_would_come(fresh_python: Callable[..., str]) -> None:
    """If this fails, jsonschema has mended it: the line in ``kit/__init__.py`` may go."""
    assert fresh_python("import nbformat, jsonschema, sys; print('lark' in sys.modules)") == "True"


def test_a_checker_that_was_loaded_before_is_left_alone(fresh_python: Callable[..., str]) -> None:
    code = "import sys; sys.modules['rfc3987_syntax'] = sys; import kit; print(sys.modules['rfc3987_syntax'] is sys)"
    assert fresh_python(code) == "True"


def test_importing_the_kit_loads_nothing_but_the_kit(fresh_python: Callable[..., str]) -> None:
    code = "import sys; before = set(sys.modules); import kit; print(sorted(set(sys.modules) - before))"
    loaded = {name.split(".")[0] for name in ast.literal_eval(fresh_python(code))}
    assert loaded - sys.stdlib_module_names == {"kit", "rfc3987_syntax"}


def test_importing_the_kit_costs_at_most_a_quarter_of_pandas(fresh_python: Callable[..., str]) -> None:
    def seconds(module: str) -> float:
        code = f"from time import perf_counter as now; t = now(); import {module}; print(now() - t)"
        return min(float(fresh_python(code)) for _ in range(5))

    assert seconds("kit") <= seconds("pandas") / 4
