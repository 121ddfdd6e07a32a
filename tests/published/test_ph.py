"""pH worked in print, buffers measured and certified in print, and how far a computation is from them.

OpenStax is P. Flowers et al., *Chemistry 2e*, chapter 14.
"""

from __future__ import annotations

from math import log10

import pytest

from kit.bench.acids import acid, acids, activity_coefficient, debye_huckel_constant, neutralising_mass
from kit.bench.ph import (
    ESTIMATE,
    Solute,
    Solution,
    henderson_hasselbalch,
    moles_to_reach,
    solution_of,
)
from kit.bench.scaling import batch_from_on_hand
from kit.formula.model import Formula, Line, Phase
from kit.layers.partition import species_shares, undissociated_fraction
from kit.library.table import ingredients
from kit.liquids.water import water_density_at

ACETIC = (-log10(1.8e-5),)  # OpenStax, appendix H
CITRIC, PHOSPHORIC = acid("Citric Acid").pka, acid("Phosphoric Acid").pka


def test_an_acetate_buffer_and_a_drop_of_lye() -> None:
    """OpenStax, example 14.20: pH 4.74, and 4.75 after 1.0 mL of 0.10 M NaOH to 100 mL."""
    before = Solution((Solute(0.20, ACETIC),), strong=0.10)
    assert before.ph == pytest.approx(4.74, abs=0.005)
    after = Solution((Solute(0.20 * 100 / 101, ACETIC),), strong=(0.10 * 100 + 0.10 * 1) / 101)
    assert after.ph == pytest.approx(4.75, abs=0.005)
    assert henderson_hasselbalch(ACETIC[0], 0.0099, 0.0101) == pytest.approx(4.75, abs=0.005)


def test_equal_volumes_and_then_an_acid() -> None:
    """OpenStax, section 14.6, exercises: pH 5.222, then printed 5.220; at full precision 5.2218 and 5.2189."""
    litres, acetic, acetate = 0.200, 0.100, 0.300
    before = Solution((Solute(acetic + acetate, ACETIC),), strong=acetate)
    assert before.ph == pytest.approx(5.222, abs=0.002)
    volume = litres + 0.003
    strong = (acetate * litres - 0.034 * 0.003) / volume
    after = Solution((Solute((acetic + acetate) * litres / volume, ACETIC),), strong)
    assert after.ph == pytest.approx(5.220, abs=0.002)
    assert after.ph == pytest.approx(5.2189, abs=2e-4)


def test_the_salt_that_makes_a_buffer() -> None:
    """OpenStax, section 14.6, exercises: 0.27 mol, 37 g of acetate trihydrate for pH 5.00 in 0.300 L of 0.50 M acid."""
    moles = 0.300 * moles_to_reach(5.00, Solution((Solute(0.50, ACETIC),)), ACETIC, strong=1)
    assert moles == pytest.approx(0.27, abs=0.005)
    assert moles * acid("Sodium Acetate, trihydrate").molar_mass == pytest.approx(37, abs=0.5)


@pytest.mark.parametrize(("molar", "ph", "published"), [(0.125, 2.09, 6.5), (0.10, 2.89, 1.3)])
def test_percent_ionised(molar: float, ph: float, published: float) -> None:
    """OpenStax, example 14.7 and its self-check: 6.5 % of 0.125 M at pH 2.09; 1.3 % of 0.10 M at pH 2.89."""
    assert 100 * 10**-ph / molar == pytest.approx(published, abs=0.05)
    # The constant that this means, put back, gives the pH and the percent again.
    ionised = 10**-ph
    pka = -log10(ionised**2 / (molar - ionised))
    found = Solution((Solute(molar, (pka,)),)).ph
    assert found == pytest.approx(ph, abs=1e-4)
    assert 100 * species_shares(found, (pka,))[1] == pytest.approx(published, abs=0.05)


@pytest.mark.parametrize(("ph", "percent"), [(3, 94.07), (4, 61.31), (5, 13.68), (6, 1.56), (7, 0.158)])
def test_undissociated_benzoic_acid(ph: float, percent: float) -> None:
    """pKa 4.20, at full precision. Food texts print about 94, 60, 13, 1.5 and 0.15 % (from memory)."""
    assert 100 * undissociated_fraction(ph, 4.20) == pytest.approx(percent, abs=0.01)


