"""The table of acids and bases: sound in itself, and in agreement with other figures."""

from __future__ import annotations

import datetime as dt
import re
from math import log, log10

import pytest

from kit.bench.acids import acids
from kit.library.sources import FROM_MEMORY, is_firm, sources
from kit.library.table import ingredients
from kit.resources import load_table
from tests.rows import each_of

TABLE = load_table("acids")

# Atomic weights [g/mol] of the IUPAC table of 2005, from memory; the one of 2021 behind the table replaced it.
ATOMIC_WEIGHTS = {
    "H": 1.00794, "C": 12.0107, "N": 14.0067, "O": 15.9994, "Na": 22.98977, "P": 30.973762, "K": 39.0983,
}  # fmt: skip


def mass_of(formula: str) -> float:
    total = 0.0
    for part in formula.split("·"):
        count, atoms = re.fullmatch(r"(\d*)(.+)", part).groups()  # type: ignore[union-attr]
        found = re.findall(r"([A-Z][a-z]?)(\d*)", atoms)
        total += int(count or 1) * sum(ATOMIC_WEIGHTS[atom] * int(number or 1) for atom, number in found)
    return total


def test_the_table_says_where_it_comes_from() -> None:
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(TABLE.about[field].strip()) > 5, field
    assert isinstance(TABLE.about["as_of"], dt.date)
    assert {*TABLE.about["units"], *TABLE.about["columns"]} <= set(TABLE.rows[0])


def test_each_row_is_whole_and_each_key_is_one() -> None:
    assert len(acids()) == len(TABLE.rows)
    for row in TABLE.rows:
        assert None not in row
        assert None not in row.values()
        assert row["kind"] in {"acid", "base", "salt"}, row
        assert row["form"] in {"pure", "anhydrous", "monohydrate", "dihydrate", "trihydrate", "dodecahydrate"}, row


def test_every_figure_has_a_source_that_is_listed() -> None:
    for row in TABLE.rows:
        assert row["molar_mass_source"] in sources(), row
        assert (row["pka_source"] in sources()) == bool(row["pka"]), row


def test_what_was_only_remembered_is_marked() -> None:
    remembered = {each.name for each in acids().values() if each.pka_source == FROM_MEMORY}
    assert remembered == {"Ascorbic Acid", "Dehydroacetic Acid", "Aminomethyl Propanol"}
    assert all(is_firm(e.pka_source) for e in acids().values() if e.pka and e.name not in remembered)


@each_of("row", TABLE.rows, ids=lambda row: f"{row['name']}, {row['form']}")
def test_molar_masses_follow_from_the_formula(row: dict[str, str]) -> None:
    assert float(row["molar_mass_g_mol"]) == pytest.approx(mass_of(row["molecular_formula"]), abs=0.03)


def test_molar_masses_agree_with_the_table_of_ingredients() -> None:
    bought = {each.inci: each.molar_mass.value for each in ingredients() if each.molar_mass}
    compared = [each for each in acids().values() if each.name in bought and each.form in ("pure", "anhydrous")]
    assert len(compared) > 15
    for each in compared:
        assert each.molar_mass == pytest.approx(bought[each.name], abs=0.03), each.key


@each_of("row", TABLE.rows, ids=lambda row: f"{row['name']}, {row['form']}")
def test_constants_rise_and_charges_fit(row: dict[str, str]) -> None:
    each = acids()[row["name"] if row["form"] == "pure" else f"{row['name']}, {row['form']}"]
    assert list(each.pka) == sorted(each.pka)
    assert all(0 < constant < 14 for constant in each.pka)
    # A salt holds as many strong ions as protons it has given up; a free acid or amine holds none.
    metals = sum(int(n or 1) for _, n in re.findall(r"(Na|K)(\d*)", row["molecular_formula"]))
    assert each.strong_ions == metals
    assert (each.kind == "salt") == (metals > 0 and bool(each.pka))


def test_citric_acid_after_bates_and_pinching() -> None:
    """Their ln K at temperature T [K] as quoted later (the signs of the 1/T terms of the last two put back)."""
    t = 298.15
    terms = [
        (-646.52280, 14264.1855, 115.34510, -0.2204),
        (-52.19970, -1842.97387, 11.19421, -0.05487),
        (-129.89305, -394.04129, 25.36088, -0.09394),
    ]
    found = [-(a + b / t + c * log(t) + d * t) / log(10) for a, b, c, d in terms]
    assert acids()["Citric Acid, anhydrous"].pka == pytest.approx(found, abs=0.001)


def test_triethanolamine_after_bates_and_allen() -> None:
    """From the heat, 33.450 kJ/mol, and entropy, -36.4 J/(mol K), of dissociation at 25 °C; R = 8.31446 J/(mol K)."""
    pka = (33450 + 36.4 * 298.15) / (8.31446 * 298.15 * log(10))
    assert acids()["Triethanolamine"].pka == pytest.approx((pka,), abs=0.005)


@each_of(
    ("key", "constants"),
    [
        ("Acetic Acid", (1.8e-5,)),
        ("Phosphoric Acid", (7.5e-3, 6.2e-8, 4.2e-13)),
        ("Sodium Bicarbonate, anhydrous", (4.3e-7, 5.6e-11)),
        ("Ammonia", (5.6e-10,)),
    ],
)
def test_constants_agree_with_those_of_openstax(key: str, constants: tuple[float, ...]) -> None:
    """OpenStax, Chemistry 2e, appendix H, with two figures: within 0.1 of the table's."""
    assert acids()[key].pka == pytest.approx([-log10(each) for each in constants], abs=0.1)


def test_one_acid_has_one_constant_in_every_table() -> None:
    """The acids here and those among the preservatives."""
    for row in load_table("preservatives").rows:
        if row["inci"] in {each.name for each in acids().values()} and row["pka"]:
            (key,) = [key for key, each in acids().items() if each.name == row["inci"]]
            assert acids()[key].pka[0] == float(row["pka"]), key
            assert acids()[key].pka_source == row["pka_source"], key


def test_the_second_opinions_of_two_doubted_constants() -> None:
    """Harris, Quantitative Chemical Analysis, appendix G (after NIST database 46): arginine 1.823 and 8.991, ammonia
    9.245, acetic acid 4.756, all at zero ionic strength."""
    assert acids()["Arginine"].pka[:2] == pytest.approx((1.823, 8.991), abs=0.002)
    assert acids()["Ammonia"].pka == pytest.approx((9.245,), abs=0.002)
    assert acids()["Acetic Acid"].pka == pytest.approx((4.756,), abs=0.002)
