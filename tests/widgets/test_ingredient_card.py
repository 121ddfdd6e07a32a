"""The card of an ingredient: its HLB in one line, with the source beside it."""

from __future__ import annotations

import pytest

from kit.library.library import Library
from kit.library.table import limits
from kit.widgets.ingredient_card import ingredient_card
from tests.present import present


@pytest.mark.parametrize(
    ("name", "value", "source"),
    [
        ("Laureth-4", "9.7, makes o/w. 4 ethylene oxide on lauryl alcohol.", "W. C. Griffin, Journal of the Society"),
        ("beeswax", "asks for 12 in o/w. Older lists say 9.", "OCL - Oilseeds and fats"),
        ("Polysorbate 40", "15.6, makes o/w.", "from memory"),
    ],
)
def test_the_hlb_stands_with_its_source(name: str, value: str, source: str) -> None:
    card = ingredient_card(present(Library.bundled().get(name)), limits())
    line = next(line for line in card.split("<tr") if value in line)
    assert ">HLB<" in line
    assert source in line


def test_what_has_no_hlb_has_no_line_of_it() -> None:
    assert ">HLB<" not in ingredient_card(present(Library.bundled().get("Aqua")), limits())
