"""Strengths, alligation, aliquots and serial dilution as worked in print.

OpenStax are P. Flowers et al., *Chemistry 2e*, chapter 3, and L. Marecek et al., *Elementary Algebra 2e*, section
5.5. MD0802 is the US Army Medical Department's Subcourse *Pharmaceutical Calculations*, lesson 2.
"""

from __future__ import annotations

import pytest

from kit.bench.alligation import OnShelf, alligate, medial, mix_from_many
from kit.bench.conversion import convert
from kit.bench.dilution import make_stock
from kit.bench.levels import stocks_for_levels
from kit.bench.making import from_pure, from_stronger
from kit.bench.serial import aliquot, serial_plan
from kit.bench.strength import Strength


def test_milligrams_in_grams_as_percent() -> None:
    """OpenStax, example 3.22: 3.75 mg in a sample of 5.0 g are 0.075 % w/w."""
    assert convert(Strength(3.75 / 5.0, "mg/g"), "% w/w").value == pytest.approx(0.075, abs=0.0005)


def test_parts_per_million_and_billion() -> None:
    """OpenStax, example 3.25 and its check: 0.48 mg in 50.0 g are 9.6 ppm, 9600 ppb."""
    found = Strength(0.48 / 50.0, "mg/g")
    assert convert(found, "ppm").value == pytest.approx(9.6)
    assert convert(found, "ppb").value == pytest.approx(9600)


def test_mass_percent_to_grams_in_a_litre() -> None:
    """OpenStax, example 3.23: half a litre of 37.2 % w/w at 1.19 g/mL holds 221 g."""
    assert convert("37.2 % w/w", "g/L", density=1.19).value / 2 == pytest.approx(221, abs=0.5)


def test_volume_percent_to_grams() -> None:
    """OpenStax, example 3.24: 355 mL of 70 % v/v isopropyl alcohol, 0.785 g/mL, hold 195 g."""
    assert 3.55 * convert("70 % v/v", "% w/v", active_density=0.785).value == pytest.approx(195, abs=0.5)


def test_the_three_meanings_of_percent() -> None:
    """Harper College, "Solution Calculations": 0.50 g to 200 mL, 20 mL to 200 mL, 20 g in 200 g."""
    assert convert(Strength(0.50 / 200, "g/mL"), "% w/v").value == pytest.approx(0.25)
    assert convert(Strength(20 / 0.200, "mL/L"), "% v/v").value == pytest.approx(10)
    assert convert(Strength(20 / 0.200, "g/kg"), "% w/w").value == pytest.approx(10)


@pytest.mark.parametrize(
    ("molar", "molar_mass", "published"),
    [
        ("0.1 M", 210.14, 21.01),  # citric acid monohydrate
        ("0.2 M", 141.98, 28.40),  # disodium hydrogen phosphate, dry
        ("0.2 M", 178.05, 35.61),  # its dihydrate; 178.05 makes 35.61
    ],
)
def test_molar_strengths(molar: str, molar_mass: float, published: float) -> None:
    """University of Massachusetts, citric acid and phosphate buffer sheet: grams in a litre."""
    assert convert(molar, "g/L", molar_mass=molar_mass).value == pytest.approx(published, abs=0.03)


@pytest.mark.parametrize(("name", "molar_mass"), [("citric acid", 192.12), ("sodium hydroxide", 39.997)])
def test_a_mole_in_a_litre_is_its_molar_mass_in_grams(name: str, molar_mass: float) -> None:
    """Molar masses after IUPAC's standard atomic weights: 1 mol/L holds one molar mass in a litre."""
    assert convert("1 mol/L", "g/L", molar_mass=molar_mass).value == pytest.approx(molar_mass), name


def test_equivalents_of_citric_acid() -> None:
    """Three protons to the mole (IUPAC's definition of the equivalent): 0.3 N is 0.1 M, 19.212 g in a litre."""
    assert convert("0.3 N, 3 eq", "M").value == pytest.approx(0.1)
    assert convert("0.3 N, 3 eq", "g/L", molar_mass=192.12).value == pytest.approx(19.212)


