"""pH worked in print, buffers measured in print, and how far an ideal reckoning is from them.

OpenStax is P. Flowers et al., *Chemistry 2e*, chapter 14.
"""

from __future__ import annotations

from math import log10

import pytest

from kit.bench.acids import acid, neutralising_mass
from kit.bench.ph import (
    Solute,
    Solution,
    henderson_hasselbalch,
    moles_to_reach,
    solution_of,
    species_shares,
    undissociated_percent,
)
from kit.bench.scaling import batch_from_on_hand
from kit.formula.model import Formula, Line, Phase

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
    assert undissociated_percent(ph, 4.20) == pytest.approx(percent, abs=0.01)


def test_half_is_undissociated_at_the_pka() -> None:
    """A brewing encyclopaedia states it with the same formula: benzoic acid at pH 4.2, half."""
    assert undissociated_percent(4.2, 4.2) == pytest.approx(50)


#: pH measured, mL of 0.1 M citric acid, mL of 0.1 M trisodium citrate, to 100 mL: Gomori (1955), in a copied sheet.
#: Last: how far the ideal reckoning is from it with the constants of Bates and Pinching (1949).
GOMORI = [
    (3.0, 46.5, 3.5, -0.35),
    (3.6, 37.0, 13.0, -0.04),
    (4.0, 33.0, 17.0, -0.02),
    (4.6, 25.5, 24.5, 0.12),
    (5.0, 20.5, 29.5, 0.17),
    (5.6, 13.7, 36.3, 0.30),
    (6.2, 7.2, 42.8, 0.33),
]


@pytest.mark.parametrize(("measured", "x", "y", "off"), GOMORI)
def test_measured_citrate_buffers_are_missed_by_as_much_as_is_said(
    measured: float, x: float, y: float, off: float
) -> None:
    computed = Solution((Solute((x + y) * 0.1 / 100, CITRIC),), strong=3 * y * 0.1 / 100).ph
    assert computed - measured == pytest.approx(off, abs=0.01)
    assert abs(computed - measured) <= 0.35


#: pH measured, mL of 0.1 M citric acid, the rest to 100 mL 0.2 M disodium phosphate: a University of Massachusetts
#: laboratory page. The more salt, the further off.
CITRATE_PHOSPHATE = [(3.0, 79.45, 0.20), (4.0, 61.45, 0.40), (5.0, 48.50, 0.69), (6.0, 36.85, 0.68), (7.0, 17.65, 0.55)]


@pytest.mark.parametrize(("measured", "citric", "off"), CITRATE_PHOSPHATE)
def test_measured_citrate_phosphate_buffers_are_missed_by_more(measured: float, citric: float, off: float) -> None:
    phosphate = 100 - citric
    solutes = Solute(citric * 0.1 / 100, CITRIC), Solute(phosphate * 0.2 / 100, PHOSPHORIC)
    computed = Solution(solutes, strong=2 * phosphate * 0.2 / 100).ph
    assert computed - measured == pytest.approx(off, abs=0.01)


def test_neutralising_citric_acid() -> None:
    """Three to one: 0.62455 and 0.57101 g NaOH per g, from masses of structures (rdkit 2026.9.1)."""
    assert neutralising_mass("Citric Acid", "Sodium Hydroxide", 1) == pytest.approx(0.62455, abs=1e-4)
    assert neutralising_mass("Citric Acid, monohydrate", "Sodium Hydroxide", 1) == pytest.approx(0.57101, abs=1e-4)
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


def test_scaling_a_master_formula() -> None:
    """US Army subcourse MD0802: 100 mL of oil and 10 g of powder in 1000 mL become 24 mL and 2.4 g in 240 mL."""
    lines = (Line("Aqua", "89"), Line("Olea Europaea Fruit Oil", "10"), Line("Xanthan Gum", "1"))
    master = Formula("Master", (Phase("All", "other", lines),))
    found = batch_from_on_hand(master, {"Xanthan Gum": "2.4 g", "Olea Europaea Fruit Oil": "30 g"})
    assert found.mass == pytest.approx(240)
    assert 30 - found.left["Olea Europaea Fruit Oil"] == pytest.approx(24)