def test_half_is_undissociated_at_the_pka() -> None:
    """A brewing encyclopaedia states it with the same formula: benzoic acid at pH 4.2, half."""
    assert undissociated_fraction(4.2, 4.2) == pytest.approx(0.5)


#: pH measured, mL of 0.1 M citric acid, mL of 0.1 M trisodium citrate, to 100 mL: Gomori (1955), in a copied sheet.
#: Then how far from it the ideal computation is with the constants of Bates and Pinching (1949), and the corrected one.
GOMORI = [
    (3.0, 46.5, 3.5, -0.35, -0.38),
    (3.6, 37.0, 13.0, -0.04, -0.15),
    (4.0, 33.0, 17.0, -0.02, -0.20),
    (4.6, 25.5, 24.5, 0.12, -0.20),
    (5.0, 20.5, 29.5, 0.17, -0.21),
    (5.6, 13.7, 36.3, 0.30, -0.25),
    (6.2, 7.2, 42.8, 0.33, -0.30),
]


@pytest.mark.parametrize(("measured", "x", "y", "ideal", "corrected"), GOMORI)
def test_a_much_copied_table_of_citrate_buffers_is_missed_by_as_much_as_is_said(
    measured: float, x: float, y: float, ideal: float, corrected: float
) -> None:
    buffer = Solution((Solute((x + y) * 0.1 / 100, CITRIC),), strong=3 * y * 0.1 / 100)
    assert buffer.ph - measured == pytest.approx(ideal, abs=0.01)
    assert buffer.equilibrium().ph - measured == pytest.approx(corrected, abs=0.01)
    assert abs(buffer.equilibrium().ph - measured) <= 0.4
    assert "only within 0.4" in ESTIMATE


#: pH measured, mL of 0.1 M citric acid, the rest to 100 mL 0.2 M disodium phosphate: a University of Massachusetts
#: laboratory page, and the same volumes in two more sheets. Then as above.
CITRATE_PHOSPHATE = [
    (3.0, 79.45, 0.21, 0.09),
    (4.0, 61.45, 0.40, 0.08),
    (5.0, 48.50, 0.69, 0.17),
    (6.0, 36.85, 0.67, 0.19),
    (7.0, 17.65, 0.54, 0.13),
]


@pytest.mark.parametrize(("measured", "citric", "ideal", "corrected"), CITRATE_PHOSPHATE)
def test_measured_citrate_phosphate_buffers_are_met_once_their_salt_counts(
    measured: float, citric: float, ideal: float, corrected: float
) -> None:
    phosphate = 100 - citric
    solutes = Solute(citric * 0.1 / 100, CITRIC), Solute(phosphate * 0.2 / 100, PHOSPHORIC)
    buffer = Solution(solutes, strong=2 * phosphate * 0.2 / 100)
    assert buffer.ph - measured == pytest.approx(ideal, abs=0.01)
    assert buffer.equilibrium().ph - measured == pytest.approx(corrected, abs=0.01)
    assert abs(buffer.equilibrium().ph - measured) <= 0.2
    assert "citrate-phosphate buffers within 0.2" in ESTIMATE


PHTHALIC = (2.950, 5.408)  # Robinson and Stokes (1970), as quoted in a national laboratory's tables, 3.9.7
BORIC = (2237.94 / 298.15 + 0.016883 * 298.15 - 3.305,)  # Manov, DeLollis and Acree, J. Res. NBS 33 (1944) 287
CARBONIC = acid("Sodium Bicarbonate").pka

#: Name, certified pH(S) at 25 °C, what is dissolved, strong charge. [mol/kg]
CERTIFIED = [
    # Hamer, Pinching and Acree, J. Res. NBS 36 (1946) 47: 0.05 m potassium hydrogen phthalate.
    ("phthalate", 4.005, Solute(0.05, PHTHALIC), 0.05),
    # JIS Z 8802, as an instrument maker prints it: 0.025 m KH2PO4 with 0.025 m Na2HPO4 (6.865 from memory).
    ("phosphate", 6.86, Solute(0.05, PHOSPHORIC), 0.075),
    # Staples and Bates, J. Res. NBS 73A (1969) 37, abstract: the next three; borax is 4 boric acids half turned.
    ("borax, 0.01 m", 9.180, Solute(0.04, BORIC), 0.02),
    ("carbonate, 0.025 m each", 10.012, Solute(0.05, CARBONIC), 0.075),
    ("potassium dihydrogen citrate, 0.05 m", 3.776, Solute(0.05, CITRIC), 0.05),
]


