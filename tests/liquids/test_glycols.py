"""Glycerol and propylene glycol with water: equations, seams and words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.liquids.glycerol import glycerol_water_density, glycerol_water_viscosity_at
from kit.liquids.propylene_glycol import propylene_glycol_density
from kit.liquids.water import water_density_at

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.mark.parametrize("celsius", [0, 10, 15, 20, 25, 30, 40])
@pytest.mark.parametrize("percent", [5, 10, 20, 40, 60])
def test_glycerol_against_tables_that_its_authors_did_not_use(percent: float, celsius: float) -> None:
    """Å. Melinder (2010) as fluid MGL of the library CoolProp, up to 60 %; within 0.0004, at 0 and 40 °C 0.0009."""
    judge = PropsSI("D", "T", celsius + 273.15, "P", 101325, f"INCOMP::MGL[{percent / 100}]") / 1000
    allowed = 0.0004 if 10 <= celsius <= 30 else 0.0009
    assert glycerol_water_density(percent, celsius) == pytest.approx(judge, abs=allowed)


@pytest.mark.parametrize(("share", "kg_per_m3"), [(0.1, 1021.80), (0.3, 1072.57), (0.5, 1126.23)])
def test_glycerol_is_the_equation_of_the_paper(share: float, kg_per_m3: float) -> None:
    """A. Volk, C. J. Kähler, Exp. Fluids 59 (2018) 75, with the paper's own water; ours moves it by 0.1 kg/m³."""
    assert 1000 * glycerol_water_density(100 * share, 20) == pytest.approx(kg_per_m3, abs=0.2)


@pytest.mark.parametrize(
    ("percent", "viscosity"), [(5, 1.145), (10, 1.31), (20, 1.766), (40, 3.73), (60, 10.9), (80, 60.6), (100, 1460)]
)
def test_glycerol_is_as_thick_as_the_handbook_has_it(percent: float, viscosity: float) -> None:
    """CRC Handbook, 102nd ed. (2021), viscosity at 20 °C; within 4 %."""
    assert glycerol_water_viscosity_at(percent, 20) == pytest.approx(viscosity, rel=0.04)


@pytest.mark.parametrize("celsius", [0, 10, 20, 40, 60, 80])
@pytest.mark.parametrize("percent", [10, 20, 30, 40, 50, 60])
def test_propylene_glycol_is_the_equation_of_its_source(percent: float, celsius: float) -> None:
    """The library CoolProp, fluid MPG, holds the same equation: this guards the typing."""
    judge = PropsSI("D", "T", celsius + 273.15, "P", 101325, f"INCOMP::MPG[{percent / 100}]") / 1000
    assert propylene_glycol_density(percent, celsius) == pytest.approx(judge, abs=2e-6)


def test_pure_propylene_glycol() -> None:
    """CRC Handbook: 1.0361 g/mL at 20 °C. DIPPR correlation, library thermo 0.6.1: 1.0511, 1.0052 at 0 and 60 °C."""
    assert propylene_glycol_density(100, 20) == pytest.approx(1.0361, abs=1e-9)
    assert propylene_glycol_density(100, 0) == pytest.approx(1.0511, abs=0.001)
    assert propylene_glycol_density(100, 60) == pytest.approx(1.0052, abs=0.001)


@given(st.floats(0, 99), st.floats(0, 0.2), st.floats(0, 40))
def test_no_seam_shows(percent: float, step: float, celsius: float) -> None:
    for density in (glycerol_water_density, propylene_glycol_density):
        assert density(percent + step, celsius) == pytest.approx(density(percent, celsius), abs=0.006 * step + 1e-9)


@given(st.floats(0, 40))
def test_none_is_water_and_some_is_denser_than_apart(celsius: float) -> None:
    for density in (glycerol_water_density, propylene_glycol_density):
        water, pure = water_density_at(celsius), density(100, celsius)
        assert density(0, celsius) == pytest.approx(water, rel=1e-12)
        assert density(50, celsius) > 2 / (1 / water + 1 / pure)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: glycerol_water_density(20, 41),
            r"Temperature 41 °C is outside 0 to 40 °C, compared",
        ),
        (lambda: glycerol_water_density(-1, 20), r"share of glycerol must lie between 0 and 100 % w/w, got -1"),
        (lambda: propylene_glycol_density(101, 20), r"Propylene glycol must lie between 0 and 100 % w/w, got 101"),
        (lambda: propylene_glycol_density(20, 81), r"81 °C is outside 0 to 80 °C, where water with propylene glycol"),
    ],
)
def test_what_lies_outside_is_said(call: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()
