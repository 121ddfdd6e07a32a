"""Densities of materials and layers, what is said where one is missing, and the published tables of water."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import (
    Layer,
    layers_of,
    material_density,
    mix_densities,
    product_density,
)
from kit.layers.density_words import density_findings, density_sources, density_words
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.library import Library
from kit.library.sources import source_text
from tests.layers.some_formulas import formulas, materials_of
from tests.present import present

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
