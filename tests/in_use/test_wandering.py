"""Dyes and actives that wander: log D against published figures, the colour of both layers, and the course of it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.in_use.colour_readings import WHITE, LayerColours, absorbance, bleed, light_of
from kit.in_use.logged_colours import logged_colours
from kit.in_use.wanderers import bleeds, read_colours, wanderers, wandering_findings
from kit.in_use.wandering import course, log_d, neutral_share, share_in_oil
from kit.layers.partition import share_out, water_level
from kit.stability.photos.colour import lab_of
from kit.stability.study import Observation
from tests.in_use.some_products import layered
from tests.present import present
from tests.rows import each_of

#: log P, pKa, kind, pH, log D and its source.
PUBLISHED = [
    (3.97, (4.91,), "acid", 7.4, 1.48, "ibuprofen, both from memory: log P less log(1 + 10^2.49)"),
    (2.26, (2.98,), "acid", 2.98, 1.959, "at the pKa half is charged: log P - log 2"),
    (1.58, (9.25,), "base", 9.25, 1.279, "a base at its pKa: log P - log 2"),
    (1.87, (4.21,), "acid", 6.21, -0.134, "benzoic acid two units above its pKa: log P - log 101"),
    (-0.07, (), "neutral", 5.0, -0.07, "caffeine bears no charge: log D is log P (crc-log-p, data/properties)"),
    (1.57, (4.55, 5.50), "acid", 2.0, 1.569, "azelaic acid far below its constants (data/properties)"),
]  # fmt: skip


@each_of(("log_p", "pka", "kind", "ph", "expected", "source"), PUBLISHED)
def test_log_d(log_p: float, pka: tuple[float, ...], kind: str, ph: float, expected: float, source: str) -> None:
    assert source
    assert log_d(log_p, ph, pka, kind) == pytest.approx(expected, abs=0.006)  # type: ignore[arg-type]


def test_two_constants_count_both_forms() -> None:
    """1 / (1 + 10^(pH - pK1) + 10^(2 pH - pK1 - pK2)): the usual form for an acid with two protons, by hand."""
    by_hand = 1 / (1 + 10 ** (5 - 4.55) + 10 ** (10 - 4.55 - 5.50))
    assert neutral_share(5.0, (5.50, 4.55), "acid") == pytest.approx(by_hand)
    assert neutral_share(5.0, (4.55, 5.50), "base") == pytest.approx(10 ** (10 - 10.05) * by_hand)
    with pytest.raises(RangeError, match="pH of 15"):
        log_d(1, 15, (4,), "acid")


@given(st.floats(0, 1e4), st.floats(0.01, 100))
def test_what_is_not_in_the_oil_is_in_the_water(d: float, phi: float) -> None:
    """The same as Bean's level in water (J. Soc. Cosmet. Chem. 23 (1972) 715), and no mass is lost."""
    share = share_in_oil(d, phi)
    left = water_level(1.0, phi, d) / (1 + phi)
    assert share + left == pytest.approx(1, abs=1e-9)
    there = share_out(1.0, 50, 50 * phi, d)
    assert there.oil * 50 * phi / 100 == pytest.approx(share, abs=1e-9)


def test_a_share_that_cannot_be_is_refused() -> None:
    assert share_in_oil(math.inf, 1) == 1
    with pytest.raises(RangeError, match="cannot be"):
        share_in_oil(-1, 1)


@given(st.tuples(st.floats(0.03, 1), st.floats(0.03, 1), st.floats(0.03, 1)))
def test_light_and_colour_are_each_others_way_back(light: tuple[float, float, float]) -> None:
    """IEC 61966-2-1:1999 prints both matrices to four places, so they agree to about 0.001."""
    assert light_of(lab_of(light)) == pytest.approx(light, abs=2e-3)


def test_half_the_light_is_an_absorbance_of_0_301() -> None:
    """log10(2), by Lambert and Beer."""
    half = lab_of((0.5, 1.0, 1.0))
    assert absorbance(half, 0) == pytest.approx(math.log10(2), abs=2e-3)
    assert absorbance(half, 1) == pytest.approx(0, abs=2e-3)
    assert absorbance(half, 0, half) == pytest.approx(0)
    with pytest.raises(RangeError, match=r"In red light .* too dark"):
        absorbance(lab_of((0.01, 1, 1)), 0)


