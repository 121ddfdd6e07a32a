"""The ingredient table: sound in itself, and in agreement with figures published elsewhere."""

from __future__ import annotations

import re

import pytest

from kit.library.columns import COLUMNS, read_composition
from kit.library.ingredient import PHASE_KINDS
from kit.library.library import all_names
from kit.library.sources import sources
from kit.library.table import ingredients
from kit.resources import load_table
from kit.visible_text import plain_letters
from tests.rows import each_of

ROWS = load_table("ingredients").rows
BY_NAME = {row["inci"]: row for row in ROWS}
CHARGES = {"none", "nonionic", "anionic", "cationic", "amphoteric", "acid", "base", "salt"}

#: Each group of figures and the column that says where they come from.
SOURCED = {
    "density_source": ("density_g_ml",),
    "usual_source": ("usual_low_percent", "usual_high_percent"),
    "molar_mass_source": ("molar_mass_g_mol", "molecular_formula"),
    "composition_source": ("composition",),
}

# Published densities [g/mL]. Where two sources were at hand, the one the table was not typed from is here; where
# there is only one, this guards the typing and no more. A range
# given at 25 °C is widened upwards by 0.0035, since oils shrink by about 0.0007 g/mL per degree down to 20 °C.
PUBLISHED_DENSITIES = [
    ("Aqua", 0.99816, 0.99826, "OpenStax Chemistry 2e, appendix E: 0.9982071 at 20 °C"),
    ("Glycerin", 1.2608, 1.2618, "CRC Handbook: 1.2613 at 20 °C"),
    ("Glycerin", 1.25, 1.27, "OpenStax College Physics 2e, table of densities: 1.26"),
    ("Propylene Glycol", 1.0355, 1.0371, "chemicals 1.5.2, DIPPR correlation: 1.0363 at 20 °C"),
    ("Butylene Glycol", 1.0043, 1.0059, "chemicals 1.5.2, DIPPR correlation: 1.0051 at 20 °C"),
    ("Alcohol", 0.7888, 0.7898, "CRC Handbook: 0.7893 at 20 °C"),
    ("Isopropyl Alcohol", 0.7809, 0.7875, "CRC Handbook: 0.7809 at 25 °C; 0.0009 per degree and 0.002"),
    ("Benzyl Alcohol", 1.0419, 1.0470, "CRC Handbook: 1.0419 at 24 °C; 0.0008 per degree and 0.002"),
    ("Caprylic/Capric Triglyceride", 0.94, 0.96, "British Pharmacopoeia (Ph. Eur. 0868): about 0.95 at 20 °C"),
    ("Isopropyl Myristate", 0.846, 0.8575, "USP 29 - NF 24: 0.846 to 0.854 at 25 °C"),
    ("Coco-Caprylate/Caprate", 0.855, 0.865, "British Pharmacopoeia 2013 (Ph. Eur. 1411): about 0.86 at 20 °C"),
    ("Squalane", 0.805, 0.815, "encyclopedia article: 0.810 at 25 °C"),
    ("Dimethicone", 0.959, 0.969, "trade science article: 0.964 at 25 °C"),
    ("Simmondsia Chinensis Seed Oil", 0.863, 0.8765, "technical sheet: 0.863 to 0.873 at 25 °C"),
    ("Helianthus Annuus Seed Oil", 0.918, 0.923, "New Zealand food regulations, as Codex CXS 210: relative, 20/20 °C"),
    ("Prunus Amygdalus Dulcis Oil", 0.910, 0.9185, "USP 29: 0.910 to 0.915 at 25 °C"),
    ("Prunus Armeniaca Kernel Oil", 0.910, 0.920, "technical sheet: 0.910 to 0.920 at 20 °C"),
    ("Argania Spinosa Kernel Oil", 0.910, 0.925, "a second technical sheet: 0.910 to 0.925"),
    ("Ricinus Communis Seed Oil", 0.952, 0.965, "British Pharmacopoeia 1993: 0.952 to 0.965 at 20 °C"),
    (
        "Cocos Nucifera Oil",
        0.906,
        0.920,
        "Codex CXS 210-1999: 0.908 to 0.921 against water at 20 °C (× 0.9982), at 40 °C",
    ),
    ("Camellia Japonica Seed Oil", 0.916, 0.917, "Ichino 1988: 0.916 to 0.917"),
    ("Olea Europaea Fruit Oil", 0.910, 0.9185, "dealer sheet after USP: 0.910 to 0.915 at 25 °C"),
    ("Olea Europaea Fruit Oil", 0.91, 0.93, "OpenStax College Physics 2e, table of densities: 0.92"),
    (
        "Brassica Campestris Seed Oil",
        0.912,
        0.919,
        "Codex CXS 210-1999: 0.914 to 0.920 against water at 20 °C (× 0.9982)",
    ),
    (
        "Sesamum Indicum Seed Oil",
        0.917,
        0.926,
        "Ichino 1988: 0.920 to 0.926, temperature not stated; at 25 °C against water × 0.997",
    ),
    ("Paraffinum Liquidum", 0.818, 0.880, "USP 32, light mineral oil: 0.818 to 0.880 at 25 °C"),
    ("Polysorbate 80", 1.06, 1.09, "USP 32 - NF 27: 1.06 to 1.09 at 25 °C"),
]

