"""The product after shaking: what may be said of it, in how long it parts in words, and how sure that is."""

from __future__ import annotations

import math

import pytest

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.bottle import Bottle
from kit.layers.density import Layer, layers_of
from kit.layers.separation import time_until
from kit.layers.shaken import DropSizes, Liquid, Shaken, two_layers
from kit.layers.shaken_product import Shaking, _gap, shaken_product, time_unit, time_words
from tests.boxes import check_box
from tests.layers.shaken_examples import STRAIGHT, made
from tests.layers.some_formulas import materials_of
from tests.rows import each_of

SHAKE = Formula(
    "Shake", (Phase("W", "water", (Line("Aqua", "80"),)), Phase("O", "oil", (Line("Squalane", "20"),)))
)  # fmt: skip


@each_of(
    ("name", "first", "takes", "refuses", "third"),
    [
        ("drops", "suggested", ("oil",), ("milk",), ""),
        ("median", "100 µm", ("1", "20000"), ("0.9", "20001"), "0.3333"),  # up to 20 mm
        ("spread", "1.6 times", ("1", "10"), ("0.9", "10.1"), ""),
        ("water", "", ("0.01", "10000000"), ("0.009", "10000001"), ""),
        ("oil", "", ("0.01", "10000000"), ("0.009", "10000001"), ""),
        ("clean", "no", ("yes",), ("perhaps",), ""),
    ],
)
def test_what_may_be_said_of_shaking(
    name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...], third: str
) -> None:
    check_box(Shaking, name, first, takes, refuses, third)
    assert Shaking(median=20_000.0).median == 20_000


@each_of(
    ("seconds", "words"),
    [
        (0.5, "0.5 s"), (9.94, "9.9 s"), (9.96, "10 s"), (120, "120 s"), (121, "2 min"), (7200, "120 min"),
        (7201, "2 h"), (172_800, "48 h"), (172_801, "2 days"), (8_640_000_000, "100,000 days"),
    ],
)  # fmt: skip
def test_a_time_is_said_in_the_unit_that_suits_it_with_two_figures(seconds: float, words: str) -> None:
    assert time_words(seconds) == words
    assert {"s": 1, "min": 60, "h": 3600, "days": 86_400}[time_unit(seconds)[0]] == time_unit(seconds)[1]


def test_a_doubt_in_the_viscosity_of_the_surround_is_told_as_times() -> None:
    materials = materials_of(SHAKE)
    found = shaken_product(SHAKE, materials, layers_of(SHAKE, materials), STRAIGHT, 100.0)
    (way,) = found.ways
    assert way.drops.kind == "oil"  # a fifth of the volume
    seconds = time_until(way, 95.0)
    # by Stokes's law a drop takes half the time in a liquid half as thick
    assert found.doubt() == (
        f"Oil as the drops: 95 % of them have left after {time_words(seconds)}; were the water layer half or twice as "
        f"thick, {time_words(seconds / 2)} or {time_words(2 * seconds)}."
    )
    assert found.doubt(50.0).startswith(
        f"Oil as the drops: 50 % of them have left after {time_words(time_until(way, 50))}"
    )
    thick = Formula("Gel", (Phase("W", "water", (Line("Aqua", "79.5"), Line("Xanthan Gum", "0.5"))), SHAKE.phases[1]))
    doubtful = shaken_product(thick, materials_of(thick), layers_of(thick, materials_of(thick)), STRAIGHT, 100.0)
    assert doubtful.doubt().endswith(", and it may well be.")


def test_what_the_maker_chose_and_measured_is_taken() -> None:
    materials = materials_of(SHAKE)
    layers = layers_of(SHAKE, materials)
    shaking = Shaking(drops="water", median=50.0, spread=2.0, water=1.5, oil=40.0, clean=True)
    found = shaken_product(SHAKE, materials, layers, STRAIGHT, 100.0, shaking)
    (way,) = found.ways
    assert (way.drops.kind, way.sizes, way.clean) == ("water", DropSizes(50.0, 2.0), True)
    assert (way.drops.viscosity, way.surround.viscosity) == (1.5, 40.0)
    assert {kind: one.words for kind, one in found.viscosities.items()} == dict.fromkeys(
        ("oil", "water"), "as you typed it"
    )
    said = [one.sentence for one in found.findings]
    assert any(words.startswith("You chose water as the drops. ") for words in said)
    assert len(said) == len(set(said))


