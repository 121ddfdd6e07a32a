"""Drops and viscosities in print: each value with its source, judged also by general-purpose libraries."""

from __future__ import annotations

import pytest
from fluids.drag import v_terminal
from iapws import IAPWS95

from kit.layers.temperature import mean_expansion
from kit.layers.timed import viscosity_from_ball
from kit.layers.velocity import (
    GRAVITY,
    hindrance,
    mobile_surface_factor,
    reynolds_number,
    slowdown,
    stokes_velocity,
)
from kit.layers.viscosity import (
    blend_index,
    blend_kinematic,
    kinematic_from_index,
)
from kit.liquids.glycerol import glycerol_water_viscosity
from kit.liquids.water import water_viscosity
from tests.present import present


def test_a_creaming_emulsion_drop() -> None:
    """D. J. McClements, *Food Emulsions*, section on creaming, near eq. 7.9.

    Radius 1 µm, 910 in 1000 kg/m³, 1 mPa·s: about 17 mm a day; 16.95 at g = 9.81.
    """
    assert 86400 * stokes_velocity(2.0, 0.910, 1.000, 1.0) == pytest.approx(17, abs=0.2)
    assert 86400 * stokes_velocity(2.0, 0.910, 1.000, 1.0) * 9.81 / GRAVITY == pytest.approx(16.95, abs=0.005)


@pytest.mark.parametrize(("oil", "pascal_seconds"), [(0.0, 0.7644), (0.880, 0.678)])
def test_a_steel_ball_in_motor_oil_and_the_trap_in_its_answer(oil: float, pascal_seconds: float) -> None:
    """OpenStax, *College Physics 2e*, section 5.2: 3.0 mm, 7.8 g/mL, 0.60 m in 12 s; printed 0.76 kg/(m·s).

    The printed answer leaves out buoyancy; with oil of 880 kg/m³ it is 0.678 (g = 9.8).
    """
    at_one = abs(stokes_velocity(3000.0, 7.8, oil, 1.0)) * 9.8 / GRAVITY
    assert at_one / (600 / 12) / 1000 == pytest.approx(pascal_seconds, abs=0.001)
    assert (abs(pascal_seconds - 0.76) < 0.01) == (oil == 0)


def test_the_same_ball_timed_by_hand() -> None:
    """As above; with oil of 880 kg/m³ the answer is 0.678 by Stokes's law alone (g = 9.8), and the ball's Reynolds
    number of 0.2 takes another 5 % off (fluids, correlation of Clift: 0.60 m in 12 s at 0.646 kg/(m·s))."""
    found = viscosity_from_ball(3.0, 7.8, 0.880, 600, 12)
    assert found.simple / 1000 * 9.8 / GRAVITY == pytest.approx(0.678, abs=0.001)
    assert abs(found.value - 764) > 100
    assert v_terminal(0.003, 7800, 880, found.value / 1000, Method="Clift") == pytest.approx(0.05, rel=0.02)


def test_twice_the_diameter_is_four_times_as_fast() -> None:
    """The law itself, and dairy-science teaching pages: velocity goes with the square of the diameter, exactly."""
    assert stokes_velocity(8.0, 0.93, 1.036, 2.1) == 4 * stokes_velocity(4.0, 0.93, 1.036, 2.1)


def test_the_diameter_goes_with_an_eighteenth_and_the_radius_with_two_ninths() -> None:
    """G. G. Stokes (1851): v = 2/9 Δρ g r² / μ; taking one for the other errs by a factor of 4."""
    by_radius = 2 / 9 * (1000 - 910) * GRAVITY * (25e-6) ** 2 / 1e-3 * 1000
    assert stokes_velocity(50.0, 0.910, 1.0, 1.0) == pytest.approx(by_radius, rel=1e-12)


def test_oil_rises_in_water_and_water_sinks_in_oil() -> None:
    """The sign of buoyancy."""
    assert stokes_velocity(50.0, 0.88, 1.02, 1.0) > 0 > stokes_velocity(50.0, 1.02, 0.88, 20.0)


@pytest.mark.parametrize("diameter", [5.0, 20.0, 45.0])
def test_stokes_agrees_with_a_library(diameter: float) -> None:
    """The library fluids, drag of a sphere in the Stokes regime, g = 9.80665."""
    found = v_terminal(D=diameter * 1e-6, rhop=1140.0, rho=1000.0, mu=1e-3, Method="Stokes")
    assert -stokes_velocity(diameter, 1.14, 1.0, 1.0) == pytest.approx(1000 * found, rel=1e-9)


