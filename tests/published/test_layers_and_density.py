"""Densities and heights in print: the water tables, worked examples, and how far ideal volumes err."""

from __future__ import annotations

import math

import pytest

from kit.layers.bottle import Bottle, stand
from kit.layers.density import Layer, mix_densities, product_density
from kit.library.table import ingredients
from kit.liquids.aqueous import aqueous_solution
from kit.liquids.water import water_density, water_density_at
from tests.present import present


@pytest.mark.parametrize(
    ("degc", "kg_per_m3"),
    [
        (0, 999.8428),
        (4, 999.9749),
        (10, 999.7027),
        (15, 999.1026),
        (20, 998.2067),
        (25, 997.0470),
        (30, 995.6488),
        (40, 992.2152),
    ],
)
def test_water_is_tanakas(degc: float, kg_per_m3: float) -> None:
    """M. Tanaka et al., Metrologia 38 (2001) 301-309, recomputed from its five coefficients; within 1e-4."""
    assert 1000 * water_density(f"{degc} degC") == pytest.approx(kg_per_m3, abs=1e-4)


@pytest.mark.parametrize(
    ("degc", "iapws", "openstax"),
    [
        (15, 0.9991026, 0.9991026),
        (20, 0.9982072, 0.9982071),
        (25, 0.9970476, 0.9970479),
        (30, 0.9956495, 0.9956502),
    ],
)
def test_water_agrees_with_the_other_tables(degc: float, iapws: float, openstax: float) -> None:
    """IAPWS-95 at 101.325 kPa within 2e-6 g/mL, for the two formulations differ by up to 0.0012 kg/m3 here.

    OpenStax, Chemistry 2e, appendix E, "Water properties" within 2e-6 g/mL: an older temperature scale.
    """
    assert water_density(f"{degc} degC") == pytest.approx(iapws, abs=2e-6)
    assert water_density(f"{degc} degC") == pytest.approx(openstax, abs=2e-6)


def test_specific_gravity() -> None:
    """US Army subcourse MD0802, *Pharmaceutical Calculations*, lesson 2: three worked examples."""
    # 10 mL weigh 8.5 g: 0.85. 1000 mL weigh 810 g: 0.810. 45 g of glycerin at 1.25 take 36 mL.
    assert Layer("oil", "first", 8.5, 0.85, 0).volume_per_100_g == pytest.approx(10)
    assert Layer("oil", "second", 810, 0.810, 0).volume_per_100_g == pytest.approx(1000)
    assert Layer("water", "glycerin", 45, 1.25, 0).volume_per_100_g == pytest.approx(36)


def test_a_cube() -> None:
    """OpenStax, *Chemistry 2e*, example 1.1: 2.00 cm edge and 90.7 g are 8.00 cm³ and 11.3 g/cm³."""
    volume = Bottle.measured([("2.00 cm", "8.00 mL")]).volume(20)
    assert volume == 8
    assert Layer("other", "cube", 90.7, 11.3, 0).volume_per_100_g == pytest.approx(volume, abs=0.05)


@pytest.mark.parametrize(
    ("radius", "height", "printed", "exact"),
    [
        (4, 13, 653.12, 653.4513),
        (4, 7, 351.68, 351.8584),
        (5, 13, 1020.5, 1021.0176),
        (8, 19, 3818.24, 3820.1767),
    ],
)
def test_cylinders(radius: float, height: float, printed: float, exact: float) -> None:
    """OpenStax, *Prealgebra 2e*, example 9.54 and section 9.6: printed with π as 3.14, so 0.05 % too small."""
    bottle = Bottle.cylinder(f"{2 * radius} cm", f"{exact} mL")
    assert bottle.height == pytest.approx(10 * height, abs=1e-4)
    assert bottle.volume(bottle.height) * 3.14 / math.pi == pytest.approx(printed, abs=0.005)


def test_two_liquids_in_a_cylinder() -> None:
    """Constructed: 30 mL of oil over 70 mL of water in 2.00 cm inner radius, h = V / (π r²)."""
    layers = [Layer("oil", "oil", 30 * 0.85, 0.85, 0), Layer("water", "water", 70 * 1.0, 1.0, 0)]
    water, oil = stand(layers, Bottle.cylinder("40 mm", "150 mL"), 100)
    assert (water.layer.kind, oil.layer.kind) == ("water", "oil")
    assert (water.height / 10, oil.height / 10) == pytest.approx((5.57042, 2.38732), abs=1e-4)
    assert oil.top / 10 == pytest.approx(7.95775, abs=1e-4)