@each_of(
    ("uncertain", "words"),
    [
        # 0.1 g/mL apart: a band of ± 0.02 is a fifth of that and no matter, a wider one is told: 0.1 / 0.121 and 0.1 /
        # 0.079; where both bands, ± 0.1 together, meet, that the order cannot be told is said elsewhere
        (0.00999, ""),
        (
            0.0105,
            "The densities lie 0.100 ± 0.021 g/mL apart, and every time goes with that: it may be 0.83 to 1.3 times",
        ),
        (0.0499, "The densities lie 0.100 ± 0.100 g/mL apart"),
        (0.0501, ""),
    ],
)
def test_a_gap_that_is_not_well_known_is_told(uncertain: float, words: str) -> None:
    oil, water = Layer("oil", "O", 20.0, 0.9, 0.0, uncertain), Layer("water", "W", 80.0, 1.0, 0.0, 0.0)
    said = [one.sentence for one in _gap(oil, water)]
    assert len(said) == bool(words)
    assert all(one.startswith(words) for one in said)
    both = [one.sentence for one in _gap(oil, Layer("water", "W", 80.0, 1.0, 0.0, 0.01))]
    # √(0.0105² + 0.01²) × 2 = 0.029, of which the sums stay clear of 0.1
    assert any("0.100 ± 0.029 g/mL apart" in one for one in both) == (uncertain == 0.0105)


def test_the_sizes_and_liquids_that_can_be() -> None:
    assert (DropSizes(20_000, 1).spread, DropSizes(0.01, 10).median) == (1, 0.01)
    for median, spread in ((0, 1.6), (20_001, 1.6), (100, 0.99), (100, 10.1), (math.nan, 1.6), (100, math.nan)):
        with pytest.raises(RangeError):
            DropSizes(median, spread)
    assert made(0.0, 80.0).share == 0
    assert made(0.5, 0.5).share == 0.5
    for drops, surround in ((-0.5, 80), (20, -0.5)):
        with pytest.raises(RangeError, match=r"layer cannot have -0\.5 mL"):
            made(drops, surround)
    for liquid, what in ((Liquid("oil", 1, 0, 1), "density"), (Liquid("oil", 1, 0.9, 0), "viscosity")):
        with pytest.raises(RangeError, match=f"The oil layer needs a {what} above 0, got 0"):
            Shaken(liquid, Liquid("water", 1, 1.0, 1.0), STRAIGHT)
        with pytest.raises(RangeError, match=f"The oil layer needs a {what} above 0, got 0"):
            Shaken(Liquid("water", 1, 1.0, 1.0), liquid, STRAIGHT)
    with pytest.raises(RangeError, match="nothing rises or sinks"):
        made(gap=0.0)


@each_of(
    ("layers", "had"),
    [
        ((), "no layer yet"),
        ((Layer("oil", "Haze", 100, 0.9, 0),), "only one, Haze"),
        ((Layer("oil", "Haze", 50, 0.9, 0), Layer("other", "Clay", 50, 2, 0)), "Haze, Clay"),
        (
            (Layer("oil", "Haze", 50, 0.9, 0), Layer("water", "Dew", 25, 1, 0), Layer("other", "Clay", 25, 2, 0)),
            "Haze, Dew, Clay",
        ),
    ],
)
def test_what_is_not_two_layers_is_told(layers: tuple[Layer, ...], had: str) -> None:
    with pytest.raises(RangeError, match=f"this formula has {had}"):
        two_layers(layers)


@each_of(
    ("median", "severity", "words"),
    [
        # by hand: in water of 1.2 mPa·s a drop that is 0.12 g/mL lighter moves g Δρ d² / 18 η: Re = 0.0454 for 100 µm,
        # and grows with the cube of the size
        (100, "note", "Reynolds number of the middle oil drop: 0.045. Stokes's law holds (below about 0.1)."),
        (20, "note", "Reynolds number of the middle oil drop: below 0.001. Stokes's law holds"),
        (135, "note", "drop: 0.11. Stokes's law holds below about 0.1; a drop this size really moves about"),
        (1000, "caution", "drop: 45. Stokes's law holds below about 0.1; a drop this size really moves about"),
    ],
)
def test_how_far_stokes_law_holds_is_said(median: float, severity: str, words: str) -> None:
    first = made(sizes=DropSizes(median, 1.6)).findings[0]
    assert (first.severity, words in first.sentence) == (severity, True), first.sentence
    assert made(sizes=DropSizes(100.0, 1.6)).reynolds == pytest.approx(
        1000 * (9.80665 * 120 * 1e-8 / (18 * 1.2e-3)) * 1e-4 / 1.2e-3, rel=1e-4
    )


def test_more_drops_than_can_lie_between_one_another_are_told() -> None:
    def told(drops: float) -> bool:
        return any("more than balls poured at random take" in one.sentence for one in made(drops, 100 - drops).findings)

    # balls poured at random fill 64 % (G. D. Scott, Nature 188 (1960) 908, from memory)
    assert (told(63.9), told(64.1)) == (False, True)


def test_a_bottle_that_is_too_small_is_told() -> None:
    materials = materials_of(SHAKE)
    with pytest.raises(RangeError, match="cannot stand in"):
        shaken_product(SHAKE, materials, layers_of(SHAKE, materials), Bottle.cylinder("40 mm", "50 mL"), 100.0)
