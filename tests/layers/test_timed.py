"""Viscosity from timed balls and drops, and the share of drops from the speed of their crowd."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from fluids.drag import v_terminal
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import layers_of
from kit.layers.timed import TimedBall, drop_share_from_speed, viscosity_from_ball, viscosity_from_drop, wall_factor
from kit.layers.velocity import (
    hindrance,
    mobile_surface_factor,
    reynolds_number,
    richardson_zaki_exponent,
    slowdown,
    stokes_velocity,
)
from tests.boxes import check_box
from tests.layers.some_formulas import materials_of
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable


@given(st.floats(0.05, 10), st.floats(0.9, 9), st.floats(0.7, 1.4), st.floats(1, 1e5))
def test_a_ball_timed_by_the_kits_own_drag_gives_its_viscosity_back(
    diameter: float, ball: float, liquid: float, viscosity: float
) -> None:
    alone = abs(stokes_velocity(1000 * diameter, ball, liquid, viscosity))
    if alone == 0:
        return
    stokes = reynolds_number(1000 * diameter, alone, liquid, viscosity)
    velocity = alone * slowdown(stokes)
    if stokes * slowdown(stokes) > 790:
        return
    found = viscosity_from_ball(diameter, ball, liquid, 100.0, 100.0 / velocity)
    assert found.value == pytest.approx(viscosity, rel=1e-6)
    assert found.reynolds == pytest.approx(stokes * slowdown(stokes), rel=1e-6)
    assert found.simple >= found.value * (1 - 1e-9)  # without inertia a liquid seems thicker
    assert found.wall == 1


@pytest.mark.parametrize("method", ["Clift", "Cheng", "Barati_high"])
@pytest.mark.parametrize(
    ("diameter", "viscosity", "within"),
    [(1.0, 1000.0, 0.005), (3.0, 700.0, 0.03), (5.0, 300.0, 0.03), (5.0, 100.0, 0.1), (4.0, 30.0, 0.1)],
)
def test_a_ball_timed_by_other_published_drags(method: str, diameter: float, viscosity: float, within: float) -> None:
    """The judge is `fluids`: three correlations of drag, which above a Reynolds number of 10 differ as much."""
    speed = v_terminal(diameter / 1000, 7800, 900, viscosity / 1000, Method=method)
    found = viscosity_from_ball(diameter, 7.8, 0.9, 200.0, 0.2 / speed)
    assert found.value == pytest.approx(viscosity, rel=within)


@pytest.mark.parametrize(("part", "slower"), [(0.1, 1.263), (0.2, 1.680), (0.3, 2.371)])
def test_the_wall_of_a_tube(part: float, slower: float) -> None:
    """W. L. Haberman and R. M. Sayre (1958), exact for creeping motion (from memory): 1.263, 1.680, 2.371."""
    assert wall_factor(part) == pytest.approx(slower, rel=0.004)


@given(st.floats(0.02, 0.3), st.floats(500, 1e5))
def test_a_wall_makes_a_liquid_seem_thicker(part: float, viscosity: float) -> None:
    speed = abs(stokes_velocity(1000.0, 2.5, 1.2, viscosity)) / wall_factor(part)
    found = viscosity_from_ball(1.0, 2.5, 1.2, 100.0, 100.0 / speed, tube=1.0 / part)
    assert found.simple == pytest.approx(viscosity * wall_factor(part), rel=1e-9)
    assert found.value == pytest.approx(viscosity, rel=0.01)  # what inertia is left below a Reynolds number of 0.02
    assert f"the wall slows the ball {found.wall:.3f} times (Faxén)" in found.sentence


@given(st.floats(0.05, 3), st.floats(0.85, 0.99), st.floats(0.5, 1e4), st.floats(10, 1e5))
def test_a_clean_drop_gives_the_viscosity_of_its_surround_back(
    diameter: float, drop: float, inside: float, viscosity: float
) -> None:
    speed = stokes_velocity(1000 * diameter, drop, 1.0, viscosity) * mobile_surface_factor(inside, viscosity)
    if reynolds_number(1000 * diameter, speed, 1.0, viscosity) > 1:
        return
    clean = viscosity_from_drop(diameter, drop, 1.0, 50.0, 50.0 / speed, drop_viscosity=inside)
    assert clean.value == pytest.approx(viscosity, rel=1e-9)
    stiff = viscosity_from_drop(diameter, drop, 1.0, 50.0, 50.0 / speed) if clean.reynolds < 0.6 else clean
    assert stiff.value <= clean.value * (1 + 1e-9)  # taken for stiff, a clean drop makes the surround seem thinner


@given(st.floats(0.001, 0.6), st.floats(2.39, 4.65), st.floats(1e-4, 100))
def test_the_share_of_drops_is_the_inverse_of_hindrance(share: float, exponent: float, alone: float) -> None:
    assert drop_share_from_speed(alone * hindrance(share, exponent), alone, exponent) == pytest.approx(share, rel=1e-6)


def as_printed(reynolds: float) -> float:
    """Richardson and Zaki's own pieces, as open source programs quote them."""
    if reynolds < 0.2:
        return 4.65
    if reynolds < 1:
        return float(4.35 * reynolds**-0.03)
    return float(4.45 * reynolds**-0.1) if reynolds < 500 else 2.39