def dyed(strength: float) -> tuple[float, float, float]:
    """A layer with a blue dye after Lambert and Beer: so much absorbance in red."""
    red, green, blue = lab_of((10**-strength, 10 ** (-strength / 6), 1.0))
    return red, green, blue


@given(st.floats(0.05, 8), st.floats(0.2, 4), st.floats(0.5, 1.2))
def test_k_is_found_again_from_the_colours_that_it_makes(k: float, phi: float, strength: float) -> None:
    in_water = 1 / (1 + k * phi)
    start = LayerColours(dyed(strength), WHITE)
    if k * in_water * strength > 1.6:
        return  # the oil would be too dark to read
    now = LayerColours(dyed(strength * in_water), dyed(strength * k * in_water))
    seen = bleed(start, now, phi)
    assert seen.channel == "red"
    assert seen.left == pytest.approx(in_water, abs=0.02)
    assert seen.k_low <= k <= seen.k_high
    if seen.is_seen and in_water * strength > 0.1:
        assert present(seen.k) == pytest.approx(k, rel=0.1)
        assert seen.k_by_both == pytest.approx(k, rel=0.1, abs=0.02)
    assert bleed(LayerColours(WHITE, dyed(strength)), LayerColours(WHITE, dyed(strength)), phi, "oil").left == 1


def test_a_dye_of_the_oil_is_followed_too_and_what_cannot_be_followed_is_refused() -> None:
    phi, k = 0.5, 4.0
    left = k * phi / (1 + k * phi)
    start, now = LayerColours(WHITE, dyed(1.0)), LayerColours(dyed(left / k), dyed(left))
    seen = bleed(start, now, phi, "oil")
    assert present(seen.k) == pytest.approx(k, rel=0.05)
    assert seen.k_by_both == pytest.approx(k, rel=0.05)
    with pytest.raises(RangeError, match="too pale to follow"):
        bleed(LayerColours(WHITE, WHITE), now, phi)
    for passes, takes in ((0.926, 7), (0.82, 18)):  # what is not let through is taken, to whole percents
        pale = LayerColours(dyed(-math.log10(passes)), WHITE)
        with pytest.raises(RangeError, match=f"At the start the water layer takes only {takes} % of the light"):
            bleed(pale, pale, phi)
    with pytest.raises(RangeError, match="ratio of oil to water is 0"):
        bleed(start, now, 0)


@given(st.floats(0.02, 0.5), st.floats(-1, 1), st.floats(0.5, 3))
def test_a_course_without_scatter_is_found_again(rate: float, end: float, gap: float) -> None:
    days = [0, 3, 7, 14, 28, 56]
    found = course(days, [end + gap * math.exp(-rate * day) for day in days])
    assert found.rate == pytest.approx(rate, rel=1e-3)
    assert (found.start, found.end) == pytest.approx((end + gap, end), abs=2e-3)
    assert found.at(found.half_time) == pytest.approx(end + gap / 2, abs=2e-3)
    assert present(found.slowest) <= rate <= present(found.fastest)


def test_the_interval_of_a_rate_holds_the_truth_about_as_often_as_it_says() -> None:
    """95 % within what 200 courses with scatter allow: 0.89 to 0.99, seeded; the rows are made with NumPy."""
    import numpy as np

    scatter = np.random.default_rng(7)
    days = [0, 2, 5, 9, 14, 21, 35, 60]
    held = 0
    for _ in range(200):
        values = [0.6 + 0.4 * math.exp(-0.08 * day) + float(scatter.normal(0, 0.01)) for day in days]
        found = course(days, values)
        held += (found.slowest or 0) <= 0.08 <= (found.fastest or math.inf)
    assert 0.89 <= held / 200 <= 0.99


#: Days, readings with scatter, and the upper 5 % point of F with 1 and n - 3 degrees, as tables print it.
SCATTERED = [
    ((0, 2, 5, 9, 14, 21, 35, 60), (1.01, 0.93, 0.88, 0.79, 0.74, 0.66, 0.63, 0.60), 6.61),
    ((0, 6, 18, 50), (1.0, 0.8, 0.66, 0.6), 161.4),
]


