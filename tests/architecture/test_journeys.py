"""How a number travels, as the contributor's guide tells it: the files are there, few, and each knows the next."""

from __future__ import annotations

import ast
from itertools import pairwise

import pytest

from tests.architecture.measure import ROOT, journeys

JOURNEYS = journeys()


def known_by(file: str) -> set[str]:
    """The files that a Python file imports, wherever in it."""
    found = set()
    for node in ast.walk(ast.parse((ROOT / file).read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("kit"):
            home = (node.module or "").replace(".", "/")
            found |= {f"{home}.py", *(f"{home}/{alias.name}.py" for alias in node.names)}
            if (ROOT / home / "__init__.py").is_file():
                found |= known_by(f"{home}/__init__.py")
    return found


def test_six_journeys_are_told() -> None:
    assert len(JOURNEYS) == 6


@pytest.mark.parametrize("what", JOURNEYS)
def test_a_journey_passes_few_files_and_none_twice(what: str) -> None:
    files = JOURNEYS[what]
    assert [file for file in files if not (ROOT / file).is_file()] == []
    assert 5 <= len(files) <= 8
    assert len(set(files)) == len(files)


@pytest.mark.parametrize("what", JOURNEYS)
def test_each_file_of_a_journey_knows_one_before_it_or_is_known(what: str) -> None:
    files = [file for file in JOURNEYS[what] if file.endswith(".py")]
    for at, (_, file) in enumerate(pairwise(files), start=1):
        before = files[:at]
        assert known_by(file) & set(before) or any(file in known_by(one) for one in before), file
