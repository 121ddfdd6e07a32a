"""Levels of preservatives in the water layer of a formula, at its ratio and at others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError, UnknownNameError
from kit.formula.expansion import Materials, expand
from kit.layers.preservation import Layout, preservative_levels
from kit.layers.preservatives import RANGE_OF_K, find_preservatives, published_partition
from kit.layers.ratio import RatioPath
from kit.library.ingredient import Figure, Ingredient, Stock
from tests.layers.preservation_made import DEMO, LIBRARY, MATERIALS, levels_of, product, words_of
from tests.present import present

if TYPE_CHECKING:
    from kit.formula.model import Formula

ks = st.floats(1e-3, 1e3)


def test_the_demo_by_hand() -> None:
    """The layers' volumes from the densities of the ingredient table, the rest with paper and pencil."""
    benzoic, sorbic = preservative_levels(DEMO, MATERIALS, ph=4.6, partition={"Sodium Benzoate": 5, "Sorbic Acid": 3})
    grams = 0.4 * 122.12 / 144.10
    water = 74.3 / 0.9982 + 4 / 1.2613 + 3.5 / 1.04
    rest = {"Sodium PCA (and) Aqua": 2, "Sodium Chloride": 0.5, "Sodium Benzoate": 0.4, "Potassium Sorbate": 0.2}
    densities = {name: present(present(MATERIALS.ingredient(name)).density).value for name in rest}
    water = sum(x / densities[name] for name, x in rest.items()) + water
    water += (85 - 74.3 - 4 - 3.5 - sum(rest.values())) / 0.9982
    layout = Layout.of(DEMO, MATERIALS)
    assert layout.volume("water", 15) == pytest.approx(water, rel=4e-3)  # by ideal volumes, which are too large
    water = layout.volume("water", 15)
    oil = layout.volume("oil", 15)
    assert 15 / oil == pytest.approx(0.883, abs=0.01)  # between 0.86 and 0.92 g/mL of its oils
    fraction = 1 / (1 + 10 ** (4.6 - 4.21))
    assert benzoic.of_whole == pytest.approx(grams)
    assert benzoic.simple == pytest.approx(100 * grams / water)
    assert benzoic.partition.water == pytest.approx(100 * grams / (water + 5 * oil))
    assert benzoic.ionised is not None
    assert benzoic.ionised.water == pytest.approx(100 * grams / (water + 5 * fraction * oil))
    assert benzoic.ionised.undissociated == pytest.approx(fraction * benzoic.ionised.water)
    assert benzoic.percent("whole") == pytest.approx(benzoic.ionised.water * water / 85)
    assert sorbic.of_whole == pytest.approx((0.2 + 3.5 * 0.2 / 100) * 112.13 / 150.22)
    assert sorbic.found.forms == ("Potassium Sorbate",)


def test_all_in_the_water_is_the_percent_of_the_layer() -> None:
    (level,) = levels_of(product(("water", "Aqua", 69.5), ("water", "Phenoxyethanol", 0.5), ("oil", "Squalane", 30)))[
        :1
    ]
    assert level.percent("simple") == pytest.approx(100 * 0.5 / 70)


def test_amounts_from_stocks_blends_and_either_layer_add_up_as_in_the_expansion() -> None:
    blend = "Phenoxyethanol (and) Ethylhexylglycerin"
    formula = product(
        ("water", "Aqua", 67.0),
        ("water", blend, 1.0),
        ("water", "Tern stock", 2.0),
        ("oil", "Squalane", 29.9),
        ("oil", "Phenoxyethanol", 0.1),
        own=(Stock("Tern stock", {"Aqua": 80.0, "Sodium Benzoate": 15.0, "Benzoic Acid": 5.0}),),
    )
    substances = expand(formula, Materials.of(formula, LIBRARY))
    found = {level.inci: level for level in levels_of(formula)}
    assert set(found) == {"Phenoxyethanol", "Benzoic Acid"}
    assert found["Phenoxyethanol"].of_whole == pytest.approx(substances["Phenoxyethanol"])
    assert found["Benzoic Acid"].of_whole == pytest.approx(0.3 * 122.12 / 144.10 + 0.1)
    assert set(found["Benzoic Acid"].found.forms) == {"Sodium Benzoate", "Benzoic Acid"}