@pytest.mark.parametrize(("name", "certified", "solute", "strong"), CERTIFIED, ids=lambda value: str(value)[:12])
def test_certified_buffers_are_met_within_two_hundredths(
    name: str, certified: float, solute: Solute, strong: float
) -> None:
    buffer = Solution((solute,), strong)
    assert buffer.equilibrium().ph == pytest.approx(certified, abs=0.02), name
    assert buffer.equilibrium().findings == []
    if name != "borax, 0.01 m":  # a single charge at 0.02 mol/kg moves little
        assert abs(buffer.ph - certified) > 5 * abs(buffer.equilibrium().ph - certified)
    assert "are met within 0.02" in ESTIMATE


@pytest.mark.parametrize(
    ("measured", "lye", "acid_ml"),
    [
        (2.2, 0, 49.5), (2.4, 0, 42.2), (2.6, 0, 35.4), (2.8, 0, 28.9), (3.0, 0, 22.3), (3.2, 0, 15.7), (3.4, 0, 10.4),
        (3.6, 0, 6.3), (3.8, 0, 2.9), (4.2, 3.0, 0), (4.4, 6.6, 0), (4.6, 11.1, 0), (4.8, 16.5, 0), (5.0, 22.6, 0),
        (5.2, 28.8, 0), (5.4, 34.1, 0), (5.6, 38.8, 0), (5.8, 42.3, 0),
    ],
)  # fmt: skip
def test_phthalate_with_lye_or_with_acid(measured: float, lye: float, acid_ml: float) -> None:
    """Bower and Bates, J. Res. NBS 55 (1955) 197, as a handbook prints it (table 8.16): 50 mL of 0.1 M potassium
    hydrogen phthalate with so much 0.1 M NaOH or HCl, to 100 mL, at 25 °C."""
    salt = acid_ml / 1000  # the potassium and chloride that balance each other
    buffer = Solution((Solute(0.05, PHTHALIC),), 0.05 + (lye - acid_ml) / 1000, salt=salt)
    assert buffer.equilibrium().ph == pytest.approx(measured, abs=0.03)


def test_the_activity_of_common_salt() -> None:
    """Mean activity coefficients of NaCl at 25 °C: 0.965, 0.902, 0.778 at 0.001, 0.01 and 0.1 mol/kg (Robinson and
    Stokes, from memory); the equation of Davies is within 2 % of measured ones at 0.1 (an encyclopedia's article)."""
    for molal, published in ((0.001, 0.965), (0.01, 0.902), (0.1, 0.778)):
        assert activity_coefficient(1, molal) == pytest.approx(published, rel=0.02)


@pytest.mark.parametrize(("celsius", "published"), [(0, 0.4883), (20, 0.5042), (25, 0.5085), (60, 0.5425)])
def test_the_constant_of_debye_and_hueckel(celsius: float, published: float) -> None:
    """Freeze and Cherry, Groundwater (1979), appendix IV; and what the theory makes of the water itself.

    A = 1.8248e6 √ρ / (ε T)^1.5 (from memory) with the permittivity of C. G. Malmberg and A. A. Maryott, J. Res. NBS 56
    (1956) 1, as public code states it: 87.740 - 0.40008 t + 9.398e-4 t² - 1.410e-6 t³.
    """
    assert debye_huckel_constant(celsius) == pytest.approx(published)
    permittivity = 87.740 - 0.40008 * celsius + 9.398e-4 * celsius**2 - 1.410e-6 * celsius**3
    theory = 1.8248e6 * water_density_at(celsius) ** 0.5 / (permittivity * (celsius + 273.15)) ** 1.5
    assert debye_huckel_constant(celsius) == pytest.approx(theory, abs=0.004)


def test_triethanolamine_and_hydrochloric_acid() -> None:
    """A teaching page: 659 mL of 0.04 M triethanolamine (Kb 5.4e-7) with 341 mL of 0.06 M HCl make pH 7.2."""
    pka = (14 + log10(5.4e-7),)
    buffer = Solution((Solute(0.659 * 0.04, pka, 1),), strong=-0.341 * 0.06)
    assert buffer.ph == pytest.approx(7.2, abs=0.01)  # the page cuts pKb 6.268 to 6.26
    assert acid("Triethanolamine").pka == pytest.approx(pka, abs=0.03)


