"""The bottle's table of heights, and the layers that stand in it."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError, UnitError
from kit.layers.bottle import Bottle, bundled_bottles, room_findings, stand, usual_fill
from kit.layers.density import Layer, layers_of
from kit.units import quantity
from tests.layers.some_formulas import formulas, materials_of

if TYPE_CHECKING:
    from kit.formula.model import Formula

STRAIGHT = Bottle.cylinder("40 mm", "120 mL")
ROUND = Bottle.with_shoulder("43 mm", "60 mm", "20 mm", "14 mm", "13 mm")
UNEVEN = Bottle.measured([("11 mm", "9 mL"), ("30 mm", "41 mL"), ("62 mm", "77 mL"), ("80 mm", "81 mL")])
BOTTLES = [STRAIGHT, ROUND, UNEVEN, *bundled_bottles().values()]


@pytest.mark.parametrize("bottle", BOTTLES, ids=lambda bottle: bottle.name)
def test_level_and_volume_undo_each_other(bottle: Bottle) -> None:
    assert (bottle.level(0), bottle.volume(0)) == (0, 0)
    assert bottle.level(bottle.brimful) == pytest.approx(bottle.height)
    levels = [bottle.level(bottle.brimful * n / 500) for n in range(501)]
    assert all(low < high for low, high in pairwise(levels))
    assert [bottle.volume(level) for level in levels] == pytest.approx(
        [bottle.brimful * n / 500 for n in range(501)], abs=1e-9
    )


def test_a_measured_bottle_is_straight_between_its_rows() -> None:
    assert UNEVEN.level(9) == pytest.approx(11)
    # By hand: half way between the rows 9 mL and 41 mL.
    assert UNEVEN.level(25) == pytest.approx(20.5)
    assert UNEVEN.volume(46) == pytest.approx(59)


def test_a_shoulder_holds_what_a_cone_frustum_holds() -> None:
    # V = π h (R² + R r + r²) / 3 for the shoulder, π r² h for body and neck.
    body, shoulder, neck = 21.5**2 * 60, 14 * (21.5**2 + 21.5 * 10 + 10**2) / 3, 10**2 * 13
    assert ROUND.brimful == pytest.approx(math.pi * (body + shoulder + neck) / 1000, rel=1e-12)
    assert ROUND.height == pytest.approx(87)
    assert all(high[0] - low[0] <= 1 for low, high in pairwise(ROUND.profile[1:-1]))


def test_the_outline_rises_and_narrows() -> None:
    outline = ROUND.half_widths()
    (floor, floor_radius), (shoulder, shoulder_radius) = outline[:2]
    assert (floor, shoulder) == (0.0, 60.0)
    assert (floor_radius, shoulder_radius) == pytest.approx((21.5, 21.5))
    assert outline[-1] == pytest.approx((87, 10))
    assert all(low[0] < high[0] or low[1] > high[1] for low, high in pairwise(outline))
    assert all(low[1] >= high[1] - 1e-9 for low, high in pairwise(outline))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (
            [("20 mm", "30 mL"), ("20 mm", "40 mL")],
            r"row 2 of the table of heights \(20 mm, 40 mL\) does not rise above the row before it \(20 mm, 30 mL\)",
        ),
        (
            [("20 mm", "30 mL"), ("30 mm", "45 mL"), ("40 mm", "44 mL")],
            r"row 3 of the table.*\(40 mm, 44 mL\)",
        ),
        ([], "starts at 0 mm and 0 mL and needs one more row"),
        ([("-2 mm", "30 mL")], r"The height must be more than 0 mm, got -2 mm\."),
        ([("20 mm", "0 mL")], r"The volume must be more than 0 mL, got 0 mL\."),
    ],
)
def test_a_table_that_does_not_rise_names_the_row(rows: list[tuple[str, str]], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        Bottle.measured(rows)


def test_a_table_begins_at_nothing() -> None:
    with pytest.raises(RangeError, match="mine: the table of heights starts at 0 mm and 0 mL"):
        Bottle("mine", ((0.0, 1.0), (5.0, 6.0)))


def test_dimensions_are_quantities() -> None:
    same = Bottle.cylinder(quantity(4, "cm"), quantity(0.12, "litre"))
    np.testing.assert_allclose(same.profile, STRAIGHT.profile, rtol=1e-12)
    assert replace(same, profile=STRAIGHT.profile) == STRAIGHT
    with pytest.raises(UnitError, match=r'inner diameter has no unit \(got 40\)\. Write "40 mm"\.'):
        Bottle.cylinder(40, "120 mL")
    with pytest.raises(UnitError, match=r"brimful volume must be an amount that can be turned into mL, got 120\.0 g"):
        Bottle.cylinder("40 mm", "120 g")
    with pytest.raises(RangeError, match=r"The inner diameter must be more than 0 mm, got 0 mm\."):
        Bottle.cylinder("0 mm", "120 mL")
    with pytest.raises(UnitError, match=r'height has no unit \(got 60\)\. Write "60 mm"\.'):
        Bottle.with_shoulder("43 mm", 60, "20 mm")


def test_outside_the_bottle_there_is_no_level() -> None:
    with pytest.raises(RangeError, match=r"straight bottle holds volumes from 0 to 120 mL, not 121 mL\."):
        STRAIGHT.level(121)
    with pytest.raises(RangeError, match=r"holds heights from 0 to 95\.49 mm, not -1 mm\."):
        STRAIGHT.volume(-1)


@given(formulas(other=True), st.sampled_from(BOTTLES), st.floats(0.05, 1))
def test_layers_fill_the_bottle_from_the_densest_up(formula: Formula, bottle: Bottle, part: float) -> None:
    fill = part * bottle.brimful
    standing = stand(layers_of(formula, materials_of(formula)), bottle, fill)
    assert standing[0].bottom == 0
    assert standing[-1].top == pytest.approx(bottle.level(fill), rel=1e-9)
    assert sum(s.height for s in standing) == pytest.approx(bottle.level(fill), rel=1e-9)
    assert sum(s.volume for s in standing) == pytest.approx(fill, rel=1e-9)
    for lower, upper in pairwise(standing):
        assert lower.layer.density >= upper.layer.density
        assert lower.top == upper.bottom
    for s in standing:
        assert bottle.volume(s.top) - bottle.volume(s.bottom) == pytest.approx(s.volume, abs=1e-7)
    masses = [s.volume * s.layer.density for s in standing]
    assert [100 * mass / sum(masses) for mass in masses] == pytest.approx([s.layer.percent for s in standing], abs=1e-6)


@given(formulas(heavy=True))
def test_an_oil_heavier_than_water_stands_below(formula: Formula) -> None:
    layers = layers_of(formula, materials_of(formula))
    lower, upper = stand(layers, STRAIGHT, 100)
    heavier = max(layers, key=lambda layer: layer.density)
    assert lower.layer == heavier
    assert upper.layer != heavier


TWO = [Layer("water", "W", 60, 1.0, 0), Layer("oil", "O", 40, 0.9, 0)]


@pytest.mark.parametrize(
    ("fill", "words"),
    [
        (
            120.1,
            r"120\.1 mL cannot stand in straight bottle, which holds 120 mL to the brim\. Fill less, or",
        ),
        (0, r"0 mL cannot stand in straight bottle"),
        (-5, r"-5 mL cannot stand"),
        (float("nan"), "nan mL cannot stand"),
    ],
)
def test_more_than_the_bottle_holds_is_refused(fill: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        stand(TWO, STRAIGHT, fill)


def test_a_bottle_filled_to_the_brim_leaves_no_room_to_shake() -> None:
    assert room_findings(STRAIGHT, 110) == []
    (finding,) = room_findings(STRAIGHT, 114)
    assert finding.sentence == "Only 5 % of the bottle is air: leave about 8 % or more, room to shake."
    assert (finding.severity, finding.source) == ("note", "common practice")
    assert room_findings(STRAIGHT, 120)[0].sentence.startswith("Only 0 % of the bottle is air")


def test_sizes_that_are_no_whole_millimetres() -> None:
    # V = π h (R² + R r + r²) / 3 of a shoulder of 14.5 mm between 21.5 and 10 mm, π r² h of body and neck
    odd = Bottle.with_shoulder("43 mm", "60 mm", "20 mm", "14.5 mm", "13 mm")
    body, shoulder, neck = 21.5**2 * 60, 14.5 * (21.5**2 + 21.5 * 10 + 10**2) / 3, 10**2 * 13
    assert odd.brimful == pytest.approx(math.pi * (body + shoulder + neck) / 1000, rel=1e-12)
    assert odd.height == pytest.approx(87.5)
    half = Bottle.with_shoulder("43 mm", "60 mm", "20 mm", "0.5 mm", "13 mm")
    assert (half.height, len(half.profile)) == (73.5, 4)
    usual = Bottle.with_shoulder("43 mm", "60 mm", "20 mm")  # a shoulder of 15 mm and a neck of 12 mm
    assert (usual.height, usual.name) == (87, "round bottle")
    box = Bottle.box("25.5 mm", "25.5 mm", "90.1 mm")
    assert box.brimful == pytest.approx(25.5 * 25.5 * 90.1 / 1000, rel=1e-12)
    assert box.half_widths() == [(0.0, 12.75), (90.1, 12.75)]


def test_a_bottle_of_which_nobody_said_the_content_is_filled_to_85_percent_and_a_tenth_of_a_millilitre() -> None:
    assert usual_fill(Bottle.cylinder("40 mm", "123.4 mL")) == 104.9  # 104.89
    assert usual_fill(replace(Bottle.cylinder("40 mm", "123.4 mL"), nominal=100.0)) == 100


def test_room_to_shake_is_eight_percent() -> None:
    assert room_findings(STRAIGHT, 120 * 0.9199) == []
    assert room_findings(STRAIGHT, 120 * 0.9201)[0].sentence.startswith(
        "Only 8 % of the bottle is air: leave about 8 %"
    )


def test_a_bottle_is_filled_to_the_brim_and_no_more() -> None:
    assert stand(TWO, STRAIGHT, 120)[-1].top == pytest.approx(STRAIGHT.height)
    assert stand(TWO, STRAIGHT, 0.5)[0].bottom == 0
    assert (STRAIGHT.level(0), STRAIGHT.volume(STRAIGHT.height)) == pytest.approx((0, 120))
    for volume in (-0.1, 120.1):
        with pytest.raises(RangeError, match="holds volumes from 0 to 120 mL"):
            STRAIGHT.level(volume)