@given(oil=st.floats(0.2, 99), k=ks, ph=st.floats(2, 9))
def test_mass_is_conserved_at_every_ratio(oil: float, k: float, ph: float) -> None:
    layout = Layout.of(DEMO, MATERIALS)
    given_k = {"Benzoic Acid": k, "Sorbic Acid": k}
    for level in preservative_levels(DEMO, MATERIALS, oil, ph, given_k):
        for shares in (level.partition, level.ionised):
            assert shares is not None
            there = (shares.water * layout.volume("water", oil) + shares.oil * layout.volume("oil", oil)) / 100
            assert there + shares.undissolved == pytest.approx(level.of_whole, rel=1e-9)


@given(oil=st.floats(1, 90))
def test_moving_the_ratio_and_moving_the_formula_agree(oil: float) -> None:
    moved = RatioPath.of(DEMO).at(oil)
    along = preservative_levels(DEMO, MATERIALS, oil, 4.6, {"Benzoic Acid": 5, "Sorbic Acid": 3})
    there = preservative_levels(moved, Materials.of(moved, LIBRARY), None, 4.6, {"Benzoic Acid": 5, "Sorbic Acid": 3})
    for one, other in zip(along, there, strict=True):
        assert one.percent("undissociated") == pytest.approx(other.percent("undissociated"), rel=1e-9)


def test_unknown_k_gives_a_range_and_a_given_or_published_one_does_not() -> None:
    assert [level.k.value for level in preservative_levels(DEMO, MATERIALS)] == [*RANGE_OF_K, *RANGE_OF_K]
    assert not any(level.k.is_known for level in preservative_levels(DEMO, MATERIALS))
    lines = [("water", "Aqua", 59.8), ("water", "Methylparaben", 0.2), ("oil", "Glycine Soja Oil", 39.0)]
    (soya,) = levels_of(product(*lines, ("oil", "Tocopherol", 1.0)))
    assert (soya.k.value, soya.k.words, soya.k.source) == (7.5, "published for soya oil", "bean-1972")
    (mine,) = levels_of(product(*lines, ("oil", "Tocopherol", 1.0)), partition={"methylparaben": 6})
    assert (mine.k.value, mine.k.words) == (6, "your K")
    mixed = levels_of(product(*lines[:2], ("oil", "Glycine Soja Oil", 20), ("oil", "Squalane", 20)))
    assert [level.k.value for level in mixed] == list(RANGE_OF_K)


def test_octanol_is_never_taken_for_an_oil() -> None:
    values = {level.k.value for level in preservative_levels(DEMO, MATERIALS)}
    assert not values & {10**1.87, 10**1.33}
    assert "Figures for octanol and water (Benzoic Acid 74.1, Sorbic Acid 21.4) belong to another liquid" in words_of(
        DEMO
    )


def test_without_oil_all_is_in_the_water_and_k_does_not_matter() -> None:
    toner = product(("water", "Aqua", 99.7), ("water", "Phenoxyethanol", 0.3))
    (level,) = levels_of(toner, partition={"Phenoxyethanol": 50})
    assert level.partition.water == pytest.approx(level.simple)
    assert level.percent("simple") == pytest.approx(0.3)
    assert Layout.of(toner, Materials.of(toner, LIBRARY)).still.startswith("There is no oil layer: all of it is in")
    assert "K" not in words_of(toner).replace("ISO", "")


def test_a_heavy_oil_makes_no_difference_to_the_sum() -> None:
    heavy = Ingredient("Heavy Oil (invented)", phase="oil", density=Figure(1.31, "own"))
    formula = product(
        ("water", "Aqua", 59.5), ("water", "Phenoxyethanol", 0.5), ("oil", heavy.inci, 40.0), own=(heavy,)
    )
    (level,) = levels_of(formula, partition={"Phenoxyethanol": 2})
    water = 59.5 / 0.998207 + 0.5 / 1.102
    # the density of phenoxyethanol holds for 22 °C
    assert level.partition.water == pytest.approx(50 / (water + 2 * 40 / 1.31), rel=1e-5)