# Atomic weights [g/mol] of the IUPAC table of 2005, from memory; the one of 2021 behind the table replaced it.
ATOMIC_WEIGHTS = {
    "H": 1.00794, "C": 12.0107, "N": 14.0067, "O": 15.9994, "Na": 22.98977, "Mg": 24.3050, "Si": 28.0855,
    "S": 32.065, "Cl": 35.453, "K": 39.0983, "I": 126.90447, "B": 10.811, "Al": 26.981538, "P": 30.973762,
    "Ca": 40.078, "Ti": 47.867, "Cr": 51.9961, "Mn": 54.938045, "Fe": 55.845,
    "Cu": 63.546, "Br": 79.904, "Zn": 65.38,  # zinc as revised in 2007
}  # fmt: skip

# Molar masses [g/mol] computed from structures with rdkit 2026.9.1.
FROM_STRUCTURES = {
    "Citric Acid": 192.12,
    "Sodium Hydroxide": 39.997,
    "Benzoic Acid": 122.12,
    "Sodium Benzoate": 144.11,
    "Sorbic Acid": 112.13,
    "Potassium Sorbate": 150.22,
    "Phenoxyethanol": 138.17,
    "Benzyl Alcohol": 108.14,
    "Glycerin": 92.09,
}

# Molar masses [g/mol] computed with molmass 2026.1.8.
SECOND_LIBRARY = {
    "Aqua": 18.02,
    "Glycerin": 92.09,
    "Propanediol": 76.09,
    "Propylene Glycol": 76.09,
    "Butylene Glycol": 90.12,
    "Pentylene Glycol": 104.15,
    "1,2-Hexanediol": 118.17,
    "Caprylyl Glycol": 146.23,
    "Ethylhexylglycerin": 204.31,
    "Alcohol": 46.07,
    "Isopropyl Alcohol": 60.1,
    "Sorbitol": 182.17,
    "Betaine": 117.15,
    "Sodium PCA": 151.1,
    "Urea": 60.06,
    "Panthenol": 205.25,
    "Sodium Lactate": 112.06,
    "Lactic Acid": 90.08,
    "Glycolic Acid": 76.05,
    "Citric Acid": 192.12,
    "Sodium Citrate": 258.07,
    "Malic Acid": 134.09,
    "Tartaric Acid": 150.09,
    "Ascorbic Acid": 176.12,
    "Sodium Hydroxide": 40.0,
    "Potassium Hydroxide": 56.11,
    "Triethanolamine": 149.19,
    "Arginine": 174.2,
    "Cetrimonium Chloride": 320.0,
    "Behentrimonium Chloride": 404.16,
    "Behentrimonium Methosulfate": 479.8,
    "Allantoin": 158.12,
    "Niacinamide": 122.12,
    "Caffeine": 194.19,
    "Sodium Chloride": 58.44,
    "Magnesium Sulfate": 120.37,
    "Sodium Bicarbonate": 84.01,
    "Disodium EDTA": 372.24,
    "Trehalose": 342.3,
    "Phenoxyethanol": 138.16,
    "Benzyl Alcohol": 108.14,
    "Benzoic Acid": 122.12,
    "Sodium Benzoate": 144.1,
    "Sorbic Acid": 112.13,
    "Potassium Sorbate": 150.22,
    "Dehydroacetic Acid": 168.15,
    "Sodium Dehydroacetate": 190.13,
    "Salicylic Acid": 138.12,
    "Methylparaben": 152.15,
    "Ethylparaben": 166.17,
    "Propylparaben": 180.2,
    "Butylparaben": 194.23,
    "Chlorphenesin": 202.64,
    "Diazolidinyl Urea": 278.22,
    "Imidazolidinyl Urea": 388.29,
    "DMDM Hydantoin": 188.18,
    "Iodopropynyl Butylcarbamate": 281.09,
    "Methylisothiazolinone": 115.15,
    "Isopropyl Myristate": 270.45,
    "Isopropyl Palmitate": 298.5,
    "Isoamyl Laurate": 270.45,
    "Squalane": 422.81,
    "Isododecane": 170.34,
    "Cyclopentasiloxane": 370.77,
    "Tocopherol": 430.71,
    "Tocopheryl Acetate": 472.74,
    "BHT": 220.35,
    "Limonene": 136.23,
    "Linalool": 154.25,
    "Menthol": 156.27,
    "Triethyl Citrate": 276.28,
    "Retinol": 286.45,
    "Hydrogen Peroxide": 34.01,
}


