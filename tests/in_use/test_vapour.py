"""Vapour pressures, alcohol in water and diffusion in air, against figures published elsewhere."""

from __future__ import annotations

import math

import pytest

from kit.errors import RangeError
from kit.in_use.vapour import (
    AMBIENT,
    GAS_CONSTANT,
    headspace_loss,
    open_loss_rate,
    partial_pressures,
    van_laar,
    vapour_of,
    vapours,
)
from kit.library.sources import sources
from kit.library.volatility import volatilities
from tests.rows import each_of

#: Name, °C, kPa, and by how much two tables may differ. [%]
PUBLISHED = [
    ("Aqua", 0, 0.6113, 0.3, "CRC Handbook, vapour pressure of water"),
    ("Aqua", 10, 1.2281, 0.3, "CRC Handbook"),
    ("Aqua", 20, 2.3388, 0.3, "CRC Handbook"),
    ("Aqua", 25, 3.1690, 0.3, "CRC Handbook"),
    ("Aqua", 40, 7.3814, 0.3, "CRC Handbook"),
    ("Aqua", 60, 19.932, 0.3, "CRC Handbook"),
    ("Alcohol", 25, 7.834, 1.0, "Antoine's constants 8.20417, 1642.89, 230.3 (mmHg), as printed in textbooks"),
    ("Alcohol", 30, 10.474, 0.5, "Pemberton and Mash (1978), nearly pure alcohol at 30 °C"),
    ("Acetone", 25, 30.8, 1.5, "CRC Handbook (from memory)"),
    ("Cyclopentasiloxane", 25, 0.0204, 6, "Lei and others (2010) (from memory)"),
    ("Limonene", 25, 0.20, 40, "data sheets, about 200 Pa at 25 °C; they differ by a third (from memory)"),
]  # fmt: skip
#: Alcohol in water at 303.15 K: mole fraction, in the vapour, and the pressure. [kPa]
#: R. C. Pemberton, C. J. Mash, J. Chem. Thermodynamics 10 (1978) 867, doi:10.1016/0021-9614(78)90160-X.
PEMBERTON = [
    (0.00435, 0.0412, 4.413), (0.02727, 0.2043, 5.203), (0.06783, 0.3753, 6.386), (0.10991, 0.4743, 7.329),
    (0.17111, 0.5479, 8.189), (0.24688, 0.5907, 8.723), (0.32385, 0.6194, 9.085), (0.41758, 0.6508, 9.403),
    (0.50492, 0.6797, 9.663), (0.63434, 0.7329, 9.999), (0.72455, 0.7810, 10.199), (0.85785, 0.8705, 10.394),
    (0.92444, 0.9284, 10.445), (0.98153, 0.9819, 10.473),
]  # fmt: skip


@each_of(("name", "celsius", "kpa", "percent", "source"), PUBLISHED)
def test_a_vapour_pressure_is_the_published_one(
    name: str, celsius: float, kpa: float, percent: float, source: str
) -> None:
    assert source
    assert vapour_of(name).pressure(celsius) == pytest.approx(kpa, rel=percent / 100)


def test_the_table_agrees_with_that_of_single_figures_and_rises_with_warmth() -> None:
    known = {v.inci: v for v in volatilities().values()}
    for vapour in vapours().values():
        assert vapour.source in sources()
        pressures = [vapour.pressure(celsius) for celsius in range(0, 61, 5)]
        assert pressures == sorted(pressures)
        figure = known[vapour.inci].vapour_pressure if vapour.inci in known else None
        if figure is not None:
            assert 1000 * vapour.pressure(20) == pytest.approx(figure.value, rel=0.01)
    with pytest.raises(RangeError, match=r"from 0 to 60 °C, not at 61 °C"):
        vapour_of("Aqua").pressure(61)
    with pytest.raises(RangeError, match="Isododecane is not known here"):
        vapour_of("Isododecane")


