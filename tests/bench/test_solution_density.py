"""Densities of solutions on every basis, and strengths converted without being asked for a density."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.conversion import convert, density_in_water, pure_density
from kit.bench.dilution import make_stock
from kit.bench.strength import Strength
from kit.errors import RangeError
from kit.liquids.aqueous import aqueous_solutions

TABLES = {each.substance: each for each in aqueous_solutions()}


@pytest.mark.parametrize(
    ("by_volume", "by_mass", "density"),
    # OIML R 22, tables of strengths at 20 °C: % v/v, % w/w, kg/m3
    [(10, 8.015, 984.71), (40, 33.300, 948.05), (70, 62.386, 885.56), (95, 92.408, 811.38)],
)
def test_alcohol_by_volume_and_by_mass(by_volume: float, by_mass: float, density: float) -> None:
    assert convert(f"{by_volume} % v/v", "% w/w", substance="Alcohol").value == pytest.approx(by_mass, abs=0.005)
    assert convert(f"{by_mass} % w/w", "% v/v", substance="Alcohol").value == pytest.approx(by_volume, abs=0.005)
    assert 1000 * density_in_water("Alcohol", by_volume, "v/v") == pytest.approx(density, abs=0.02)


def test_a_textbook_acid() -> None:
    # OpenStax, Chemistry 2e, example 3.23: hydrochloric acid of 37.2 % w/w, 1.19 g/mL, holds 221 g in half a litre
    found = convert("37.2 % w/w", "% w/v", substance="Hydrochloric Acid")
    assert found.value * 5 == pytest.approx(221, abs=1.5)


def test_moles_come_from_the_library() -> None:
    # CRC Handbook, Concentrative properties of aqueous solutions: sodium hydroxide 10 % is 1.1089 g/mL and 2.772 mol/L
    assert convert("10 % w/w", "mol/L", substance="Sodium Hydroxide").value == pytest.approx(2.772, abs=0.004)
    assert convert("2.772 mol/L", "% w/w", substance="Sodium Hydroxide").value == pytest.approx(10, abs=0.015)


@given(st.sampled_from(sorted(TABLES)), st.floats(0.001, 0.98), st.sampled_from(["% w/v", "% v/v"]))
def test_there_and_back_is_the_same(substance: str, part: float, unit: str) -> None:
    table = TABLES[substance]
    if (unit == "% v/v" and table.most < 100) or not table.coldest <= 20 <= table.warmest:
        return
    start = Strength(part * min(100.0, table.most / table.brings), "% w/w")
    there = convert(start, unit, substance=substance)
    assert convert(there, "% w/w", substance=substance).value == pytest.approx(start.value, rel=1e-9)


@given(st.floats(0.1, 96), st.sampled_from(["v/v", "w/v"]))
def test_a_stock_by_volume_needs_no_density_where_a_table_has_it(strength: float, basis: str) -> None:
    strength = min(strength, 75.0) if basis == "w/v" else strength
    stock = make_stock("Spirit", "Alcohol", strength, basis=basis)  # type: ignore[arg-type]
    assert stock.density is None  # nothing was measured
    by_mass = stock.contents["Alcohol"]
    again = convert(f"{by_mass!r} % w/w", f"% {basis}", substance="Alcohol")
    assert again.value == pytest.approx(strength, rel=1e-9)


def test_a_density_that_was_given_goes_before_the_table() -> None:
    assert convert("20 % w/v", "% w/w", density=1.25, substance="Sodium Hydroxide").value == pytest.approx(16)
    assert make_stock("Lye", "Sodium Hydroxide", 20, basis="w/v", density=1.25).contents[
        "Sodium Hydroxide"
    ] == pytest.approx(16)


def test_the_words_where_no_table_helps() -> None:
    with pytest.raises(RangeError, match=r"No published density of Xanthan Gum in water is known here\. Give the"):
        convert("1 % w/v", "% w/w", substance="Xanthan Gum")
    with pytest.raises(RangeError, match="Sodium Chloride has no published density as a pure liquid here"):
        convert("1 % v/v", "% w/w", substance="Sodium Chloride")
    with pytest.raises(RangeError, match=r"lies outside what its published table covers: up to 26\.5 % w/w"):
        density_in_water("Sodium Chloride", 50, "w/v")
    assert pure_density("Alcohol") == pytest.approx(0.78924, abs=1e-5)
    assert density_in_water("Alcohol", 0, "v/v") == pytest.approx(0.99821, abs=1e-5)
