"""Imports run one way: from what a person sees down to the ground floor, never up, never to the package root."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Iterator

KIT = Path(__file__).resolve().parent.parent.parent / "kit"

GROUND = {
    "crossing",
    "tables",
    "errors",
    "file_lock",
    "file_names",
    "findings",
    "frames",
    "front_door",
    "in_browser",
    "inputs",
    "iso_dates",
    "made_for",
    "resources",
    "rounding",
    "saving",
    "soundness",
    "spreadsheet_text",
    "table_cuts",
    "money",
    "numbers",
    "units",
    "visible_text",
    "workbooks",
}
CALCULATION = {"bench", "blends", "formula", "in_use", "label", "layers", "library", "liquids", "stability"}

#: room (a folder of kit, or a file directly in it) -> the rooms it may import, besides itself.
MAY_IMPORT: dict[str, set[str]] = {
    "tables": {"errors", "file_names", "findings", "numbers", "spreadsheet_text", "table_cuts", "visible_text"},
    "crossing": set(),
    "errors": set(),
    "file_lock": {"errors", "in_browser"},
    "in_browser": {"errors"},
    "findings": {"errors"},
    "frames": set(),
    "front_door": set(),
    "inputs": {"errors", "file_names", "iso_dates", "numbers", "units"},
    "iso_dates": {"errors"},
    "resources": {"errors"},
    "rounding": {"errors"},
    "file_names": {"errors"},
    "made_for": {"errors", "file_names", "saving"},
    "saving": {"errors", "file_lock", "file_names"},
    "soundness": {"errors"},
    "spreadsheet_text": {"rounding"},
    "table_cuts": set(),
    "money": {"errors", "numbers", "rounding"},
    "numbers": {"errors", "findings", "rounding"},
    "units": {"errors", "numbers"},
    "visible_text": set(),
    "workbooks": {"errors", "visible_text"},
    "library": GROUND,
    "liquids": GROUND | {"library"},
    "formula": GROUND | {"library", "liquids"},
    "bench": GROUND | {"library", "liquids", "formula"},
    "label": GROUND | {"library", "liquids", "formula"},
    "layers": GROUND | {"library", "liquids", "formula"},
    "stability": GROUND | {"library", "liquids", "formula"},
    "in_use": GROUND | {"library", "liquids", "formula", "layers", "stability"},
    "blends": GROUND | {"library", "liquids", "formula", "bench", "layers"},
    "course": GROUND | CALCULATION,
    "demos": GROUND | CALCULATION,
    "product": GROUND | CALCULATION,
    "papers": GROUND | CALCULATION | {"course", "figures", "product"},
    "figures": GROUND | CALCULATION,
    "product_folder": GROUND | CALCULATION | {"workspace"},
    "widgets": GROUND
    | CALCULATION
    | {"course", "product", "papers", "figures", "demos", "product_folder", "stored_stills", "workspace"},
    "pages": GROUND | {"launcher", "widgets", "workspace"},
    "commands": GROUND
    | CALCULATION
    | {"course", "product", "papers", "product_folder", "workspace"}
    | {"app", "environment", "launcher", "pack", "pages", "ports", "site"},
    "environment": {"errors", "file_lock"},
    "workspace": {"errors", "resources"},
    "stored_stills": set(),
    "launcher": {"errors", "environment", "file_lock", "stored_stills", "workspace"},
    "ports": set(),
    "app": {"environment", "launcher", "workspace"},
    "pack": {"environment"},
    "page_kernel": {"in_browser", "resources"},
    "site": {"environment", "in_browser", "pack", "resources"},
    "__main__": {"commands", "errors", "environment", "ports", "workspace", "launcher"},
}

SEEN_BY_PEOPLE = {"IPython", "anywidget", "ipywidgets", "jinja2", "plotly"}

FILES = sorted(path for path in KIT.rglob("*.py") if path != KIT / "__init__.py")
MODULES = {path: path.relative_to(KIT.parent).with_suffix("").as_posix().replace("/", ".") for path in FILES}


def room(module: str) -> str:
    """The room of a module of the kit: ``kit.bench.stock`` -> ``bench``."""
    return module.split(".")[1]


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and full name of every import in a file, wherever it stands; ``from kit import x`` gives ``kit.x``."""
    package = MODULES[path].split(".")[: -1 if path.name != "__init__.py" else None]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) + 1 - node.level]) if node.level else ""
            origin = ".".join(filter(None, [base, node.module]))
            if origin == "kit":
                yield from ((node.lineno, f"kit.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, origin


def test_there_is_something_to_check() -> None:
    assert {room(module) for module in MODULES.values()} >= {
        "errors",
        "library",
        "formula",
        "widgets",
        "launcher",
    }


def test_the_table_names_every_room_and_none_that_is_not_there() -> None:
    there = {room(module) for module in MODULES.values()}
    assert set(MAY_IMPORT) == there
    assert there >= GROUND | CALCULATION
    assert there >= set().union(*MAY_IMPORT.values())


def test_the_table_itself_has_no_way_back_up() -> None:
    placed: set[str] = set()
    left = dict(MAY_IMPORT)
    while left:
        free = {name for name, below in left.items() if below <= placed}
        assert free, f"these rooms could import one another: {sorted(left)}"
        placed |= free
        left = {name: below for name, below in left.items() if name not in free}


@each_of("path", FILES, ids=MODULES.get)
def test_a_file_imports_only_downwards(path: Path) -> None:
    own = room(MODULES[path])
    allowed = MAY_IMPORT[own] | {own}
    wrong = [
        f"line {line}: {name}"
        for line, name in imported(path)
        if name.split(".")[0] == "kit" and (name == "kit" or room(name) not in allowed)
    ]
    assert wrong == [], f"{MODULES[path]} may import {sorted(allowed)} only"


@each_of("path", [p for p in FILES if room(MODULES[p]) in GROUND | CALCULATION], ids=MODULES.get)
def test_a_calculation_shows_nothing(path: Path) -> None:
    wrong = [f"line {line}: {name}" for line, name in imported(path) if name.split(".")[0] in SEEN_BY_PEOPLE]
    assert wrong == [], f"{MODULES[path]} is a calculation"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("import kit", ["kit"]),
        ("from kit import Formula", ["kit.Formula"]),
        ("def f():\n    from kit.widgets import bench", ["kit.widgets"]),
        ("from . import stock", ["kit.bench"]),
        ("from .. import widgets", ["kit.widgets"]),
        ("from ..units import quantity", ["kit.units"]),
        ("from .stock import Stock", ["kit.bench.stock"]),
    ],
)
def test_no_way_of_writing_an_import_is_missed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, expected: list[str]
) -> None:
    path = tmp_path / "sample.py"
    path.write_text(text, encoding="utf-8")
    monkeypatch.setitem(MODULES, path, "kit.bench.sample")
    assert [name for _, name in imported(path)] == expected