@each_of(("days", "readings", "f"), SCATTERED)
def test_the_ends_of_a_rate_are_where_the_sum_of_squares_has_grown_by_f(
    days: tuple[float, ...], readings: tuple[float, ...], f: float
) -> None:
    """Bates and Watts (1988), profile likelihood (from memory): 1 + F / (n - 3) times the least; NumPy as the judge."""
    import numpy as np
    from scipy.optimize import minimize_scalar

    def squares(rate: float) -> float:
        line = np.stack([np.ones(len(days)), np.exp(-rate * np.array(days))], axis=1)
        return float(((line @ np.linalg.lstsq(line, np.array(readings))[0] - readings) ** 2).sum())

    found = course(days, readings)
    judge = minimize_scalar(squares, bounds=(0.01, 1), method="bounded", options={"xatol": 1e-10})
    free = len(days) - 3
    assert found.rate == pytest.approx(judge.x, rel=1e-4)
    assert found.spread == pytest.approx(math.sqrt(judge.fun / free), rel=1e-6)
    most, step = judge.fun * (1 + f / free), 10_000 ** (1 / 599)  # 600 rates from 0.02 to 200, evenly in the logarithm
    slowest, fastest = present(found.slowest), present(found.fastest)
    assert squares(slowest) > most > squares(slowest * step * 1.001)
    assert squares(fastest) > most > squares(fastest / step / 1.001)


def test_readings_that_bound_no_rate_say_so_and_few_are_refused() -> None:
    flat = course([0, 7, 14, 28, 56], [1, 1.01, 0.99, 1.0, 1.005])
    assert not flat.is_determined
    with pytest.raises(EntryError, match="at least 4 readings"):
        course([0, 1, 2], [1, 0.9, 0.8])
    with pytest.raises(EntryError, match="neither"):
        course([0, 1, 2, 3], [1, 0.9, 0.8, math.nan])


TYPED = """0; 62 -20 -15; 98 0 2
7; 65 -18 -13; 97.5 -1 1

28; 70 -16 -12; 97 -2 0
56; 72 -15 -11; 96 -3 0"""


def test_colours_typed_day_by_day_become_a_course() -> None:
    every = bleeds(read_colours(TYPED), 0.5, "water")
    assert [day for day, _ in every] == [7, 28, 56]
    assert all(one.left > other.left for (_, one), (_, other) in pairwise(every))
    for wrong, words in (
        ("0; 62 -20 -15", "Line 1 is '0; 62 -20 -15'"),
        ("0; 62 -20; 98 0 2", "Line 1: .*cannot be read as a colour"),
        ("x; 62 -20 -15; 98 0 2", "Line 1"),
        ("0; 62 -20 -15; 98 0 2", "at least two days"),
        ("7; 62 -20 -15; 98 0 2\n0; 62 -20 -15; 98 0 2", "earliest first"),
    ):
        with pytest.raises(EntryError, match=words):
            read_colours(wrong)
    assert read_colours(" \n") == []


def seen(number: int, point: str, attribute: str, value: str, day: int, replaces: int | None = None) -> Observation:
    on = date(2026, 3, 1) + timedelta(days=day)
    return Observation(number, 1, "TL-01", "window", point, attribute, value, None, on, replaces=replaces)


def test_a_stability_log_gives_the_colours_of_both_layers() -> None:
    rows = [
        seen(1, "start", "colour", "98 0 2", 0),
        seen(2, "start", "colour_lower", "60 0 0", 0),
        seen(3, "start", "colour_lower", "62 -20 -15", 0, replaces=2),
        seen(4, "4 weeks", "colour", "97 -2 0", 29),
        seen(5, "4 weeks", "colour_lower", "70 -16 -12", 29),
        seen(6, "1 week", "colour", "97.5 -1 1", 7),
        seen(7, "1 week", "ph", "5.1", 7),
    ]
    found = logged_colours(rows, "TL-01", "window")
    assert [one.day for one in found] == [0, 29], "where one layer was not read, the day is left out"
    assert found[0].colours == LayerColours((62, -20, -15), (98, 0, 2))
    assert logged_colours(rows, "TL-01", "window", "water")[0].colours.water == (98, 0, 2)
    assert bleeds(found, 0.5, "water")[0][1].is_seen
    with pytest.raises(EntryError, match="at 0 pulls"):
        logged_colours(rows, "TL-01", "fridge")