def test_a_neutral_one_does_not_ionise_and_an_unknown_one_is_not_guessed() -> None:
    own = Ingredient("Tern Guard (invented)", roles=("preservative",))
    formula = product(
        ("water", "Aqua", 69),
        ("water", "Phenoxyethanol", 0.5),
        ("water", own.inci, 0.5),
        ("oil", "Squalane", 30),
        own=(own,),
    )
    neutral, unknown = (
        next(x for x in levels_of(formula, ph=9) if x.inci == name) for name in ("Phenoxyethanol", own.inci)
    )
    assert neutral.fraction == 1
    assert neutral.percent("whole") == neutral.percent("partition") == neutral.percent("undissociated")
    assert unknown.percent("whole") is None
    assert "The pKa of Tern Guard (invented) is not known: its ionisation is not counted." in words_of(formula, 9)


def test_a_salt_without_a_molar_mass_is_counted_as_it_is_and_that_is_said() -> None:
    bare = Ingredient("Sodium Benzoate", roles=("preservative",))
    formula = product(("water", "Aqua", 69.5), ("water", "Sodium Benzoate", 0.5), ("oil", "Squalane", 30), own=(bare,))
    level = levels_of(formula)[0]
    assert level.of_whole == pytest.approx(0.5)
    assert "Sodium Benzoate is counted by its own weight, not as Benzoic Acid" in words_of(formula)


def test_a_bought_preservative_of_unknown_parts_counts_as_a_whole() -> None:
    blend = Ingredient(
        "Tern Blend (invented)", roles=("preservative",), composition={"Mystery A": 60.0, "Mystery B": 40.0}
    )
    formula = product(("water", "Aqua", 69), ("water", blend.inci, 1.0), ("oil", "Squalane", 30), own=(blend,))
    (found,) = find_preservatives(formula, Materials.of(formula, LIBRARY))
    assert (found.inci, sum(found.per_line)) == ("Tern Blend (invented)", 1.0)


@pytest.mark.parametrize(
    ("formula", "how", "words"),
    [
        (product(("oil", "Squalane", 100)), {}, "A made-up shake has no water layer, so there is no level in water"),
        (product(("water", "Aqua", 90)), {}, "cannot be read for its preservatives yet: it adds to 90 %, not 100 %"),
        (DEMO, {"ph": -1}, "A pH of -1 cannot be"),
        (DEMO, {"oil": 99.9}, r"The oil layer can be 0\.1546 to 99\.32 % here, not 99\.9 %"),
        (DEMO, {"partition": {"Sodium Benzoate": 0}}, "K of Benzoic Acid is given as 0"),
        (DEMO, {"partition": {"Glycerin": 2}}, "A K is given for Glycerin, which is no preservative of After-swim"),
    ],
)
def test_what_stands_in_the_way_is_said(formula: Formula, how: dict[str, Any], words: str) -> None:
    with pytest.raises(KitError, match=words):
        levels_of(formula, **how)


def test_an_unknown_name_is_an_unknown_name() -> None:
    with pytest.raises(UnknownNameError, match=r"It has these: Benzoic Acid, Sorbic Acid\."):
        levels_of(DEMO, partition={"Parfum": 2})


def test_the_range_of_k_is_that_of_the_published_table() -> None:
    # H. S. Bean (1972), table VII: four parabens in soya oil and in liquid paraffin
    printed = [row.k for row in published_partition() if row.source == "bean-1972"]
    assert (RANGE_OF_K[0], RANGE_OF_K[-1]) == (min(printed), max(printed)) == (0.02, 280)
    assert list(RANGE_OF_K) == sorted(RANGE_OF_K)


@pytest.mark.parametrize(("soya", "is_known"), [(38.0, True), (37.9, False)])
def test_a_published_k_is_taken_for_an_oil_that_is_nearly_the_whole_layer(soya: float, is_known: bool) -> None:
    # 38 of 40 g are 95 % of the oil layer
    found = levels_of(
        product(("water", "Aqua", 59.8), ("water", "Methylparaben", 0.2), ("oil", "Glycine Soja Oil", soya),
                ("oil", "Squalane", 40 - soya))
    )  # fmt: skip
    assert [level.k.is_known for level in found] == ([True] if is_known else [False] * 4)
