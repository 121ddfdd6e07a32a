"""What Annex IV says of the colourants of a product."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.label.colourants import colourants
from kit.library.description import Description
from tests.label.made import listed, product, said

RINSED = "stop: CI 45100 is for other products: rinse-off only."

OUTSIDE = (
    "stop: CI 99999 is not among the colourants of Annex IV, and a colour may come from that list alone. Take another."
)


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
        ("CI 10316", "0.1", "leave-on", None),
        ("CI 42090", "0.1", "leave-on", None),
        (
            "CI 99999",
            "0.1",
            "leave-on",
            OUTSIDE,
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


def test_a_mineral_that_shines_is_told_apart_from_a_colour() -> None:
    (sentence,) = [each for each in said(listed(product(("Aqua", "q.s."), ("CI 77019", "1")))) if "Annex" in each]
    assert sentence.startswith("caution: CI 77019 is not in Annex IV. Where it does not colour, it is listed under its")


def test_what_dyes_hair_may_be_in_another_annex() -> None:
    dye = replace(product(("Aqua", "q.s."), ("CI 99999", "1")), description=Description("rinse-off", "hair dye"))
    (sentence,) = [each for each in said(listed(dye)) if "Annex" in each]
    assert sentence.startswith("caution: CI 99999 is not in Annex IV. What dyes hair may be in Annex III instead")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (
            "CI 42090",
            "note: CI 42090 may only come from a lot that the Food and Drug Administration certified, as FD&C Blue",
        ),
        ("CI 77491", ""),
        ("CI 10006", ""),
        ("CI 99999", "caution: CI 99999 is not among the colour additives of the United States that the kit has."),
    ],
)
def test_what_the_united_states_ask_beside_the_check(name: str, words: str) -> None:
    """Where a colour may be used, the check of the formula tells."""
    found = [
        each
        for each in said(listed(product(("Aqua", "q.s."), (name, "0.1")), "us"))
        if "colour add" in each or "lot" in each
    ]
    assert [each.startswith(words) for each in found] == ([True] if words else [])


def test_a_colour_of_the_united_states_is_found_by_its_name_there() -> None:
    assert colourants("us")["fd c red no 40"].name == "CI 16035"
    assert colourants("us")["henna"].holds_for == "hair | scalp; not eye area"