@each_of(("alcohol", "above", "kpa"), PEMBERTON)
def test_alcohol_in_water_presses_as_was_measured_at_30_degrees(alcohol: float, above: float, kpa: float) -> None:
    parts = partial_pressures({"Alcohol": alcohol, "Aqua": 1 - alcohol}, 30)
    assert sum(parts.values()) == pytest.approx(kpa, rel=0.056)
    assert parts["Alcohol"] / sum(parts.values()) == pytest.approx(above, abs=0.04)
    ideal = alcohol * vapour_of("Alcohol").pressure(30) + (1 - alcohol) * vapour_of("Aqua").pressure(30)
    assert abs(sum(parts.values()) - kpa) < abs(ideal - kpa) or abs(ideal - kpa) < 0.1


def test_the_azeotrope_is_where_it_was_measured() -> None:
    """x = 0.8933 at 351.32 K and 101.325 kPa: Pemberton and Mash (1978); pure pressures by textbook constants.

    Both coefficients differ little there, so that 2 % of one moves the point by 0.02.
    """
    celsius = 351.32 - 273.15
    alcohol = 10 ** (8.20417 - 1642.89 / (celsius + 230.3))  # mmHg
    water = 10 ** (8.07131 - 1730.63 / (celsius + 233.426))
    low, high = 0.5, 0.999
    for _ in range(60):
        middle = (low + high) / 2
        of_alcohol, of_water = van_laar(middle)
        low, high = (middle, high) if of_alcohol * alcohol > of_water * water else (low, middle)
    assert low == pytest.approx(0.8933, abs=0.023)


def test_raoult_for_liquids_that_are_alike() -> None:
    """A quarter and three quarters by moles: each presses with its own part, and what stays thins both."""
    parts = partial_pressures({"Undecane": 1, "Tridecane": 3}, 30, other_moles=4)
    assert parts["Undecane"] == pytest.approx(vapour_of("Undecane").pressure(30) / 8)
    assert parts["Tridecane"] == pytest.approx(vapour_of("Tridecane").pressure(30) * 3 / 8)
    assert partial_pressures({}, 30) == {}


@each_of(
    ("celsius", "grams"),
    [(0, 4.85), (10, 9.41), (20, 17.3), (25, 23.0), (30, 30.4), (40, 51.1)],  # g/m³, psychrometric tables
)
def test_saturated_air_holds_what_psychrometric_tables_say(celsius: float, grams: float) -> None:
    kpa = vapour_of("Aqua").pressure(celsius)
    assert headspace_loss(kpa, 18.015, celsius, 1e6) == pytest.approx(grams, rel=0.006)


@each_of(
    ("name", "celsius", "square_cm", "source"),
    [
        ("Aqua", 25, 0.26, "a textbook's worked example, 2.6e-5 m²/s"),
        ("Alcohol", 25, 0.132, "Welty, Wicks, Wilson: table of diffusion in air (from memory)"),
        ("Ethyl Acetate", 0, 0.0709, "Welty, Wicks, Wilson (from memory)"),
        ("Propyl Alcohol", 0, 0.085, "Perry's Handbook (from memory)"),
    ],
)
def test_diffusion_in_air(name: str, celsius: float, square_cm: float, source: str) -> None:
    assert source
    assert vapour_of(name).diffusion_in_air(celsius) / 100 == pytest.approx(square_cm, rel=0.12)


def test_water_out_of_an_open_tube() -> None:
    """3.17 kPa over 0.1 m at 25 °C with 2.6e-5 m²/s: 3.3779e-4 mol/(m² s), a worked example of Stefan's tube."""
    water = vapour_of("Aqua")
    grams = open_loss_rate(3.17, water, 25, neck_width=20, way=100)
    moles = grams / water.molar_mass / (math.pi * 0.010**2)
    assert moles * 26 / water.diffusion_in_air(25) == pytest.approx(3.3779e-4, rel=2e-4)
    assert pytest.approx(40.874, rel=1e-4) == AMBIENT * 1000 / (GAS_CONSTANT * 298.15)  # mol/m³, the same example
    for kpa, way, words in ((AMBIENT, 10, "boils"), (1, 0, "more than 0 mm")):
        with pytest.raises(RangeError, match=words):
            open_loss_rate(kpa, water, 25, 20, way)


