"""Dispensing: every gram is dosed or left, each dispenser takes its slice, and the doses are those of other ways."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.findings import Place
from kit.in_use import dispensing
from kit.in_use.column import Parting
from kit.in_use.dispensers import SHAKINGS, Dispenser, FourDispensers, Manner, drawn_along
from kit.in_use.dispensing import Dispensed, dispense
from kit.in_use.dispensing_findings import course_of, dispensing_findings, doses_outside, heel_words, last_tenth_words
from kit.inputs import inputs_of
from kit.layers.bottle import Bottle
from kit.layers.dosing import Pump, User, use_up
from kit.layers.shaken import DropSizes
from kit.layers.window import End, Window
from tests.boxes import check_box
from tests.in_use.dispensing_examples import HAZE, SPIRIT, layer, used_up
from tests.layers.shaken_examples import ROUND, STRAIGHT, made
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.layers.density import Layer

#: An oil heavier than the water layer, and three layers of which none is an oil of the usual place.
HEAVY = layer("oil", "Sinking oil", 25.0, 1.12)
THREE = (SPIRIT, layer("other", "Glycol", 20.0, 1.03), HAZE)
PRODUCTS = ((SPIRIT, HAZE), (SPIRIT, HEAVY), THREE)
WAYS = ("tube", "tilted", "turned over")

dispensers = st.builds(
    Dispenser, st.sampled_from(("pump", "spray", "disc-top", "dropper")), st.floats(0.3, 30), st.sampled_from(WAYS),
    st.floats(0, 40), st.floats(0, 5),
)  # fmt: skip
manners = st.builds(Manner, st.sampled_from(tuple(SHAKINGS)), st.floats(0, 2000))


@settings(max_examples=60)
@given(dispensers, manners, st.sampled_from((STRAIGHT, ROUND)), st.sampled_from(PRODUCTS), st.floats(60, 100))
def test_every_gram_is_dosed_or_left(
    dispenser: Dispenser,
    manner: Manner,
    bottle: Bottle,
    layers: tuple[Layer, ...],
    fill: float,
) -> None:
    if len(layers) == 3 and manner.shaking == "waits":
        manner = replace(manner, delay=0.0)
    run = used_up(dispenser, manner, bottle, layers, fill)
    whole = math.fsum(run.filled)
    assert run.unaccounted <= 1e-9 * whole
    assert min(min(dose) for dose in run.doses) >= -1e-12
    assert min(run.left) >= -1e-12
    assert run.volumes[:-1] == pytest.approx([dispenser.dose] * (len(run.doses) - 1), rel=1e-9)
    stays = math.fsum(mass / each.layer.density for mass, each in zip(run.left, run.standing, strict=True))
    assert stays == pytest.approx(dispenser.out_of_reach(bottle), abs=1e-6)  # the heel, and not a drop of it more
    assert run.used[-1] == pytest.approx(100 * (1 - math.fsum(run.left) / whole), abs=1e-9)


@given(st.sampled_from(PRODUCTS[:2]), st.floats(0.5, 20), st.sampled_from((STRAIGHT, ROUND)))
def test_a_tube_at_the_floor_leaves_nothing(layers: tuple[Layer, ...], dose: float, bottle: Bottle) -> None:
    for manner in (Manner("never"), Manner("at once"), Manner("waits", 30.0)):
        run = used_up(Dispenser("pump", dose), manner, bottle, layers, 90.0)
        assert run.left == pytest.approx((0, 0), abs=1e-9)
        assert [sum(masses) for masses in zip(*run.doses, strict=True)] == pytest.approx(run.filled)


@given(st.floats(0, 60), st.floats(0.5, 15), st.sampled_from(PRODUCTS))
def test_no_lighter_layer_is_drawn_before_the_tube_sees_it(
    tip: float,
    dose: float,
    layers: tuple[Layer, ...],
) -> None:
    run = used_up(Dispenser("pump", dose, tip=tip), layers=layers)
    above = STRAIGHT.volume(tip)
    for number, each in enumerate(run.standing):  # a layer is seen once all below it down to the tip is drawn
        under = STRAIGHT.volume(each.bottom)
        for n, taken in enumerate(run.doses):
            drawn = sum(run.volumes[: n + 1])
            if drawn <= under - above - 1e-9:
                assert taken[number] == 0
            if drawn - run.volumes[n] >= STRAIGHT.volume(each.top) - above + 1e-9:
                assert taken[number] == pytest.approx(0, abs=1e-9)


@each_of(
    ("dispenser", "oil"),
    [
        # by hand: 80 mL of spirit below 20 mL of haze; the tube ends at 10 mL; doses of 9 mL: 7.8 of them are spirit
        (Dispenser("pump", 9.0, tip=STRAIGHT.level(10)), [0.0] * 7 + [2, 9, 9]),
        # a tube that ends in the upper layer, at 85 mL, sees 15 mL of it and nothing else
        (Dispenser("dropper", 6.0, tip=STRAIGHT.level(85)), [6, 6, 3]),
        (Dispenser("disc-top", 15.0, "tilted"), [15, 5, 0, 0, 0, 0, 0]),
        (Dispenser("disc-top", 15.0, "turned over"), [0, 0, 0, 0, 0, 10, 10]),
        (Dispenser("disc-top", 15.0, "tilted", clings=25.0), [15, 5, 0, 0, 0]),
    ],
)
def test_unshaken_doses_are_those_counted_by_hand(dispenser: Dispenser, oil: list[float]) -> None:
    run = used_up(dispenser)
    assert [dose[1] / 0.88 for dose in run.doses] == pytest.approx(oil, abs=1e-9)


def test_a_bottle_that_is_mixed_gives_what_it_holds() -> None:
    # a perfectly mixed vessel: what flows out is as what is in it (R. M. Felder, R. W. Rousseau, Elementary Principles
    # of Chemical Processes, balances on transient processes; from memory)
    for dispenser in (Dispenser("pump", 3.0, tip=9.0), Dispenser("disc-top", 7.0, "tilted"), Dispenser("spray", 0.2)):
        run = used_up(dispenser, Manner("at once"))
        assert run.percents == pytest.approx([100 * 17.6 / 97.6] * len(run.percents))
        assert run.after(5)[1] / sum(run.after(5)) == pytest.approx(17.6 / 97.6)


def test_drops_of_one_size_part_as_kynch_has_it() -> None:
    # G. J. Kynch, Trans. Faraday Soc. 48 (1952) 166 (from memory): in a straight bottle the clear part grows by u t and
    # the layer of the drops by u t φ / (1 - φ); between them the share stays φ
    shaken, seconds = made(20, 80, sizes=DropSizes(100.0, 1.0)), 40.0
    column = Parting(shaken, 1, seconds)
    clear = STRAIGHT.volume(shaken.speed() * seconds)
    own = clear * 0.2 / 0.8
    assert 5 < clear < 70
    for start, size, oil in (
        (0.0, clear, 0.0), (clear, 10.0, 2.0), (clear - 4, 8.0, 0.8), (100 - own, own, own),
        (100 - own - 6, own + 6, own + 1.2), (0.0, 100.0, 20.0),
    ):  # fmt: skip
        assert column.taken([80.0, 20.0], start, size) == pytest.approx([size - oil, oil], abs=2e-4)
    sinking = Parting(made(20, 80, sizes=DropSizes(100.0, 1.0), gap=-0.12), 0, seconds)
    assert sinking.taken([20.0, 80.0], 0.0, own) == pytest.approx([own, 0.0], abs=2e-4)
    assert sinking.taken([20.0, 80.0], own, 10.0) == pytest.approx([2.0, 8.0], abs=2e-4)
    assert sinking.taken([20.0, 80.0], 100 - clear, clear) == pytest.approx([0.0, clear], abs=2e-4)


def test_a_column_that_parts_is_that_of_plain_loops_over_the_drops() -> None:
    # each drop size followed by itself, 1,000 sizes of equal volume; in a round bottle, whose straight part holds all
    # of it, and in one that grows wide and narrow again on their way
    from scipy.stats import norm

    uneven = Bottle.measured([("11 mm", "9 mL"), ("20 mm", "41 mL"), ("40 mm", "50 mL"), ("80 mm", "90 mL")])
    for bottle, gap in ((ROUND, 0.12), (ROUND, -0.12), (uneven, 0.12), (uneven, -0.12)):
        shaken = made(18.0, 62.0, bottle=bottle, gap=gap, sizes=DropSizes(120.0, 1.7))
        drops = 1 if shaken.rises else 0
        volumes = [62.0, 18.0] if shaken.rises else [18.0, 62.0]
        sizes = 120.0 * np.exp(math.log(1.7) * norm.ppf((np.arange(1000) + 0.5) / 1000))
        ways = shaken.per_square * sizes**2 * (62 / 80) ** shaken.exponent() * 25.0
        heights, held = np.array(bottle.profile).T
        top = float(np.interp(80.0, held, heights))
        if shaken.rises:
            passed = np.interp(np.minimum(ways, top), heights, held)
        else:
            passed = 80.0 - np.interp(np.maximum(top - ways, 0.0), heights, held)
        own = 18.0 * np.minimum(passed / 62.0, 1.0).mean()
        far = 80.0 - own
        still = np.maximum(far - passed, 0.0).mean()
        column = Parting(shaken, drops, 25.0)
        for low, high in ((0.0, 15.0), (15.0, 50.0), (50.0, 55.0)):  # from the end that clears first
            part = np.clip(high - np.maximum(passed, low), 0.0, None).mean()
            start = low if shaken.rises else 80.0 - high
            wanted = (18.0 - own) * part / still
            assert column.taken(volumes, start, high - low)[drops] == pytest.approx(wanted, abs=0.01)


def test_a_pump_after_a_wait_is_that_of_the_dosing_engine() -> None:
    # kit.layers.dosing looks at the liquid at the tip, this at the whole slice: small doses differ little
    for delay, apart in ((5.0, 0.1), (30.0, 0.7), (120.0, 1.5)):
        run = used_up(Dispenser("pump", 1.0, tip=12.0), Manner("waits", delay))
        other = use_up(made(20.0, 80.0), Pump(12.0, 1.0), User("one", delay, 1.0)).oil_percent[:60, 0]
        assert np.abs(np.array(run.percents[:60]) - other).max() < apart


def test_many_doses_in_steps_are_near_those_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    spray, waits = Dispenser("spray", 0.1, tip=10.0), Manner("waits", 60.0)
    steps = used_up(spray, waits)
    monkeypatch.setattr(dispensing, "STEPS", 5000)  # each dose by itself
    singly = used_up(spray, waits)
    for n in (100, 400, 700, len(singly.doses)):
        assert steps.after(n) == pytest.approx(singly.after(n), abs=0.02)


def test_heel_and_last_tenth() -> None:
    # a cone of 20 mL on a cylinder: V = π h (R² + R r + r²) / 3 below the tip (Archimedes; any table of solids)
    cone = Bottle.measured([("10 mm", "5 mL"), ("20 mm", "20 mL"), ("100 mm", "180 mL")])
    run = used_up(Dispenser("pump", 1.0, tip=15.0), bottle=cone)
    assert sum(run.left) == pytest.approx(12.5)  # half way between 5 and 20 mL, of the lower layer
    assert run.last_tenth.dose is None
    assert last_tenth_words(run) == "Its last tenth never comes out: 13 % of the fill stays."
    poured = used_up(Dispenser("disc-top", 5.0, "turned over"))
    last = poured.last_tenth  # 9.76 g are a tenth; the 19th dose begins with 8.8 g of haze
    assert (last.dose, last.low, last.high) == (19, 100, 100)
    assert last.held == pytest.approx((0, 8.8))
    assert last_tenth_words(poured) == "Of its last tenth 100.0 % is Haze; the doses of it hold 100.0 %."
    assert course_of(poured) == "Disc-top, not shaken: 20 doses: 16 of Spirit, then 4 of Haze. All of it comes out."
    assert "the last of them short" in course_of(used_up(Dispenser("pump", 7.0)))


def test_a_line_near_a_tube_blurs_as_lubin_and_springer_measured() -> None:
    # J. Fluid Mech. 29 (1967) 385: h/a = 0.69 (Q² / (g' a⁵))^(1/5) (constant from memory); a falls out of it
    gravity = 9806.65 * 0.2
    for size in (1.0, 3.0):
        flow = math.sqrt(gravity * size**5) / 1000  # mL/s for which the bracket is 1
        assert drawn_along(flow, 1.0, 0.8) == pytest.approx(0.69 * size)
    assert drawn_along(3.2, 1.0, 0.8) / drawn_along(0.1, 1.0, 0.8) == pytest.approx(32**0.4)


def test_four_dispensers_are_made_for_the_bottle() -> None:
    four = FourDispensers(tip=4.0, spray=0.12, depth=90.0).made(ROUND, 0.96)
    assert [one.kind for one in four] == ["pump", "spray", "disc-top", "dropper"]
    assert four[1].dose == pytest.approx(0.125)
    assert four[3].tip == pytest.approx(ROUND.height - 90)
    strokes = dispense([SPIRIT, HAZE], STRAIGHT, 100.0, four[1], Manner("never")).masses
    assert (strokes[0], strokes[-2]) == pytest.approx((0.125, 0.125 * 0.88))  # one volume, whatever it draws


def test_findings_say_what_differs_what_stays_and_what_may_harm() -> None:
    runs = [used_up(one) for one in FourDispensers(tip=20.0).made(STRAIGHT, 0.976)]
    found = {one.sentence: one for one in dispensing_findings(runs, ("Aqua", "Alcohol"))}
    said = " ".join(found)
    for words in (
        "of Haze, pump 0.0 to 100.0 %, spray 0.0 to 100.0 %, disc-top 0.0 to 100.0 % and dropper",
        "pump 25.8 %, spray 25.8 % and dropper 6.4 %", "are breathed in", "keep it from the eyes",
        "Alcohol can burn", "A pipette passes the upper layer", "lands as a jet", "ISO 11930", "draws of both",
    ):  # fmt: skip
        assert words in said, words
    assert "Aqua" not in said
    at_once = [used_up(Dispenser("pump", 1.0), Manner("at once"))]
    assert dispensing_findings(at_once, ("Alcohol",)) == []
    whole = dispensing_findings(at_once, layering="emulsified")
    assert ["While an emulsion is whole" in one.sentence for one in whole] == [True]
    assert used_up(Dispenser("pump", 1.0), Manner("at once"), layers=THREE).first == "several layers"


def window(low: float, high: float) -> Window:
    shine = End("enough oil to shine", low, "from", "your own", Place())
    greasy = End("too greasy above", high, "to", "your own", Place())
    return Window(low, high, shine, greasy, (shine, greasy), (), 100.0)


def test_doses_outside_the_window_of_ratios_are_counted() -> None:
    # By hand, as above: doses of 9 mL hold 0 haze seven times, then 2 of 9 mL, which is 1.76 of 1.76 + 7 g = 20.1 %,
    # and twice nothing else.
    pump = used_up(Dispenser("pump", 9.0, tip=STRAIGHT.level(10)))
    assert doses_outside(pump, window(10, 50)) == 9
    assert doses_outside(pump, window(0, 19)) == 3
    assert doses_outside(pump, window(0, 100)) == 0
    said = " ".join(one.sentence for one in dispensing_findings([pump], window=window(10, 50)))
    assert "Outside the window of ratios (10.0 to 50.0 % of oil layer): 9 of 10 doses of the pump." in said
    assert "Below it: enough oil to shine. Above it: too greasy above." in said
    for no_window in (None, window(0, 100), window(50, 10)):  # none, one that all doses keep, one that is not open
        found = dispensing_findings([pump], window=no_window)
        assert not any("window of ratios" in one.sentence for one in found)


def test_what_is_said_of_doses_that_are_alike_and_of_a_single_layer() -> None:
    alike = used_up(Dispenser("pump", 1.0), Manner("at once"))
    # 17.6 of 97.6 g are haze
    assert course_of(alike) == (
        "Pump, shaken, and dosed at once: 100 doses; of Haze each holds 18.0 %. All of it comes out."
    )
    one = used_up(Dispenser("pump", 100.0))
    assert course_of(one) == "Pump, not shaken: 1 dose; of Haze each holds 18.0 %. All of it comes out."
    assert dispensing_findings([]) == []
    bottle = dispense([SPIRIT], STRAIGHT, 80.0, Dispenser("spray", 0.5), Manner("never"))
    said = [one.sentence for one in dispensing_findings([bottle], ("Aqua",))]
    assert len(said) == 1
    assert "breathed in" in said[0]  # a spray of one layer is no jet of another, and of water nothing burns
    assert dispensing_findings([alike], stroke=0.0) == []
    level = [layer("water", "Spirit", 50.0, 1.0), layer("oil", "Haze", 50.0, 1.0)]  # neither lies surely below
    unsure = dispense(level, STRAIGHT, 100.0, Dispenser("pump", 1.0), Manner("never"))
    assert not any("drawn sharp" in one.sentence for one in dispensing_findings([unsure]))


def test_how_many_doses_have_come_out_is_counted_by_what_is_used() -> None:
    run = used_up(Dispenser("pump", 10.0), Manner("at once"))  # ten doses, each a tenth
    assert [run.doses_by(used) for used in (0, 9.9, 10, 55, 100, 120)] == [0, 0, 1, 5, 10, 10]


@each_of(
    ("kwargs", "words"),
    [
        ({"dose": 0.0}, "One dose of the pump must be more than 0 mL, got 0 mL"),
        ({"dose": 1.0, "tip": -2.0}, "ends -2 mm above the floor of the bottle; it must be 0 or more"),
        ({"dose": 1.0, "clings": -1.0}, "No less than 0 mL can cling"),
        ({"dose": 1.0, "tip": 90.0}, "takes nothing: 113.1 mL stand below the end of its tube"),
        ({"dose": 0.01}, "10000 doses of the pump from one bottle are too many to follow; 5000 at most"),
    ],
)
def test_what_cannot_be_is_said_in_words(kwargs: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        used_up(Dispenser("pump", **kwargs))  # type: ignore[arg-type]


def test_a_wait_needs_to_know_how_it_parts_and_a_pipette_fits() -> None:
    with pytest.raises(RangeError, match="it must be known how the layers part"):
        dispense([SPIRIT, HAZE], STRAIGHT, 100.0, Dispenser("pump", 1.0), Manner("waits", 5.0))
    with pytest.raises(RangeError, match=r"A pipette of 200 mm below the rim is longer than straight bottle is deep"):
        FourDispensers(depth=200.0).made(STRAIGHT, 1.0)
    with pytest.raises(RangeError, match="A flow above 0 mL/s and a heavier layer"):
        drawn_along(1.0, 0.9, 1.0)


@each_of(
    ("name", "first", "takes", "refuses", "third"),
    [
        ("tip", "3 mm", ("0", "1000"), ("-0.1", "1001"), "0.3333"),
        ("pump", "1 mL", ("0.01", "1000"), ("0.009", "1001"), "0.3333"),
        ("spray", "0.5 g", ("0.001", "1000"), ("0.0009", "1001"), "0.3333"),
        ("poured", "3 mL", ("0.01", "1000"), ("0.009", "1001"), "0.3333"),
        ("clings", "0 mL", ("0", "1000"), ("-0.1", "1001"), "0.3333"),
        ("drawn", "1 mL", ("0.01", "1000"), ("0.009", "1001"), "0.3333"),
        ("depth", "", ("0", "1000"), ("-0.1", "1001"), "0.3333"),
        ("way", "tilted: the upper layer first", (), ("thrown",), ""),
    ],
)
def test_what_may_be_said_of_four_dispensers(
    name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...], third: str
) -> None:
    check_box(FourDispensers, name, first, takes, refuses, third)
    box = next(one for one in inputs_of(FourDispensers) if one.name == "tip")
    assert box.slide == (0.0, 100.0, 0.5)  # mm: half a millimetre is as well as a tube is cut
    usual = FourDispensers().made(STRAIGHT, 0.8)  # and a pipette ends 5 mm above the floor
    assert [(one.dose, one.tip) for one in usual] == [(1.0, 3.0), (0.625, 3.0), (3.0, 0.0), (1.0, 5.0)]
    assert FourDispensers(depth=STRAIGHT.height).made(STRAIGHT, 1.0)[3].tip == 0  # just to the floor
    with pytest.raises(RangeError, match="is longer than straight bottle is deep"):
        FourDispensers(depth=STRAIGHT.height + 0.5).made(STRAIGHT, 1.0)


def test_what_may_be_said_of_the_way_to_shake() -> None:
    check_box(Manner, "shaking", "not shaken", ("shaken, then waited",), ("kicked",))
    check_box(Manner, "delay", "10 s", ("0", "1000000"), ("-1", "1000001"))
    delay = next(one for one in inputs_of(Manner) if one.name == "delay")
    assert [delay.applies({"shaking": word}) for word in ("at once", "waits", "never")] == [False, True, False]
    assert [Manner(word, 2.5).words for word in ("at once", "waits", "never")] == [
        "shaken, and dosed at once", "shaken, then 2.5 s waited", "not shaken",
    ]  # fmt: skip


def told(doses: list[tuple[float, float]], left: tuple[float, float] = (0.0, 0.0), dose: float = 1.0) -> Dispensed:
    """A bottle of so many doses of spirit and haze. [g]"""
    spirit, haze = (math.fsum(column) + rest for column, rest in zip(zip(*doses, strict=True), left, strict=True))
    layers = [layer("water", "Spirit", spirit, 1.0), layer("oil", "Haze", haze, 0.88)]
    run = dispense(layers, STRAIGHT, spirit + haze / 0.88, Dispenser("pump", dose), Manner("never"))
    return replace(run, doses=tuple(doses), left=left)


@each_of(
    ("doses", "words"),
    [
        # from 20.00 % to 20.04 % is the same to the last figure that is told, to 20.06 % is not
        ([(8.0, 2.0), (7.996, 2.004)], "; of Haze each holds 20.0 %."),
        ([(8.0, 2.0), (7.994, 2.006)], "; of Haze 20.0 % at first, 20.1 % at last."),
        ([(8.0, 2.0), (5.0, 5.0), (7.0, 3.0)], "; of Haze 20.0 % at first, 30.0 % at last."),
        # a dose is of one layer where more than 99 % of it is
        ([(9.91, 0.09), (0.09, 9.91)], ": 1 of Spirit, then 1 of Haze."),
        ([(9.89, 0.11), (0.11, 9.89)], "; of Haze 1.1 % at first, 98.9 % at last."),
        ([(10, 0)] * 3, ": 3 of Spirit."),
        ([(10, 0), (5, 5)] * 3, "Spirit, then 1 of both layers, then 1 of Spirit and so on."),
        ([(10, 0), (5, 5), (10, 0), (5, 5), (0, 10)], "then 1 of both layers, then 1 of Haze."),
    ],
)  # fmt: skip
def test_how_doses_run_is_told(doses: list[tuple[float, float]], words: str) -> None:
    assert words in course_of(told(doses, dose=11.0)), course_of(told(doses))


@each_of(
    ("left", "words"),
    [
        ((0.0, 0.0), "All of it comes out."),
        ((0.004, 0.0), "All of it comes out."),  # less than a twentieth of a percent of 10 g
        ((0.006, 0.0), "0.006 g of Spirit never comes out."),
        ((0.5, 0.25), "0.5 g of Spirit and 0.25 g of Haze never come out."),
    ],
)
def test_what_stays_is_told_from_a_twentieth_of_a_percent_on(left: tuple[float, float], words: str) -> None:
    assert heel_words(told([(8.0 - left[0], 2.0 - left[1])], left)) == words


@each_of(
    ("doses", "left", "caution", "stays"),
    [
        # filled as 80 g and 20 g: 20 % is on the label; a dose one point off is no matter, one that is farther is told
        ([(7.9, 2.1)] * 5 + [(8.1, 1.9)] * 5, (0.0, 0.0), False, False),
        ([(7.89, 2.11)] * 5 + [(8.11, 1.89)] * 5, (0.0, 0.0), True, False),
        # 1 of 100 g that stays is told, less is not
        ([(8.0, 2.0)] * 9 + [(7.2, 1.8)], (0.8, 0.2), False, True),
        ([(8.0, 2.0)] * 9 + [(7.3, 1.8)], (0.7, 0.2), False, False),
    ],
)
def test_what_of_the_doses_is_worth_telling(
    doses: list[tuple[float, float]], left: tuple[float, float], caution: bool, stays: bool
) -> None:
    said = [one.sentence for one in dispensing_findings([told(doses, left)], stroke=0.0)]
    assert any("another product in such a dose" in words for words in said) == caution, said
    assert any("Of the fill never comes out" in words for words in said) == stays, said


def test_a_layer_that_runs_out_within_a_step_is_made_up_for() -> None:
    # by hand: 2 mL are lacking, and of the others 3 and 1 mL are there beyond the dose: 1.5 and 0.5 mL of them
    assert dispensing._made_up([1.0, 2.0, 1.0], [1.0, 5.0, 2.0], 2.0) == [1.0, 3.5, 1.5]
    assert dispensing._made_up([1.0, 2.0], [1.0, 2.0], 0.5) == [1.0, 2.0]  # nothing is there
    assert dispensing._made_up([0.0, 1.0], [0.0, 2.0], 3.0) == [0.0, 2.0]  # less than is lacking


def test_doses_are_worked_out_in_about_fifty_steps_and_fewer_at_the_end() -> None:
    # a forty-eighth of all, a twelfth of what is left, one at least
    assert [dispensing._step(count, 0) for count in (1, 11, 12, 48, 49, 96, 97, 480)] == [1, 1, 1, 1, 2, 2, 3, 10]
    assert [dispensing._step(480, done) for done in (359, 360, 361, 372, 443, 456, 457, 479)] == [
        10,
        10,
        9,
        9,
        3,
        2,
        1,
        1,
    ]
    run = used_up(Dispenser("pump", 10.0), Manner("at once"))
    assert run.after(0) == pytest.approx((80, 17.6))
    assert run.after(10) == pytest.approx((0, 0), abs=1e-9)


def test_the_last_tenth_begins_where_nine_tenths_are_used() -> None:
    tenths = told([(8.0, 2.0)] * 9 + [(5.0, 5.0)])
    assert (tenths.last_tenth.dose, tenths.last_tenth.held) == (10, (5.0, 5.0))
    assert last_tenth_words(tenths) == "Of its last tenth 50.0 % is Haze; the doses of it hold 50.0 %."
    span = told([(8.0, 2.0)] * 9 + [(2.5, 2.5), (4.0, 1.0)])
    assert last_tenth_words(span) == "Of its last tenth 35.0 % is Haze; the doses of it hold 20.0 to 50.0 %."
    assert told([(8.0, 2.0)] * 9, (8.0, 2.0)).last_tenth.dose is None  # no dose is left in it
    eight = told([(8.0, 2.0)] * 8, (16.0, 4.0))
    assert last_tenth_words(eight) == "Its last tenth never comes out: 20 % of the fill stays."
