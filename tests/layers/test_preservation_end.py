"""Where a least level in the water is reached: exact and by a root finder, in the window and in words."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.requirements import requirements
from kit.layers.preservation import KUsed, Layout, preservative_levels
from kit.layers.preservation_end import _crossings, _reached, level_curve, preservation_end
from kit.layers.preservatives import find_preservatives
from kit.layers.ratio import RatioPath
from kit.layers.window import window_of
from tests.layers.preservation_made import DEMO, LIBRARY, MATERIALS, product

if TYPE_CHECKING:
    from kit.layers.preservation import Reading

ks = st.floats(1e-3, 1e3)


def test_the_exact_end_is_the_one_of_the_rule_in_the_window() -> None:
    """The demo's own rule, at least 0.42 % sodium benzoate of the water layer, in the same window by another road."""
    path = RatioPath.of(DEMO)
    rule = next(end for end in window_of(path, requirements(DEMO, MATERIALS, ())).ends if "at least 0.42" in end.rule)
    found = find_preservatives(DEMO, MATERIALS)[0]
    reached = preservation_end(
        found, Layout.of(DEMO, MATERIALS), 0.42 * 122.12 / 144.10, reading="simple", k=KUsed(1, "any")
    )
    assert reached.method == "exact"
    assert reached.end is not None
    assert reached.end.at == pytest.approx(rule.at, abs=1e-9)
    assert reached.end.side == rule.side


def test_an_exact_end_is_one_division_and_lies_within_what_is_possible() -> None:
    """By hand: 1 % stays while the water layer is 100 - x %, so its level is 100 ÷ (100 - x) %, which only rises."""
    formula = product(("water", "Aqua", 79), ("water", "Phenoxyethanol", 1), ("oil", "Squalane", 20))
    materials = Materials.of(formula, LIBRARY)
    layout, found = Layout.of(formula, materials), find_preservatives(formula, materials)[0]
    assert (layout.low, layout.high) == (0, 99)
    for least, ends, holds in (
        (0.5, [], "everywhere"), (1.0, [0], "between"), (1.25, [20], "between"), (5, [80], "between"),
        (100, [99], "between"), (101, [], "nowhere"),
    ):  # fmt: skip
        reached = preservation_end(found, layout, least, reading="simple", k=KUsed(1, "any"))
        assert [end.at for end in reached.ends] == pytest.approx(ends), least
        assert {end.side for end in reached.ends} <= {"from"}
        assert (reached.holds, reached.method, reached.is_monotone) == (holds, "exact", True)
    assert preservation_end(found, layout, 2, reading="partition", k=KUsed(0.01, "any")).method == "root finder"


def test_a_preservative_that_is_a_share_of_its_layer_has_one_level_and_no_end() -> None:
    """By hand: 1 % of the 80 % that are the water layer is 1.25 % of it at every ratio."""
    water = Phase("W", "water", (Line("Aqua", "q.s.", "fill"), Line("Phenoxyethanol", "1", "share")))
    formula = Formula("Shake", (water, Phase("O", "oil", (Line("Squalane", "20", "share"),))))
    materials = Materials.of(formula, LIBRARY)
    layout, found = Layout.of(formula, materials), find_preservatives(formula, materials)[0]
    for least, holds in ((1.24, "everywhere"), (1.25, "everywhere"), (1.26, "nowhere")):
        reached = preservation_end(found, layout, least, reading="simple", k=KUsed(1, "any"))
        assert (reached.ends, reached.holds) == ((), holds)


@given(k=ks, ph=st.floats(3, 6), least=st.floats(0.005, 0.4), undissociated=st.booleans())
def test_each_end_is_where_the_level_is_the_least_one(k: float, ph: float, least: float, undissociated: bool) -> None:
    layout, found = Layout.of(DEMO, MATERIALS), find_preservatives(DEMO, MATERIALS)[0]
    reading: Reading = "undissociated" if undissociated else "whole"
    reached = preservation_end(found, layout, least, reading=reading, k=KUsed(k, "any"), ph=ph)

    def level(oil: float) -> float:
        one = preservative_levels(DEMO, MATERIALS, oil, ph, {"Benzoic Acid": k, "Sorbic Acid": 1})[0]
        return one.percent(reading) or 0.0

    for end in reached.ends:
        assert level(end.at) == pytest.approx(least, rel=1e-6)
        inside, outside = (0.02, -0.02) if end.side == "from" else (-0.02, 0.02)
        if layout.low < end.at - 0.02 and end.at + 0.02 < layout.high and len(reached.ends) == 1:
            assert level(end.at + inside) >= level(end.at + outside)
    if not reached.ends:
        middle = level((layout.low + layout.high) / 2)
        assert (middle >= least) == (reached.holds == "everywhere")


