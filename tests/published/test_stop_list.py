"""Published prohibitions and conditions: what a check says of one substance, in one product, on one day."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pytest

from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.cas import is_cas
from kit.library.description import Description
from kit.library.ingredient import Ingredient
from kit.library.library import Library
from kit.library.limit import Limits
from kit.library.table import limits
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.description import ProductKind
    from kit.library.limit import Limit

with (Path(__file__).resolve().parent / "stop_list.csv").open(encoding="utf-8", newline="") as file:
    CASES = list(csv.DictReader(file))
BOUGHT = "Powder in a bag"


def described(case: dict[str, str]) -> Description:
    return Description(
        product_kind=cast("ProductKind", case["product_kind"]),
        product_type=case["product_type"],
        used_on=tuple(case["used_on"].split("; ")),
        applied=case["applied"],
        users=("adults",),
        layering="one phase",
    )


def stop_list(day: str) -> Limits:
    """What is prohibited or held to conditions on a day, without the limits of the other tables."""
    return Limits(limit for limit in limits("eu", day) if limit.kind not in ("limit", "colour"))


def told(case: dict[str, str], material: str, library: Library) -> list[tuple[Finding, Limit]]:
    """What the check says of the material by a row of the stop list, and that row."""
    lines = (Line("Aqua", "q.s."), Line(material, case["percent"]))
    formula = Formula("Trial", (Phase("Water layer", "water", lines),), description=described(case))
    rows = stop_list(case["day"])
    found = check(formula, Materials.of(formula, library), rows)
    concerning = {
        limit.source: limit for limit in rows.concerning(Materials.of(formula, library).names_for_rules(material))
    }
    return [(finding, concerning[finding.source]) for finding in found if finding.source in concerning]


def graver(case: dict[str, str], material: str, library: Library | None = None) -> list[tuple[str, str]]:
    """Severity and entry of what is told and is more than a note."""
    said = told(case, material, library or Library.bundled())
    return [(finding.severity, limit.entry) for finding, limit in said if finding.severity != "note"]


def test_there_are_enough_cases_of_each_kind_and_each_says_where_it_was_read() -> None:
    assert len(CASES) >= 100
    assert len({case["case"] for case in CASES}) == len(CASES)
    expected = [case["expected"] for case in CASES]
    assert expected.count("none") >= 15
    assert expected.count("caution") >= 8
    for case in CASES:
        assert len(case["source"]) > 30, case["case"]
        assert dt.date.fromisoformat(case["read"])
        assert not described(case).contradictions, case["case"]


@each_of("case", CASES, ids=lambda case: f"{case['case']}-{case['typed']}")
def test_a_published_prohibition_is_told_as_it_stands(case: dict[str, str]) -> None:
    material, library = case["typed"], Library.bundled()
    if is_cas(material):
        material, library = BOUGHT, library.with_own(Ingredient(BOUGHT, cas=(case["typed"],)))
    found = graver(case, material, library)
    if case["expected"] == "none":
        assert found == []
    else:
        assert [severity for severity, _ in found] == [case["expected"]]
        assert found[0][1].startswith(case["entry"])


@pytest.mark.parametrize("case", [case for case in CASES if is_cas(case["typed"])], ids=lambda case: case["case"])
def test_a_number_typed_in_a_formula_is_found_without_an_own_ingredient(case: dict[str, str]) -> None:
    assert (graver(case, case["typed"]) == []) == (case["expected"] == "none")


def test_a_thousandth_of_a_percent_of_something_prohibited_is_told() -> None:
    case = CASES[0] | {"percent": "0.001"}
    assert [severity for severity, _ in graver(case, "Minoxidil")] == ["stop"]
