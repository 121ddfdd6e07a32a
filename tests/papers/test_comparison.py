"""Versions compared in all that follows from them, and the paper of it."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from html import unescape

import pytest
from hypothesis import given, settings

from kit.bench.price import Price
from kit.bench.price_list import PriceList, demo_prices
from kit.demos import demo
from kit.errors import RangeError
from kit.formula.editing import add_lines, move_line, remove_line, set_line
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Stock
from kit.library.library import Library
from kit.library.table import limits
from kit.papers.compared import Comparison, compared, order_changes
from kit.papers.comparison import ComparisonOptions, change_in_words, context_of
from kit.papers.registry import filled, spec_of
from tests.formula.made import formulas
from tests.pace import on_this_machine
from tests.papers.reading import Page

LIBRARY = Library.bundled()
SHAKE = demo()
HOSTILE = '<script>alert("1")</script>&amp;'


def comparison(*versions: Formula, prices: PriceList | None = None) -> Comparison:
    return compared({f"v{n}": version for n, version in enumerate(versions)}, LIBRARY, limits(), prices)


def comparison_html(found: Comparison, made_on: str = "", made_by: str = "") -> str:
    return filled(spec_of("comparison"), context_of(found, ComparisonOptions(None, made_on, made_by))).html


def words(html: str) -> str:
    body = html[html.index("<body") :]
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", body)).split())


def parsed(html: str) -> str:
    """What the paper says, once a parser that forgives nothing has read it."""
    assert Page(html).faults() == []
    return words(html)


def test_the_same_twice_is_no_change_at_all() -> None:
    found = comparison(SHAKE, SHAKE, prices=demo_prices())
    assert found.overall.is_empty
    assert found.overall.declared("eu") == found.overall.declared("us") == ()
    assert "Nothing changed." in parsed(comparison_html(found))


def test_what_a_change_did_to_findings_cost_density_and_declaration() -> None:
    bare = remove_line(remove_line(SHAKE, 0, 5), 0, 4)
    more = set_line(bare, 0, 1, entry="8")
    found = comparison(SHAKE, more, prices=demo_prices())
    before, after = found.versions
    assert before.cost is not None
    assert after.cost is not None
    assert (found.currency, after.cost.is_complete) == ("EUR", True)
    assert after.cost.amount > before.cost.amount - 0.05
    assert before.density is not None
    assert after.density is not None
    assert after.density > before.density
    gained = " ".join(finding.sentence for finding in found.overall.findings.gained)
    assert "preservative" in gained or "Sodium Benzoate" in gained
    (no_more,) = found.overall.findings.lost  # no preservative, no question for its pH
    assert no_more.sentence.startswith("Measure the pH of the water layer")
    assert "Glycerin now stands before Prunus Armeniaca Kernel Oil." in found.overall.declared("eu")
    assert "Sodium Benzoate is no longer there." in found.overall.declared("us")
    back = comparison(more, SHAKE, prices=demo_prices())
    assert back.overall.findings.lost == found.overall.findings.gained


def test_steps_from_version_to_version_and_over_all() -> None:
    middle = set_line(SHAKE, 0, 1, entry="5")
    found = comparison(SHAKE, middle, SHAKE)
    assert [step.is_empty for step in found.steps] == [False, False]
    assert found.overall.is_empty
    said = parsed(comparison_html(found))
    assert "What changed from v0 to v2 Nothing changed." in said
    assert "Step 1: from v0 to v1" in said
    assert "Glycerin ▲ more: 4 % to 5 %" in said
    assert "↺ changed and changed back" in said


def test_fewer_than_two_or_more_than_five_are_refused() -> None:
    with pytest.raises(RangeError, match="Choose from 2 to 5 versions to compare; 1 is chosen"):
        comparison(SHAKE)
    with pytest.raises(RangeError, match="Choose from 2 to 5 versions to compare; 6 are chosen"):
        comparison(*[SHAKE] * 6)


@settings(max_examples=25, deadline=None)
@given(formulas(), formulas())
def test_any_two_formulas_can_be_compared_on_a_paper_that_is_valid_html(a: Formula, b: Formula) -> None:
    found = comparison(a, b, prices=demo_prices())
    parsed(comparison_html(found))
    assert len(found.versions) == 2


def test_hostile_text_stays_text() -> None:
    lines = (Line("Aqua", "q.s.", "fill", HOSTILE), Line(HOSTILE, "1"))
    nasty = Formula(
        HOSTILE,
        (Phase(HOSTILE, "water", lines),),
        note=HOSTILE,
        change_note=HOSTILE,
        steps=(HOSTILE,),
        materials=(Stock(HOSTILE, {"Aqua": 100.0}),),
    )
    found = compared({HOSTILE: SHAKE, "two": nasty}, LIBRARY, limits(), demo_prices())
    html = comparison_html(found, made_on=HOSTILE, made_by=HOSTILE)
    assert HOSTILE in parsed(html)
    assert "<script" not in html


def test_a_stock_inside_itself_is_told_and_the_rest_is_compared() -> None:
    loop = (Stock("A", {"B": 100.0}), Stock("B", {"A": 100.0}))
    broken = Formula("T", (Phase("W", "water", (Line("A", "100"),)),), materials=loop)
    found = comparison(SHAKE, broken, prices=demo_prices())
    assert "A is made of itself" in found.problem
    assert found.substances == ()
    assert "A is made of itself" in parsed(comparison_html(found))
    assert found.versions[1].cost is None


def test_costs_are_left_out_without_a_list_and_at_least_where_one_is_missing() -> None:
    assert "Materials of 100 g" not in words(comparison_html(comparison(SHAKE, SHAKE)))
    few = PriceList("EUR", (Price("Aqua", 1, "kg", 1),))
    assert "at least 0.0" in words(comparison_html(comparison(SHAKE, SHAKE, prices=few)))


def test_the_paper_needs_nothing_else_and_promises_nothing() -> None:
    moved = add_lines(move_line(SHAKE, 1, 2, 0, 3), 0, 1, [Line("Urea", "1")])
    html = comparison_html(comparison(SHAKE, moved, prices=demo_prices()), made_by="Ms Invented")
    said = parsed(html)
    assert not re.search(r'(src|href)="', html)
    assert "http" not in html.replace("http-equiv", "")
    assert "→ moved from Oil layer to Water layer" in said
    assert "+ added: 1 % in Water layer" in said
    assert "Ms Invented" in said
    assert "+ new caution Tocopherol belongs in the oil layer" in said
    assert not re.search(r"\b(safe|preserved)\b", said)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (6, 4, "▼ less by 2"),
        (4, 6.5, "▲ more by 2.5"),
        (None, 1, "+ added"),
        (1, None, "− removed"),
        (None, None, ""),
        (1, 1, ""),
    ],
)
def test_a_change_has_a_sign_and_a_word(before: float | None, after: float | None, said: str) -> None:
    assert change_in_words(before, after) == said


def test_how_a_list_of_ingredients_changed() -> None:
    assert order_changes([], []) == ()
    assert order_changes(["A", "B"], ["C", "A"]) == ("C is new, in place 1.", "B is no longer there.")
    assert order_changes(["A", "B", "C"], ["C", "A", "B"]) == ("C now stands before A, B.",)


def test_three_versions_of_thirty_lines_are_compared_in_less_than_50_ms() -> None:
    names = [each.inci for each in LIBRARY][1:30]
    lines = (Line("Aqua", "q.s.", "fill"), *(Line(name, "1") for name in names))
    first = Formula("Thirty", (Phase("Water", "water", lines),))
    second = set_line(first, 0, 3, entry="2")
    third = replace(second, title="Other")
    prices = PriceList("EUR", tuple(Price(name, 1, "kg", 5) for name in names))
    comparison(first, second, third, prices=prices).overall.differences  # noqa: B018  # tables are read on first need
    times = []
    for _ in range(5):
        start = time.perf_counter()
        found = comparison(first, second, third, prices=prices)
        assert [step.is_empty for step in (*found.steps, found.overall)] == [False, False, False]
        times.append(time.perf_counter() - start)
    assert min(times) < on_this_machine(0.05)
