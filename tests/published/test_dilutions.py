"""Dilutions worked in print: textbook examples, teaching pages and the WHO hand-rub recipes.

OpenStax is P. Flowers et al., *Chemistry 2e*, chapter 3.
"""

from __future__ import annotations

import pytest

from kit.bench.conversion import to_w_w
from kit.bench.dilution import dilute, make_stock
from kit.bench.scaling import for_bottles

WHO = "Guide to Local Production: WHO-recommended Handrub Formulations (2010), 10 L"


@pytest.mark.parametrize(
    ("material", "strength", "wanted", "published"),
    [
        ("ethanol, formulation 1", 96, 80, 8333),
        ("isopropyl alcohol, formulation 2", 99.8, 75, 7515),
        ("hydrogen peroxide, both", 3, 0.125, 417),
    ],
)
def test_who_hand_rubs(material: str, strength: float, wanted: float, published: float) -> None:
    """Millilitres of each liquid for 10 L: WHO, Guide to Local Production (2010), formulations 1 and 2."""
    assert round(dilute(strength, wanted, 10_000).stock) == published, f"{material}: {WHO}"


def test_who_counts_the_glycerol_as_it_is_bought() -> None:
    """145 mL of glycerol 98 % in 10 L are WHO's "1.45 %": the bought liquid, not the glycerol in it.

    Counted by what is in it, 1.45 % would take 148 mL, and 145 mL bring 1.42 %.
    """
    assert dilute(100, 1.45, 10_000).stock == pytest.approx(145), WHO
    assert round(dilute(98, 1.45, 10_000).stock) == 148
    assert dilute(98, 1.421, 10_000).stock == pytest.approx(145)


def test_volumes_and_diluents_of_c1_v1() -> None:
    # OpenStax, example 3.19: 0.850 L of 5.00 M diluted to 1.80 L is 2.36 M (three figures).
    assert dilute(5.00, 2.36, 1.80).stock == pytest.approx(0.850, abs=0.0005)
    # OpenStax, example 3.20: 11 mL of 0.45 M diluted to 0.12 M make 41 mL (two figures; exactly 41.25).
    assert dilute(0.45, 0.12, 41.25).stock == pytest.approx(11)
    # OpenStax, example 3.21: 5.00 L of 0.100 M from a 1.59 M stock take 0.314 L.
    assert dilute(1.59, 0.100, 5.00).stock == pytest.approx(0.314, abs=0.0005)


def test_by_mass() -> None:
    """OpenStax, section 3.4, exercises: 400.0 g of 10.0 % w/w from a 68.0 % w/w stock take 58.8 g."""
    made = dilute(68.0, 10.0, 400.0)
    assert made.stock == pytest.approx(58.8, abs=0.05)
    assert made.diluent == pytest.approx(341.2, abs=0.05)


def test_mass_percent_to_grams_through_the_density() -> None:
    """OpenStax, example 3.23: 0.500 L of 37.2 % w/w at 1.19 g/mL hold 221 g."""
    solution = for_bottles(1, "0.500 L", 1.19).product
    assert solution * to_w_w(37.2, "w/w") / 100 == pytest.approx(221, abs=0.5)
    # The same solution as its label might state it: 37.2 x 1.19 g in 100 mL.
    assert to_w_w(37.2 * 1.19, "w/v", density=1.19) == pytest.approx(37.2)


def test_volume_percent_to_grams() -> None:
    """OpenStax, example 3.24: 355 mL of 70 % v/v isopropyl alcohol, pure 0.785 g/mL, hold 195 g of it."""
    # The density of the mixture does not matter for the answer; 0.88 g/mL is any.
    share = to_w_w(70, "v/v", density=0.88, active_density=0.785)
    assert for_bottles(1, "355 mL", 0.88).product * share / 100 == pytest.approx(195, abs=0.5)


@pytest.mark.parametrize(
    ("v_v", "density", "w_w"),
    [(10, 0.98471, 8.015), (40, 0.94805, 33.300), (70, 0.88556, 62.386), (95, 0.81138, 92.408)],
)
def test_alcohol_by_volume_is_less_by_mass(v_v: float, density: float, w_w: float) -> None:
    """Ethanol in water at 20 °C, pure 0.78924 g/mL: OIML R 22 (1975), values from memory that its formula gives."""
    assert to_w_w(v_v, "v/v", density=density, active_density=0.78924) == pytest.approx(w_w, abs=0.005)


def test_the_three_meanings_of_percent() -> None:
    """Harper College, "Solution Calculations": 0.50 g in 200 mL is 0.25 % w/v; 20 mL in 200 mL is 10 % v/v."""
    # Any density will do: the grams in 200 mL come back.
    for density in (0.9, 1.0, 1.2):
        solution = for_bottles(1, "200 mL", density).product
        assert solution * to_w_w(0.25, "w/v", density=density) / 100 == pytest.approx(0.50)
        pure = solution * to_w_w(10, "v/v", density=density, active_density=0.8) / 100
        assert pure / 0.8 == pytest.approx(20)
    # And 20 g in 200 g of mixture is 10 % w/w.
    stock = make_stock("Tenth", "Citric Acid", 10)
    assert 200 * stock.contents["Citric Acid"] / 100 == pytest.approx(20)


def test_diluent_only() -> None:
    """A pharmacy technicians' tutorial on alligation: 60 mL of 12 % from 30 % and water take 24 mL and 36 mL."""
    made = dilute(30, 12, 60)
    assert (made.stock, made.diluent) == pytest.approx((24, 36))


def test_parts_are_not_rounded_on_the_way() -> None:
    """A pharmacy study page prints 360 + 640 mL for 1000 mL of 25 % from 70 %, for it rounded 5/14 to 0.36.

    Exactly, 25 / 70 of 1000 mL are 357.14 mL.
    """
    made = dilute(70, 25, 1000)
    assert (made.stock, made.diluent) == pytest.approx((357.14, 642.86), abs=0.01)
