"""The layers as they clear: volumes kept, limits reached, every way of asking the same, and the words."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from kit.errors import RangeError
from kit.layers.density import Layer
from kit.layers.separation import SizeSums, clearing, drops_by_height, salted, steps, thickened, time_until
from kit.layers.shaken import DropSizes, shake, suggest_drops, two_layers
from kit.layers.velocity import (
    hindrance,
    mobile_surface_factor,
    reynolds_number,
    richardson_zaki_exponent,
    slowdown,
    stokes_velocity,
)  # fmt: skip
from tests.layers.shaken_examples import ROUND, STRAIGHT, made

OIL, WATER = Layer("oil", "Oil", 20, 0.88, 0), Layer("water", "Water", 80, 1.02, 0)
if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.bottle import Bottle
    from kit.layers.shaken import Shaken

EQUAL_SIZES = DropSizes(100.0, 1.0)

products = st.builds(
    made,
    st.floats(1, 35),
    st.floats(36, 60),
    bottle=st.sampled_from((STRAIGHT, ROUND)),
    sizes=st.builds(DropSizes, st.floats(5, 800), st.floats(1, 4)),
    gap=st.sampled_from((0.15, 0.03, -0.03, -0.3)),
    kind=st.sampled_from(("oil", "water")),
)


@settings(max_examples=60)
@given(products)
def test_layers_only_grow_never_cross_and_end_where_they_stand(shaken: Shaken) -> None:
    seconds = np.concatenate([[0.0], np.geomspace(0.01, 1e13, 60)])
    state = clearing(shaken, seconds)
    for grows in (state.left, state.clear("lower"), state.clear("upper")):
        assert (np.diff(grows) >= -1e-7).all()
    assert (state.lower <= state.upper + 1e-9).all()
    assert state.left[0] == pytest.approx(0, abs=1e-6)
    assert state.left[-1] == pytest.approx(100, abs=1e-3)
    below = shaken.surround.volume if shaken.rises else shaken.drops.volume
    assert state.lower[-1] == pytest.approx(shaken.bottle.level(below), abs=0.01)
    assert state.upper[-1] == pytest.approx(shaken.bottle.level(below), abs=0.01)


def test_drops_of_one_size_in_a_straight_bottle_clear_at_constant_speed_and_meet() -> None:
    # exact by kinematics: front at u t, drops' layer growing at φ u / (1 - φ), meeting where the layers part
    shaken = made(20, 80, sizes=EQUAL_SIZES)
    speed, surface, share = shaken.speed(), STRAIGHT.level(100), 0.2
    end = STRAIGHT.level(80) / speed
    times = np.array([0.25, 0.5, 0.999]) * end
    state = clearing(shaken, times)
    assert state.lower == pytest.approx(speed * times, rel=1e-5)
    assert surface - state.upper == pytest.approx(share / (1 - share) * speed * times, rel=1e-5)
    assert time_until(shaken, 99.99) == pytest.approx(end, rel=1e-3)


def by_quadrature(shaken: Shaken, second: float) -> float:
    """The share of the drops that has left, by numerical integration over the sizes."""
    mu, sigma = np.log(shaken.sizes.median), np.log(shaken.sizes.spread)
    bottle, whole, total = shaken.bottle, shaken.surround.volume, shaken.volume
    surface = bottle.level(total)

    def left(z: float) -> float:
        way = shaken.speed(float(np.exp(mu + sigma * z))) * second
        rest = max(surface - way, 0.0)
        passed = bottle.volume(surface - rest) if shaken.rises else total - bottle.volume(rest)
        return float(min(passed / whole, 1.0) * norm.pdf(z))

    return float(quad(left, -8, 8, limit=400, epsabs=1e-10)[0])


@pytest.mark.parametrize("bottle", [STRAIGHT, ROUND], ids=("straight", "round"))
@pytest.mark.parametrize("gap", [0.12, -0.12], ids=("rising", "sinking"))
@pytest.mark.parametrize("second", [5.0, 60.0, 600.0])
def test_sums_over_sizes_agree_with_quadrature(bottle: Bottle, gap: float, second: float) -> None:
    shaken = made(18, 70, bottle=bottle, gap=gap)
    assert clearing(shaken, [second]).left[0] / 100 == pytest.approx(by_quadrature(shaken, second), abs=2e-6)


@given(st.floats(1, 500), st.floats(1.05, 4), st.floats(0.5, 2000))
def test_partial_sums_are_those_of_the_distribution(median: float, spread: float, diameter: float) -> None:
    count, squares = SizeSums.of(DropSizes(median, spread)).below(np.array(diameter**2))
    sigma, top = np.log(spread), (np.log(diameter) - np.log(median)) / np.log(spread)
    assert float(count) == pytest.approx(norm.cdf(top), abs=1e-12)
    found = quad(lambda z: (median * np.exp(sigma * z)) ** 2 * norm.pdf(z), -9, max(min(top, 12), -9), limit=200)[0]
    assert float(squares) == pytest.approx(found, rel=1e-5, abs=1e-9 * median**2)


def test_time_until_is_the_inverse_of_what_has_left() -> None:
    shaken = made(bottle=ROUND, drops=15, surround=70)
    for percent in (1, 50, 95, 99.9):
        assert clearing(shaken, [time_until(shaken, percent)]).left[0] == pytest.approx(percent, abs=1e-6)


@given(st.floats(1.1, 4))
def test_time_goes_with_viscosity_and_with_the_size_squared(factor: float) -> None:
    shaken, time = made(), time_until(made())
    thicker = thickened(shaken, "water", factor)
    assert time_until(thicker) == pytest.approx(factor * time, rel=1e-6)
    assert time_until(thickened(shaken, "oil", factor)) == pytest.approx(time, rel=1e-9)  # the drops' own matters not
    larger = replace(shaken, sizes=replace(shaken.sizes, median=factor * shaken.sizes.median))
    crowd = hindrance(shaken.share, shaken.exponent()) / hindrance(larger.share, larger.exponent())
    assert time_until(larger) == pytest.approx(time / factor**2 * crowd, rel=1e-6)
    assert 0.85 < crowd <= 1  # faster drops hinder one another less


def test_a_clean_surface_is_faster_and_cautions() -> None:
    shaken = replace(made(), clean=True)
    assert time_until(made()) / time_until(shaken) == pytest.approx(mobile_surface_factor(15.0, 1.2), rel=1e-6)
    assert any("with any surfactant at all, untick it" in f.sentence for f in shaken.findings)


def test_salt_widens_the_gap_under_oil_and_thickens() -> None:
    before, after = steps(made()), steps(salted(made(), 3))
    # by hand: a 3 % solution is 1.01945 g/mL (Laliberté 2009), so 3 g take 100 / 1.01945 - 97 / 0.998207 = 0.918 mL and
    # 100 / (97 / 1.0 + 0.918) = 1.02127 g/mL; thicker by exp(0.6 ln(1.080 / 1.0016)) = 1.0462
    assert after.gap - before.gap == pytest.approx(0.02127, abs=1e-5)
    assert after.viscosity / before.viscosity == pytest.approx(1.0462, abs=1e-4)
    water_drops = salted(made(kind="water", gap=-0.1), 3)
    assert water_drops.drops.density > 1.1
    assert water_drops.surround == made(kind="water", gap=-0.1).surround


def test_the_slices_fill_the_bottle_and_grow_towards_the_drops_layer() -> None:
    for gap in (0.12, -0.12):
        slices = drops_by_height(made(gap=gap), 60.0)
        assert slices[0][0] == 0
        assert slices[-1][1] == pytest.approx(STRAIGHT.level(100))
        assert all(a[1] == pytest.approx(b[0]) for a, b in pairwise(slices))
        shares = [share for _, _, share in slices]
        assert shares == sorted(shares, reverse=gap < 0)
        assert max(shares) == 1.0
    even = [share for _, _, share in drops_by_height(made(), 0.0)]
    assert even == pytest.approx([0.2] * 24)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: clearing(made(), [-1.0]), r"A time after shaking cannot be below 0 s, got -1 s"),
        (lambda: time_until(made(), 100), r"Choose a percent of the drops between 0 and 100, such as 95, not 100"),
        (lambda: made(gap=0.0), r"Both layers have the density 1 g/mL: nothing rises or sinks"),
        (lambda: made(viscosity=0.0), r"The water layer needs a viscosity above 0, got 0"),
        (lambda: made(drops=-1.0), r"The oil layer cannot have -1 mL"),
        (lambda: DropSizes(0.0), r"middle drop size must lie between 0 and 20,000 µm \(20 mm\), got 0 µm"),
        (
            lambda: DropSizes(100.0, 0.9),
            r"spread of the drop sizes is a factor between 1 \(all equal\) and 10, got 0\.9",
        ),
        (lambda: thickened(made(), "water", 0.0), r"Thicker by a factor above 0, such as 2; got 0"),
        (lambda: salted(made(), 25.0), r"known from 0 to 20 % w/w in water, not at 25 %"),
        (lambda: stokes_velocity(0.0, 0.9, 1.0, 1.0), r"drop diameter must be more than 0 µm, got 0 µm"),
        (lambda: stokes_velocity(1.0, 0.9, 1.0, -1.0), r"viscosity must be more than 0 mPa·s, got -1 mPa·s"),
        (lambda: mobile_surface_factor(1.0, 0.0), r"must be above 0 mPa·s, got 1 for the drops and 0 for the surround"),
        (
            lambda: mobile_surface_factor(-0.1, 1.0),
            r"must be above 0 mPa·s, got -0\.1 for the drops and 1 for the surr",
        ),
        (lambda: mobile_surface_factor(math.inf, 1.0), r"drop viscosity is not a number to compute with: inf"),
        (lambda: mobile_surface_factor(1e308, 1e308), r"mobile surface factor is too large or too small"),
        (lambda: stokes_velocity(1e200, 0.9, 1.0, 1.0), r"stokes velocity is too large or too small to be computed"),
        (lambda: stokes_velocity(1.0, math.nan, 1.0, 1.0), r"drop density is not a number to compute with: nan"),
        (lambda: hindrance(1.0, -1.0), r"hindrance is too large or too small to be computed"),
        (lambda: reynolds_number(1e200, 1e200, 1.0, 1.0), r"reynolds number is too large or too small"),
        (lambda: reynolds_number(1.0, 1.0, 1.0, 0.0), r"viscosity must be above 0, got 0"),
        (lambda: slowdown(-1.0), r"reynolds must be 0 or more, got -1"),
        (lambda: richardson_zaki_exponent(math.nan), r"Reynolds number cannot be below 0, got nan"),
        (lambda: hindrance(1.1), r"share of drops must lie between 0 and 1 of the volume, got 1\.1"),
        (lambda: suggest_drops(1.0), r"oil layer must be between 0 and 1 of the volume, got 1"),
        (lambda: two_layers([OIL]), r"Shaking mixes an oil layer with a water layer; this formula has only one, Oil\."),
        (lambda: two_layers([]), r"this formula has no layer yet\."),
        (lambda: two_layers([OIL, WATER, Layer("other", "x", 5, 1, 0)]), r"this formula has Oil, Water, x\."),
        (
            lambda: shake([OIL, WATER], {"oil": 10}, STRAIGHT, 100, "oil", DropSizes()),
            r"The water layer has no viscosity\. Type one in mPa·s: water has 1",
        ),
        (
            lambda: shake([OIL, WATER], {"oil": 10, "water": 1}, STRAIGHT, 200, "oil", DropSizes()),
            r"200 mL cannot stand in straight bottle",
        ),
    ],
)
def test_bad_input_is_said_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()


def test_shaking_takes_the_volumes_of_the_layers() -> None:
    shaken = shake([OIL, WATER], {"oil": 12, "water": 1.1}, STRAIGHT, 100, "water", DropSizes())
    assert (shaken.drops.kind, shaken.surround.kind, shaken.rises) == ("water", "oil", False)
    assert shaken.volume == pytest.approx(100)
    assert shaken.share == pytest.approx((80 / 1.02) / (80 / 1.02 + 20 / 0.88))


@pytest.mark.parametrize(
    ("share", "kinds", "words"),
    [
        (0.05, ("oil",), "below 26 %: oil is the drops"),
        (0.259, ("oil",), "oil is the drops"),
        (0.26, ("oil",), "below 36 %: oil is very likely the drops"),
        (0.36, ("oil", "water"), "either liquid may become the drops"),
        (0.5, ("oil", "water"), "Both are shown"),
        (0.64, ("oil", "water"), "36 % of the volume is water: either"),
        (0.65, ("water",), "35 % of the volume is water, below 36 %: water is very likely the drops"),
        (0.9, ("water",), "10 % of the volume is water, below 26 %: water is the drops"),
    ],
)
def test_which_liquid_is_likely_the_drops(share: float, kinds: tuple[str, ...], words: str) -> None:
    found = suggest_drops(share)
    assert found.kinds == kinds
    assert words in found.words


def test_the_reynolds_number_decides_what_is_said() -> None:
    notes = [made(sizes=DropSizes(size, 1.6)).findings[0] for size in (50, 200, 600)]
    assert [note.severity for note in notes] == ["note", "note", "caution"]
    assert "Stokes's law holds" in notes[0].sentence
    # at Reynolds 0.44 a drop is 7 % slower, by the drag of Schiller and Naumann (1933)
    assert "moves about 7 % slower, so times are too short" in notes[1].sentence
    assert notes[2].source == "drag of Schiller and Naumann (1933)"


def test_too_many_drops_are_cautioned() -> None:
    said = [finding.sentence for finding in made(80, 20).findings]
    assert any(
        sentence.startswith("80 % of the volume as drops is more than balls poured at random") for sentence in said
    )
    assert not any("poured" in finding.sentence for finding in made(30, 70).findings)


@given(st.floats(1e-3, 500))
def test_the_drag_balances(reynolds: float) -> None:
    part = slowdown(reynolds)
    assert part * (1 + 0.15 * (part * reynolds) ** 0.687) == pytest.approx(1, rel=1e-9)
    assert reynolds_number(100, -part, 1.0, 2.0) == pytest.approx(0.05 * part)


def test_a_gap_that_is_hardly_known_makes_every_time_doubtful() -> None:
    # By hand: 0.9247 (OIML R 22, 45 % w/w) less 0.9143 g/mL is 0.010; twice the root of 0.003² and 0.0001² is 0.006.
    from kit.formula.model import Formula, Line, Phase
    from kit.layers.bottle import usual_bottle
    from kit.layers.density import layers_of
    from kit.layers.shaken_product import shaken_product
    from tests.layers.some_formulas import materials_of

    def words(alcohol: str) -> str:
        phases = (
            Phase("W", "water", (Line("Alcohol", alcohol), Line("Aqua", "q.s."))),
            Phase("O", "oil", (Line("Prunus Amygdalus Dulcis Oil", "30"),)),
        )
        formula = Formula("Spirit", phases)
        materials = materials_of(formula)
        layers = layers_of(formula, materials)
        found = shaken_product(formula, materials, layers, usual_bottle(), 80)
        return " ".join(finding.sentence for finding in found.findings)

    assert "The densities lie 0.010 ± 0.006 g/mL apart" in words("31.5")
    assert "it may be 0.63 to 2.4 times what is shown" in words("31.5")
    assert "apart, and every time goes with that" not in words("5")


def test_what_is_asked_of_salt_time_and_thickness() -> None:
    assert salted(made(), 0.0).surround.density == pytest.approx(1.0)
    assert salted(made(), 20.0).surround.viscosity == pytest.approx(1.2 * 1.561 / 1.0016)  # Laliberté, 20 % of salt
    for salt in (-0.1, 20.1):
        with pytest.raises(RangeError, match="known from 0 to 20 %"):
            salted(made(), salt)
    for times in (0.0, -1.0):
        with pytest.raises(RangeError, match="Thicker by a factor above 0"):
            thickened(made(), "water", times)
    assert thickened(made(), "oil", 0.5).drops.viscosity == 7.5
    for percent in (0.0, 100.0, -1.0, 100.1):
        with pytest.raises(RangeError, match="Choose a percent of the drops between 0 and 100"):
            time_until(made(), percent)
    assert clearing(made(), []).left.size == 0
    with pytest.raises(RangeError, match="cannot be below 0 s, got -1 s"):
        clearing(made(), [5.0, -1.0])


def test_a_place_is_clear_once_a_twentieth_of_its_drops_is_left() -> None:
    # of drops of 100 µm, spread 1.6, 5 % of the volume is in drops below 100 × 1.6^-1.6449 µm (the normal distribution)
    shaken, second = made(), 60.0
    smallest = 100 * 1.6**-1.644854
    assert clearing(shaken, [second]).lower[0] == pytest.approx(shaken.speed(smallest) * second, rel=1e-4)
    found = drops_by_height(shaken, second, slices=10)
    assert len(found) == 11  # ten slices of what is mixed, and the drops' own layer
    state = clearing(shaken, [second])
    assert found[-1] == pytest.approx((float(state.upper[0]), state.surface, 1.0))
    for bottom, top, share in found[:-1]:
        # the drops that have not yet left a place are those whose way is shorter than it is high
        still = norm.cdf(math.log(math.sqrt((bottom + top) / 2 / (shaken.speed(1.0) * second)) / 100) / math.log(1.6))
        assert share == pytest.approx(0.2 * still, rel=1e-6)
