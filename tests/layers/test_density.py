"""Densities of materials and layers, what is said where one is missing, and the published tables of water."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, MeasuredDensity, Phase, layer_mix
from kit.layers.density import (
    Layer,
    layer_density,
    layers_of,
    material_density,
    mix_densities,
    product_density,
)
from kit.layers.density_words import density_findings, density_sources, density_text, density_words, order_is_sure
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.library import Library
from kit.library.sources import source_text
from tests.layers.some_formulas import formulas, materials_of
from tests.present import present
from tests.rows import each_of

DENSITIES = st.floats(0.6, 2.0)


def with_own(*own: Ingredient | Stock) -> Materials:
    return Materials(Library.bundled(), own)


def known(name: str, density: float) -> Ingredient:
    return Ingredient(name, density=Figure(density, "own"))


@given(st.lists(st.tuples(st.floats(0.01, 100), DENSITIES), min_size=1, max_size=8))
def test_ideal_volumes_add(parts: list[tuple[float, float]]) -> None:
    mixture = mix_densities(parts)
    assert mixture is not None
    assert mixture.unknown_share == 0
    volume = sum(mass for mass, _ in parts) / mixture.density
    assert volume == pytest.approx(sum(mass / density for mass, density in parts), rel=1e-12)
    lightest, heaviest = min(d for _, d in parts), max(d for _, d in parts)
    assert lightest * (1 - 1e-12) <= mixture.density <= heaviest * (1 + 1e-12)


def test_parts_without_a_density_are_left_out_and_counted() -> None:
    mixture = mix_densities([(30, 0.9), (10, None)])
    assert mixture is not None
    assert (mixture.density, mixture.unknown_share) == pytest.approx((0.9, 25))
    assert mix_densities([(10, None)]) is None
    assert mix_densities([]) is None


def test_a_material_has_its_own_figure_or_its_composition() -> None:
    stock = Stock("Half stock", {"A": 50.0, "B": 50.0})
    materials = with_own(known("A", 1.0), known("B", 2.0), stock, Ingredient("C"))
    assert material_density("A", materials) == 1.0
    # By hand: 100 g take 50 / 1 + 50 / 2 = 75 mL.
    assert material_density("half STOCK", materials) == pytest.approx(100 / 75)
    assert material_density("C", materials) is None
    assert material_density("nobody knows", materials) is None


def test_a_stock_is_found_through_another_stock() -> None:
    inner, outer = Stock("Inner", {"A": 50.0, "B": 50.0}), Stock("Outer", {"Inner": 75.0, "A": 25.0})
    materials = with_own(known("A", 1.0), known("B", 2.0), inner, outer)
    # By hand: 75 g of 100/75 g/mL take 56.25 mL, 25 g take 25 mL.
    assert material_density("Outer", materials) == pytest.approx(100 / 81.25)


def test_a_stock_that_is_part_of_itself_has_no_density_and_does_not_hang() -> None:
    egg, hen = Stock("Egg", {"Hen": 100.0}), Stock("Hen", {"Egg": 60.0, "A": 40.0})
    materials = with_own(known("A", 0.8), egg, hen)
    assert material_density("Hen", materials) == pytest.approx(0.8)
    assert material_density("Egg", materials) == pytest.approx(0.8)
    assert material_density("Egg", with_own(Stock("Egg", {"Egg": 100.0}))) is None


def soak(*oil: Line) -> Formula:
    return Formula("Soak", (Phase("W", "water", (Line("Aqua", "q.s."),)), Phase("O", "oil", oil)))


def test_a_stock_with_unknown_parts_is_not_passed_off_as_known() -> None:
    cloudy = Stock("Cloudy stock", {"A": 80.0, "Mystery": 20.0})
    layer = layers_of(soak(Line("Cloudy stock", "10"), Line("A", "30")), with_own(known("A", 0.9), cloudy))[1]
    # By hand: 20 % of 10 g in 40 g.
    assert layer.unknown_share == pytest.approx(5)
    assert layer.density == pytest.approx(0.9)


@given(formulas(other=True, heavy=True))
def test_layers_hold_the_whole(formula: Formula) -> None:
    layers = layers_of(formula, materials_of(formula))
    assert [layer.kind for layer in layers] == ["water", "oil", "other"]
    assert sum(layer.percent for layer in layers) == pytest.approx(100, abs=1e-6)
    volume = sum(layer.volume_per_100_g for layer in layers)
    assert product_density(layers) == pytest.approx(100 / volume, rel=1e-7)


def test_two_phases_of_one_kind_are_one_layer_and_an_empty_one_is_none() -> None:
    formula = Formula(
        "Three pots",
        (
            Phase("A", "water", (Line("Aqua", "60"),)),
            Phase("B", "oil", (Line("Squalane", "30"),)),
            Phase("C", "water", (Line("Glycerin", "10"),)),
            Phase("D", "other", (Line(),)),
        ),
    )
    water, oil = layers_of(formula, materials_of(formula))
    assert (water.name, water.percent, oil.name) == ("A", 70.0, "B")
    assert layers_of(Formula(), materials_of(formula)) == []


def test_a_layer_of_unknown_things_says_that_its_density_is_from_memory() -> None:
    layers = layers_of(soak(Line("Nobody's oil", "20")), with_own())
    assert (layers[1].density, layers[1].unknown_share) == (0.9, 100.0)
    (finding,) = density_findings(layers)
    assert finding.severity == "note"
    assert finding.sentence == (
        "100 % of the oil layer has no density in the library; it is computed from 0.9 g/mL, from memory."
    )
    assert finding.place.field == "bottle"


def test_a_part_without_a_density_is_named_with_its_share() -> None:
    layers = layers_of(soak(Line("Squalane", "15"), Line("Nobody's oil", "5")), with_own())
    assert [f.sentence for f in density_findings(layers)] == [
        "25 % of the oil layer has no density in the library; it is computed from the rest of the layer."
    ]


@pytest.mark.parametrize(
    ("gap", "sentences"),
    [
        (0.021, []),
        (
            0.013,
            [
                (
                    "The water and oil layers differ by only 0.013 g/mL: they part slowly and may change places when "
                    "warm or cold."
                )
            ],
        ),
    ],
)
def test_layers_that_weigh_nearly_the_same_are_told(gap: float, sentences: list[str]) -> None:
    for sign in (-1, 1):
        layers = [Layer("water", "W", 60, 1.0, 0), Layer("oil", "O", 40, 1.0 + sign * gap, 0)]
        assert [finding.sentence for finding in density_findings(layers)] == sentences


def test_each_density_names_its_source_and_what_it_is_dissolved_in() -> None:
    def layer(*lines: Line) -> Layer:
        formula = Formula("One", (Phase("One", "water", lines),))
        return layers_of(formula, Materials.of(formula, Library.bundled()))[0]

    foam = "Aqua (and) Cocamidopropyl Betaine (and) Sodium Chloride"
    shampoo = layer(Line("Aqua", "70"), Line(foam, "30"))
    assert source_text(present(present(Library.bundled().get(foam)).density).source) in density_sources([shampoo])
    thin, neat = layer(Line("Aqua", "30"), Line("Alcohol", "70")), layer(Line("Alcohol", "100"))
    assert "Alcohol in water by published tables" in density_words(present(thin.about))
    assert "Alcohol by published tables" in density_words(present(neat.about))


def spirit(alcohol: float, *densities: MeasuredDensity) -> Formula:
    water = Phase("W", "water", (Line("Alcohol", repr(alcohol)), Line("Aqua", repr(70 - alcohol))))
    oil = Phase("O", "oil", (Line("Squalane", "30"),))
    return Formula("Spirit", (water, oil), densities=densities)


@each_of(
    ("alcohol", "celsius", "counts"),
    [
        # of 70 g another liquid: none, a twentieth, a tenth, and a fifth, from which on it counts no more
        (30.0, 20.0, 1.0), (33.5, 20.0, 0.75), (37.0, 20.0, 0.5), (44.0, 20.0, 0.0), (23.0, 20.0, 0.5),
        (30.0, 40.0, 1.0), (37.0, 40.0, 0.5), (37.0, 25.0, 0.5),
    ],
)  # fmt: skip
def test_how_sure_a_density_is_that_was_measured_of_nearly_this_layer(
    alcohol: float, celsius: float, counts: float
) -> None:
    """By the law of propagation (GUM 5.1.2): the parts of both, and what warming adds to the computed one."""
    known = MeasuredDensity("water", 0.935, layer_mix(spirit(30.0), "water"), 20.0, 0.002)
    led, plain, then = spirit(alcohol, known), spirit(alcohol), spirit(30.0)
    found, alone, first = (
        layer_density(one, materials_of(one), "water", at)
        for one, at in ((led, celsius), (plain, celsius), (then, 20.0))
    )
    assert found.measured == pytest.approx(counts, abs=1e-9)
    assert found.value == pytest.approx(alone.value * (0.935 / first.value) ** counts)
    grown = abs(alone.uncertainty**2 - first.uncertainty**2) if celsius != 20 else 0.0
    variance = (counts * 0.002) ** 2 + ((1 - counts) * alone.uncertainty) ** 2 + counts**2 * grown
    assert found.uncertainty == pytest.approx(variance**0.5)


@each_of(
    ("water", "oil", "words"),
    [
        # nothing of either is known: 1.0 and 0.9 g/mL, ± twice 0.05 and 0.04, from memory
        ("Nobody's water", "Nobody's oil", "the water layer 1.000 ± 0.100 g/mL and the oil layer 0.900 ± 0.080 g/mL"),
        ("Nobody's water", "Heavy", "the water layer 1.000 ± 0.100 g/mL and the oil layer 1.050 ± "),
    ],
)
def test_layers_of_which_nothing_is_known_cannot_be_told_apart(water: str, oil: str, words: str) -> None:
    phases = (Phase("W", "water", (Line(water, "50"),)), Phase("O", "oil", (Line(oil, "50"),)))
    layers = layers_of(Formula("Two", phases), with_own(known("Heavy", 1.05)))
    said = [one.sentence for one in density_findings(layers)]
    assert any(f"Which layer stands below cannot be told: {words}" in one for one in said), said
    clay = layers_of(Formula("Clay", (Phase("C", "other", (Line("Nobody's clay", "1"),)),)), with_own())[0]
    assert (clay.density, clay.uncertainty) == (1.0, 0.1)


@each_of(
    ("gap", "uncertain", "sure"),
    [(0.1, 0.024, True), (0.1, 0.026, False), (0.1, 0.0, True), (0.0, 0.0, False)],
)
def test_an_order_is_sure_where_both_bands_stay_clear(gap: float, uncertain: float, sure: bool) -> None:
    # ± twice the uncertainty of each: 4 × 0.025 is the gap
    lower, upper = Layer("water", "W", 50, 1.0, 0, uncertain), Layer("oil", "O", 50, 1.0 - gap, 0, uncertain)
    assert order_is_sure(lower, upper) == sure


@each_of(
    ("lines", "words"),
    [
        # OIML R 22, 20 °C: 50 % is 0.91384 g/mL, alcohol 0.78924, water 0.99821: 109.43 mL of 113.44 mL are 3.5 % less
        ((("Alcohol", "50"), ("Aqua", "50")), "(mixed, the liquids take 3.5 % less room than apart)"),
        # a salt is no liquid: only what the liquids lose is told
        ((("Alcohol", "45"), ("Aqua", "45"), ("Sodium Chloride", "10")), "% less room than apart)"),
        ((("Sodium Chloride", "10"), ("Aqua", "90")), "; Sodium Chloride in water by published tables."),
        (
            (("Alcohol", "0.2"), ("Aqua", "99.8")),
            "; Alcohol in water by published tables.",
        ),  # less than a tenth of a percent
    ],
)
def test_how_much_liquids_shrink_is_told_from_a_tenth_of_a_percent_on(
    lines: tuple[tuple[str, str], ...], words: str
) -> None:
    formula = Formula("One", (Phase("W", "water", tuple(Line(*line) for line in lines)),))
    about = present(layers_of(formula, materials_of(formula))[0].about)
    assert words in density_words(about), density_words(about)


def test_substances_of_one_kind_are_named_from_the_largest_on_and_four_at_most() -> None:
    salts = ("Sodium Chloride", "Potassium Chloride", "Magnesium Sulfate", "Urea", "Citric Acid")
    lines = [Line("Aqua", "85"), *(Line(name, str(n)) for n, name in enumerate(salts, start=1))]
    formula = Formula("One", (Phase("W", "water", tuple(lines)),))
    about = present(layers_of(formula, materials_of(formula))[0].about)
    assert "Citric Acid, Urea, Magnesium Sulfate, Potassium Chloride and 1 more in water" in density_words(about)
    four = Formula("One", (Phase("W", "water", tuple(lines[:-1])),))
    about = present(layers_of(four, materials_of(four))[0].about)
    assert "Urea, Magnesium Sulfate, Potassium Chloride and Sodium Chloride in water" in density_words(about)


@each_of(("share", "told"), [("0.01", False), ("0.03", True)])
def test_a_part_without_a_density_is_told_from_a_twentieth_of_a_percent_on(share: str, told: bool) -> None:
    layers = layers_of(soak(Line("Squalane", "30"), Line("Nobody's oil", share)), with_own())
    assert any("has no density in the library" in one.sentence for one in density_findings(layers)) == told
    assert ("has no density and counts as the rest" in density_words(present(layers[1].about))) == told


def test_a_density_of_a_thousandth_is_as_sure_as_is_written() -> None:
    water = layers_of(soak(Line("Squalane", "30")), with_own())[0]
    assert density_text(present(water.about)) == "0.998 ± 0.001"  # a table knows it better than three decimals can say
