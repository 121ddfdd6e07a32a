"""The tables of solutions: every salt and base of the library is there, with a table or with the reason why not."""

from __future__ import annotations

import re

import pytest
from molmass import Formula

from kit.library.sources import sources
from kit.liquids.aqueous import aqueous_solution, unknown_solutions
from kit.resources import load_table
from tests.rows import each_of

AQUEOUS = load_table("aqueous").rows
HYDRATES = load_table("hydrates").rows
POINTS = load_table("aqueous-points").rows

#: What a water layer dissolves: acids, bases, salts and whatever holds one of these metals; colourants are too little.
DISSOLVED = [
    row["inci"]
    for row in load_table("ingredients").rows
    if row["phase"] == "water"
    and not row["composition"]
    and not row["inci"].startswith("CI ")
    and (
        row["charge"] in ("acid", "base", "salt")
        or re.search(r"Na|K(?![a-z])|Mg|Zn|Ca(?![a-z])", row["molecular_formula"])
    )
]


@each_of("name", DISSOLVED)
def test_every_salt_and_base_of_the_library_has_a_table_or_a_reason(name: str) -> None:
    assert (aqueous_solution(name) is None) == (name in unknown_solutions())
    assert len(DISSOLVED) > 25


def test_a_reason_is_a_sentence_and_stands_for_nothing_that_is_known() -> None:
    for name, why in unknown_solutions().items():
        assert len(why) > 15, name
        assert aqueous_solution(name) is None


@each_of("row", AQUEOUS, ids=lambda row: row["inci"])
def test_a_row_is_whole(row: dict[str, str]) -> None:
    figures = ("most_percent", "coldest_degc", "warmest_degc", "uncertainty_g_ml")
    if row["equation"] == "none":
        assert not any(row[name] for name in (*figures, "coefficients", "source"))
        return
    most, coldest, warmest, uncertainty = (float(row[name]) for name in figures)
    assert 0 < most <= 100
    assert 0 <= coldest < warmest <= 100
    assert 0 < uncertainty < 0.01
    assert row["source"] in sources()
    assert bool(row["expansion_ml_g_k"]) == (row["equation"] in ("points", "dilute"))


def test_no_substance_stands_twice() -> None:
    assert len({row["inci"] for row in AQUEOUS}) == len(AQUEOUS)
    assert len({row["sold"] for row in HYDRATES}) == len(HYDRATES)


def test_points_belong_to_a_row_and_end_where_it_says() -> None:
    for row in AQUEOUS:
        percents = [float(point["percent"]) for point in POINTS if point["inci"] == row["inci"]]
        assert bool(percents) == (row["equation"] == "points"), row["inci"]
        assert percents == sorted(percents)
        if percents:
            assert percents[-1] == float(row["most_percent"])


@each_of("row", HYDRATES, ids=lambda row: row["sold"])
def test_what_a_hydrate_brings_follows_from_its_formula(row: dict[str, str]) -> None:
    """Judged by molmass; lists round atomic weights differently."""
    dry, _, water = row["molecular_formula"].partition("·")
    times = int(water.removesuffix("H2O") or 1)
    anhydrous = Formula(dry).mass
    assert float(row["anhydrous_molar_mass_g_mol"]) == pytest.approx(anhydrous, abs=0.02)
    assert float(row["molar_mass_g_mol"]) == pytest.approx(anhydrous + times * Formula("H2O").mass, abs=0.03)
    solution = aqueous_solution(row["sold"])
    assert solution is not None
    assert solution.brings == pytest.approx(anhydrous / (anhydrous + times * 18.015), abs=2e-4)


def test_at_the_temperature_of_the_points_the_density_is_the_tables_own() -> None:
    # at 20 °C nothing is worked out: the printed figure comes back, to the rounding of the sum
    faults = []
    for row in POINTS:
        solution = aqueous_solution(row["inci"])
        assert solution is not None
        assert solution.measured_at == 20
        found = solution.density(float(row["percent"]), 20.0)
        if abs(found - float(row["density_g_ml"])) > 1e-9:
            faults.append(f"{row['inci']} {row['percent']} %: {found}")
    assert not faults, faults
