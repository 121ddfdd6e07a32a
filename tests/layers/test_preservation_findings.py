"""What is said about the preservatives of a formula."""

from __future__ import annotations

import pytest

from tests.layers.preservation_made import DEMO, product, words_of


def test_the_challenge_test_is_always_named() -> None:
    for formula in (
        DEMO,
        product(("water", "Aqua", 99.7), ("water", "Phenoxyethanol", 0.3)),
        product(("water", "Aqua", 100)),
    ):
        assert (
            "Only a challenge test in a laboratory (ISO 11930) shows whether this product withstands them"
            in words_of(formula)
        )


def test_no_preservative_at_all() -> None:
    words = words_of(product(("water", "Aqua", 70), ("oil", "Squalane", 30)))
    assert (
        "caution: No preservative that the library knows is in this formula, although it holds a water layer." in words
    )


@pytest.mark.parametrize(
    ("material", "ph", "said", "silent"),
    [
        ("Sodium Benzoate", 5.2, "Benzoic Acid is usually used up to about pH 5; above that little undissociated", 4.9),
        ("Potassium Sorbate", 6.0, "Sorbic Acid is usually used up to about pH 5.5", 5.4),
        ("Sodium Dehydroacetate", 6.5, "Dehydroacetic Acid is usually used up to about pH 6", 5.9),
        ("Sodium Salicylate", 5.0, "Salicylic Acid is usually used up to about pH 4.5", 4.4),
        ("Methylparaben", 8.5, "Methylparaben is usually used up to about pH 8", 7.9),
        ("Phenoxyethanol", 8.5, "Phenoxyethanol is usually used at about pH 3 to 8. You measured 8.5", 5),
        ("Benzyl Alcohol", 3.5, "Benzyl Alcohol is usually used at about pH 4 to 7. You measured 3.5", 5),
        ("Methylisothiazolinone", 8.5, "Methylisothiazolinone is usually used at about pH 8 and below", 7),
    ],
)
def test_a_ph_out_of_the_usual(material: str, ph: float, said: str, silent: float) -> None:
    formula = product(("water", "Aqua", 69.9), ("water", material, 0.1), ("oil", "Squalane", 30))
    assert f"caution: {said}" in words_of(formula, ph)
    assert "is usually used" not in words_of(formula, silent)


def test_place_and_kind_of_a_preservative() -> None:
    only_oil = product(("water", "Aqua", 70), ("oil", "Squalane", 29.9), ("oil", "Butylparaben", 0.1))
    assert "caution: Butylparaben is put into the oil layer only. It guards the water only as far" in words_of(only_oil)
    both = product(("water", "Aqua", 69.9), ("water", "Butylparaben", 0.1), ("oil", "Squalane", 30))
    assert "oil layer only" not in words_of(both)
    assert "In print for other oils: Butylparaben in liquid paraffin 3, Butylparaben in soya oil 280." in words_of(both)
    two = product(
        ("water", "Aqua", 69.9), ("water", "Butylparaben", 0.1), ("oil", "Squalane", 29.9), ("oil", "Butylparaben", 0.1)
    )
    assert "oil layer only" not in words_of(two)
    third = product(("water", "Aqua", 69), ("oil", "Squalane", 30), ("other", "Phenoxyethanol", 1.0))
    assert "Phenoxyethanol comes in a phase that belongs to neither layer" in words_of(third)
    releaser = product(("water", "Aqua", 69.8), ("water", "DMDM Hydantoin", 0.2), ("oil", "Squalane", 30))
    assert "caution: DMDM Hydantoin releases formaldehyde" in words_of(releaser)


def test_solubility_is_said_where_it_caps_the_level() -> None:
    formula = product(("water", "Aqua", 69.4), ("water", "Sodium Benzoate", 0.6), ("oil", "Squalane", 30))
    words = words_of(formula, 3.0, **{"Benzoic Acid": 0.1})
    assert "caution: The water cannot hold so much Benzoic Acid: about 2.93 g/L of the undissociated substance" in words
    assert "The level is shown as far as it dissolves." in words
    assert "cannot hold" not in words_of(formula, 4.6, **{"Benzoic Acid": 0.1})
    assert "cannot hold" not in words_of(formula, None, **{"Benzoic Acid": 0.1})  # a salt dissolves, the pH decides


def test_company_that_changes_the_level() -> None:
    water = [("water", "Aqua", 59.0), ("water", "Alcohol", 10.0), ("water", "Polysorbate 20", 0.8)]
    formula = product(*water, ("water", "Sodium Benzoate", 0.2), ("oil", "Squalane", 30))
    assert "caution: Polysorbate 20: nonionic surfactants bind parabens" in words_of(formula, 4.5)
    assert "note: The water layer holds alcohol, which raises the pKa of an acid" in words_of(formula, 4.5)
    assert "nonionic" not in words_of(DEMO, 4.5)
    assert "holds alcohol" not in words_of(DEMO, 4.5)


def test_a_pka_from_memory_is_said_to_be() -> None:
    formula = product(("water", "Aqua", 69.9), ("water", "Ethylparaben", 0.1), ("oil", "Squalane", 30))
    assert "The pKa of Ethylparaben, 8.3, is from memory." in words_of(formula, 5)
    assert "from memory" not in words_of(DEMO, 4.6)


def test_no_ph_is_said_once_for_all_acids() -> None:
    words = words_of(DEMO)
    assert "Ionisation of Benzoic Acid and Sorbic Acid is not counted, because no pH was given. Measure the pH" in words
    assert "no pH was given" not in words_of(DEMO, 4.6)
    assert "safe" not in words.casefold()
    assert "preserved" not in words.casefold()


@pytest.mark.parametrize(("alcohol", "told"), [(3.5, False), (3.6, True)])
def test_alcohol_is_worth_a_word_above_a_twentieth_of_the_water_layer(alcohol: float, told: bool) -> None:
    # of 70 g of water layer 3.5 g are 5 %
    water = ("water", "Aqua", 69.8 - alcohol), ("water", "Alcohol", alcohol), ("water", "Sodium Benzoate", 0.2)
    words = words_of(product(*water, ("oil", "Squalane", 30)), 4.5)
    assert ("The water layer holds alcohol, which raises the pKa of an acid" in words) == told
    neutral = words_of(product(*water[:2], ("water", "Phenoxyethanol", 0.2), ("oil", "Squalane", 30)), 4.5)
    assert "raises the pKa" not in neutral  # there is no acid
