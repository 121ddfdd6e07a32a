"""Thinning what is at hand in print: alcohol and water with their shrinking, and what only adds up."""

from __future__ import annotations

import pytest

from kit.bench.thinning import diluent_to_add, strength_after
from tests.present import present

#: 60 °F, at which the gauging manual of the United States states its volumes. [°C]
SIXTY_F = (60 - 32) / 1.8

#: Volumes of water to add to 100 volumes of spirit: wanted % v/v → from 95, 90, 80, 70, 50 % v/v.
#: "Alcohol dilution reduction table" of an engineering reference site, after the United States Gauging Manual.
REDUCTION = {
    90: (6.41,),
    80: (20.9, 13.8),
    70: (39.1, 31.0, 15.3),
    60: (63.0, 53.6, 35.4, 17.6),
    50: (95.9, 84.8, 63.1, 41.7),
    40: (144, 131, 104, 77.6, 25.6),
    30: (224, 206, 171, 136, 67.5),
    20: (382, 356, 304, 253, 150.6),
}


@pytest.mark.parametrize("wanted", REDUCTION)
def test_reducing_spirit_with_water(wanted: int) -> None:
    for strength, published in zip((95, 90, 80, 70, 50), REDUCTION[wanted], strict=False):
        found = diluent_to_add("100 mL", strength, wanted, basis="v/v", active="Alcohol", celsius=SIXTY_F)
        assert found.diluent_volume == pytest.approx(published, rel=0.006)
        assert found.volume == pytest.approx(100 * strength / wanted)
        # Without the shrinking far too little would be added.
        assert present(found.diluent_volume) > 100 * strength / wanted - 100


def test_fifty_and_fifty_do_not_make_a_hundred() -> None:
    """OIML R 22 (1975), by its formula: 50 mL of water and 50 mL of ethanol at 20 °C make 96.46 mL."""
    both = strength_after("50 mL", 100, "50 mL", basis="v/v", active="Alcohol")
    assert both.volume == pytest.approx(96.46, abs=0.05)
    assert both.shrinks == pytest.approx(3.54, abs=0.05)
    by_mass = strength_after("50 mL", 100, "50 mL", active="Alcohol", density=0.789239)
    assert by_mass.strength == pytest.approx(44.155, abs=0.005)


def test_how_much_diluent_to_what_there_is() -> None:
    """The dilutions of OpenStax, Chemistry 2e, read from what is at hand: 58.8 g of 68.0 % take 341.2 g to 10.0 %."""
    found = diluent_to_add("58.8 g", 68.0, 10.0)
    assert found.diluent == pytest.approx(341.2, abs=0.2)
    # Example 3.20: 11 mL of 0.45 M diluted to 0.12 M make 41 mL; any strength by volume will do.
    assert diluent_to_add("11 mL", 45, 12, basis="w/v").volume == pytest.approx(41.25)
    # A pharmacy technicians' tutorial: 24 mL of 30 % with 36 mL of diluent are 12 %.
    assert strength_after("24 g", 30, "36 g").strength == pytest.approx(12)


def test_successive_dilutions_of_one_in_ten() -> None:
    """By definition: 1.00 % thinned 1 in 10 three times is 0.100, 0.0100 and 0.00100 %, a thousandth in all."""
    strength, found = 1.00, []
    for _ in range(3):
        strength = strength_after("10 g", strength, "90 g").strength
        found.append(strength)
    assert found == pytest.approx([0.100, 0.0100, 0.00100])
