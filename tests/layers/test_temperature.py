"""Density against temperature: water exactly, others by their coefficient, and what is said of the layers' order."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import layer_density, layers_of
from kit.layers.density_words import density_text
from kit.layers.substance import expansions, usual_expansion
from kit.layers.temperature import inversion_temperature, order_between
from kit.library.ingredient import Figure, Ingredient
from kit.library.library import Library
from kit.liquids.water import water_density_at
from kit.resources import load_table
from tests.layers.some_formulas import formulas, materials_of
from tests.present import present


def two(oil: str, *, density: float | None = None) -> tuple[Formula, Materials]:
    phases = (
        Phase("Water", "water", (Line("Aqua", "70", "fill"),)),
        Phase("Oil", "oil", (Line(oil, "30", "fill"),)),
    )
    own = (Ingredient(oil, phase="oil", density=Figure(density, "own")),) if density else ()
    formula = Formula("Two", phases, materials=own)
    return formula, Materials.of(formula, Library.bundled())


@pytest.mark.parametrize(
    ("celsius", "published"),
    [(10, 0.9997026), (20, 0.9982071), (25, 0.9970479), (30, 0.9956502), (40, 0.9922), (60, 0.9832), (80, 0.9718)],
)
def test_a_layer_of_water_follows_the_published_table(celsius: float, published: float) -> None:
    # OpenStax, Chemistry 2e, appendix E, four decimals above 30 °C
    found = layer_density(*two("Squalane"), "water", celsius)
    assert found.value == pytest.approx(published, abs=5e-5 if celsius > 30 else 2e-6)
    assert found.is_known


def test_benzyl_alcohol_at_25_degrees_is_the_second_value_of_its_correlation() -> None:
    # 1.0413 g/mL at 25 °C: the library's source, see data/expansion
    formula = Formula("B", (Phase("B", "oil", (Line("Benzyl Alcohol", "q.s.", "fill"),)),))
    found = layer_density(formula, Materials.of(formula, Library.bundled()), "oil", 25.0)
    assert found.value == pytest.approx(1.0413, abs=1e-4)
    assert found.unknown_expansion_share == 0


def test_a_density_of_25_degrees_is_carried_to_20() -> None:
    # Squalane, 0.810 g/mL at 25 °C, grows by 0.00075 for each kelvin (data/expansion): by hand 0.810 x 1.00375.
    formula, materials = two("Squalane")
    assert layer_density(formula, materials, "oil", 25.0).value == pytest.approx(0.810, abs=1e-12)
    assert layer_density(formula, materials, "oil").value == pytest.approx(0.810 * 1.00375, abs=1e-5)


@given(formulas(other=True))
def test_at_20_degrees_the_table_shows_the_density_of_the_layer_to_the_last_digit(formula: Formula) -> None:
    materials = materials_of(formula)
    for layer in layers_of(formula, materials):
        found = layer_density(formula, materials, layer.kind, 20.0)
        assert (found.value, found.uncertainty) == (layer.density, layer.uncertainty)


@given(formulas(), st.floats(0, 60), st.floats(0, 60))
def test_what_is_warmer_is_never_sure_to_be_denser(formula: Formula, one: float, other: float) -> None:
    materials, (cold, warm) = materials_of(formula), sorted((max(one, 5), max(other, 5)))
    for kind in ("water", "oil"):
        before, after = (layer_density(formula, materials, kind, t) for t in (cold, warm))
        assert after.value <= before.value + 1e-6


def test_layers_change_places_where_their_densities_cross() -> None:
    formula, materials = two("Coco-Caprylate", density=0.9990)  # own density, the library's coefficient
    change = inversion_temperature(formula, materials)
    assert change is not None
    water = layer_density(formula, materials, "water", change).value
    assert layer_density(formula, materials, "oil", change).value == pytest.approx(water, abs=1e-9)
    assert water == pytest.approx(water_density_at(change), abs=2e-5)
    found = present(order_between(formula, materials))
    # 0.999 and 1.011 g/mL in the cold, 0.992 and 0.982 in the warmth, each clear of the other by four uncertainties
    assert (found.says, round(present(found.change))) == ("changes", round(change))
    assert found.words == f"At about {change:.0f} °C both layers weigh the same; beyond it they change places."


def test_the_same_layer_stays_below_only_where_that_was_computed() -> None:
    found = present(order_between(*two("Coco-Caprylate")))
    assert found.says == "same"
    assert found.words.startswith("Between 5 and 40 °C the water layer stays below")
    assert inversion_temperature(*two("Coco-Caprylate")) is None


def test_an_unknown_expansion_is_not_zero() -> None:
    formula, materials = two("Invented Oil", density=0.8)
    found = present(order_between(formula, materials))
    assert found.says == "not known"
    assert "the expansion of 100 % of the oil layer is not known" in found.words
    assert "look" in found.words
    assert inversion_temperature(formula, materials) is None
    shown = [density_text(layer_density(formula, materials, "oil", t)) for t in (5, 20, 40)]
    assert shown == ["not known", "0.800 ± 0.004", "not known"]
    cold, warm = (layer_density(formula, materials, "oil", t) for t in (20, 40))
    # by hand: 20 K of an expansion that may lie 0.0002 off either way
    middle, doubt = usual_expansion()
    assert warm.value == pytest.approx(0.8 / (1 + 20 * middle), rel=1e-12)
    assert warm.uncertainty == pytest.approx((cold.uncertainty**2 + (0.8 * 20 * doubt) ** 2) ** 0.5, rel=0.05)


def test_an_order_closer_than_it_is_known_cannot_be_told() -> None:
    # 47 % w/w ethanol in water: 0.920 g/mL (OIML R 22), which almond oil of 0.914 ± 0.006 comes too near to when warm
    phases = (
        Phase("W", "water", (Line("Alcohol", "32.9"), Line("Aqua", "37.1", "fill"))),
        Phase("O", "oil", (Line("Prunus Amygdalus Dulcis Oil", "30"),)),
    )
    formula = Formula("Alcohol", phases)
    materials = Materials.of(formula, Library.bundled())
    water, oil = layers_of(formula, materials)
    assert water.density == pytest.approx(0.9204, abs=2e-4)
    assert water.density > oil.density
    found = present(order_between(formula, materials))
    assert found.says == "cannot be told"
    assert "weigh 100 mL of each" in found.words


def test_a_layer_without_any_density_has_no_order() -> None:
    formula, materials = two("Nobody's oil")
    found = present(order_between(formula, materials))
    assert found.says == "not known"
    assert "the oil layer has no density" in found.words
    assert order_between(Formula("One", (Phase("W", "water", (Line("Aqua", "100"),)),)), materials) is None


def test_outside_the_range_of_the_equation_it_says_so() -> None:
    formula, materials = two("Squalane")
    for outside in (-0.1, 100.1):
        with pytest.raises(RangeError, match=r"°C is outside 0 to 100 °C, where densities of layers are computed"):
            layer_density(formula, materials, "oil", outside)
    with pytest.raises(RangeError, match="Two has no other layer, so it has no density"):
        layer_density(formula, materials, "other", 20.0)


def test_every_coefficient_names_a_known_ingredient_and_is_believable() -> None:
    library = Library.bundled()
    for name, known in expansions().items():
        assert library.get(name) is not None, name
        assert 2e-4 < known.coefficient < 1.5e-3, name
        assert 0.02 * known.coefficient < known.uncertainty < 0.5 * known.coefficient, name
        assert 0 <= known.coldest < known.warmest <= 120, name


def test_coefficients_with_two_densities_are_their_slope() -> None:
    for row in load_table("expansion").rows:
        if row["source"] == "density-correlations":
            at_20, at_25 = (
                float(word) for word in row["note"].replace("g/mL", "").split() if word.startswith(("0.", "1."))
            )
            assert float(row["per_kelvin"]) == pytest.approx((1 - at_25 / at_20) / 5, abs=1e-5), row["inci"]


def test_each_layer_of_unknown_expansion_is_named_with_its_own_share() -> None:
    spirit = (Line("Alcohol", "20"), Line("Aqua", "50"))
    formula = Formula("S", (Phase("W", "water", spirit), Phase("O", "oil", (Line("Dimethicone", "30"),))))
    materials = Materials.of(formula, Library.bundled())
    # by hand: beyond 40 °C the ethanol, 20 g of 0.75 g/mL in some 76 mL
    words = present(order_between(formula, materials, 0, 75)).words
    assert re.search(r"of 3[0-4](\.\d)? % of the water layer and of 100 % of the oil layer is not known", words)
