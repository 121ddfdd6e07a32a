"""The window of allowed ratios against brute force, and against a linear programme that knows no ratio."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from kit.demos import demo
from kit.formula.checks import check
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.requirements import requirements
from kit.layers.ratio import RatioPath
from kit.layers.window import Window, window, window_of
from kit.library.description import Description
from kit.library.table import limits
from tests.layers.some_formulas import materials_of, ruled_formulas, two_layers, with_rules
from tests.present import present

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind

#: Ratios nearer to an end than this are left to the exact tests: HiGHS itself works to 1e-7.
NEAR = 1e-5


def keeps_every_rule(formula: Formula, percents: list[float]) -> bool:
    """Every limit and rule, straight from the words: sums over substances, and over layers."""
    materials = materials_of(formula)
    named = [(formula.phases[p].kind, line.material) for p, _, line, _ in formula.each_line()]
    if min(percents) < -1e-9:
        return False
    found: dict[str, float] = {}
    for (_, name), percent in zip(named, percents, strict=True):
        for substance, share in materials.substances(name).items():
            found[substance] = found.get(substance, 0.0) + percent * share / 100
    for limit in limits():
        if limit.applies_to(formula.description):
            counted = 0.0
            for substance in limit.substances:
                known = materials.ingredient(substance)
                mass = known.molar_mass.value if known and known.molar_mass else None
                counted += found.get(substance, 0.0) * limit.factor(mass)
            if counted > limit.max_percent + 1e-9:
                return False
    for rule in formula.rules:
        if not any(rule.material in materials.substances(name) for _, name in named):
            continue  # it is in no line, so its rule says nothing
        inside = [(n, x) for (kind, n), x in zip(named, percents, strict=True) if rule.of in ("whole", kind)]
        of = 100.0 if rule.of == "whole" else sum(x for _, x in inside)
        amount = sum(x * materials.substances(n).get(rule.material, 0.0) / 100 for n, x in inside)
        if (rule.low or 0) * of / 100 > amount + 1e-9:
            return False
        if rule.high is not None and amount > rule.high * of / 100 + 1e-9:
            return False
    return True


def programme(formula: Formula) -> tuple[float, float] | None:
    """Least and most oil layer with the percents themselves as unknowns; None where there is no solution."""
    required = requirements(formula, materials_of(formula), limits())
    named = [(formula.phases[p].kind, line) for p, _, line, _ in formula.each_line()]
    percents = [present(x) for phase in formula.percents for x in phase]
    count = len(percents)
    equal, to = [[1.0] * count], [float(sum(percents))]
    for n, (kind, line) in enumerate(named):
        if kind == "other" or line.hold == "level":
            equal.append([float(m == n) for m in range(count)])
            to.append(percents[n])
    for kind in ("water", "oil"):
        members = [n for n in range(count) if named[n][0] == kind]
        total = sum(percents[n] for n in members)
        shares = [n for n in members if named[n][1].hold == "share"]
        if any(named[n][1].hold == "fill" for n in members):
            for n in shares:
                equal.append([(m == n) - percents[n] / total * (m in members) for m in range(count)])
                to.append(0.0)
        else:
            first, *others = sorted(shares, key=lambda n: -percents[n])
            for n in others:
                equal.append([(m == n) - percents[n] / percents[first] * (m == first) for m in range(count)])
                to.append(0.0)
    oil = [float(kind == "oil") for kind, _ in named]
    ends = []
    for sign in (1.0, -1.0):
        solved = linprog(
            [sign * weight for weight in oil],
            A_ub=[list(r.weights) for r in required] or None,
            b_ub=[r.bound for r in required] or None,
            A_eq=equal,
            b_eq=to,
            bounds=(0, None),
            method="highs",
        )
        if solved.status == 2:
            return None
        assert solved.status == 0, solved.message
        ends.append(sign * solved.fun)
    return ends[0], ends[1]


def found_for(formula: Formula) -> Window:
    """The window of laws and own rules alone; tests/layers/test_habits_along.py has that of habits."""
    return window_of(RatioPath.of(formula), requirements(formula, materials_of(formula), limits()))


@settings(max_examples=120)
@given(ruled_formulas())
def test_the_ends_are_those_of_the_linear_programme(formula: Formula) -> None:
    found, expected = found_for(formula), programme(formula)
    if expected is None:
        assert not found.is_open or found.high - found.low < NEAR
    else:
        assert found.broken_everywhere == ()
        assert (found.low, found.high) == pytest.approx(expected, abs=NEAR)


def compare_on_a_grid(formula: Formula, steps: int) -> Window:
    found, path = found_for(formula), RatioPath.of(formula)
    for n in range(steps + 1):
        oil = path.most * n / steps
        if min(abs(oil - found.low), abs(oil - found.high)) > NEAR:
            assert found.holds(oil) is keeps_every_rule(formula, path.percents(oil)), oil
    return found


@settings(max_examples=30)
@given(ruled_formulas())
def test_inside_every_rule_holds_and_outside_one_is_broken(formula: Formula) -> None:
    compare_on_a_grid(formula, 40)


def test_a_fixed_set_of_formulas_shows_every_kind_of_window() -> None:
    random = Random(7)
    kinds = set()
    for _ in range(60):
        found = compare_on_a_grid(with_rules(two_layers(random), random), 20)
        if found.broken_everywhere:
            kinds.add("broken everywhere")
        elif not found.is_open:
            kinds.add("empty")
        else:
            kinds.add("open")
    assert kinds == {"broken everywhere", "empty", "open"}


@given(ruled_formulas(), st.floats(0, 1))
def test_every_crossing_named_in_the_picture_is_one(formula: Formula, part: float) -> None:
    found, path = found_for(formula), RatioPath.of(formula)
    named = {r.name: r for r in requirements(formula, materials_of(formula), limits())}
    for end in found.ends:
        assert 0 < end.at < path.most
        if end.rule in named:
            away = end.at + (1 if end.side == "from" else -1) * part * path.most
            assert named[end.rule].slack(path.percents(end.at)) == pytest.approx(0, abs=1e-7)
            assert named[end.rule].slack(path.percents(away)) >= -1e-7


def test_the_demo_by_hand() -> None:
    found = found_for(demo())
    # 0.1 % Parfum keeps its level, and its own rule allows 1 % of the oil layer: 0.1 / 0.01 = 10 % oil.
    assert found.low == pytest.approx(10)
    assert found.low_end.rule == "Parfum at most 1 % of the oil layer"
    # 0.4 % Sodium Benzoate keeps its level, at most 0.6 % of the water layer: 100 - 0.4 / 0.006 = 33.33 % oil.
    assert found.high == pytest.approx(100 - 0.4 / 0.006)
    assert found.high_end.rule == "Sodium Benzoate at most 0.6 % of the water layer"
    assert found.low_end.source == found.high_end.source == "the maker's own rule"
    assert found.findings == []


def plain(*rules: Rule, parfum: str = "0.1") -> Formula:
    return Formula(
        "Shake",
        (
            Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4", "level"))),
            Phase("Oil", "oil", (Line("Squalane", "20", "fill"), Line("Parfum", parfum, "level"))),
        ),
        rules=rules,
    )


def test_without_rules_the_window_ends_where_a_filling_line_has_nothing_left() -> None:
    found = found_for(plain())
    assert (found.low, found.high) == pytest.approx((0.1, 96))
    assert found.low_end.rule == "Squalane needs room in its layer"
    assert found.high_end.rule == "Aqua needs room in its layer"
    assert found.low_end.place.phase == 1
    assert found.holds(found.low)
    assert not found.holds(found.low - 1e-6)
    assert not found.holds(found.high + 1e-6)


def test_an_empty_window_names_both_rules_and_their_ends() -> None:
    found = found_for(plain(Rule("Parfum", high=0.25, of="oil"), Rule("Glycerin", high=5, of="water")))
    # 0.1 / 0.0025 = 40 % oil at least; 100 - 4 / 0.05 = 20 % oil at most.
    assert not found.is_open
    assert not found.holds(30)
    (finding,) = found.findings
    assert finding.severity == "stop"
    assert finding.sentence == (
        "No ratio satisfies both: an oil layer of at least 40.00 % (Parfum at most 0.25 % of the oil layer) and one "
        "of at most 20.00 % (Glycerin at most 5 % of the water layer). Relax one of the two."
    )


def test_a_rule_beyond_the_axis_reads_as_a_sentence_too() -> None:
    found = found_for(plain(Rule("Parfum", high=0.08, of="oil")))
    assert found.low == pytest.approx(0.1 / 0.0008)
    assert "at least 125.00 % (Parfum at most 0.08 % of the oil layer)" in found.findings[0].sentence


def test_a_rule_that_no_ratio_can_keep_is_named() -> None:
    found = found_for(plain(Rule("Parfum", low=0.5), Rule("Parfum", low=1, high=2)))
    assert found.broken_everywhere == ("Parfum at least 0.5 %", "Parfum at least 1 %")
    assert not found.is_open
    (finding,) = found.findings
    assert finding.severity == "stop"
    assert finding.sentence.startswith("No ratio helps here: Parfum at least 0.5 %; Parfum at least 1 %.")


def test_a_rule_about_what_is_in_no_line_does_not_close_the_window() -> None:
    left_over = found_for(plain(Rule("Tocopherol", low=1), Rule("Tocopherol", low=3, of="oil")))
    assert left_over == found_for(plain())
    assert left_over.is_open


@settings(max_examples=60)
@given(ruled_formulas(), st.floats(0.001, 0.999))
def test_check_agrees_with_the_window(formula: Formula, part: float) -> None:
    found = found_for(formula)
    oil = found.low + part * (found.high - found.low)
    if not found.is_open or not found.high - found.low > NEAR:
        return
    moved = RatioPath.of(formula).at(oil)
    said = [finding.sentence for finding in check(moved, materials_of(moved), limits())]
    assert [s for s in said if "your own rule asks" in s or "the limit" in s or "not permitted" in s] == []


@pytest.mark.parametrize("layer", ["oil", "water"])
def test_an_end_that_must_not_be_reached_is_open_and_says_so(layer: PhaseKind) -> None:
    """REACH, Annex XVII, entry 70: 0.1 % itself is too much."""
    lines: dict[PhaseKind, list[Line]] = {
        "water": [Line("Aqua", "q.s.", "fill")],
        "oil": [Line("Squalane", "20", "fill")],
    }
    lines[layer].append(Line("Cyclopentasiloxane", "0.09"))
    formula = Formula(
        "Rinse",
        tuple(Phase(kind, kind, tuple(each)) for kind, each in lines.items()),
        description=Description(product_kind="rinse-off"),
    )
    materials = materials_of(formula)
    found = window(formula, materials, limits())
    end = found.high_end if layer == "oil" else found.low_end
    assert (end.rule, end.is_open) == ("Cyclopentasiloxane below 0.1 %", True)
    assert end.word == ("below" if layer == "oil" else "above")
    path = RatioPath.of(formula)
    exactly = 20.09 * 0.1 / 0.09 if layer == "oil" else 100 - 80 * 0.1 / 0.09
    assert end.at == pytest.approx(exactly, abs=1e-4)
    assert not found.holds(exactly)
    for oil, broken in ((exactly, True), (exactly - 0.001, layer == "water"), (exactly + 0.001, layer == "oil")):
        told = [f for f in check(path.at(oil), materials, limits()) if "Cyclopentasiloxane" in f.sentence]
        assert any(f.severity == "stop" for f in told) == broken