@given(k=ks, least=st.floats(0.01, 0.3))
@example(k=15.25, least=0.01)  # within the last step before the water is used up
def test_a_closed_form_in_mass_and_volume_agrees(k: float, least: float) -> None:
    """For a neutral preservative that keeps its level, 100 M V = L m (V + K O) is one quadratic in the oil layer."""
    import numpy as np

    formula = product(("water", "Aqua", 79.7), ("water", "Iodopropynyl Butylcarbamate", 0.3), ("oil", "Squalane", 20))
    materials = Materials.of(formula, LIBRARY)
    layout, found = Layout.of(formula, materials), find_preservatives(formula, materials)[0]
    found = replace(found, about=replace(found.about, solubility=None))
    # with ideal volumes at this weak strength, both volumes are straight lines
    line = [
        np.polynomial.Polynomial.fit((5, 60), [layout.volume(kind, x) for x in (5, 60)], 1).convert()
        for kind in ("water", "oil")
    ]
    (volume, oil), mass = line, np.polynomial.Polynomial(layout.water_mass)
    equation = 100 * 0.3 * volume - least * mass * (volume + k * oil)
    solved = [complex(x) for x in equation.roots()]
    roots = [x.real for x in solved if abs(x.imag) < 1e-9 and layout.low + 1e-3 < x.real < layout.high - 1e-3]
    reached = preservation_end(found, layout, least, reading="partition", k=KUsed(k, "any"))
    ends = [end.at for end in reached.ends if layout.low + 1e-3 < end.at < layout.high - 1e-3]
    assert ends == pytest.approx(sorted(roots), abs=1e-6)


def test_an_end_joins_the_window() -> None:
    path, layout = RatioPath.of(DEMO), Layout.of(DEMO, MATERIALS)
    found = find_preservatives(DEMO, MATERIALS)[0]
    reached = preservation_end(found, layout, 0.06, reading="undissociated", k=KUsed(10, "your K"), ph=4.6)
    wide = window_of(path, requirements(DEMO, MATERIALS, ()))
    narrow = window_of(path, requirements(DEMO, MATERIALS, ()), reached.ends)
    assert narrow.high < wide.high
    assert narrow.low == wide.low
    assert narrow.high_end.rule == "undissociated Benzoic Acid at least 0.06 % of the water layer, estimated with K 10"
    assert reached.end is not None
    assert narrow.high == reached.end.at


def test_a_level_that_turns_is_said_to_turn() -> None:
    layout = Layout.of(DEMO, MATERIALS)
    middle, width = (layout.low + layout.high) / 2, (layout.high - layout.low) / 4
    crossings, is_monotone = _crossings(lambda oil: width**2 - (oil - middle) ** 2, layout)
    assert not is_monotone
    assert crossings == pytest.approx([middle - width, middle + width], abs=1e-9)
    crossings, is_monotone = _crossings(lambda oil: oil - middle, layout)
    assert is_monotone
    assert crossings == pytest.approx([middle], abs=1e-9)


def test_each_end_of_a_level_that_turns_often_has_the_side_on_which_it_holds() -> None:
    layout = Layout.of(DEMO, MATERIALS)
    low, width = layout.low, layout.high - layout.low

    def room(oil: float) -> float:
        return math.sin(40 * math.pi * (oil - low) / width - 0.5)

    # A sine that starts below 0 rises through it at every second zero: at (n pi + 0.5) / (40 pi) of the way.
    places = [low + width * (n * math.pi + 0.5) / (40 * math.pi) for n in range(40)]
    crossings, is_monotone = _crossings(room, layout)
    reached = _reached(crossings, room, layout, "it", exact=False, is_monotone=is_monotone)
    assert [end.at for end in reached.ends] == pytest.approx(places, abs=1e-9)
    assert [end.side for end in reached.ends] == ["from", "to"] * 20
    assert (reached.holds, reached.end, reached.is_monotone) == ("between", None, False)


def test_an_end_at_the_edge_of_what_is_possible_has_its_side_too() -> None:
    layout = Layout.of(DEMO, MATERIALS)
    for at, sign, side in ((layout.low, 1.0, "from"), (layout.low, -1.0, "to"), (layout.high, 1.0, "from")):

        def room(oil: float, at: float = at, sign: float = sign) -> float:
            return sign * (oil - at)

        found = _reached([at], room, layout, "it", exact=True, is_monotone=True)
        assert [(end.at, end.side) for end in found.ends] == [(at, side)]


