"""Products that the European annexes allow or rule out, one a line of ``eu_annexes.csv``, run through the check."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.description import AXES, Description
from kit.library.library import Library
from kit.library.table import limits
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.findings import Finding

LIBRARY = Library.bundled()
with (Path(__file__).parent / "eu_annexes.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = list(csv.DictReader(file))


def described(words: str) -> Description:
    """The description of which these are the words, each under the input to which it belongs."""
    said: dict[str, Any] = {}
    for word in words.split("; "):
        axis = AXES[word]
        said[axis] = (*said.get(axis, ()), word) if axis in ("used_on", "users") else word
    return Description(**said)


def stops(case: dict[str, str]) -> list[Finding]:
    """What the annexes rule out in water with a percent of one substance."""
    lines = (Line(case["substance"], case["percent"]), Line("Aqua", "q.s."))
    formula = Formula("Trial", (Phase("Water layer", "water", lines),), description=described(case["description"]))
    found = check(formula, Materials.of(formula, LIBRARY), limits("eu", case["on"]))
    return [each for each in found if each.severity == "stop" and re.search(r"Annex (III|V|XVII), entr", each.source)]


def name(case: dict[str, str]) -> str:
    return " - ".join(case[column] for column in ("entry", "substance", "percent", "description", "on"))


@each_of("case", CHECKS, ids=name)
def test_a_product_is_allowed_or_stopped_as_the_annex_says(case: dict[str, str]) -> None:
    found = [each.source for each in stops(case)]
    if case["allowed"] == "yes":
        assert found == []
    else:
        entry = re.escape(case["entry"].partition(", ")[2])
        assert any(re.search(rf", {entry}\b", source) for source in found), found


def test_there_is_a_line_on_either_side_of_most_figures() -> None:
    sides: dict[tuple[str, str, str], set[str]] = {}
    for case in CHECKS:
        sides.setdefault((case["substance"], case["description"], case["on"]), set()).add(case["allowed"])
    assert sum(len(found) == 2 for found in sides.values()) > 100
    assert len(CHECKS) >= 60