@given(st.floats(1e-6, 1e5))
def test_the_exponent_is_the_printed_one_without_its_steps(reynolds: float) -> None:
    found = richardson_zaki_exponent(reynolds)
    assert found == pytest.approx(as_printed(reynolds), abs=0.101)
    if not (0.1 < reynolds < 0.2 or 1 <= reynolds < 1.4 or 495 < reynolds < 505):
        assert found == as_printed(reynolds)
    assert richardson_zaki_exponent(reynolds * 1.000001) == pytest.approx(found, abs=1e-5)
    assert 2.39 <= richardson_zaki_exponent(reynolds * 1.5) <= found <= 4.65


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: viscosity_from_ball(0, 7.8, 0.9, 600, 12), r"The diameter must be more than 0 mm, got 0 mm\."),
        (lambda: viscosity_from_ball(3, 7.8, 0.9, 600, 0), r"The time must be more than 0 s, got 0 s\."),
        (lambda: viscosity_from_ball(3, 0.9, 0.9, 600, 12), "nothing rises or sinks, so nothing can be timed"),
        (lambda: viscosity_from_ball(8, 7.8, 1.0, 600, 0.4), "The ball is too fast: its Reynolds number is above 800"),
        (
            lambda: viscosity_from_ball(3, 7.8, 0.9, 600, 12, tube=8),
            r"0\.38 of the tube's width; Faxén's .* up to 0\.32",
        ),
        (lambda: viscosity_from_ball(3, 7.8, 0.9, 600, 2, tube=30), "a vessel 44 times as wide as the ball"),
        (lambda: viscosity_from_drop(1, 0.9, 1.0, 100, 2), "above 1 it is no longer slow and may not be round"),
        (
            lambda: viscosity_from_drop(1, 0.9, 1.0, 100, 90, drop_viscosity=0),
            "inside the drop must be more than 0 mPa",
        ),
        (lambda: drop_share_from_speed(2, 1), "a crowd is never faster"),
        (lambda: drop_share_from_speed(0, 1), "Speeds and exponent must be above 0"),
        (lambda: richardson_zaki_exponent(-1), "A Reynolds number cannot be below 0, got -1"),
    ],
)
def test_what_cannot_be_is_said(work: Callable[[], Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()


@each_of(
    ("name", "takes", "refuses"),
    [
        ("diameter", ("0", "100"), ("-0.1", "101")),
        ("density", ("0", "25"), ("-0.1", "25.1")),  # no metal is heavier than osmium, 22.6 g/mL
        ("distance", ("0", "10000"), ("-1", "10001")),
        ("seconds", ("0", "1000000"), ("-1", "1000001")),
        ("tube", ("0", "10000"), ("-1", "10001")),
    ],
)
def test_what_may_be_said_of_a_ball(name: str, takes: tuple[str, ...], refuses: tuple[str, ...]) -> None:
    check_box(TimedBall, name, "", takes, refuses)
    ball = TimedBall(kind="oil", diameter=3.0, density=7.8, distance=100.0, seconds=10.0)
    with pytest.raises(RangeError, match="This formula has no oil layer for a ball to fall through"):
        ball.viscosity([])
    assert TimedBall(diameter=3.0, density=7.8, distance=100.0, seconds=10.0).kind == "water"


@each_of(
    ("part", "times"),
    [
        # Faxén (from memory): 1 / (1 - 2.104 λ + 2.09 λ³ - 0.95 λ⁵)
        (0.0, 1.0), (0.1, 1 / (1 - 0.2104 + 0.00209 - 0.0000095)), (0.32, 1 / (1 - 0.67328 + 0.06848512 - 0.003187671)),
    ],
)  # fmt: skip
def test_the_wall_by_hand_and_where_its_formula_ends(part: float, times: float) -> None:
    assert wall_factor(part) == pytest.approx(times, rel=1e-7)
    for beyond in (-0.01, 0.321):
        with pytest.raises(RangeError, match=r"holds up to 0\.32"):
            wall_factor(beyond)


@each_of(
    "odd", [{"diameter": 0.0}, {"ball": 0.0}, {"liquid": 0.0}, {"distance": 0.0}, {"seconds": 0.0}, {"distance": -1.0}]
)
def test_what_a_ball_needs_above_0(odd: dict[str, float]) -> None:
    said = {"diameter": 3.0, "ball": 7.8, "liquid": 0.9, "distance": 600.0, "seconds": 12.0} | odd
    with pytest.raises(RangeError, match="must be more than 0"):
        viscosity_from_ball(said["diameter"], said["ball"], said["liquid"], said["distance"], said["seconds"])
    with pytest.raises(RangeError, match="must be more than 0"):
        viscosity_from_drop(said["diameter"], said["ball"], said["liquid"], said["distance"], said["seconds"])


def test_inertia_is_told_beyond_creeping_motion_and_the_layer_is_named() -> None:
    slow, fast = viscosity_from_ball(1.0, 7.8, 0.9, 100.0, 30.0), viscosity_from_ball(3.0, 7.8, 0.88, 600, 12)
    assert slow.reynolds < 0.1 < fast.reynolds
    assert "Stokes's law alone would say" not in slow.sentence
    # the example of the docstring: 679 for 646 mPa·s are 5 % more
    assert "Stokes's law alone would say 5 % more, for the ball is not slow enough for it" in fast.sentence
    assert "the wall" not in fast.sentence
    formula = Formula("Two", (Phase("W", "water", (Line("Aqua", "70"),)), Phase("O", "oil", (Line("Squalane", "30"),))))
    layers = layers_of(formula, materials_of(formula))
    ball = TimedBall(kind="oil", diameter=3.0, density=7.8, distance=600.0, seconds=12.0, tube=60.0)
    found, words = ball.viscosity(layers)
    assert words == f"The oil layer, 0.813 g/mL: {found.sentence}"
    assert found == viscosity_from_ball(3.0, 7.8, layers[1].density, 600.0, 12.0, tube=60.0)
    assert drop_share_from_speed(2.0, 2.0) == 0  # as fast as one alone is no crowd
    for wrong in ((1.0, 0.0), (-1.0, 1.0)):
        with pytest.raises(RangeError, match="must be above 0"):
            drop_share_from_speed(*wrong)
    with pytest.raises(RangeError, match="must be above 0"):
        drop_share_from_speed(1.0, 2.0, 0.0)