@pytest.mark.parametrize("diameter", [150.0, 300.0, 600.0, 1000.0])
def test_beyond_stokes_agrees_with_another_drag_law(diameter: float) -> None:
    """The library fluids, drag after Clift, Gauvin and co-workers; within 4 % from Reynolds 0.3 to 76."""
    alone = stokes_velocity(diameter, 1.14, 1.0, 1.0)
    found = v_terminal(D=diameter * 1e-6, rhop=1140.0, rho=1000.0, mu=1e-3, Method="Clift")
    assert -alone * slowdown(reynolds_number(diameter, alone, 1.0, 1.0)) == pytest.approx(1000 * found, rel=0.04)


@pytest.mark.parametrize(
    ("inside", "ratio"),
    [(0.0, 1.5), (0.1, 1.434783), (1.0, 1.2), (10.0, 1.031250), (100.0, 1.003311), (1e12, 1.0)],
)
def test_a_clean_drop(inside: float, ratio: float) -> None:
    """Ratio to Stokes: Hadamard (1911), Rybczyński (1911); Clift and others (1978) ch. 3 (from memory), recomputed."""
    assert mobile_surface_factor(inside, 1.0) == pytest.approx(ratio, abs=1e-6)
    assert mobile_surface_factor(3 * inside, 3.0) == pytest.approx(ratio, abs=1e-6)


def test_a_crowd_settles_slower() -> None:
    """Examination item (GATE, chemical engineering): 4.44 µm/s at φ = 0.30 and n = 4.5; alone 22.1 µm/s."""
    assert 4.44 / hindrance(0.30, 4.5) == pytest.approx(22.1, abs=0.05)


@pytest.mark.parametrize(("share", "part"), [(0.1, 0.612671), (0.2, 0.354298), (0.3, 0.190417), (0.0, 1.0)])
def test_crowding(share: float, part: float) -> None:
    """J. F. Richardson and W. N. Zaki (1954), exponent 4.65 (from memory), recomputed."""
    assert hindrance(share) == pytest.approx(part, abs=1e-6)


@pytest.mark.parametrize(
    ("degc", "published"), [(10, 1.30590), (20, 1.00160), (25, 0.89002), (30, 0.79722), (40, 0.65273)]
)
def test_water(degc: float, published: float) -> None:
    """IAPWS release R12-08 at 0.101325 MPa, recomputed with iapws 1.5.5; within 1e-4."""
    found = water_viscosity(f"{degc} degC")
    assert found == pytest.approx(published, abs=1e-4)
    judge = 1000 * float(IAPWS95(T=degc + 273.15, P=0.101325).mu)
    assert found == pytest.approx(judge, rel=1e-4)


def test_water_at_its_ends() -> None:
    """OpenStax, *College Physics 2e*, coefficients of viscosity: 1.792 at 0 °C, 0.282 at 100 °C."""
    assert water_viscosity("0 degC") == pytest.approx(1.792, abs=0.001)
    assert water_viscosity("100 degC") == pytest.approx(0.282, abs=0.001)


@pytest.mark.parametrize(("percent", "viscosity"), [(0, 1.005), (20, 1.741), (50, 6.002), (80, 60.86), (100, 1414)])
def test_glycerol_in_water(percent: float, viscosity: float) -> None:
    """N.-S. Cheng, Ind. Eng. Chem. Res. 47 (2008) 3285-3288 at 20 °C, recomputed from public transcriptions."""
    assert glycerol_water_viscosity(percent, "20 degC") == pytest.approx(viscosity, rel=1e-3)


def test_two_oils_blend() -> None:
    """The Refutas index as given by R. E. Maples, *Petroleum Refinery Process Economics*, 2nd ed. (2000).

    32 and 220 mm²/s have 29.142856 and 35.477739; half and half 75.935, far from the linear 126.
    """
    assert (blend_index(32), blend_index(220)) == pytest.approx((29.142856, 35.477739), abs=1e-6)
    blended = present(blend_kinematic([(50, 32), (50, 220)]))
    assert blended == pytest.approx(75.935, abs=1e-3)
    assert abs(blended - 126) > 50
    assert kinematic_from_index((29.142856 + 35.477739) / 2) == pytest.approx(75.935, abs=1e-3)


def test_a_misprinted_blending_number_is_not_copied() -> None:
    """The same equation for 2.234 mm²/s: 12.4902. A web page prints 12.492."""
    assert blend_index(2.234) == pytest.approx(12.4902, abs=1e-4)
    assert abs(blend_index(2.234) - 12.492) > 1e-3


def test_how_much_water_expands() -> None:
    """ADR (2013), 4.1.1.4: α = (d15 - d50) / (35 d50); water of 999.1026 and 988.04 kg/m³ gives 3.20e-4 per K."""
    assert mean_expansion(0.9991026, 0.98804) == pytest.approx(3.20e-4, abs=1e-6)