def test_dyes_and_actives_of_a_formula_with_what_is_known() -> None:
    formula, materials = layered(
        {"Aqua": "q.s.", "CI 42090": "0.001", "Azelaic Acid": "1", "CI 77891": "0.1", "Phenoxyethanol": "0.8"},
        {"Squalane": "30", "CI 61565": "0.001", "Tocopherol": "0.2"},
    )
    every = {one.inci: one for one in wanderers(formula, materials)}
    assert set(every) == {"CI 42090", "Azelaic Acid", "CI 61565", "Tocopherol"}, "no pigment, no preservative"
    assert every["CI 42090"].is_charged
    assert (every["CI 61565"].home, every["CI 61565"].is_charged) == ("oil", False)
    assert present(every["Azelaic Acid"].log_d(8.0)) < -3 < present(every["Azelaic Acid"].log_d(None))
    said = " ".join(finding.sentence for finding in wandering_findings(formula, materials))
    assert "Whether CI 61565 will bleed cannot be known beforehand" in said
    assert "CI 42090: dyes that bear a charge" in said
    assert "By octanol, these will wander: Azelaic Acid (log D 1.6) from the water layer" in said
    assert "measure it in the water layer" in said
    assert "Tocopherol" not in said.split("these will wander: ")[1], "it keeps to its oil"
    assert "Azelaic Acid" not in " ".join(one.sentence for one in wandering_findings(formula, materials, 8.0))
    assert wandering_findings(*layered({"Aqua": "q.s.", "CI 42090": "0.001"}, {})) == []
    strange = wanderers(*layered({"Aqua": "q.s.", "Strange Dye": "0.1"}, {"Squalane": "30"}))
    assert strange == ()  # of what the library does not know nothing can be told


def test_what_two_photographs_show_takes_the_place_of_what_is_unknown() -> None:
    formula, materials = layered({"Aqua": "q.s.", "CI 42090": "0.001"}, {"Squalane": "30"})
    seen = bleeds(read_colours(TYPED), 0.5, "water")[-1][1]
    found = wandering_findings(formula, materials, None, seen, "CI 42090")
    assert found[0].severity == "caution"
    assert found[0].sentence.startswith("CI 42090 bleeds: 40 % of its level in the water layer is gone in red light")
    assert "Take two photographs" not in " ".join(one.sentence for one in found)
    still = bleed(LayerColours(dyed(0.5), WHITE), LayerColours(dyed(0.495), WHITE), 0.5)
    kept = wandering_findings(formula, materials, None, still, "CI 42090")[0]
    assert (kept.severity, "kept its colour" in kept.sentence) == ("note", True)
    faded = bleed(LayerColours(dyed(0.5), WHITE), LayerColours(dyed(0.3), WHITE), 0.5)
    assert "fading is as likely" in wandering_findings(formula, materials, None, faded, "CI 42090")[0].sentence


def test_octanol_tells_who_leaves_which_layer() -> None:
    # log P below -1 keeps to water, above 1 to oil (our choice); the values are those of the library, with its sources
    for layer, known, words in (
        ("oil", {"Caffeine": "0.5"}, ("share themselves out between both layers: Caffeine", None)),
        ("oil", {"Ascorbic Acid": "0.5"}, ("these will wander: Ascorbic Acid", "from the oil layer")),
        ("water", {"Tocopherol": "0.2"}, ("these will wander: Tocopherol", "from the water layer")),
    ):
        water, oil = {"Aqua": "q.s."}, {"Squalane": "30"}
        (oil if layer == "oil" else water).update(known)
        said = " ".join(one.sentence for one in wandering_findings(*layered(water, oil)))
        for part in filter(None, words):
            assert part in said, (layer, known, said)
