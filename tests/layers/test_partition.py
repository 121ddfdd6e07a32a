"""Sharing out between oil and water: an independent mass balance, properties, and the words of errors."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.layers.partition import (
    checked_k,
    oil_to_water,
    share_out,
    undissociated_fraction,
    water_level,
    water_level_by_fraction,
)

volumes = st.floats(0.5, 500)
ks = st.floats(1e-3, 1e3)
fractions = st.floats(1e-6, 1.0)
phs = st.floats(0, 14)


@given(grams=st.floats(1e-3, 10), water=volumes, oil=volumes, k=ks, ph=st.floats(2, 9), pka=st.floats(2, 9))
def test_a_mass_balance_solved_numerically_agrees(
    grams: float, water: float, oil: float, k: float, ph: float, pka: float
) -> None:
    """scipy finds the concentration of undissociated acid from the chemistry alone: Ka, K and the sum of masses."""
    from scipy.optimize import brentq

    hydrogen, ka = 10.0**-ph, 10.0**-pka

    def surplus(acid: float) -> float:
        ions = ka * acid / hydrogen
        return float((acid + ions) * water + k * acid * oil - 100 * grams)

    acid = brentq(surplus, 0, 100 * grams / water + 1, xtol=1e-15, rtol=1e-13)
    shares = share_out(grams, water, oil, k, undissociated=undissociated_fraction(ph, pka))
    assert shares.undissociated == pytest.approx(acid, rel=1e-9)
    assert shares.water == pytest.approx(acid * (1 + ka / hydrogen), rel=1e-9)
    assert shares.oil == pytest.approx(k * acid, rel=1e-9)


@given(
    grams=st.floats(0, 50),
    water=volumes,
    oil=st.floats(0, 500),
    k=ks,
    fraction=fractions,
    solubility=st.none() | st.floats(0.01, 1000),
)
def test_nothing_of_it_is_lost(
    grams: float, water: float, oil: float, k: float, fraction: float, solubility: float | None
) -> None:
    shares = share_out(grams, water, oil, k, undissociated=fraction, solubility=solubility)
    there = (shares.water * water + shares.oil * oil) / 100 + shares.undissolved
    assert there == pytest.approx(grams, rel=1e-9, abs=1e-12)
    assert shares.undissociated == pytest.approx(fraction * shares.water, rel=1e-9)
    assert shares.oil == pytest.approx(k * shares.undissociated, rel=1e-9)
    if solubility is not None:
        assert shares.undissociated <= solubility / 10 * (1 + 1e-12)
    assert shares.is_saturated == (shares.undissolved > 0)


@given(overall=st.floats(0, 20), fraction=st.floats(0, 0.99), k=ks)
def test_the_ratio_and_the_fraction_agree_once_converted(overall: float, fraction: float, k: float) -> None:
    by_fraction = overall / (1 - fraction + k * fraction)
    assert water_level(overall, oil_to_water(fraction), k) == pytest.approx(by_fraction, rel=1e-9)
    assert water_level_by_fraction(overall, fraction, k) == pytest.approx(by_fraction, rel=1e-9)


def test_a_fraction_in_the_place_of_the_ratio_is_wrong() -> None:
    assert water_level(0.2, 0.5, 7.5) != pytest.approx(water_level_by_fraction(0.2, 0.5, 7.5), rel=0.2)


@given(overall=st.floats(0, 20), ratio=st.floats(0, 100))
def test_k_of_1_gives_the_same_everywhere(overall: float, ratio: float) -> None:
    assert water_level(overall, ratio, 1.0) == pytest.approx(overall, rel=1e-12)


@given(overall=st.floats(0.01, 20), ratio=st.floats(0.01, 100), one=ks, other=ks)
def test_more_k_leaves_less_in_the_water(overall: float, ratio: float, one: float, other: float) -> None:
    assume(abs(one - other) > 1e-6 * one)
    low, high = sorted((one, other))
    assert water_level(overall, ratio, low) > water_level(overall, ratio, high)


@given(grams=st.floats(0.01, 5), water=volumes, oil=volumes, k=ks, one=phs, other=phs)
def test_more_ph_leaves_more_in_the_water_and_less_undissociated(
    grams: float, water: float, oil: float, k: float, one: float, other: float
) -> None:
    acid, base = (
        share_out(grams, water, oil, k, undissociated=undissociated_fraction(ph, 4.2)) for ph in sorted((one, other))
    )
    assert base.water >= acid.water * (1 - 1e-12)
    assert base.undissociated <= acid.undissociated * (1 + 1e-12)


@given(ph=phs, pka=st.floats(1, 13))
def test_the_undissociated_part_mirrors_at_the_pka(ph: float, pka: float) -> None:
    assume(0 <= 2 * pka - ph <= 14)
    assert undissociated_fraction(ph, pka) + undissociated_fraction(2 * pka - ph, pka) == pytest.approx(1, rel=1e-9)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: undissociated_fraction(14.5, 4.2), r"A pH of 14.5 cannot be: it lies between 0 and 14\. Type what"),
        (lambda: undissociated_fraction(float("nan"), 4.2), "A pH of nan cannot be"),
        (lambda: water_level(0.1, -1, 2), r"The ratio of oil to water is -1\. Give mL of oil for each mL of water"),
        (lambda: water_level(0.1, 1, -2), "A partition coefficient of -2 cannot be"),
        (
            lambda: oil_to_water(1.0),
            r"oil's fraction of the volume is 1\. Give 0 to less than 1, such as 0\.3 for 30 %",
        ),
        (lambda: oil_to_water(30), "fraction of the volume is 30"),
        (
            lambda: checked_k(0, "Benzoic Acid"),
            "K of Benzoic Acid is given as 0. It is the concentration in the oil over",
        ),
        (lambda: checked_k(-3, "Benzoic Acid"), "K of Benzoic Acid is given as -3.*Leave it empty"),
        (lambda: share_out(1, 0, 10, 1), r"There is no water layer, so no level in water\. Set one phase to water"),
        (lambda: share_out(1, 10, 10, 1, undissociated=1.2), r"The undissociated fraction is 1\.2\. Give 0 to 1\."),
    ],
)
def test_what_cannot_be_is_said(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


def test_the_undissociated_part_lies_from_0_to_1() -> None:
    assert share_out(1.0, 50, 50, 3.0, undissociated=0.0).oil == 0
    assert share_out(1.0, 50, 50, 3.0, undissociated=1.0).oil == pytest.approx(1.5)  # 3 × 1 g in 50 × (1 + 3) mL
    for wrong in (-0.01, 1.01):
        with pytest.raises(RangeError, match="The undissociated fraction is"):
            share_out(1.0, 50, 50, 3.0, undissociated=wrong)
    with pytest.raises(RangeError, match="There is no water layer"):
        share_out(1.0, 0, 50, 3.0)
