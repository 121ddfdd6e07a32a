"""What Annex IV says of the colourants of a product."""

from __future__ import annotations

import pytest

from kit.label.gathering import colourants
from tests.label.made import listed, product, said

RINSED = "stop: CI 45100 is for other products: rinse-off only."


@pytest.mark.parametrize(
    ("name", "percent", "kind", "words"),
    [
        (
            "CI 45100",
            "0.01",
            "leave-on",
            RINSED,
        ),
        ("CI 45100", "0.01", "rinse-off", None),
        ("CI 45350", "6", "leave-on", None),
        ("CI 45350", "6.1", "leave-on", "stop: CI 45350 is at 6.1 %; the most is 6 %."),
        ("CI 10316", "0.1", "leave-on", "note: Annex IV restricts CI 10316: not eye products."),
        ("CI 42090", "0.1", "leave-on", None),
        (
            "CI 99999",
            "0.1",
            "leave-on",
            "caution: CI 99999 is not among the colourants of Annex IV that the kit has. Look it up before you use it.",
        ),
    ],
)
def test_restrictions_are_told(name: str, percent: str, kind: str, words: str | None) -> None:
    found = [
        each for each in said(listed(product(("Aqua", "q.s."), (name, percent), kind=kind))) if "library" not in each
    ]
    assert found == ([words] if words else [])


def test_the_source_names_the_entry() -> None:
    (finding,) = [
        each for each in listed(product(("Aqua", "q.s."), ("CI 45100", "0.1"))).findings if each.severity == "stop"
    ]
    assert finding.source == "Regulation (EC) No 1223/2009 on cosmetic products, Annex IV, entry 71"


def test_a_colourant_is_found_by_its_other_name() -> None:
    assert colourants()["paprika"].name == "Capsanthin"
    assert colourants()["zinc oxide"].name == "CI 77947"
