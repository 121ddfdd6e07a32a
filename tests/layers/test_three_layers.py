"""Three layers: the allowed region against linear programming and a fine grid."""

from __future__ import annotations

from random import Random

import pytest
from scipy.optimize import linprog

from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.moved import Ratio
from kit.formula.requirements import requirements
from kit.layers.ratio import KINDS, LayerMix, holds_at, three_layers
from kit.library.library import Library
from tests.present import present

LIBRARY = Library.bundled()


def lotion(rules: tuple[Rule, ...], benzoate: float = 0.3) -> Formula:
    water = Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), Line("Sodium Benzoate", repr(benzoate), "level")))
    oil = Phase("Oil", "oil", (Line("Squalane", "20", "fill"), Line("Parfum", "0.2", "level")))
    third = Phase("Glycol", "other", (Line("Glycerin", "25", "fill"), Line("Propanediol", "5", "share")))
    return Formula("Three", (water, oil, third), rules=rules)


RULES = (Rule("Parfum", high=1, of="oil"), Rule("Sodium Benzoate", high=1, of="water"), Rule("Glycerin", high=30))


def test_the_region_is_the_polygon_worked_out_by_hand() -> None:
    # parfum 0.2 <= 1 % of oil: oil >= 20; benzoate 0.3 <= 1 % of water: water >= 30;
    # glycerin = third x 25/30 <= 30: third <= 36
    formula = lotion(RULES)
    region = three_layers(LayerMix.of(formula, KINDS), requirements(formula, Materials.of(formula, LIBRARY), ()))
    found = {tuple(round(size, 9) for size in corner) for corner in region.corners}
    assert found == {(80.0, 20.0, 0.0), (30.0, 70.0, 0.0), (30.0, 34.0, 36.0), (44.0, 20.0, 36.0)}
    assert set(region.edges) == {
        "the other layer has nothing left",
        "Sodium Benzoate at most 1 % of the water layer",
        "Glycerin at most 30 %",
        "Parfum at most 1 % of the oil layer",
    }


def random_rules(random: Random) -> tuple[Rule, ...]:
    rules = [
        Rule("Parfum", high=random.uniform(0.3, 3), of="oil"),
        Rule("Sodium Benzoate", low=random.uniform(0.2, 0.5), of="water"),
        Rule("Sodium Benzoate", high=random.uniform(0.5, 3), of="water"),
        Rule("Glycerin", high=random.uniform(5, 60)),
        Rule("Squalane", low=random.uniform(1, 30)),
        Rule("Aqua", low=random.uniform(5, 50)),
    ]
    return tuple(random.sample(rules, random.randint(1, 6)))


def test_the_region_agrees_with_linear_programming_and_with_a_grid() -> None:
    random = Random(7)
    closed = 0
    for _ in range(200):
        formula = lotion(random_rules(random), random.uniform(0.1, 0.6))
        mix = LayerMix.of(formula, KINDS)
        required = requirements(formula, Materials.of(formula, LIBRARY), ())
        region = three_layers(mix, required)
        extremes = _by_programming(mix, required)
        if extremes is None:
            assert not region.is_open
            closed += 1
            continue
        for n in range(3):
            assert min(corner[n] for corner in region.corners) == pytest.approx(extremes[n][0], abs=1e-6)
            assert max(corner[n] for corner in region.corners) == pytest.approx(extremes[n][1], abs=1e-6)
        centre = [sum(corner[n] for corner in region.corners) / len(region.corners) for n in range(3)]
        assert holds_at(mix, required, dict(zip(KINDS, centre, strict=True))) == []
        for corner in region.corners:
            outside = [c + 0.5 * (c - m) for c, m in zip(corner, centre, strict=True)]
            if min(outside) >= 0 and max(abs(c - m) for c, m in zip(corner, centre, strict=True)) > 1e-6:
                assert holds_at(mix, required, dict(zip(KINDS, outside, strict=True)))
    assert 0 < closed < 200


