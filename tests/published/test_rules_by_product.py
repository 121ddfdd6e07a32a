"""Rules that hold for some products only, against what the law says of each case.

``us_rules.csv`` holds what the check of a formula must say, or must not, for a product of the United States, and
``label_warnings.csv`` what must be printed on a label, told beside it, or be absent. ``words`` are parted by ``&`` and
must all occur in one finding; ``law`` stands in its sentence or source; ``basis`` says what was read, and when.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pytest

from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.label.label_text import label
from kit.library.columns import split_list
from kit.library.description import Description
from kit.library.library import Library
from kit.library.table import limits

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.description import ProductKind
    from kit.library.table import Jurisdiction

HERE = Path(__file__).parent

#: The day on which the products are placed on the market.
DAY = "2026-12-01"

MATERIALS = Materials(Library.bundled())


def rows_of(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


RULES, WARNINGS = rows_of("us_rules.csv"), rows_of("label_warnings.csv")


def described(row: dict[str, str]) -> Description:
    return Description(
        cast("ProductKind", row["product_kind"]),
        row["product_type"],
        tuple(filter(None, row["used_on"].split(", "))),
        row["applied"],
        tuple(filter(None, row.get("users", "").split(", "))),
        row.get("layering", ""),
    )


def made(row: dict[str, str]) -> Formula:
    lines = [each.rpartition(" ")[::2] for each in split_list(row["materials"])]
    filled = [] if any(name == "Aqua" for name, _ in lines) else [Line("Aqua", "q.s.")]
    phase = Phase("A", "water", (*filled, *(Line(name, amount) for name, amount in lines)))
    return Formula("A case", (phase,), description=described(row))


def is_said(row: dict[str, str], finding: Finding) -> bool:
    words = finding.sentence.casefold()
    return all(word.casefold() in words for word in row["words"].split("&"))


@pytest.mark.parametrize("row", RULES, ids=lambda row: row["case"])
def test_what_the_united_states_ask_of_a_formula(row: dict[str, str]) -> None:
    said = [each for each in check(made(row), MATERIALS, limits("us", DAY)) if is_said(row, each)]
    if row["line"] == "not":
        assert not [each for each in said if each.severity == row["severity"]]
    else:
        assert any(
            each.severity == row["severity"] and row["law"] in f"{each.sentence} {each.source}" for each in said
        ), said


@pytest.mark.parametrize("row", WARNINGS, ids=lambda row: row["case"])
def test_what_the_law_wants_printed_on_a_label(row: dict[str, str]) -> None:
    found = label(made(row), MATERIALS, jurisdiction=cast("Jurisdiction", row["jurisdiction"]), on=DAY)
    sentences = [*(warning.sentence for warning in found.warnings), *found.cautions]
    printed = [sentence for sentence in sentences if row["words"] in sentence]
    told = [each for each in found.findings if each.place.field == "cautions" and row["words"] in each.sentence]
    assert bool(printed) is (row["line"] == "printed"), sentences
    assert bool(told) is (row["line"] != "absent"), found.findings
    assert row["law"] in " ".join(each.source for each in told)


def test_there_are_as_many_cases_as_were_asked_for() -> None:
    names = [row["case"] for row in (*RULES, *WARNINGS)]
    assert len(names) >= 80
    assert len(set(names)) == len(names)
