"""Viscosities: their ranges and words, the blending rule's properties, and a layer's own."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.demos import demo
from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import layers_of
from kit.layers.viscosity import (
    blend_index,
    blend_kinematic,
    brine_factor,
    kinematic_from_index,
    known_viscosities,
    layer_viscosity,
    measured_viscosity,
)
from kit.library.ingredient import Ingredient
from kit.library.library import Library
from kit.liquids.glycerol import glycerol_water_viscosity
from tests.present import present
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.viscosity import LayerViscosity

LIBRARY = Library.bundled()
kinematics = st.floats(0.3, 1e5)


def viscosities(*phases: Phase) -> dict[str, LayerViscosity]:
    formula = Formula("Test", phases)
    materials = Materials.of(formula, LIBRARY)
    return {layer.kind: layer_viscosity(formula, materials, layer) for layer in layers_of(formula, materials)}


def oil(*lines: tuple[str, str]) -> Phase:
    return Phase("Oil", "oil", tuple(Line(name, entry) for name, entry in lines))


def water(*lines: tuple[str, str]) -> Phase:
    return Phase("Water", "water", tuple(Line(name, entry) for name, entry in lines))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: glycerol_water_viscosity(20, "120 degC"), r"outside 0 to 100 °C, the range of Cheng \(2008\)"),
        (
            lambda: glycerol_water_viscosity(101, "20 degC"),
            r"share of glycerol must lie between 0 and 100 % w/w, got 101",
        ),
        (lambda: brine_factor(21), r"known from 0 to 20 % w/w in water, not at 21 %"),
        (lambda: blend_index(0.2), r"needs a kinematic viscosity above 0\.2 mm²/s, got 0\.2.* mPa·s divided by g/mL"),
        (lambda: measured_viscosity("oil", 0), r"between 0 and 10,000,000 mPa·s, not at 0\. Water has 1"),
    ],
)
def test_what_lies_outside_is_said(call: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()


@given(kinematics)
def test_the_blending_number_goes_back_to_its_viscosity(kinematic: float) -> None:
    assert kinematic_from_index(blend_index(kinematic)) == pytest.approx(kinematic, rel=1e-9)


@given(st.lists(st.tuples(st.floats(0.01, 50), kinematics), min_size=1, max_size=6), st.floats(0.1, 10))
def test_a_blend_lies_between_its_parts_and_does_not_hang_on_the_batch(
    parts: list[tuple[float, float]], scale: float
) -> None:
    blended = present(blend_kinematic(parts))
    values = [kinematic for _, kinematic in parts]
    assert min(values) * (1 - 1e-9) <= blended <= max(values) * (1 + 1e-9)
    assert blend_kinematic([(scale * mass, value) for mass, value in parts]) == pytest.approx(blended)
    mean = sum(mass * value for mass, value in parts) / sum(mass for mass, _ in parts)
    assert blended <= mean * (1 + 1e-9)


def test_nothing_has_no_blend() -> None:
    assert blend_kinematic([]) is None


def test_the_salts_of_the_source_and_what_lies_between() -> None:
    # Laliberté (2009) by thermo 0.6.1: 1.080 mPa·s at 5 %, 1.561 at 20 %, over water's 1.0016
    assert [round(1.0016 * brine_factor(salt), 3) for salt in (0, 5, 20)] == [1.002, 1.080, 1.561]
    assert brine_factor(5) < brine_factor(12) < brine_factor(20)


def test_an_oil_layer_of_one_oil_has_that_oils_viscosity() -> None:
    found = viscosities(oil(("Caprylic/Capric Triglyceride", "100")))["oil"]
    assert found.value == pytest.approx(29)  # Chinese Pharmacopoeia draft 2019: 25 to 33 mPa·s at 20 °C
    assert not found.doubtful


def test_oils_blend_by_their_numbers_through_stocks_and_blends() -> None:
    found = viscosities(oil(("Undecane (and) Tridecane", "60"), ("Squalane", "40")))["oil"]
    assert 1.2 < found.value < 31.1
    by_hand = viscosities(oil(("Undecane", "40.8"), ("Tridecane", "19.2"), ("Squalane", "40")))["oil"]
    assert found.value == pytest.approx(by_hand.value, rel=0.1)


def test_an_oil_layer_without_any_viscosity_is_assumed_and_says_so() -> None:
    found = viscosities(oil(("Tocopherol", "100")))["oil"]
    assert (found.value, found.words, found.doubtful) == (30.0, "assumed", True)
    assert "Nothing in the oil layer has a viscosity in the table: 30 mPa·s is assumed, from memory" in str(
        found.findings[0]
    )


def test_what_is_left_out_and_what_is_remembered_is_said() -> None:
    found = viscosities(oil(("Isopropyl Myristate", "80"), ("Tocopherol", "20")))["oil"]
    said = [finding.sentence for finding in found.findings]
    assert said == [
        "20 % of the oil layer has no viscosity in the table; it is computed from the rest of the layer.",
        "Viscosity from memory: Isopropyl Myristate.",
    ]
    assert found.doubtful
    assert found.value == pytest.approx(5.5, rel=0.05)


def test_a_water_layer_of_water_and_glycerin_is_chengs() -> None:
    found = viscosities(water(("Aqua", "80"), ("Glycerin", "20")))["water"]
    assert found.value == pytest.approx(glycerol_water_viscosity(20, "20 degC"), rel=1e-9)
    assert found.findings == ()


def test_salt_and_glycols_thicken_water_and_dissolved_solids_count_as_water() -> None:
    plain = viscosities(water(("Aqua", "100")))["water"]
    salted = viscosities(water(("Aqua", "95"), ("Sodium Chloride", "5")))["water"]
    glycol = viscosities(water(("Aqua", "90"), ("Propanediol", "10")))["water"]
    solid = viscosities(water(("Aqua", "99"), ("Citric Acid", "1")))["water"]
    assert plain.value == pytest.approx(1.0048, rel=1e-3)  # Cheng (2008) has 1.005 for water, IAPWS 1.0016
    assert salted.value == pytest.approx(plain.value * brine_factor(5), rel=1e-6)
    assert 1.1 < glycol.value < 2
    assert solid.value == pytest.approx(plain.value, rel=1e-6)
    assert "1 % of the water layer has no viscosity in the table; it is counted as water." in str(solid.findings[0])


def test_thickeners_alcohol_and_strong_brine_are_warned_of() -> None:
    thick = viscosities(water(("Aqua", "99.5"), ("Xanthan Gum", "0.5")))["water"]
    strong = viscosities(water(("Aqua", "70"), ("Alcohol", "30")))["water"]
    brine = viscosities(water(("Aqua", "75"), ("Sodium Chloride", "25")))["water"]
    assert thick.doubtful
    assert any(
        "Xanthan Gum thickens the water layer by far more than can be computed here" in str(f) for f in thick.findings
    )
    assert strong.doubtful
    assert any("Alcohol with water is thicker than each of them" in str(f) for f in strong.findings)
    assert any("known to 20 % in water; 25 % counts as that" in str(f) for f in brine.findings)
    assert brine.value == pytest.approx(1.0048 * brine_factor(20), rel=1e-3)


def test_a_blend_that_is_part_of_itself_does_not_stop_it() -> None:
    from kit.library.ingredient import Stock

    loop = Stock("Loop (invented)", {"Loop (invented)": 50.0, "Squalane": 50.0})
    formula = replace(demo(), phases=(oil(("Loop (invented)", "50"), ("Squalane", "50")),), materials=(loop,))
    materials = Materials.of(formula, LIBRARY)
    (layer,) = layers_of(formula, materials)
    assert layer_viscosity(formula, materials, layer).value == pytest.approx(31.1, rel=1e-6)


@each_of(
    ("salt", "times"),
    [
        (0.0, 1.0), (2.5, (1.080 / 1.0016) ** 0.5), (5.0, 1.080 / 1.0016), (12.5, (1.080 * 1.561) ** 0.5 / 1.0016),
        (8.0, 1.080**0.8 * 1.561**0.2 / 1.0016), (20.0, 1.561 / 1.0016),
    ],
)  # fmt: skip
def test_between_the_salts_of_the_source_the_logarithm_is_straight(salt: float, times: float) -> None:
    assert brine_factor(salt) == pytest.approx(times, rel=1e-12)
    for beyond in (-0.1, 20.1):
        with pytest.raises(RangeError, match="known from 0 to 20 %"):
            brine_factor(beyond)


def test_a_measured_viscosity_lies_above_0_and_up_to_ten_millions() -> None:
    assert [measured_viscosity("oil", value).value for value in (1e-3, 1e7)] == [1e-3, 1e7]
    for value in (-1, 0, 1.001e7):
        with pytest.raises(RangeError, match="between 0 and 10,000,000"):
            measured_viscosity("oil", value)


@each_of(
    ("lines", "doubtful", "told", "silent"),
    [
        # a twentieth of the layer may be alcohol, or something without a viscosity; more is in doubt
        ((("Aqua", "95"), ("Alcohol", "5")), False, (), ("Alcohol with water",)),
        ((("Aqua", "94.9"), ("Alcohol", "5.1")), True, ("Alcohol with water is thicker",), ()),
        ((("Aqua", "95"), ("Citric Acid", "5")), False, ("5 % of the water layer has no viscosity",), ()),
        ((("Aqua", "94.9"), ("Citric Acid", "5.1")), True, ("5.1 % of the water layer has no viscosity",), ()),
        ((("Aqua", "99.96"), ("Citric Acid", "0.04")), False, (), ("has no viscosity",)),
        ((("Aqua", "99.94"), ("Citric Acid", "0.06")), False, ("0.06 % of the water layer has no viscosity",), ()),
        ((("Aqua", "99.9"), ("Xanthan Gum", "0.1")), True, ("Xanthan Gum thickens the water layer",), ()),
        ((("Aqua", "80"), ("Sodium Chloride", "20")), False, (), ("The effect of salt", "thickens")),
        ((("Aqua", "79.5"), ("Sodium Chloride", "20.5")), False, ("known to 20 % in water; 20.5 % counts",), ()),
    ],
)
def test_what_makes_the_viscosity_of_a_water_layer_doubtful(
    lines: tuple[tuple[str, str], ...], doubtful: bool, told: tuple[str, ...], silent: tuple[str, ...]
) -> None:
    found = viscosities(water(*lines))["water"]
    said = " ".join(one.sentence for one in found.findings)
    assert found.doubtful == doubtful
    assert all(words in said for words in told), said
    assert not any(words in said for words in silent), said


@each_of(
    ("tocopherol", "doubtful"),
    [("5", False), ("5.1", True)],
)
def test_an_oil_layer_is_doubtful_from_a_twentieth_without_a_viscosity_on(tocopherol: str, doubtful: bool) -> None:
    found = viscosities(oil(("Squalane", f"{100 - float(tocopherol)}"), ("Tocopherol", tocopherol)))["oil"]
    assert found.doubtful == doubtful
    assert f"{tocopherol} % of the oil layer has no viscosity" in found.findings[0].sentence


def test_a_blend_counts_with_the_density_of_each_liquid_and_of_the_layer() -> None:
    """By hand after Maples: ν = η / ρ of each, blended by mass, times the density of the layer."""
    lines = (("Undecane", "60"), ("Squalane", "40"))
    formula = Formula("Test", (oil(*lines),))
    materials = Materials.of(formula, LIBRARY)
    (layer,) = layers_of(formula, materials)
    figures = {"Undecane": 1.17, "Squalane": 31.1}  # data/viscosities, mPa·s
    densities = {name: present(present(materials.ingredient(name)).density).value for name in figures}
    blended = present(blend_kinematic([(float(x), figures[name] / densities[name]) for name, x in lines]))
    assert viscosities(oil(*lines))["oil"].value == pytest.approx(blended * layer.density, rel=0.01)
    # a liquid without a density counts with that of its layer
    bare = Ingredient("Undecane", phase="oil")
    own = Formula("Own", (oil(("Undecane", "50"), ("Squalane", "50")),), materials=(bare,))
    without = Materials.of(own, LIBRARY)
    (layer,) = layers_of(own, without)
    both = present(blend_kinematic([(50, figures[name] / layer.density) for name in figures]))
    assert layer_viscosity(own, without, layer).value == pytest.approx(both * layer.density, rel=0.01)


@pytest.mark.parametrize("odd", [float("nan"), float("inf"), 1e308])
def test_a_blending_number_of_what_no_liquid_has_is_refused(odd: float) -> None:
    for work in (blend_index, kinematic_from_index):
        if (work, odd) != (blend_index, 1e308):  # the logarithm of a logarithm is a number all the same
            with pytest.raises(RangeError):
                work(odd)


def test_a_blend_with_a_figure_of_its_own_is_that_figure_in_an_oil_layer() -> None:
    name, parts = "Undecane (and) Tridecane", {"Undecane", "Tridecane"}
    table = known_viscosities()
    assert parts <= set(table)
    if name in table:  # the blend as it is sold, not the sum of its parts
        assert viscosities(oil((name, "100")))["oil"].value == pytest.approx(table[name].value, rel=0.01)
