"""Moving the ratio: mass is conserved, each line holds as it says, and the way back leads home."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.demos import demo
from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.ratio import RatioPath
from tests.layers.some_formulas import formulas, two_layers
from tests.present import present

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind

PARTS = st.floats(0, 1)


def kinds(formula: Formula) -> list[PhaseKind]:
    return [formula.phases[p].kind for p, *_ in formula.each_line()]


def lines(formula: Formula) -> list[Line]:
    return [line for _, _, line, _ in formula.each_line()]


def flat(formula: Formula) -> list[float]:
    return [present(percent) for phase in formula.percents for percent in phase]


def has_fill(formula: Formula, kind: str) -> bool:
    return any(line.hold == "fill" for k, line in zip(kinds(formula), lines(formula), strict=True) if k == kind)


def layer(formula: Formula, percents: list[float], kind: str) -> float:
    return sum(x for x, k in zip(percents, kinds(formula), strict=True) if k == kind)


def hold_as_they_say(formula: Formula, oil: float) -> None:
    path = RatioPath.of(formula)
    before, after = flat(formula), path.percents(oil)
    assert sum(after) == pytest.approx(100, abs=1e-9 if formula.resolution.rest_at else 1e-6)
    assert sum(after) == pytest.approx(sum(before), abs=1e-9)
    assert layer(formula, after, "oil") == pytest.approx(oil, abs=1e-9)
    for x, y, line, kind in zip(before, after, lines(formula), kinds(formula), strict=True):
        if line.hold == "level" or kind == "other":
            assert y == x
        elif line.hold == "share" and has_fill(formula, kind):
            share = x / layer(formula, before, kind)
            assert y == pytest.approx(share * layer(formula, after, kind), abs=1e-9)


@given(formulas(other=True), PARTS)
def test_mass_is_conserved_and_lines_hold_as_they_say(formula: Formula, part: float) -> None:
    hold_as_they_say(formula, part * RatioPath.of(formula).most)


def test_two_thousand_formulas_from_a_fixed_seed() -> None:
    random = Random(20260112)
    for n in range(2000):
        formula = two_layers(random, heavy=n % 5 == 0, other=n % 3 == 0)
        hold_as_they_say(formula, random.random() * RatioPath.of(formula).most)


@given(formulas(), PARTS)
def test_without_a_fill_the_share_lines_keep_their_proportions(formula: Formula, part: float) -> None:
    path = RatioPath.of(formula)
    after = path.percents(part * path.most)
    for kind in ("water", "oil"):
        if has_fill(formula, kind):
            continue
        pairs = [
            (x, y)
            for x, y, line, k in zip(flat(formula), after, lines(formula), kinds(formula), strict=True)
            if k == kind and line.hold == "share"
        ]
        (x0, y0), *others = pairs
        for x, y in others:
            assert y * x0 == pytest.approx(y0 * x, abs=1e-7)


@given(formulas(other=True), PARTS, PARTS)
def test_every_line_is_affine_in_the_oil_layer(formula: Formula, one: float, two: float) -> None:
    path = RatioPath.of(formula)
    a, b = path.percents(one * path.most), path.percents(two * path.most)
    middle = path.percents((one + two) / 2 * path.most)
    assert middle == pytest.approx([(x + y) / 2 for x, y in zip(a, b, strict=True)], abs=1e-9)


@given(formulas(other=True))
def test_the_path_starts_where_the_formula_is(formula: Formula) -> None:
    path = RatioPath.of(formula)
    assert path.percents(path.start) == pytest.approx(flat(formula), abs=1e-9)
    assert path.most == pytest.approx(layer(formula, flat(formula), "oil") + layer(formula, flat(formula), "water"))


@given(formulas(level_most=0.5), st.floats(0.15, 0.85))
def test_there_and_back_gives_the_same_percents(formula: Formula, part: float) -> None:
    path = RatioPath.of(formula)
    moved = path.at(part * path.most)
    assert moved.is_complete
    assert flat(moved) == pytest.approx(path.percents(part * path.most), abs=1e-9)
    back = RatioPath.of(moved).at(path.start)
    assert flat(back) == pytest.approx(flat(formula), abs=1e-9)
    assert [line.hold for line in lines(back)] == [line.hold for line in lines(formula)]
    assert back.resolution.rest_at == formula.resolution.rest_at


def test_a_line_with_nothing_left_is_written_as_nothing_not_as_a_hair_below_it() -> None:
    oil = (
        Line("Squalane", "19.7", "fill"),
        Line("Parfum", "0.1", "level"),
        Line("Tocopherol", "0.2", "level"),
    )
    water = (Line("Aqua", "q.s.", "fill"),)
    formula = Formula("Soak", (Phase("Water", "water", water), Phase("Oil", "oil", oil)))
    path = RatioPath.of(formula)
    assert path.percents(0.3)[1] < 0, "this case would show nothing if the last digits came out otherwise"
    moved = path.at(0.3)
    assert moved.percents[1][0] == 0.0
    assert moved.is_complete


def test_the_demo_at_a_third_oil() -> None:
    # By hand: glycerin is 4/85 of the water layer, which is 70 % here; the kernel oil 5/15 of the oil, 30 %.
    moved = RatioPath.of(demo()).at(30)
    percents = {line.material: percent for _, _, line, percent in moved.each_line()}
    assert percents["Glycerin"] == pytest.approx(4 / 85 * 70)
    assert percents["Prunus Armeniaca Kernel Oil"] == pytest.approx(5 / 15 * 30)
    assert percents["Sodium Benzoate"] == 0.4
    assert percents["Coco-Caprylate"] == pytest.approx(30 - 0.1 - 30 * 5.3 / 15)
    assert moved.phases[0].lines[0].entry == "q.s."


def with_oil(*oil: Line, water: tuple[Line, ...] = (Line("Aqua", "q.s."),)) -> Formula:
    return Formula("Shake", (Phase("Water", "water", water), Phase("Oil", "oil", oil)))


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        (
            Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."),)),)),
            r"Toner has no oil layer, so there is no ratio to move\. Set one phase to oil",
        ),
        (with_oil(Line("Squalane", "100"), water=()), "Shake has no water layer"),
        (
            with_oil(Line("Squalane", "9", "level"), Line("Parfum", "1", "level")),
            r"Every line of the oil layer keeps its % of the whole, .*Let one of its lines fill the layer\.",
        ),
        (
            with_oil(Line("Squalane", "")),
            r"Shake cannot be moved to another ratio yet: Squalane \(line 1 of Oil\) has no amount",
        ),
        (
            with_oil(Line("Squalane", "20"), water=(Line("Aqua", "70"),)),
            r"Shake cannot be moved to another ratio yet: it adds to 90 %, not 100 %\. Type q\.s\.",
        ),
    ],
)
def test_what_cannot_be_moved_says_why(formula: Formula, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        RatioPath.of(formula)


@pytest.mark.parametrize("oil", [-0.01, 100.01, float("nan")])
def test_the_oil_layer_stays_on_the_axis(oil: float) -> None:
    path = RatioPath.of(with_oil(Line("Squalane", "20")))
    with pytest.raises(RangeError, match=r"The oil layer can be 0 to 100 % of this formula, not "):
        path.at(oil)


def test_a_second_fill_counts_as_a_share() -> None:
    formula = with_oil(Line("Squalane", "15", "fill"), Line("Coco-Caprylate", "5", "fill"))
    assert RatioPath.of(formula).percents(40) == pytest.approx([60, 30, 10])


def test_blank_lines_come_along_and_stay_blank() -> None:
    formula = with_oil(Line("Squalane", "20"), Line())
    moved = RatioPath.of(formula).at(50)
    assert moved.phases[1].lines[1] == Line()
    assert moved.percents[1] == (50.0, 0.0)
