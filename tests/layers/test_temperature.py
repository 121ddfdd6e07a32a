"""Density against temperature: water exactly, others by their coefficient, and when the layers change places."""

from __future__ import annotations

import pytest

from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.temperature import expansion_coefficients, inversion_temperature, layer_density_at
from kit.library.ingredient import Figure, Ingredient
from kit.library.library import Library
from kit.liquids.water import water_density
from kit.resources import load_table


def two(oil: str, *, density: float | None = None) -> tuple[Formula, Materials]:
    phases = (
        Phase("Water", "water", (Line("Aqua", "70", "fill"),)),
        Phase("Oil", "oil", (Line(oil, "30", "fill"),)),
    )
    own = (Ingredient(oil, phase="oil", density=Figure(density, "own")),) if density else ()
    formula = Formula("Two", phases, materials=own)
    return formula, Materials.of(formula, Library.bundled())


@pytest.mark.parametrize(("celsius", "published"), [(10.0, 0.9997026), (25.0, 0.9970479), (30.0, 0.9956502)])
def test_a_layer_of_water_follows_the_published_table(celsius: float, published: float) -> None:
    # OpenStax, Chemistry 2e, appendix E. The library's 0.9982 g/mL at 20 °C is rounded: hence 2e-5.
    formula, materials = two("Squalane")
    assert layer_density_at(formula, materials, "water", celsius).density == pytest.approx(published, abs=2e-5)


def test_glycerin_at_25_degrees_is_the_second_value_of_its_correlation() -> None:
    # 1.2581 g/mL at 25 °C: the library's source, see data/expansion
    formula = Formula("G", (Phase("G", "water", (Line("Glycerin", "q.s.", "fill"),)),))
    found = layer_density_at(formula, Materials.of(formula, Library.bundled()), "water", 25.0)
    assert found.density == pytest.approx(1.2581, abs=1e-4)
    assert found.unknown_share == 0


def test_layers_change_places_where_their_densities_cross() -> None:
    formula, materials = two("Coco-Caprylate", density=0.9990)  # own density, the library's coefficient
    change = inversion_temperature(formula, materials)
    assert change is not None
    water = layer_density_at(formula, materials, "water", change).density
    assert layer_density_at(formula, materials, "oil", change).density == pytest.approx(water, abs=1e-9)
    assert water == pytest.approx(water_density(f"{change} degC"), abs=2e-5)


def test_no_temperature_is_named_where_it_is_not_known_or_does_not_happen() -> None:
    assert inversion_temperature(*two("Coco-Caprylate")) is None
    assert inversion_temperature(*two("Invented Oil", density=0.998)) is None  # expansion unknown


def test_outside_the_range_of_the_equation_it_says_so() -> None:
    formula, materials = two("Squalane")
    with pytest.raises(RangeError, match="45 °C is outside 0 to 40 °C"):
        layer_density_at(formula, materials, "oil", 45.0)
    with pytest.raises(RangeError, match="has no other layer with a known density"):
        layer_density_at(formula, materials, "other", 20.0)


def test_every_coefficient_names_a_known_ingredient_and_is_believable() -> None:
    library = Library.bundled()
    for name, coefficient in expansion_coefficients().items():
        assert library.get(name) is not None, name
        assert 2e-4 < coefficient < 1.5e-3, name


def test_coefficients_with_two_densities_are_their_slope() -> None:
    for row in load_table("expansion").rows:
        if row["source"] == "density-correlations":
            at_20, at_25 = (
                float(word) for word in row["note"].replace("g/mL", "").split() if word.startswith(("0.", "1."))
            )
            assert float(row["per_kelvin"]) == pytest.approx((1 - at_25 / at_20) / 5, abs=1e-5), row["inci"]
