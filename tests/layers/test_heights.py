"""From the ratio to the height that is seen, and back."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.bottle import Bottle, HeightScale, stand
from kit.layers.density import layers_of
from kit.layers.ratio import RatioPath
from tests.layers.some_formulas import formulas, materials_of

STRAIGHT = Bottle.cylinder("40 mm", "120 mL")
ROUND = Bottle.with_shoulder("43 mm", "60 mm", "20 mm", "14 mm", "13 mm")
BOTTLES = st.sampled_from([STRAIGHT, ROUND])
#: Few level lines, so that no filling line is short of room between these parts of the axis.
ROOMY = {"level_most": 0.5}
INSIDE = st.floats(0.15, 0.85)
FILLS = st.floats(0.2, 1)


def scale_of(formula: Formula, bottle: Bottle, part: float) -> HeightScale:
    return HeightScale.of(RatioPath.of(formula), materials_of(formula), bottle, part * bottle.brimful)


def seen(formula: Formula, bottle: Bottle, fill: float) -> float:
    """The oil layer's part of the visible height, from the layers as they stand."""
    standing = stand(layers_of(formula, materials_of(formula)), bottle, fill)
    (oil,) = [s.height for s in standing if s.layer.kind == "oil"]
    return 100 * oil / standing[-1].top


@given(st.one_of(formulas(**ROOMY), formulas(heavy=True, **ROOMY)), BOTTLES, FILLS)
def test_the_height_grows_with_the_oil_and_the_way_back_finds_it(formula: Formula, bottle: Bottle, part: float) -> None:
    scale = scale_of(formula, bottle, part)
    oils = [scale.most * (0.15 + 0.7 * n / 20) for n in range(21)]
    shares = [scale.height_share(oil) for oil in oils]
    assert all(low < high for low, high in pairwise(shares))
    assert [scale.oil_for(share) for share in shares] == pytest.approx(oils, abs=1e-9)


@given(st.one_of(formulas(**ROOMY), formulas(heavy=True, **ROOMY)), BOTTLES, FILLS, INSIDE)
def test_it_agrees_with_the_layers_as_they_stand(formula: Formula, bottle: Bottle, part: float, at: float) -> None:
    scale = scale_of(formula, bottle, part)
    oil = at * scale.most
    moved = RatioPath.of(formula).at(oil)
    assert scale.height_share(oil) == pytest.approx(seen(moved, bottle, scale.fill), abs=1e-7)


@given(st.one_of(formulas(other=True), formulas(heavy=True, other=True)), BOTTLES, FILLS)
def test_a_third_layer_stands_where_its_density_puts_it(formula: Formula, bottle: Bottle, part: float) -> None:
    scale = scale_of(formula, bottle, part)
    start = RatioPath.of(formula).start
    assert scale.height_share(start) == pytest.approx(seen(formula, bottle, scale.fill), abs=1e-7)


@given(formulas(heavy=True))
def test_it_knows_which_layer_is_below(formula: Formula) -> None:
    water, oil = layers_of(formula, materials_of(formula))
    assert scale_of(formula, STRAIGHT, 0.8).oil_is_below(oil.percent) is (oil.density > water.density)


def shake(oil: str, *, water: str = "Aqua") -> Formula:
    return Formula(
        "Shake",
        (Phase("W", "water", (Line(water, "q.s."),)), Phase("O", "oil", (Line(oil, "30"),))),
    )


def test_by_hand_in_a_straight_bottle() -> None:
    # 30 g of squalane take 30 / 0.8130 mL (0.810 at 25 °C, 0.00075 for each kelvin), 70 g of water 70 / 0.998207 mL
    # (Tanaka 2001): in a straight bottle heights are volumes.
    formula = shake("Squalane")
    oil, water = 30 / 0.810 * (1 - 5 * 0.00075 / 1.00375), 70 / 0.998207
    assert scale_of(formula, STRAIGHT, 0.5).height_share(30) == pytest.approx(100 * oil / (oil + water))


@pytest.mark.parametrize("bottle", [STRAIGHT, ROUND])
def test_beyond_the_scale_the_nearest_end_is_given(bottle: Bottle) -> None:
    scale = scale_of(shake("Squalane"), bottle, 0.9)
    assert (scale.height_share(0), scale.height_share(100)) == pytest.approx((0, 100), abs=1e-9)
    assert (scale.oil_for(-5), scale.oil_for(105)) == pytest.approx((0, 100), abs=1e-9)


def test_an_unknown_line_counts_as_the_rest_of_its_layer() -> None:
    known, unknown = shake("Squalane"), shake("Squalane", water="Nobody's water")
    scale = scale_of(unknown, STRAIGHT, 0.5)
    # From memory, 1 g/mL, where the library's Aqua is 0.9982.
    assert (scale.volumes(0)["water"], scale.volumes(30)["water"]) == pytest.approx((100, 70))
    assert scale.height_share(30) > scale_of(known, STRAIGHT, 0.5).height_share(30)


def test_a_bottle_too_small_is_said() -> None:
    scale = HeightScale.of(RatioPath.of(shake("Squalane")), materials_of(shake("Squalane")), STRAIGHT, 150)
    with pytest.raises(RangeError, match=r"straight bottle holds volumes from 0 to 120 mL, not 150 mL\."):
        scale.height_share(30)