def test_there_are_enough_ingredients_for_a_bench() -> None:
    assert len(ingredients()) >= 600


#: What a maker's own file has and the bundled table leaves to tables of their own, or to the maker.
ELSEWHERE = {
    "viscosity_mpa_s", "viscosity_source", "log_p", "log_p_source", "pka", "pka_source", "soluble_in_water",
    "soluble_in_oil", "soluble_in_alcohol", "solubility_source", "price", "currency", "pack_amount", "pack_unit",
    "lot", "bought_on", "keep_until", "cas",
}  # fmt: skip


def test_the_columns_are_those_of_a_makers_own_file_that_no_other_table_holds_and_one_more() -> None:
    assert set(ROWS[0]) == {*COLUMNS, "density_note"} - ELSEWHERE


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_no_figure_without_a_source_and_no_source_without_a_figure(row: dict[str, str]) -> None:
    for source_column, columns in SOURCED.items():
        given = any(row[column] for column in columns)
        assert bool(row[source_column]) == given, source_column
        assert not given or row[source_column] in sources(), row[source_column]
    assert row["facts_source"] in sources()
    assert not row["density_note"] or row["density_g_ml"]


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_what_an_ingredient_is_is_said_in_known_words(row: dict[str, str]) -> None:
    assert row["phase"] in PHASE_KINDS
    assert row["charge"] in CHARGES
    assert row["plain_name"]
    assert row["roles"]


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_a_density_says_at_which_temperature(row: dict[str, str]) -> None:
    if row["density_g_ml"]:
        assert re.search(r"\d °C|temperature not stated", row["density_note"]), row["density_note"]


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_usual_ranges_are_ordered_percents(row: dict[str, str]) -> None:
    if row["usual_source"]:
        assert 0 <= float(row["usual_low_percent"]) < float(row["usual_high_percent"]) <= 100


def test_no_name_means_two_things() -> None:
    owner: dict[str, str] = {}
    for ingredient in ingredients():
        for name in all_names(ingredient):
            assert owner.setdefault(plain_letters(name), ingredient.inci) == ingredient.inci, name