def test_a_ratio_by_mass_is_none_by_volume() -> None:
    """Constructed: 30 g of oil at 0.853 with 70 g of water at 0.9982 g/mL: 0.33401 of the volume is oil."""
    oil, water = Layer("oil", "oil", 30, 0.853, 0), Layer("water", "water", 70, 0.9982, 0)
    whole = oil.volume_per_100_g + water.volume_per_100_g
    assert oil.volume_per_100_g / whole == pytest.approx(0.33401, abs=1e-5)
    assert oil.volume_per_100_g / water.volume_per_100_g == pytest.approx(0.50152, abs=1e-5)
    assert product_density([oil, water]) == pytest.approx(100 / whole)
    assert present(mix_densities([(30, 0.853), (70, 0.9982)])).density == pytest.approx(100 / whole)


def test_alcohol_with_water_is_the_documented_error_of_ideal_volumes() -> None:
    """50 mL of water with 50 mL of ethanol at 20 °C make 96.46 mL of 0.92649 g/mL: OIML R 22 (1975), its formula.

    Ideal volumes give 100 mL, and so a density that is 3.5 % too low; the docstring warns of it.
    """
    water, ethanol = 50 * 0.99820123, 50 * 0.7892391233
    ideal = present(mix_densities([(water, 0.99820123), (ethanol, 0.7892391233)])).density
    assert (water + ethanol) / ideal == pytest.approx(100)
    assert (water + ethanol) / 0.92649 == pytest.approx(96.46, abs=0.05)
    assert 100 * (1 - ideal / 0.92649) == pytest.approx(3.54, abs=0.05)
    assert "lose 3.5 %" in present(mix_densities.__doc__)
    assert "too low" in present(mix_densities.__doc__)


@pytest.mark.parametrize(("share", "measured", "ideal"), [(0.1, 1022.03, 1019.30), (0.5, 1126.08, 1114.24)])
def test_glycerol_with_water_errs_less(share: float, measured: float, ideal: float) -> None:
    """Glycerol in water at 20 °C, pure 1261.3 and 998.2 kg/m³, against CoolProp 8.0.0 (fluid MGL).

    A. Volk and C. J. Kähler, Exp. Fluids 59:75 (2018), give the same within 0.25 kg/m³.
    """
    found = 1000 * present(mix_densities([(share, 1.2613), (1 - share, 0.99820)])).density
    assert found == pytest.approx(ideal, abs=0.5)
    assert 0 < measured - found < 0.011 * measured


@pytest.mark.parametrize(
    ("inci", "celsius", "published"),
    [
        ("Glycerin", 20, 1.2613),
        ("Propylene Glycol", 20, 1.0361),
        ("Butylene Glycol", 20, 1.0053),
        ("Alcohol", 20, 0.7893),
        ("Isopropyl Alcohol", 25, 0.7809),
        ("Benzyl Alcohol", 24, 1.0419),
        ("Phenoxyethanol", 22, 1.102),
        ("Triethyl Citrate", 20, 1.1369),
    ],
)
def test_pure_liquids_of_a_handbook(inci: str, celsius: float, published: float) -> None:
    """CRC Handbook, physical constants of organic compounds, as shipped with the library chemicals 1.5.2. [g/mL]

    The kit's figures hold at 20 °C; liquids shrink by 0.0007 to 0.0011 g/mL per degree, and sources differ by 0.003.
    """
    density = {each.inci: each.density for each in ingredients()}[inci]
    assert density is not None
    assert density.value == pytest.approx(published + 0.0009 * (celsius - 20), abs=0.0035 if celsius > 20 else 0.0015)


def test_densities_of_a_school_book() -> None:
    """OpenStax, College Physics 2e, densities of various substances: to the second decimal. [g/mL]"""
    known = {each.inci: each.density.value for each in ingredients() if each.density}
    assert known["Alcohol"] == pytest.approx(0.79, abs=0.01)
    assert known["Glycerin"] == pytest.approx(1.26, abs=0.01)
    assert known["Olea Europaea Fruit Oil"] == pytest.approx(0.92, abs=0.01)
    assert water_density_at(4) == pytest.approx(1.000, abs=0.001)
    sea = aqueous_solution("Sodium Chloride")
    assert sea is not None
    assert sea.density(3.5, 15) == pytest.approx(1.025, abs=0.01)
