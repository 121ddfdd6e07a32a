"""Habits of the trade along the ratio: their ends against brute force, and what is said beside the window."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.demos import demo
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.requirements import requirements
from kit.formula.usual_ranges import habits_along, usual_of
from kit.layers.ratio import RatioPath
from kit.layers.window import BEYOND, Window, window, window_of
from kit.library.description import Description
from kit.library.table import limits
from tests.layers.some_formulas import materials_of, ruled_formulas

NEAR = 1e-5


def found_for(formula: Formula) -> Window:
    return window(formula, materials_of(formula), limits())


def hard(formula: Formula) -> Window:
    return window_of(RatioPath.of(formula), requirements(formula, materials_of(formula), limits()))


def within(formula: Formula, percents: list[float], name: str) -> tuple[bool, bool]:
    """Whether a material keeps the low and the high end of its range in its layer, straight from the words."""
    materials = materials_of(formula)
    ingredient = materials.ingredient(name)
    assert ingredient is not None
    named = [(formula.phases[p].kind, line.material) for p, _, line, _ in formula.each_line()]
    of = usual_of(ingredient).layer
    inside = [(n, x) for (kind, n), x in zip(named, percents, strict=True) if kind == of]
    amount = sum(x * materials.substances(n).get(name, 0.0) / 100 for n, x in inside)
    layer = sum(x for _, x in inside)
    low, high = ingredient.usual_low, ingredient.usual_high
    return (
        low is None or amount >= low.value / 100 * layer - 1e-9,
        high is None or amount <= high.value / 100 * layer + 1e-9,
    )


@settings(max_examples=60)
@given(ruled_formulas(), st.floats(0, 1))
def test_the_ends_of_habits_agree_with_brute_force(formula: Formula, part: float) -> None:
    path = RatioPath.of(formula)
    kept, _ = habits_along(formula, materials_of(formula))
    oil = path.most * part
    percents = path.percents(oil)
    found = window_of(path, kept)
    for habit in kept:
        name = habit.name.partition(" in the ")[0].partition(" usually ")[0]
        slack = habit.slack(percents)
        if abs(slack) > NEAR:
            assert within(formula, percents, name)["most" in habit.name] is (slack > 0)
    if min(percents) > NEAR and min(abs(oil - found.low), abs(oil - found.high)) > NEAR:
        assert found.holds(oil) is all(habit.slack(percents) >= -1e-9 for habit in kept)


@settings(max_examples=60)
@given(ruled_formulas())
def test_habits_narrow_a_window_and_never_close_it(formula: Formula) -> None:
    wide, found = hard(formula), found_for(formula)
    assert found.is_open is wide.is_open
    assert found.findings == wide.findings
    if wide.is_open:
        assert wide.low - 1e-9 <= found.low <= found.high + 1e-9
        assert found.high <= wide.high + 1e-9


def test_the_demo_by_hand() -> None:
    found = found_for(demo())
    assert found.low == pytest.approx(10)
    assert found.low_end.kind == "own rule"
    # 0.2 % Potassium Sorbate keeps its level, 3.5 % of a stock with 0.2 % of it keep their share of the 85 % water:
    # (0.2 + 0.007 W / 85) / W = 0.3 %, so W = 0.2 / (0.003 - 0.007 / 85).
    assert found.high == pytest.approx(100 - 0.2 / (0.003 - 0.00007 / 0.85), abs=0.01)
    assert found.high_end.rule == "Potassium Sorbate in the water layer usually at most 0.3 %"
    assert (found.high_end.kind, found.high_end.source, found.high_end.price) == ("habit", "common practice", 0)


def shake(*water: tuple[str, str, str], oil: tuple[tuple[str, str, str], ...] = (), **more: object) -> Formula:
    phases = (
        Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), *(Line(*line) for line in water))),  # type: ignore[arg-type]
        Phase("Oil", "oil", (Line("Squalane", "20", "fill"), *(Line(*line) for line in oil))),  # type: ignore[arg-type]
    )
    return Formula("Shake", phases, **more)  # type: ignore[arg-type]


def test_a_preservative_that_keeps_its_percent_of_the_whole_ends_the_window_in_the_water() -> None:
    """0.6 % of the whole is 1 % of the water where that is 60 %, and 0.5 % of it only beyond what there is."""
    found = found_for(shake(("Phenoxyethanol", "0.6", "level")))
    assert (found.high_end.rule, found.high_end.kind) == (
        "Phenoxyethanol in the water layer usually at most 1 %",
        "habit",
    )
    assert found.high == pytest.approx(40)
    assert found.low_end.kind == ""
    assert found.findings == []


def test_one_that_keeps_its_share_of_the_water_ends_nothing() -> None:
    found = found_for(shake(("Phenoxyethanol", "0.6", "share")))
    assert found.high == pytest.approx(100)
    assert [end.rule for end in found.ends if end.kind == "habit"] == []
    assert "2 habits of the trade" in found.judged


def test_own_rules_stand_in_place_of_a_habit_at_their_end() -> None:
    found = found_for(shake(("Phenoxyethanol", "0.6", "level"), rules=(Rule("Phenoxyethanol", high=2, of="water"),)))
    assert found.high_end.rule == "Phenoxyethanol at most 2 % of the water layer"
    assert found.high == pytest.approx(70)


def test_what_is_passed_already_ends_nothing_and_is_said() -> None:
    found = found_for(shake(("Phenoxyethanol", "0.9", "level")))  # 1.1 % of the water
    assert found.high_end.kind == ""  # at 0.9 % of the whole everywhere, the law's 1 % ends nothing
    assert "Phenoxyethanol in the water layer usually at most 1 %" in found.beside
    assert found.beside.startswith("Judged along the ratio: 1 limit of the law")
    assert found.beside.endswith(f"{BEYOND}.")


def test_a_habit_stays_an_end_while_the_ratio_is_moved_beyond_it() -> None:
    formula = shake(("Phenoxyethanol", "0.6", "level"))
    beyond = RatioPath.of(formula).at(50)
    assert found_for(beyond).high == pytest.approx(40)
    assert not found_for(beyond).holds(50)


def test_in_an_emulsion_the_range_is_one_of_the_whole() -> None:
    formula = shake(("Phenoxyethanol", "0.9", "level"))
    emulsion = replace(formula, description=Description(layering="emulsified"))
    kept, passed = habits_along(emulsion, materials_of(emulsion))
    assert [habit.name for habit in kept] == [
        "Phenoxyethanol usually at least 0.5 %",
        "Phenoxyethanol usually at most 1 %",
    ]
    assert passed == []


def test_the_materials_that_nothing_speaks_of_are_named() -> None:
    found = found_for(shake(("Propanediol", "4", "share"), oil=(("Coco-Caprylate", "3", "share"),)))
    assert "the amounts of Squalane and Coco-Caprylate" in found.beside
    assert found_for(shake()).judged == "no rule but arithmetic"
