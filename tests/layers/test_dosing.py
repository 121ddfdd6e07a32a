"""Doses: nothing is lost, no shaking takes layer after layer, and the fast sums are those of plain loops."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.layers.dosing import TRADE, USERS, Pump, User, dose_count, draw_delays, use_up, use_with_delays
from kit.layers.shaken import DropSizes, Shaken
from kit.layers.velocity import hindrance
from tests.boxes import check_box
from tests.layers.shaken_examples import ROUND, STRAIGHT, made
from tests.rows import each_of

GOOD, LAZY, NEVER = USERS

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.bottle import Bottle

users = st.one_of(
    st.builds(User, st.just("someone"), st.floats(0, 1000), st.floats(1, 3), st.floats(0.2, 5)), st.just(NEVER)
)
products = st.builds(
    made,
    st.floats(1, 30),
    st.floats(31, 60),
    bottle=st.sampled_from((STRAIGHT, ROUND)),
    sizes=st.builds(DropSizes, st.floats(5, 800), st.floats(1, 4)),
    gap=st.sampled_from((0.15, 0.03, -0.03, -0.3)),
    kind=st.sampled_from(("oil", "water")),
)


@settings(max_examples=60)
@given(products, st.floats(0, 20), st.floats(0.2, 8), users)
def test_what_was_drawn_and_what_is_left_is_what_was_filled(
    shaken: Shaken, tip: float, dose: float, user: User
) -> None:
    pump = Pump(tip, dose)
    if shaken.bottle.level(shaken.volume) <= tip or dose > shaken.volume - shaken.bottle.volume(tip):
        return
    run = use_up(shaken, pump, user, bottles=3, seed=5)
    oil, water = (shaken.drops, shaken.surround) if shaken.drops.kind == "oil" else (shaken.surround, shaken.drops)
    assert run.oil.sum(axis=0) + run.oil_left == pytest.approx(np.full(3, oil.volume), abs=1e-9)
    assert run.water.sum(axis=0) + run.water_left == pytest.approx(np.full(3, water.volume), abs=1e-9)
    assert run.oil + run.water == pytest.approx(np.full(run.oil.shape, dose), abs=1e-12)
    assert min(run.oil.min(), run.water.min(), run.oil_left.min(), run.water_left.min()) >= -1e-12
    left = run.oil_left + run.water_left
    assert (left >= shaken.bottle.volume(tip) - 1e-9).all()  # nothing is drawn from below the tip
    assert (left < shaken.bottle.volume(tip) + dose * (1 + 1e-6)).all()


@given(products, st.floats(0, 20))
def test_dosed_at_once_every_dose_is_the_label(shaken: Shaken, tip: float) -> None:
    run = use_with_delays(shaken, Pump(tip, 0.2), GOOD, np.zeros((10, 2)))
    assert run.oil_percent == pytest.approx(np.full((10, 2), run.label), abs=1e-6)


@pytest.mark.parametrize(("gap", "first"), [(0.12, "water"), (-0.12, "oil")])
def test_without_shaking_the_lower_layer_goes_first_and_then_the_other(gap: float, first: str) -> None:
    # constructed: 20 mL of oil and 80 of water in a straight bottle, tip at 10 % of the volume, doses of 5 mL
    shaken, tip = made(20, 80, gap=gap), STRAIGHT.level(10)
    run = use_up(shaken, Pump(tip, 5.0), NEVER)
    lower = 80 if first == "water" else 20
    whole = np.array([100.0 if first == "oil" else 0.0] * ((lower - 10) // 5))
    assert run.oil_percent[: len(whole), 0] == pytest.approx(whole, abs=1e-9)
    assert run.oil_percent[len(whole) :, 0] == pytest.approx(100 - whole[0], abs=1e-9)
    left = {"oil": run.oil_left[0], "water": run.water_left[0]}
    assert left[first] == pytest.approx(10)
    assert sum(left.values()) == pytest.approx(10)


def test_the_layers_edge_may_pass_the_tip_within_one_dose() -> None:
    shaken = made(20, 80)
    run = use_up(shaken, Pump(STRAIGHT.level(10), 9.0), NEVER)
    assert run.water[:, 0] == pytest.approx([9] * 7 + [7, 0, 0])  # 70 mL of water stand above the tip


def in_plain_loops(shaken: Shaken, pump: Pump, delays: list[float], classes: int = 1000) -> list[float]:
    """The drops in each dose, by 1,000 classes of equal volume at their middle sizes."""
    normal, sigma = NormalDist(), math.log(shaken.sizes.spread)
    sizes = [shaken.sizes.median * math.exp(sigma * normal.inv_cdf((n + 0.5) / classes)) for n in range(classes)]
    bottle, drops, surround, drawn = shaken.bottle, shaken.drops.volume, shaken.surround.volume, []
    under, exponent = bottle.volume(pump.tip), shaken.exponent()
    for delay in delays:
        total = drops + surround
        share, surface = drops / total, bottle.level(total)
        gone, there = 0.0, 0
        for size in sizes:
            way = shaken.per_square * size**2 * hindrance(share, exponent) * delay
            passed = bottle.volume(min(way, surface)) if shaken.rises else total - bottle.volume(max(surface - way, 0))
            gone += min(passed / surround, 1.0) / classes
            there += way < (pump.tip if shaken.rises else surface - pump.tip)
        own, mixed = drops * gone, share * there / classes
        if shaken.rises:
            part = min(max(total - own - under, 0.0), pump.dose)
            taken = mixed * part + pump.dose - part
        else:
            part = min(max(own - under, 0.0), pump.dose)
            taken = part + mixed * (pump.dose - part)
        taken = min(max(taken, pump.dose - surround, 0.0), drops, pump.dose)
        drawn.append(taken)
        drops, surround = drops - taken, surround - (pump.dose - taken)
    return drawn


@pytest.mark.parametrize("bottle", [STRAIGHT, ROUND], ids=("straight", "round"))
@pytest.mark.parametrize("gap", [0.12, -0.12], ids=("rising", "sinking"))
def test_the_exact_sums_agree_with_a_thousand_size_classes(bottle: Bottle, gap: float) -> None:
    shaken, pump = made(18, 62, bottle=bottle, gap=gap), Pump(12.0, 4.0)
    delays = [5.0, 40.0, 2.0, 120.0, 15.0, 30.0, 600.0, 1.0, 20.0, 60.0]
    run = use_with_delays(shaken, pump, GOOD, np.array(delays)[:, None])
    drops = run.oil if shaken.drops.kind == "oil" else run.water
    assert drops[:, 0] == pytest.approx(in_plain_loops(shaken, pump, delays), abs=0.01)


def test_coarser_drops_are_a_larger_median() -> None:
    user = User("someone", 30.0, 1.0, coarser=2.0)
    coarse = replace(made(), sizes=DropSizes(200.0, 1.6))
    one = use_up(made(), Pump(5, 2), user).oil
    assert one == pytest.approx(use_up(coarse, Pump(5, 2), replace(user, coarser=1.0)).oil)


def test_delays_are_log_normal_around_the_usual_one_and_repeatable() -> None:
    delays = draw_delays(User("x", 20.0, 2.0), 200, 1000, seed=3)
    assert np.median(delays) == pytest.approx(20, rel=0.01)
    assert np.log(delays).std() == pytest.approx(math.log(2), rel=0.01)
    assert (draw_delays(User("x", 20.0, 2.0), 200, 1000, seed=3) == delays).all()
    assert (draw_delays(User("x", 20.0, 2.0), 200, 1000, seed=4) != delays).any()


def test_one_bottle_has_the_usual_delay_every_time() -> None:
    assert (use_up(made(), Pump(5, 2), LAZY).oil == use_up(made(), Pump(5, 2), replace(LAZY, delay_spread=1)).oil).all()


def test_the_summary_says_first_last_label_and_left() -> None:
    run = use_up(made(20, 80), Pump(STRAIGHT.level(10), 5.0), NEVER)
    label = 100 * 20 * 0.88 / (20 * 0.88 + 80)
    assert run.label == pytest.approx(label)
    assert run.summary() == (
        f"never shakes: first dose 0.0 % oil layer (-{label:.1f}), last 100.0 % (+{100 - label:.1f}); the label says "
        f"{label:.1f} % w/w. Left below the tube: 0.0 mL of oil and 10.0 mL of water layer."
    )


def test_a_remainder_that_is_nearly_all_drops_is_cautioned() -> None:
    # long waits with the tip low draw the surround, so that what is left is more and more drops
    slow = User("dawdles", 300.0, 1.0)
    run = use_up(made(35, 45, sizes=DropSizes(150, 1.3)), Pump(3.0, 1.0), slow)
    assert run.most_drops > 0.64
    assert "dawdles: what is left drifts until" in run.findings[0].sentence
    assert use_up(made(), Pump(3.0, 1.0), replace(GOOD, delay=0.0)).findings == []
    assert use_up(made(), Pump(3.0, 1.0), NEVER).findings == []


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Pump(-1, 1), r"The tip of the tube is -1 mm above the floor of the bottle; it must be 0 or more"),
        (lambda: Pump(1, 0), r"One dose must be more than 0 mL, got 0 mL"),
        (lambda: User("Hasty", -1.0), r"Hasty: the time from shaking to dosing cannot be below 0 s, got -1 s"),
        (lambda: User("Hasty", 1.0, 0.5), r"Hasty: the spread of the delays is a factor between 1 and 10, got 0\.5"),
        (lambda: User("Hasty", 1.0, 1.5, 0.0), r"Hasty: drops can be coarser by a factor above 0, got 0"),
        (
            lambda: dose_count(STRAIGHT, 100, Pump(90, 1)),
            r"The tip of the tube at 90 mm is above the product, which stands at 79\.58 mm: it draws air\. Lower",
        ),
        (
            lambda: use_up(made(), Pump(70, 20), GOOD),
            r"One dose of 20 mL is more than the 12\.04 mL that stand above the tip",
        ),
        (lambda: dose_count(STRAIGHT, 100, Pump(0, 0.01)), r"10000 doses in one bottle are too many to follow; 5000"),
        (
            lambda: use_with_delays(made(), Pump(0, 10), GOOD, np.full((2, 2), -3.0)),
            r"time from shaking to dosing cannot be below 0 s, got -3 s",
        ),
        (
            lambda: use_with_delays(made(), Pump(0, 10), GOOD, np.zeros((11, 2))),
            r"The tube draws 10 doses from this bottle, not 11",
        ),
    ],
)
def test_bad_input_is_said_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()


def test_a_bottle_may_be_emptied_to_the_last_drop() -> None:
    run = use_up(made(20, 80), Pump(0.0, 10.0), GOOD)
    assert run.count == 10
    assert float(run.oil_left[0] + run.water_left[0]) == pytest.approx(0, abs=1e-9)


def test_the_habits_of_the_trade_are_marked_as_such() -> None:
    assert "shaken before every use" in TRADE
    assert "lands as a jet" in TRADE
    assert TRADE.endswith("(common practice).")


@each_of(
    ("group", "name", "first", "takes", "refuses"),
    [
        (Pump, "tip", "3 mm", ("0", "1000"), ("-0.1", "1001")),
        (Pump, "dose", "1 mL", ("0.01", "1000"), ("0.009", "1001")),
        (User, "delay", "2 s", ("0", "1000000"), ("-1", "1000001")),
        (User, "delay_spread", "1.5 times", ("1", "10"), ("0.9", "10.1")),
        (User, "coarser", "1 times", ("0.05", "100"), ("0.04", "101")),
    ],
)
def test_what_may_be_said_of_a_pump_and_a_user(
    group: type, name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]
) -> None:
    check_box(group, name, first, takes, refuses)
    assert (Pump(0.0, 1e-6).tip, User("x", 0.0, 1.0, 1e-6).delay, User("x", 1.0, 10.0).delay_spread) == (0, 0, 10)
    with pytest.raises(RangeError, match=r"a factor between 1 and 10, got 10\.1"):
        User("x", 1.0, 10.1)


@each_of(
    ("tip", "dose", "count"),
    [
        (0.0, 10.0, 10), (0.0, 10.01, 9), (0.0, 9.99, 10), (0.0, 20.0, 5), (0.0, 51.0, 1), (0.0, 100.0, 1),
        (0.0, 0.02, 5000), (STRAIGHT.level(50), 10.0, 5), (STRAIGHT.level(95), 5.0, 1),
    ],
)  # fmt: skip
def test_the_whole_doses_above_the_tip_are_counted(tip: float, dose: float, count: int) -> None:
    assert dose_count(STRAIGHT, 100.0, Pump(tip, dose)) == count  # 100 mL in a straight bottle


def test_doses_just_beyond_what_is_there_or_followed_are_refused() -> None:
    for pump, words in ((Pump(0, 100.001), "is more than the 100 mL"), (Pump(0, 0.01999), "5002 doses in one bottle")):
        with pytest.raises(RangeError, match=words):
            dose_count(STRAIGHT, 100.0, pump)
    assert dose_count(STRAIGHT, 100.0, Pump(STRAIGHT.level(100) - 0.1, 0.05)) == 2  # 0.1 mm of 1257 mm² is 0.126 mL
    with pytest.raises(RangeError, match="it draws air"):
        dose_count(STRAIGHT, 100.0, Pump(STRAIGHT.level(100), 0.05))


def test_a_mouth_draws_from_a_millimetre_around() -> None:
    def first(tip: float) -> float:
        return float(use_with_delays(made(), Pump(tip, 0.1), GOOD, np.full((1, 1), 20.0)).oil[0, 0])

    assert first(0.0) == pytest.approx(first(1.0), rel=1e-12)  # nothing nearer than that tells drops apart
    assert first(1.0) < first(2.0) < first(20.0)


def test_a_remainder_is_told_where_more_of_it_is_drops_than_balls_poured_at_random_fill() -> None:
    # 64 % of 100 mL and one dose at once: 0.64 is no more than balls fill, 0.641 is
    for drops, told in ((64.0, False), (64.1, True)):
        run = use_with_delays(made(drops, 100 - drops), Pump(0.0, 1.0), replace(GOOD, delay=0.0), np.zeros((1, 1)))
        assert run.most_drops == pytest.approx(drops / 100)
        assert bool(run.findings) == told