@each_of(
    ("name", "volume"),
    [
        # Fuller, Schettler and Giddings (1966), from memory: C 16.5, H 1.98, O 5.48; silicon as a carbon, our choice
        ("Aqua", 12.7),
        ("Alcohol", 2 * 16.5 + 6 * 1.98 + 5.48),
        ("Undecane", 11 * 16.5 + 24 * 1.98),
        ("Cyclopentasiloxane", 10 * 16.5 + 30 * 1.98 + 5 * 5.48 + 5 * 16.5),
    ],
)
def test_the_diffusion_volume_of_a_molecule_is_the_sum_of_its_atoms(name: str, volume: float) -> None:
    vapour = vapour_of(name)
    assert vapour.diffusion_volume == pytest.approx(volume)
    # their equation at 298.15 K and one atmosphere, in cm²/s: air has 20.1 cm³/mol and 28.97 g/mol
    both = (volume ** (1 / 3) + 20.1 ** (1 / 3)) ** 2
    by_hand = 1e-3 * 298.15**1.75 * math.sqrt(1 / vapour.molar_mass + 1 / 28.97) / both
    assert vapour.diffusion_in_air(25) == pytest.approx(100 * by_hand)


def test_alcohol_or_water_alone_is_ideal_and_a_share_below_0_is_none() -> None:
    for name in ("Alcohol", "Alcohol Denat.", "Aqua"):
        pure = vapour_of(name).pressure(30)
        assert partial_pressures({name: 2.0}, 30)[name] == pytest.approx(pure)
        assert partial_pressures({name: 1.0, "Undecane": 1.0}, 30)[name] == pytest.approx(pure / 2)
    both = partial_pressures({"Alcohol": 0.3, "Alcohol Denat.": 0.2, "Aqua": 0.5}, 30)
    of_alcohol, of_water = van_laar(0.5)
    assert both["Alcohol"] == pytest.approx(0.3 * of_alcohol * vapour_of("Alcohol").pressure(30))
    assert both["Alcohol Denat."] == pytest.approx(0.2 * of_alcohol * vapour_of("Alcohol Denat.").pressure(30))
    assert both["Aqua"] == pytest.approx(0.5 * of_water * vapour_of("Aqua").pressure(30))
    for wrong in (-0.1, math.nan, math.inf):
        with pytest.raises(RangeError):
            van_laar(wrong)
    for odd in ((-1.0, 18.0, 20.0, 1.0), (1.0, -18.0, 20.0, 1.0), (1.0, 18.0, 20.0, -1.0)):
        with pytest.raises(RangeError, match="0 or more"):
            headspace_loss(*odd)
    # the first of a way of 0.5 mm is twice that of 1 mm (Stefan)
    fast, slow = (open_loss_rate(3.0, vapour_of("Aqua"), 25, 20, way) for way in (0.5, 1.0))
    assert fast == pytest.approx(2 * slow)
    with pytest.raises(RangeError, match="boils"):
        open_loss_rate(-0.1, vapour_of("Aqua"), 25, 20, 1.0)
    assert open_loss_rate(0.0, vapour_of("Aqua"), 25, 20, 1.0) == 0


@pytest.mark.parametrize("times", [0.01, 7.0, 1000.0])
def test_pressures_hang_on_the_proportions_alone(times: float) -> None:
    moles = {"Alcohol": 0.3, "Aqua": 0.7, "Undecane": 0.1}
    scaled = partial_pressures({name: times * amount for name, amount in moles.items()}, 25, 0.2 * times)
    assert scaled == pytest.approx(partial_pressures(moles, 25, 0.2))
