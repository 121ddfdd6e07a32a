"""HLB by any name, and its line on the card of an ingredient."""

from __future__ import annotations

import pytest

from kit.library.hlb import hlb_of
from kit.library.library import Library
from kit.library.sources import source_text


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Sorbitan Oleate", ["4.3, makes w/o"]),
        ("sorbitan monooleate", ["4.3, makes w/o"]),
        ("POLYSORBATE 80", ["15, makes o/w"]),
        ("Sorbitan Palmitate", ["6.7"]),
        ("beeswax", ["asks for 12 in o/w", "asks for 5 in w/o"]),
        ("lanolin", ["4, makes w/o", "asks for 10 in o/w", "asks for 8 in w/o"]),
        ("Aqua", []),
        ("unobtainium", []),
        ("", []),
    ],
)
def test_any_name_will_do_and_what_is_not_known_is_empty(name: str, words: list[str]) -> None:
    assert [figure.words for figure in hlb_of(name)] == words


def test_a_figure_says_where_it_is_from() -> None:
    (figure,) = hlb_of("Laureth-4")
    assert (figure.kind, figure.value, figure.source) == ("emulsifier", 9.7, "griffin-1954")
    assert source_text(figure.source).startswith("W. C. Griffin")
    assert figure.note


def test_most_emulsifiers_of_the_library_have_one() -> None:
    nonionic = [
        each.inci
        for each in Library.bundled()
        if "emulsifier" in each.roles and each.charge == "nonionic" and not each.composition
    ]
    without = [inci for inci in nonionic if not hlb_of(inci)]
    assert len(without) <= len(nonionic) / 8, without