def test_what_is_said_where_there_is_not_one_end() -> None:
    layout, found = Layout.of(DEMO, MATERIALS), find_preservatives(DEMO, MATERIALS)[0]
    never = preservation_end(found, layout, 50, reading="partition", k=KUsed(10, "your K"))
    assert (never.holds, never.end) == ("nowhere", None)
    assert "no ratio reaches it. Put in more, or think of another preservative or pH." in str(never.finding())
    always = preservation_end(found, layout, 1e-6, reading="partition", k=KUsed(10, "your K"))
    assert (always.holds, always.finding()) == ("everywhere", None)
    one = preservation_end(found, layout, 0.2, reading="partition", k=KUsed(5, "your K"))
    assert one.finding() is None
    twice = replace(one, ends=(*one.ends, replace(one.ends[0], at=70.0)))
    assert "the level turns on its way and crosses this at" in str(twice.finding())
    assert twice.end is None


@pytest.mark.parametrize(
    ("least", "reading", "ph", "words"),
    [
        (0.0, "simple", 4.6, "A least level of 0 % asks for nothing. Give it above 0"),
        (0.1, "whole", None, "Benzoic Acid: all forms in the water.* because the pH of the water layer was not given"),
    ],
)
def test_a_least_level_that_cannot_be_asked(least: float, reading: str, ph: float | None, words: str) -> None:
    layout, found = Layout.of(DEMO, MATERIALS), find_preservatives(DEMO, MATERIALS)[0]
    with pytest.raises(RangeError, match=words):
        preservation_end(found, layout, least, reading=reading, k=KUsed(1, "any"), ph=ph)  # type: ignore[arg-type]


def test_without_a_pka_the_undissociated_part_cannot_be_asked() -> None:
    formula = product(("water", "Aqua", 69.5), ("water", "Piroctone Olamine", 0.5), ("oil", "Squalane", 30))
    materials = Materials.of(formula, LIBRARY)
    found = find_preservatives(formula, materials)[0]
    with pytest.raises(RangeError, match=r"because its pKa is not known\. Count the whole of it instead"):
        preservation_end(found, Layout.of(formula, materials), 0.1, reading="undissociated", k=KUsed(1, "any"), ph=5)


def test_a_curve_passes_through_the_levels() -> None:
    layout, found = Layout.of(DEMO, MATERIALS), find_preservatives(DEMO, MATERIALS)[0]
    curve = level_curve(found, layout, "whole", KUsed(5, "your K"), 4.6, 60)
    assert curve.name == "K 5, your K"
    assert curve.points[0][0] == layout.low
    assert curve.points[-1][0] == pytest.approx(60)
    for oil, percent in curve.points[::15]:
        level = preservative_levels(DEMO, MATERIALS, oil, 4.6, {"Benzoic Acid": 5, "Sorbic Acid": 1})[0]
        assert level.percent("whole") == pytest.approx(percent, rel=1e-12)


def test_a_curve_is_named_by_what_it_counts_and_lies_closer_near_its_ends() -> None:
    layout, found = Layout.of(DEMO, MATERIALS), find_preservatives(DEMO, MATERIALS)[0]
    simple = level_curve(found, layout, "simple", KUsed(5, "your K"), None)
    none = level_curve(found, layout, "partition", KUsed(0, "your K"), None)
    guessed = level_curve(found, layout, "partition", KUsed(5, "a guess", is_known=False), None)
    assert [(one.name, one.is_simple, one.is_known) for one in (simple, none, guessed)] == [
        ("none of it in the oil", True, True), ("none of it in the oil", True, True), ("K 5", False, False),
    ]  # fmt: skip
    width = layout.high - layout.low
    places = [(oil - layout.low) / width for oil, _ in guessed.points]
    # (1 - cos) / 2 of sixty even steps of half a turn
    assert places == pytest.approx([math.sin(math.pi * n / 120) ** 2 for n in range(61)], abs=1e-12)
    beyond = level_curve(found, layout, "partition", KUsed(5, "your K"), None, upto=1000.0)
    assert beyond.points[-1][0] == pytest.approx(layout.high)


def test_a_level_that_only_falls_does_not_turn() -> None:
    layout = Layout.of(DEMO, MATERIALS)
    middle = (layout.low + layout.high) / 2
    for room in (lambda oil: middle - oil, lambda _: 1.0, lambda _: -1.0):
        assert _crossings(room, layout)[1]
