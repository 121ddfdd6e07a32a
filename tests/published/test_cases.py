"""Published cases: each is a test, or stands in the list with the reason why not."""

from __future__ import annotations

import ast
import csv
from functools import lru_cache
from pathlib import Path

from tests.rows import each_of

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
with (HERE / "cases.csv").open(encoding="utf-8", newline="") as file:
    CASES = list(csv.DictReader(file))


@lru_cache(maxsize=64)
def names_in(path: str) -> frozenset[str]:
    """The names of the tests of a file."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def test_no_case_stands_twice() -> None:
    names = [row["case"] for row in CASES]
    assert len(names) > 150
    assert len(set(names)) == len(names)
    assert all(name == name.strip() and name for name in names)


@each_of("row", CASES, ids=lambda row: row["case"])
def test_a_case_is_a_test_or_has_a_reason(row: dict[str, str]) -> None:
    assert bool(row["where"]) != bool(row["why_not"].strip()), row
    if row["where"]:
        path, _, name = row["where"].partition("::")
        assert name.startswith("test_")
        assert name in names_in(path), row["where"]
    else:
        assert row["why_not"].endswith(".")