def test_a_weak_acid_wholly_neutralised_by_a_weak_base() -> None:
    """An examination of 1995: 1.0 M ammonium formate, pKa 3.8 and pKb 4.8, has a pH of 6.50, at any strength."""
    for molar in (1.0, 0.1):
        both = Solution((Solute(molar, (3.8,)), Solute(molar, (14 - 4.8,), 1)))
        assert both.ph == pytest.approx(6.50, abs=0.001)


@pytest.mark.parametrize(
    ("ammonia", "ammonium", "ka", "published"),
    [
        (0.100, 0.0500, 1.0e-14 / 1.8e-5, 9.55),  # a question site: 10.0 mL of 0.300 M with 10.0 mL of 0.100 M HCl
        (0.200, 0.300, 5.62e-10, 9.07),  # a course of general chemistry, exercise on buffers
        (0.0, 0.00625, 1.87e-6**2 / 0.00624, 5.73),  # a textbook of chemistry (9th ed.), equivalence of 0.0154 M NH3
    ],
)
def test_ammonia_taking_up_an_acid(ammonia: float, ammonium: float, ka: float, published: float) -> None:
    buffer = Solution((Solute(ammonia + ammonium, (-log10(ka),), 1),), strong=-ammonium)
    assert buffer.ph == pytest.approx(published, abs=0.006)


def test_neutralising_citric_acid() -> None:
    """Three to one: 0.62455 and 0.57101 g NaOH per g, from masses of structures (rdkit 2026.9.1)."""
    assert neutralising_mass("Citric Acid", "Sodium Hydroxide", "1 g") == pytest.approx(0.62455, abs=1e-4)
    assert neutralising_mass("Citric Acid, monohydrate", "Sodium Hydroxide", "1 g") == pytest.approx(0.57101, abs=1e-4)
    # At that point the pH is that of trisodium citrate, not 7.
    both = solution_of({"Citric Acid": 1.0, "Sodium Hydroxide": 0.62455}, 100)
    assert both.ph > 8


@pytest.mark.parametrize(
    ("key", "molar", "published"),
    [
        ("Citric Acid, monohydrate", 0.1, 21.01),
        ("Disodium Phosphate, anhydrous", 0.2, 28.40),
        ("Disodium Phosphate, dihydrate", 0.2, 35.61),
    ],
)
def test_grams_in_a_litre(key: str, molar: float, published: float) -> None:
    """A University of Massachusetts laboratory page: grams in a litre of the solutions above."""
    assert molar * acid(key).molar_mass == pytest.approx(published, abs=0.03)


@pytest.mark.parametrize(
    ("name", "published"),
    [
        ("Citric Acid", 192.12), ("Sodium Hydroxide", 39.997), ("Benzoic Acid", 122.12), ("Sodium Benzoate", 144.11),
        ("Sorbic Acid", 112.13), ("Potassium Sorbate", 150.22), ("Phenoxyethanol", 138.17),
        ("Benzyl Alcohol", 108.14), ("Glycerin", 92.09),
    ],
)  # fmt: skip
def test_molar_masses(name: str, published: float) -> None:
    """Molar masses of structures (rdkit 2026.9.1), in g/mol."""
    bought = {each.inci: each.molar_mass for each in ingredients()}[name]
    assert bought is not None
    assert bought.value == pytest.approx(published, abs=0.011)
    if name in {each.name for each in acids().values()}:
        assert acid(name).molar_mass == pytest.approx(published, abs=0.011)


def test_scaling_a_master_formula() -> None:
    """US Army subcourse MD0802: 100 mL of oil and 10 g of powder in 1000 mL become 24 mL and 2.4 g in 240 mL."""
    lines = (Line("Aqua", "89"), Line("Olea Europaea Fruit Oil", "10"), Line("Xanthan Gum", "1"))
    master = Formula("Master", (Phase("All", "other", lines),))
    found = batch_from_on_hand(master, {"Xanthan Gum": "2.4 g", "Olea Europaea Fruit Oil": "30 g"})
    assert found.mass == pytest.approx(240)
    assert 30 - found.left["Olea Europaea Fruit Oil"] == pytest.approx(24)
