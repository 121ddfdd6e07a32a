"""Every shipped notebook keeps the rules that make its stored numbers worth comparing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.notebooks.rules import faults

FOLDER = Path(__file__).resolve().parent.parent.parent / "notebooks"
NOTEBOOKS = sorted(FOLDER.rglob("*.ipynb"))


def test_the_start_notebook_is_there() -> None:
    assert FOLDER / "00_start.ipynb" in NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_keeps_the_rules(path: Path) -> None:
    assert faults(path) == []
