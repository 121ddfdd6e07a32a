"""Ethanol and water in print: each value with its source."""

from __future__ import annotations

import pytest

from kit.liquids.alcohol import (
    UK_PROOF_TEMPERATURE,
    US_PROOF_TEMPERATURE,
    dilute_by_volume,
    ethanol_density,
    mix_by_volume,
    strength_by_mass,
    strength_by_volume,
    strength_from_density,
    uk_proof,
    us_proof,
)


@pytest.mark.parametrize(
    ("share", "celsius", "kg_per_m3"),
    [(0, 20, 998.20123), (1, 20, 789.2391233), (0, 0, 999.8369332), (1, 0, 806.2151206), (0.5, 20, 913.7705950)],
)
def test_the_general_formula_of_the_international_tables(share: float, celsius: float, kg_per_m3: float) -> None:
    """OIML R 22 (1975); the check values of a public transcription (CC0) of the formula."""
    assert 1000 * ethanol_density(100 * share, celsius) == pytest.approx(kg_per_m3, abs=1e-4)


def test_pure_ethanol_at_two_temperatures() -> None:
    """OIML R 22, erratum on its cover: 789.24 kg/m³ at 20 °C; two implementations state a floor of 771.93 at 40 °C."""
    assert 1000 * ethanol_density(100, 20) == pytest.approx(789.24, abs=0.005)
    assert 1000 * ethanol_density(100, 40) == pytest.approx(771.93, abs=0.005)


@pytest.mark.parametrize(
    ("volume", "mass", "kg_per_m3"),
    [(10, 8.015, 984.71), (40, 33.300, 948.05), (70, 62.386, 885.56), (95, 92.408, 811.38)],
)
def test_strengths_by_volume_and_by_mass_at_20(volume: float, mass: float, kg_per_m3: float) -> None:
    """Values of the OIML tables, from memory; the formula agrees with each of them."""
    assert strength_by_mass(volume) == pytest.approx(mass, abs=0.005)
    assert strength_by_volume(mass) == pytest.approx(volume, abs=0.005)
    assert 1000 * ethanol_density(mass) == pytest.approx(kg_per_m3, abs=0.02)


@pytest.mark.parametrize(
    ("percent", "density"), [(1, 0.99636), (5, 0.98938), (8, 0.98478), (10, 0.98187), (12, 0.97910)]
)
def test_densities_at_20_in_an_engineers_handbook(percent: float, density: float) -> None:
    """Perry's Chemical Engineers' Handbook, 7th ed., ethanol and water at 20 °C; read in a copy of the table."""
    assert ethanol_density(percent) == pytest.approx(density, abs=6e-5)


@pytest.mark.parametrize(
    ("volume", "mass"), [(5, 4.00), (10, 8.05), (15, 12.14), (20, 16.27), (25, 20.44), (30, 24.67)]
)
def test_strengths_at_60_fahrenheit_in_a_pharmacopoeia(volume: float, mass: float) -> None:
    """United States Pharmacopeia 29, alcoholometric table: % by volume at 15.56 °C and by weight."""
    assert strength_by_mass(volume, US_PROOF_TEMPERATURE) == pytest.approx(mass, abs=0.006)


@pytest.mark.parametrize(("mass", "volume"), [(5, 6.24), (10, 12.39), (20, 24.47), (30, 36.18), (33, 39.59)])
def test_strengths_by_weight_in_the_same_table(mass: float, volume: float) -> None:
    """United States Pharmacopeia 29, alcoholometric table, right half."""
    assert strength_by_volume(mass, US_PROOF_TEMPERATURE) == pytest.approx(volume, abs=0.006)


@pytest.mark.parametrize(("volume", "gravity"), [(10, 0.9866), (15, 0.9810), (20, 0.9759), (25, 0.9708), (30, 0.9653)])
def test_specific_gravities_at_60_fahrenheit(volume: float, gravity: float) -> None:
    """The same table: specific gravity in air, 15.56/15.56 °C. Air makes less than 0.000 05 of difference here."""
    mass = strength_by_mass(volume, US_PROOF_TEMPERATURE)
    found = ethanol_density(mass, US_PROOF_TEMPERATURE) / ethanol_density(0, US_PROOF_TEMPERATURE)
    assert found == pytest.approx(gravity, abs=1.1e-4)
    back = strength_from_density(gravity * ethanol_density(0, US_PROOF_TEMPERATURE), US_PROOF_TEMPERATURE)
    assert back == pytest.approx(mass, abs=0.1)


def test_equal_volumes_shrink() -> None:
    """50 mL and 50 mL at 20 °C come to 96.46 mL, by the OIML formula."""
    mixed = mix_by_volume(50, 100, 50, 0)
    assert mixed.volume == pytest.approx(96.46, abs=0.05)
    assert mixed.percent == pytest.approx(44.155, abs=0.005)
    assert 1000 * ethanol_density(mixed.percent) == pytest.approx(926.49, abs=0.01)


@pytest.mark.parametrize(("proof", "water"), [(100, 53.73), (112, 47.75), (188, 7.36), (191, 5.59)])
def test_the_water_in_a_hundred_volumes_of_spirits(proof: float, water: float) -> None:
    """Code of Federal Regulations, title 27, section 30.66 (table 6): 100 proof is 50 parts alcohol, 53.73 water."""
    mass = strength_by_mass(proof / 2, US_PROOF_TEMPERATURE)
    density = ethanol_density(mass, US_PROOF_TEMPERATURE)
    assert us_proof(mass) == pytest.approx(proof)
    found = 100 * density * (1 - mass / 100) / ethanol_density(0, US_PROOF_TEMPERATURE)
    assert found == pytest.approx(water, abs=0.01)


def test_spirits_brought_from_112_to_100_proof() -> None:
    """The same section: 1.12 × 53.73 - 47.75 = 12.42 gallons of water to 100 gallons of 112 proof."""
    weak, strong = (strength_by_mass(proof / 2, US_PROOF_TEMPERATURE) for proof in (100, 112))
    strengths = strength_by_volume(weak), strength_by_volume(strong)  # the strengths as stated at 20 °C
    made = dilute_by_volume(112, *strengths, US_PROOF_TEMPERATURE)
    assert made.strong == pytest.approx(100, abs=0.001)
    assert made.water == pytest.approx(12.42, abs=0.02)


def test_a_pound_of_spirits() -> None:
    """The same part, section 30.64: 0.14718 gallons to a pound of 190 proof, in air (1.2 mg/mL, from memory)."""
    density = ethanol_density(strength_by_mass(95, US_PROOF_TEMPERATURE), US_PROOF_TEMPERATURE)
    in_air = density - 0.0012 * (1 - density / 8.1)
    assert 453.59237 / in_air / 3785.411784 == pytest.approx(0.14718, abs=1e-5)


def test_proof_spirit() -> None:
    """An encyclopaedia: 57.07 % by volume, 49.24 % by weight; pure alcohol is 175.25 degrees. Cooley (1880): 49.24.

    Computed from the words of the Act of 1952 with today's densities, all three come out a little higher.
    """
    density = 12 / 13 * ethanol_density(0, UK_PROOF_TEMPERATURE)
    mass = strength_from_density(density, UK_PROOF_TEMPERATURE)
    assert mass == pytest.approx(49.24, abs=0.04)
    assert strength_by_volume(mass, US_PROOF_TEMPERATURE) == pytest.approx(57.07, abs=0.03)
    assert uk_proof(mass) == pytest.approx(100)
    assert uk_proof(100) == pytest.approx(175.25, abs=0.15)
