"""Each room has a front door: its public names are listed, found, explained in a line, and cost nothing to list."""

from __future__ import annotations

import ast
import inspect
import re
import sys
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import kit
from tests.architecture.measure import deep_imports, import_lines
from tests.architecture.test_imports import CALCULATION
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable

KIT = Path(__file__).resolve().parent.parent.parent / "kit"
ROOMS = sorted([*(name for name in CALCULATION if (KIT / name).is_dir()), "course", "figures", "papers", "product"])
EACH_NAME = [(room, name) for room in ROOMS for name in dir(import_module(f"kit.{room}"))]


def test_every_room_of_calculations_is_open() -> None:
    assert set(ROOMS) == set(kit._ROOMS)
    assert set(ROOMS) < set(dir(kit))
    assert kit.bench is import_module("kit.bench")


def test_nothing_but_public_names_is_listed() -> None:
    assert len(EACH_NAME) > 200
    assert [name for _, name in EACH_NAME if name.startswith("_")] == []
    assert [name for name in dir(kit) if name.startswith("_") or name in {"sys", "TYPE_CHECKING", "annotations"}] == []


@each_of(("room", "name"), EACH_NAME, ids=[f"{room}.{name}" for room, name in EACH_NAME])
def test_a_public_name_is_found_and_says_in_a_line_what_it_is(room: str, name: str) -> None:
    found = getattr(import_module(f"kit.{room}"), name)
    assert not inspect.ismodule(found), f"kit.{room}.{name} gives the file of that name"
    first = (found.__doc__ or "").strip().split("\n")[0]
    assert re.match(r"\S.{15,}", first), f"kit.{room}.{name} does not say what it is: {first!r}"
    if inspect.isclass(found):
        assert not first.startswith(f"{name}("), f"kit.{room}.{name} has only the docstring that dataclass makes"


def test_the_stub_says_the_file_in_which_a_name_stands() -> None:
    for room, name in EACH_NAME:
        found = getattr(import_module(f"kit.{room}"), name)
        stub = ast.parse((KIT / room / "__init__.pyi").read_text(encoding="utf-8"))
        (file,) = {
            node.module
            for node in stub.body
            if isinstance(node, ast.ImportFrom)
            for alias in node.names
            if alias.name == name and alias.asname == name
        }
        if inspect.isfunction(found) or inspect.isclass(found):
            assert (found.__module__ + ".").startswith(f"kit.{room}.{file}.")


def test_a_function_of_the_name_of_its_file_stays_the_function(
    fresh_python: Callable[..., str],
) -> None:
    code = "import kit.layers.window, kit.layers\nprint(callable(kit.layers.window))"
    assert fresh_python(code).strip() == "True"


def test_opening_a_room_loads_none_of_its_files(fresh_python: Callable[..., str]) -> None:
    code = (
        "import sys, kit\n"
        f"for room in {ROOMS!r}:\n    dir(getattr(kit, room))\n"
        "print(sorted(name for name in sys.modules if name.startswith('kit.') or name in ('numpy', 'pandas', 'pint')))"
    )
    assert ast.literal_eval(fresh_python(code)) == sorted(["kit.front_door", *(f"kit.{room}" for room in ROOMS)])


def test_the_root_and_its_rooms_cost_no_package_of_others(fresh_python: Callable[..., str]) -> None:
    """``python3 -m kit`` runs before anything is installed."""
    code = (
        "import sys\nbefore = set(sys.modules)\nimport kit\ndir(kit)\ndir(kit.bench)\n"
        "print({name.split('.')[0] for name in set(sys.modules) - before})"
    )
    assert ast.literal_eval(fresh_python(code)) - sys.stdlib_module_names == {"kit", "rfc3987_syntax"}


def test_lessons_come_in_by_the_front_door() -> None:
    assert deep_imports() == []
    assert {name: lines for name, lines in import_lines().items() if lines > 3} == {}


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("alligate", "kit has no name 'alligate'. It lives in kit.bench: write from kit.bench import alligate."),
        ("aligate", "kit has no name 'aligate'. Did you mean 'alligate', which lives in kit.bench?"),
        ("ratiopanel", "kit has no name 'ratiopanel'. Did you mean 'RatioPanel'?"),
        ("mean_kinetic_temperature", "It lives in kit.stability"),
        ("zzzzzz", "kit has no name 'zzzzzz'."),
    ],
)
def test_the_root_says_where_a_name_lives(asked: str, said: str) -> None:
    with pytest.raises(AttributeError, match=re.escape(said)):
        getattr(kit, asked)