def _by_programming(mix: LayerMix, required: list) -> list[tuple[float, float]] | None:  # type: ignore[type-arg]
    """Least and most of each layer by scipy, with the sizes as variables."""
    zero = mix.percents(dict.fromkeys(KINDS, 0.0))
    step = [mix.percents({kind: 1.0 if kind == only else 0.0 for kind in KINDS}) for only in KINDS]
    rows, bounds = [], []
    for rule in required:
        at_zero = rule.slack(zero)
        rows.append([at_zero - rule.slack(one) for one in step])
        bounds.append(at_zero)
    for n, fills in enumerate(mix.fills):
        if fills:
            rows.append([zero[n] - one[n] for one in step])
            bounds.append(zero[n])
    found = []
    for n in range(3):
        ends = []
        for sign in (1, -1):
            aim = [sign if m == n else 0 for m in range(3)]
            done = linprog(aim, A_ub=rows, b_ub=bounds, A_eq=[[1, 1, 1]], b_eq=[100], bounds=[(0, 100)] * 3)
            if not done.success:
                return None
            ends.append(sign * done.fun)
        found.append((ends[0], ends[1]))
    return found


def test_mass_is_kept_and_the_holds_are_kept_anywhere_on_the_triangle() -> None:
    mix = LayerMix.of(lotion(()), KINDS)
    random = Random(3)
    for _ in range(300):
        cuts = sorted(random.uniform(0, 100) for _ in range(2))
        sizes = {"water": cuts[0], "oil": cuts[1] - cuts[0], "other": 100 - cuts[1]}
        percents = mix.percents(sizes)  # type: ignore[arg-type]
        assert sum(percents) == pytest.approx(100, abs=1e-9)
        assert percents[1] == pytest.approx(0.3)  # level
        assert percents[5] == pytest.approx(sizes["other"] / 6)  # share: 5 of 30


def test_a_third_layer_of_less_than_a_percent_is_as_large_as_it_was_asked_for() -> None:
    mix = LayerMix.of(lotion(()), KINDS)
    for sizes in ({"water": 69.6, "oil": 30.0, "other": 0.4}, {"water": 99.3, "oil": 0.3, "other": 0.4}):
        moved = mix.at(sizes)  # type: ignore[arg-type]
        assert moved.ratio == Ratio(sizes["oil"], 0.4)
        # worked by hand: glycerin is 25 and propanediol 5 of the 30 parts of that layer
        held = {line.material: percent for _, _, line, percent in moved.each_line()}
        assert (held["Glycerin"], held["Propanediol"]) == pytest.approx((0.4 * 25 / 30, 0.4 * 5 / 30))
    # a hair below nothing, as sums of floats come out, is nothing
    hair = mix.at({"water": 80.0 + 1e-12, "oil": 20.0, "other": -1e-12})
    assert present(present(hair.ratio).other) == 0.0
    assert mix.at({"water": 70.0, "oil": -1e-12, "other": 30.0}).ratio == Ratio(0.0)
    for sizes in ({"water": 80.1, "oil": 20.0, "other": -0.1}, {"water": 70.1, "oil": -0.1, "other": 30.0}):
        with pytest.raises(RangeError, match="must be 0 % or more each"):
            mix.at(sizes)  # type: ignore[arg-type]


def test_layers_that_are_not_there_or_do_not_add_up_are_sentences() -> None:
    with pytest.raises(RangeError, match="has no other layer, so there is no ratio to move"):
        LayerMix.of(Formula("Two", lotion(()).phases[:2]), KINDS)
    mix = LayerMix.of(lotion(()), KINDS)
    with pytest.raises(
        RangeError, match="must be 0 % or more each and 100 % together, not water 50 %, oil 20 %, other 20 %"
    ):
        mix.at({"water": 50, "oil": 20, "other": 20})


def test_a_rule_that_no_mix_can_hold_is_named() -> None:
    formula = lotion((Rule("Parfum", low=0.5),))
    region = three_layers(LayerMix.of(formula, KINDS), requirements(formula, Materials.of(formula, LIBRARY), ()))
    assert region.broken_everywhere == ("Parfum at least 0.5 %",)
    assert not region.is_open
