"""Limits, conversions and densities against what is printed, or what libraries that know nothing of the kit say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from iapws import IAPWS95
from molmass import Formula as Molecule

from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import mix_densities
from kit.library.description import Description
from kit.library.library import Library
from kit.library.table import ingredients, limits, salts
from tests.present import present
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.description import ProductKind
    from kit.library.ingredient import Ingredient
    from kit.library.table import Salt

LIBRARY = Library.bundled()


def product(lines: dict[str, str], kind: ProductKind = "leave-on") -> Formula:
    water = (Line("Aqua", "q.s."), *(Line(name, amount) for name, amount in lines.items()))
    return Formula("Trial", (Phase("Water layer", "water", water),), description=Description(product_kind=kind))


def stops(lines: dict[str, str], kind: ProductKind = "leave-on", place: str = "eu") -> list[Finding]:
    formula = product(lines, kind)
    return [f for f in check(formula, Materials.of(formula, LIBRARY), limits(place)) if f.severity == "stop"]


# Regulation (EC) No 1223/2009, Annex V in the Commission's export of 26 May 2026 and Annex III in that of 8 December
# 2025: entry, substance, kind of product, most allowed of the substance itself [% w/w]. "as acid" entries are turned
# with the molar masses of molmass; an amount a thousandth below passes, one a thousandth above does not.
ENTRIES = [
    ("Annex V, entry 1", "Sodium Benzoate", "leave-on", 0.5 * Molecule("C7H5NaO2").mass / Molecule("C7H6O2").mass),
    ("Annex V, entry 1", "Sodium Benzoate", "rinse-off", 2.5 * Molecule("C7H5NaO2").mass / Molecule("C7H6O2").mass),
    ("Annex V, entry 1a", "Potassium Benzoate", "leave-on", 0.5 * Molecule("C7H5KO2").mass / Molecule("C7H6O2").mass),
    ("Annex V, entry 2", "Sodium Propionate", "rinse-off", 2 * Molecule("C3H5NaO2").mass / Molecule("C3H6O2").mass),
    ("Annex V, entry 4", "Potassium Sorbate", "leave-on", 0.6 * Molecule("C6H7KO2").mass / Molecule("C6H8O2").mass),
    ("Annex V, entry 4", "Calcium Sorbate", "leave-on", 0.6 * Molecule("C12H14CaO4").mass / Molecule("C12H16O4").mass),
    ("Annex V, entry 7", "o-Phenylphenol", "leave-on", 0.15),
    ("Annex V, entry 7", "o-Phenylphenol", "rinse-off", 0.2),
    ("Annex V, entry 11", "Chlorobutanol", "leave-on", 0.5),
    ("Annex V, entry 12", "Methylparaben", "leave-on", 0.4 * Molecule("C8H8O3").mass / Molecule("C7H6O3").mass),
    ("Annex V, entry 12a", "Propylparaben", "leave-on", 0.14 * Molecule("C10H12O3").mass / Molecule("C7H6O3").mass),
    (
        "Annex V, entry 13",
        "Sodium Dehydroacetate",
        "leave-on",
        0.6 * Molecule("C8H7NaO4").mass / Molecule("C8H8O4").mass,
    ),
    ("Annex V, entry 14", "Sodium Formate", "leave-on", 0.5 * Molecule("CHNaO2").mass / Molecule("CH2O2").mass),
    ("Annex V, entry 18", "Undecylenic Acid", "rinse-off", 0.2),
    ("Annex V, entry 22", "Dichlorobenzyl Alcohol", "leave-on", 0.15),
    ("Annex V, entry 26", "Chloroxylenol", "leave-on", 0.5),
    ("Annex V, entry 27", "Imidazolidinyl Urea", "leave-on", 0.6),
    ("Annex V, entry 29", "Phenoxyethanol", "leave-on", 1.0),
    ("Annex V, entry 33", "DMDM Hydantoin", "leave-on", 0.6),
    ("Annex V, entry 35", "Piroctone Olamine", "leave-on", 0.5),
    ("Annex V, entry 35", "Piroctone Olamine", "rinse-off", 1.0),
    ("Annex V, entry 38", "o-Cymen-5-ol", "leave-on", 0.1),
    ("Annex V, entry 46", "Diazolidinyl Urea", "leave-on", 0.5),
    ("Annex V, entry 50", "Chlorphenesin", "rinse-off", 0.3),
    ("Annex V, entry 53", "Benzethonium Chloride", "leave-on", 0.1),
    ("Annex V, entry 56", "Iodopropynyl Butylcarbamate", "rinse-off", 0.02),
    ("Annex V, entry 57", "Methylisothiazolinone", "rinse-off", 0.0015),
    ("Annex V, entry 60", "Hydroxyethoxyphenyl Butanone", "leave-on", 0.7),
    ("Annex III, entry 62", "Triethanolamine", "leave-on", 2.5),
    ("Annex III, entry 286", "Cetrimonium Chloride", "rinse-off", 2.5),
    ("Annex III, entry 325", "BHT", "leave-on", 0.8),
    ("Annex III, entry 375", "Kojic Acid", "leave-on", 1.0),
    ("Annex III, entry 377", "Alpha-Arbutin", "leave-on", 2.0),
]


@each_of(("entry", "substance", "kind", "most"), ENTRIES)
def test_an_entry_of_the_annex_holds_to_a_thousandth(
    entry: str, substance: str, kind: ProductKind, most: float
) -> None:
    assert stops({substance: repr(most * 0.999)}, kind) == []
    over = stops({substance: repr(most * 1.001)}, kind)
    assert any(f", {entry}," in f.source or f", {entry} (" in f.source for f in over), [f.source for f in over]


@each_of(
    ("substance", "kind"),
    [  # permitted in rinse-off products only: Annex V, entries 20, 39, 43, 55, 57
        ("5-Bromo-5-Nitro-1,3-Dioxane", "leave-on"),
        ("Methylchloroisothiazolinone", "leave-on"),
        ("Phenoxyisopropanol", "leave-on"),
        ("Benzylhemiformal", "leave-on"),
        ("Methylisothiazolinone", "leave-on"),
    ],
)
def test_what_is_for_rinse_off_products_only_is_not_permitted_elsewhere(substance: str, kind: ProductKind) -> None:
    assert any("is not permitted in leave-on products" in f.sentence for f in stops({substance: "0.001"}, kind))
    assert stops({substance: "0.001"}, "rinse-off") == []


# Annex V, entries 12 and 12a: 0.4 % for a single ester, 0.14 % for propyl- and butylparaben together, 0.8 % for all,
# each as 4-hydroxybenzoic acid, C7H6O3. Worked by hand with M = 138.12, 152.15, 166.18, 180.20, 194.23 g/mol.
PARABENS = [
    ({"Methylparaben": "0.44"}, 0),  # 0.3994
    ({"Methylparaben": "0.45"}, 1),  # 0.4085 > 0.4
    ({"Methylparaben": "0.44", "Ethylparaben": "0.48"}, 0),  # 0.3994 + 0.3989 = 0.7984
    (
        {"Methylparaben": "0.40", "Ethylparaben": "0.40", "Propylparaben": "0.15"},
        1,
    ),  # 0.3631 + 0.3325 + 0.1150 = 0.8105
    (
        {"Methylparaben": "0.40", "Ethylparaben": "0.38", "Propylparaben": "0.15"},
        0,
    ),  # 0.3631 + 0.3158 + 0.1150 = 0.7939
    ({"Propylparaben": "0.10", "Butylparaben": "0.08"}, 0),  # 0.0766 + 0.0569 = 0.1335
    ({"Propylparaben": "0.10", "Butylparaben": "0.10"}, 1),  # 0.0766 + 0.0711 = 0.1478 > 0.14
    ({"Sodium Methylparaben": "0.50"}, 0),  # 0.3966 of 174.13 g/mol
    ({"Sodium Methylparaben": "0.51"}, 1),  # 0.4045
]


@each_of(("lines", "broken"), PARABENS)
def test_sums_of_parabens_on_worked_mixtures(lines: dict[str, str], broken: int) -> None:
    assert len(stops(lines)) == broken


@each_of("one", [each for each in ingredients() if each.molecular_formula], ids=lambda one: one.inci)
def test_a_molar_mass_is_that_of_its_formula(one: Ingredient) -> None:
    """Judge: molmass, from the molecular formula; abridged atomic weights differ from it by up to 3 in 100 000."""
    expected = Molecule(one.molecular_formula).mass
    assert present(one.molar_mass).value == pytest.approx(expected, abs=max(0.02, 3e-5 * expected))


@each_of("salt", salts().values(), ids=lambda salt: salt.inci)
def test_a_molar_mass_of_a_salt_is_that_of_its_formula(salt: Salt) -> None:
    assert salt.molar_mass == pytest.approx(Molecule(salt.molecular_formula).mass, abs=0.01)


# Codex Alimentarius CXS 210-1999, table 2: relative density against water at 20 °C, with the density of water there
# (IAPWS-95) turned into g/mL. Sunflower as corrected in 2022. Rows at 40 °C are compared with a figure at 40 °C.
CODEX = [
    ("Helianthus Annuus Seed Oil", 0.916, 0.923, 20),
    ("Brassica Campestris Seed Oil", 0.914, 0.920, 20),
    ("Cocos Nucifera Oil", 0.908, 0.921, 40),
]


@each_of(("oil", "low", "high", "celsius"), CODEX)
def test_the_density_of_an_oil_lies_in_the_range_of_the_codex(oil: str, low: float, high: float, celsius: int) -> None:
    water = IAPWS95(T=293.15, P=0.101325).rho / 1000
    figure = present(present(LIBRARY.get(oil)).density)
    assert low * water <= figure.value <= high * water
    assert f"at {celsius} °C" in figure.note


def test_the_water_of_the_table_is_that_of_the_formulation() -> None:
    aqua = present(LIBRARY.get("Aqua"))
    assert present(aqua.density).value == pytest.approx(IAPWS95(T=293.15, P=0.101325).rho / 1000, abs=5e-5)
    assert present(aqua.viscosity).value == pytest.approx(IAPWS95(T=293.15, P=0.101325).mu * 1000, abs=1e-3)


@each_of(
    ("salt", "percent", "density"),
    [  # Laliberté (2009) as coded in thermo 0.6.1, 20 °C; without a figure for the salt the solution would be water
        ("Sodium Sulfate", 10.0, 1.0912),
        ("Magnesium Sulfate", 10.0, 1.1033),
        ("Sodium Hydroxide", 5.0, 1.0532),
    ],
)
def test_the_density_of_a_dry_salt_goes_half_of_the_way_to_that_of_its_solution(
    salt: str, percent: float, density: float
) -> None:
    """A remembered density of the crystal is no density of what is dissolved: it errs low, and its note says so."""
    dry = present(present(LIBRARY.get(salt)).density)
    mixed = present(mix_densities([(percent, dry.value), (100 - percent, 0.9982)]))
    assert 0.9982 < mixed.density < density
    assert "in water it takes less room" in dry.note


@each_of(
    ("place", "substance", "percent", "broken"),
    [  # 21 CFR 700.11, 700.15, 700.18, 700.19 prohibit; 250.250 restricts (FDA fact sheet, revised June 2006)
        ("us", "Bithionol", "0.01", True),
        ("us", "Tribromsalan", "0.01", True),
        ("us", "Chloroform", "0.01", True),
        ("us", "Methylene Chloride", "0.01", True),
        ("us", "Hexachlorophene", "0.1", False),
        ("us", "Hexachlorophene", "0.11", True),
        ("eu", "Hexachlorophene", "0.11", True),  # Annex II, entry 371
        ("us", "Phenoxyethanol", "5", False),
        ("eu", "Phenoxyethanol", "5", True),
    ],
)
def test_the_place_decides_which_limits_count(place: str, substance: str, percent: str, broken: bool) -> None:
    assert bool(stops({substance: percent}, place=place)) == broken