@each_of("row", [row for row in ROWS if row["composition"]], ids=lambda row: row["inci"])
def test_a_blend_adds_up_and_is_made_of_single_substances_of_the_table(row: dict[str, str]) -> None:
    parts = read_composition(row["composition"])
    assert sum(parts.values()) == pytest.approx(100, abs=1e-9)
    for part in parts:
        assert not BY_NAME[part]["composition"], part
    if " (and) " in row["inci"]:
        assert row["inci"].split(" (and) ") == sorted(parts, key=lambda part: -parts[part])
    assert not row["molar_mass_g_mol"]


@each_of(("inci", "low", "high", "source"), PUBLISHED_DENSITIES)
def test_densities_agree_with_published_ones(inci: str, low: float, high: float, source: str) -> None:
    assert low <= float(BY_NAME[inci]["density_g_ml"]) <= high, source


@each_of(
    ("salt", "percent_salt", "density"),
    [
        ("Sodium Chloride", 5.0, 1.0339),
        ("Magnesium Sulfate Heptahydrate", 20.48, 1.1033),  # 10 % of the anhydrous salt: × 246.47 / 120.37
    ],
)
def test_the_density_of_a_ballast_salt_gives_that_of_its_solution(
    salt: str, percent_salt: float, density: float
) -> None:
    """Solution densities at 20 °C after Laliberté (2009), thermo 0.6.1; ideal volumes must give them back."""
    share = percent_salt / 100
    volume = share / float(BY_NAME[salt]["density_g_ml"]) + (1 - share) / float(BY_NAME["Aqua"]["density_g_ml"])
    assert 1 / volume == pytest.approx(density, abs=0.0006)


def formula_mass(formula: str) -> float:
    """The mass of a formula without brackets, such as C7H5NaO2. [g/mol]"""
    atoms = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    assert "".join(element + count for element, count in atoms) == formula
    return sum(ATOMIC_WEIGHTS[element] * int(count or 1) for element, count in atoms)


@each_of("row", [row for row in ROWS if row["molar_mass_g_mol"]], ids=lambda row: row["inci"])
def test_molar_masses_follow_from_the_formulas(row: dict[str, str]) -> None:
    tolerance = 0.02 + 3e-5 * float(row["molar_mass_g_mol"])  # weights of 2005 above, of 2021 in the table
    assert float(row["molar_mass_g_mol"]) == pytest.approx(formula_mass(row["molecular_formula"]), abs=tolerance)


@each_of(("inci", "expected"), FROM_STRUCTURES.items())
def test_molar_masses_agree_with_structures(inci: str, expected: float) -> None:
    assert float(BY_NAME[inci]["molar_mass_g_mol"]) == pytest.approx(expected, abs=0.0101)


@each_of(("inci", "expected"), SECOND_LIBRARY.items())
def test_molar_masses_agree_with_a_second_library(inci: str, expected: float) -> None:
    assert float(BY_NAME[inci]["molar_mass_g_mol"]) == pytest.approx(expected, abs=0.0201)


@each_of(
    "inci",
    [
        "Aqua", "Glycerin", "Sodium PCA (and) Aqua", "Sodium Benzoate", "Potassium Sorbate", "Citric Acid",
        "Coco-Caprylate", "Coco-Caprylate/Caprate", "Prunus Armeniaca Kernel Oil", "Tocopherol", "Parfum",
        "Isoamyl Laurate", "Squalane", "Caprylic/Capric Triglyceride", "Sodium Chloride",
        "Ricinus Communis Seed Oil", "Isopropyl Myristate",
    ],
)  # fmt: skip
def test_what_the_demo_products_use_is_there_with_a_density(inci: str) -> None:
    assert BY_NAME[inci]["density_g_ml"]


def test_a_density_carries_what_is_said_about_it() -> None:
    squalane = next(each for each in ingredients() if each.inci == "Squalane")
    assert squalane.note == ""
    assert squalane.density is not None
    assert (squalane.density.source, squalane.density.note) == ("encyclopedia-squalane", "at 25 °C")
