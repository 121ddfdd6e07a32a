"""Alcoholometry: the published tables, both ways, and words for what lies outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.liquids.alcohol import (
    US_PROOF_TEMPERATURE,
    dilute_by_volume,
    ethanol_density,
    mix_by_volume,
    strength_by_mass,
    strength_by_volume,
    strength_from_density,
    uk_proof,
    us_proof,
)

if TYPE_CHECKING:
    from collections.abc import Callable

PERCENT = st.floats(0, 100)
WARM = st.floats(0, 40)


@given(PERCENT, st.floats(-20, 40))
def test_mass_and_volume_go_there_and_back(percent: float, celsius: float) -> None:
    assert strength_by_mass(strength_by_volume(percent, celsius), celsius) == pytest.approx(percent, abs=1e-9)


@given(PERCENT, WARM)
def test_density_and_strength_go_there_and_back(percent: float, celsius: float) -> None:
    found = strength_from_density(ethanol_density(percent, celsius), celsius)
    assert ethanol_density(found, celsius) == pytest.approx(ethanol_density(percent, celsius), abs=1e-12)
    assert found == pytest.approx(percent, abs=1e-6)


@given(WARM, PERCENT, st.floats(0.1, 50))
def test_more_ethanol_is_lighter(celsius: float, percent: float, more: float) -> None:
    stronger = min(percent + more, 100)
    rounding = 1e-12  # g/mL, of a polynomial of fifty terms
    assert ethanol_density(stronger, celsius) <= ethanol_density(percent, celsius) + rounding


@given(PERCENT, PERCENT, st.floats(1, 1e4), st.floats(1, 1e4), WARM)
def test_mixing_keeps_the_mass_and_never_grows(
    one_percent: float, other_percent: float, one: float, other: float, celsius: float
) -> None:
    mixed = mix_by_volume(one, one_percent, other, other_percent, celsius)
    masses = one * ethanol_density(one_percent, celsius), other * ethanol_density(other_percent, celsius)
    assert mixed.grams == pytest.approx(sum(masses), rel=1e-12)
    assert mixed.volume + mixed.shrinkage == pytest.approx(one + other, rel=1e-12)
    assert min(one_percent, other_percent) - 1e-9 <= mixed.percent <= max(one_percent, other_percent) + 1e-9


@given(st.floats(1, 95), st.floats(0.1, 4.9), st.floats(10, 1e4), WARM)
def test_a_dilution_poured_together_is_what_was_wanted(
    wanted: float, more: float, volume: float, celsius: float
) -> None:
    strong = wanted + more
    made = dilute_by_volume(volume, wanted, strong, celsius)
    mixed = mix_by_volume(made.strong, strength_by_mass(strong), made.water, 0.0, celsius)
    assert mixed.volume == pytest.approx(volume, rel=1e-9)
    assert strength_by_volume(mixed.percent) == pytest.approx(wanted, rel=1e-9)
    assert made.water_grams == pytest.approx(made.water * ethanol_density(0, celsius), rel=1e-12)


def test_proof_of_pure_alcohol_and_of_water() -> None:
    assert us_proof(100) == pytest.approx(200)
    assert us_proof(0) == uk_proof(0) == 0
    assert us_proof(strength_by_mass(50, US_PROOF_TEMPERATURE)) == pytest.approx(100)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ethanol_density(101), r"between 0 and 100 % w/w, got 101 %"),
        (lambda: strength_by_mass(-1), r"between 0 and 100 % v/v, got -1 %"),
        (lambda: ethanol_density(50, 41), r"41 °C is outside -20 to 40 °C, the range of the alcoholometric tables"),
        (lambda: strength_from_density(0.9, -5), r"-5 °C is outside 0 to 40 °C"),
        (
            lambda: strength_from_density(0.7, 20),
            r"weigh 0\.78924 \(ethanol\) to 0\.99820 g/mL .* not 0\.7\.",
        ),
        (lambda: mix_by_volume(0, 50, 0, 0), r"must be above 0 mL, got 0 and 0 mL"),
        (lambda: mix_by_volume(-1, 50, 5, 0), r"must be above 0 mL, got -1 and 5 mL"),
        (lambda: dilute_by_volume(0, 50, 96), r"must be above 0 mL, got 0 mL"),
        (lambda: dilute_by_volume(100, 97, 96), r"97 % v/v cannot be made by adding water to 96 % v/v"),
        (lambda: dilute_by_volume(100, 0, 96), r"0 % v/v cannot be made by adding water"),
        (lambda: ethanol_density(float("nan")), r"got nan %"),
    ],
)
def test_what_lies_outside_is_said(call: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()