@pytest.mark.parametrize(
    ("one", "other", "wanted", "parts"),
    [
        (70, 20, 30, (1, 4)),  # two teaching pages on alligation: 10 : 40
        (95, 50, 70, (4, 5)),  # lecture notes on pharmacy calculations
    ],
)
def test_alligation_parts(one: float, other: float, wanted: float, parts: tuple[int, int]) -> None:
    assert alligate(one, other, wanted).parts == parts


@pytest.mark.parametrize(
    ("one", "other", "wanted", "amount", "weaker", "stronger"),
    [
        (25, 50, 40, 200, 80, 120),  # OpenStax, Elementary Algebra 2e, example 5.48
        (30, 80, 50, 70, 42, 28),  # the same, section 5.5 exercises
        (0, 30, 12, 60, 36, 24),  # a pharmacy technicians' tutorial: diluent only
    ],
)
def test_alligation_amounts(
    one: float, other: float, wanted: float, amount: float, weaker: float, stronger: float
) -> None:
    made = alligate(one, other, wanted, amount)
    assert made.weaker_amount == weaker
    assert made.stronger_amount == stronger
    shelf = [OnShelf("one", one), OnShelf("other", other)]
    assert mix_from_many(shelf, wanted, amount) == {"one": weaker, "other": stronger}


def test_parts_are_not_rounded_on_the_way() -> None:
    """A technicians' study page prints 360 + 640 mL for 1000 mL of 25 % from 70 %: it rounded 5/14 to 0.36."""
    made = alligate(70, 0, 25, 1000)
    assert float(made.stronger_amount) == pytest.approx(357.14, abs=0.01)
    assert float(made.weaker_amount) == pytest.approx(642.86, abs=0.01)


def test_alligation_medial() -> None:
    """A teaching page: 5 mL of 2 % with 10 mL of 4 % are 3.33 %."""
    assert medial([(5, 2), (10, 4)]) == pytest.approx(3.33, abs=0.005)


def test_the_aliquot_of_a_solid() -> None:
    """Textbook chapter "Accurate weighing for prescriptions": 2 mg where 120 mg is the least, portions of 125 mg."""
    made = aliquot(2, 120, 125)
    assert (made.weigh, made.multiple, made.total, made.diluent) == (120, 60, 7500, 7380)
    assert made.weigh * made.portion / made.total == 2


def test_three_times_one_in_ten() -> None:
    """By definition: 1.00 % w/w diluted 1 in 10 three times is 0.100, 0.0100 and 0.00100 %."""
    plan = serial_plan(1.00, 0.00100, 10, least=1, most=10, steps=3)
    assert [step.strength for step in plan.steps] == pytest.approx([0.1, 0.01, 0.001], rel=1e-12)
    assert [step.factor for step in plan.steps] == pytest.approx([10, 10, 10])


def test_a_stronger_stock_thinned_by_mass() -> None:
    """OpenStax, section 3.4 exercises: 400.0 g of 10.0 % w/w from 68.0 % w/w take 58.8 g."""
    stock = make_stock("Acid 68 %", "Sulfuric Acid", 68.0)
    first, water = from_stronger(stock, 10.0, "400.0 g").portions
    assert first.target == pytest.approx(58.8, abs=0.05)
    assert water.target == pytest.approx(341.2, abs=0.05)


def test_an_assay_divides() -> None:
    """By hand, after the meaning of an assay: 10 g pure of a 97.0 % solid are 10 / 0.970 = 10.309 g."""
    making = from_pure(make_stock("S", "Citric Acid", 10), "100 g", assay={"Citric Acid": 97.0})
    assert making.portions[0].target == pytest.approx(10.309, abs=0.0005)


def test_a_fifth_of_a_one_percent_stock() -> None:
    """Common practice: a 1 % stock at a fifth of the formula brings 0.2 % of its active."""
    stock = make_stock("Gum 1 % stock", "Xanthan Gum", 1)
    assert stocks_for_levels([stock], {"Xanthan Gum": 0.2}).stocks == {"Gum 1 % stock": 20.0}
