"""Dyes and actives that wander: log D against published figures, the colour of both layers, and the course of it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.formula.expansion import Materials
from kit.in_use.colour_readings import WHITE, LayerColours, absorbance, bleed, light_of
from kit.in_use.logged_colours import logged_colours
from kit.in_use.wanderers import bleed_finding, bleeds, read_colours, wanderers, wandering_findings
from kit.in_use.wandering import course, log_d, neutral_share, share_in_oil
from kit.layers.partition import share_out, water_level
from kit.library.ingredient import Figure, Ingredient
from kit.library.library import Library
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


def test_the_day_a_dye_has_left_its_layer_wholly_bounds_nothing_from_above() -> None:
    gone = bleed(LayerColours(dyed(1.0), WHITE), LayerColours(WHITE, dyed(1.0)), 0.5)
    # nothing is left: K may be anything above what the doubt of two photographs, 0.02 of 1.0, leaves at home
    assert (gone.left, gone.k, gone.k_high, gone.k_by_both) == (0, math.inf, math.inf, math.inf)
    assert gone.k_low == pytest.approx((1 / 0.02 - 1) / 0.5, rel=0.01)
    kept = bleed(LayerColours(WHITE, dyed(1.0)), LayerColours(WHITE, dyed(0.9)), 0.5, "oil")
    assert (kept.gained, kept.k_by_both) == (0, math.inf)
    # 0.9 is left: 0.9 / (0.1 × 0.5) = 18, and with the doubt 0.88 / (0.12 × 0.5) = 14.7 to 0.92 / (0.08 × 0.5) = 23
    assert (present(kept.k), kept.k_low, kept.k_high) == pytest.approx((18, 14.7, 23), rel=0.02)


@each_of(
    ("lightness", "light"),
    [(100, 1.0), (50, 0.18418652), (8, 0.00885645), (5, 0.00553528), (1, 0.00110706), (0, 0.0)],
)
def test_the_light_of_a_grey_is_that_of_cie_15(lightness: float, light: float) -> None:
    # CIE 15:2018: Y = ((L* + 16) / 116)³, and below L* = 8 the straight line L* (3/29)³
    assert light_of((lightness, 0, 0)) == pytest.approx([light] * 3, abs=2e-4 * max(light, 0.01))


@each_of(
    ("colour", "light"),
    [
        # L*, a*, b* of the pure lights of sRGB under D65, as tables of colours print them
        ((53.2408, 80.0925, 67.2032), (1, 0, 0)),
        ((87.7347, -86.1827, 83.1793), (0, 1, 0)),
        ((32.2970, 79.1875, -107.8602), (0, 0, 1)),
    ],
)
def test_the_pure_lights_of_a_screen(colour: tuple[float, float, float], light: tuple[float, float, float]) -> None:
    assert light_of(colour) == pytest.approx(light, abs=2e-3)


def test_a_layer_with_too_little_light_is_refused_with_its_own_colour() -> None:
    dark = lab_of((0.015, 0.5, 0.5))
    with pytest.raises(RangeError, match=r"In red light the colour {:g} {:g} {:g} is too dark".format(*dark)):
        absorbance(dark, 0)
    assert absorbance(lab_of((0.0205, 0.5, 0.5)), 0) == pytest.approx(-math.log10(0.0205), abs=0.02)
    # as much as a fiftieth of what the blank lets through, so a tinted blank lets read a darker layer
    assert absorbance(dark, 0, lab_of((0.5, 1, 1))) == pytest.approx(math.log10(0.5 / 0.015), abs=0.05)


def test_a_ratio_of_volumes_and_a_distribution_are_0_or_more() -> None:
    assert (share_in_oil(0, 1), share_in_oil(1, 0)) == (0, 0)
    for wrong in ((-0.5, 1.0), (1.0, -0.5)):
        with pytest.raises(RangeError, match="cannot be: give 0 or more"):
            share_in_oil(*wrong)
    for phi in (0.0, -1.0, math.inf):
        with pytest.raises(RangeError, match="The ratio of oil to water is"):
            bleed(LayerColours(dyed(1), WHITE), LayerColours(dyed(1), WHITE), phi)


def test_what_the_photographs_showed_takes_away_only_what_was_said_of_that_dye() -> None:
    formula, materials = layered(
        {"Aqua": "q.s.", "CI 42090": "0.001", "CI 19140": "0.001"}, {"Squalane": "30", "CI 61565": "0.001"}
    )
    seen = bleeds(read_colours(TYPED), 0.5, "water")[-1][1]
    before = " ".join(one.sentence for one in wandering_findings(formula, materials))
    after = " ".join(one.sentence for one in wandering_findings(formula, materials, None, seen, "CI 42090"))
    assert "CI 42090 and CI 19140: dyes that bear a charge" in before
    assert "CI 19140: dyes that bear a charge" in after
    assert "CI 42090: dyes" not in after
    assert "CI 42090 and" not in after
    assert all("Whether CI 61565 will bleed" in said and "take two photographs" in said for said in (before, after))
    other = wandering_findings(formula, materials, None, seen, "CI 61565")
    assert not any("Whether CI 61565" in one.sentence for one in other)


def test_how_sure_the_photographs_are_is_said() -> None:
    sure = bleed(LayerColours(dyed(1.0), WHITE), LayerColours(dyed(0.5), dyed(0.5)), 1.0)
    # half is gone: K = 1, with the doubt of 0.02: 1 / 0.52 - 1 and 1 / 0.48 - 1
    said = bleed_finding(sure, "").sentence
    assert said.startswith(
        "The dye bleeds: 50 % of its level in the water layer is gone in red light; the oil layer takes"
    )
    assert said.endswith("Had all of it passed over, K would be 1 (0.92 to 1.1).")
    whole = bleed_finding(bleed(LayerColours(dyed(1.0), WHITE), LayerColours(dyed(0.015), dyed(0.9)), 1.0), "Blue")
    assert "to any figure above)." in whole.sentence
    kept = bleed(LayerColours(WHITE, dyed(1.0)), LayerColours(WHITE, dyed(0.99)), 1.0, "oil")
    # 0.99 left, 0.97 at worst: K is 0.97 / 0.03 = 32 at least
    assert "so K is at least 32. Look again later." in bleed_finding(kept, "Red").sentence
    still = bleed(LayerColours(dyed(1.0), WHITE), LayerColours(dyed(0.99), WHITE), 1.0)
    assert "so K is at most 0.031. Look again later." in bleed_finding(still, "Red").sentence
    oily = bleed(LayerColours(WHITE, dyed(1.0)), LayerColours(WHITE, dyed(0.5)), 1.0, "oil")
    assert "but the water layer has gained no colour" in bleed_finding(oily, "Red").sentence


def test_what_bears_no_charge_is_wholly_there_and_what_is_wholly_charged_not_at_all() -> None:
    assert neutral_share(7.0, (4.0,), "neutral") == 1  # a constant that is known of a neutral substance says nothing
    assert (neutral_share(7.0, (), "acid"), neutral_share(7.0, (), "base")) == (1, 1)
    assert log_d(2.0, 14.0, (-330.0,), "acid") == -math.inf  # a share that is nothing to the last digit of a float


@each_of(
    ("charge", "kind", "charged"),
    [("acid", "acid", False), ("base", "base", False), ("nonionic", "neutral", False), ("anionic", "neutral", True),
     ("cationic", "neutral", True), ("amphoteric", "neutral", False)],
)  # fmt: skip
def test_what_a_charge_means_for_a_dye(charge: str, kind: str, charged: bool) -> None:
    own = Ingredient(
        "My dye",
        phase="water",
        roles=("colourant",),
        charge=charge,
        log_p=Figure(2.0, "own"),
        pka=(Figure(7.0, "own"),),
    )
    formula, _ = layered({"Aqua": "q.s.", "My dye": "0.1"}, {"Squalane": "30"})
    (one,) = wanderers(formula, Materials(Library.bundled(), (own,)))
    assert (one.kind, one.is_charged, one.is_dye, one.needs_ph) == (kind, charged, True, kind != "neutral")
    # half of it is charged at its pKa: log P less log 2; what is neither acid nor base has log P itself
    assert present(one.log_d(7.0)) == pytest.approx(2.0 - (math.log10(2) if kind != "neutral" else 0))
    assert one.log_d(None) == 2.0


@each_of(
    ("log_p", "home", "said"),
    [
        (-1.01, "water", ""), (-0.99, "water", "share themselves out"), (0.99, "water", "share themselves out"),
        (1.0, "water", "will wander"), (-1.0, "oil", "will wander"), (0.0, "oil", "share themselves out"),
        (1.01, "oil", ""),
    ],
)  # fmt: skip
def test_who_keeps_to_its_layer_by_octanol(log_p: float, home: str, said: str) -> None:
    # below -1 to the water, above 1 to the oil: our choice
    own = Ingredient("My active", phase="water", roles=("soothing",), log_p=Figure(log_p, "own"))
    water, oil = {"Aqua": "q.s."}, {"Squalane": "30"}
    (oil if home == "oil" else water)["My active"] = "0.1"
    formula, _ = layered(water, oil)
    found = [one.sentence for one in wandering_findings(formula, Materials(Library.bundled(), (own,)), 6.5)]
    assert len(found) == bool(said)
    assert all(f"By octanol at pH 6.5, these {said}" in one for one in found)


def test_a_dye_is_followed_that_takes_a_fifth_of_the_light() -> None:
    # an absorbance of 0.1 lets 10^-0.1 = 79.4 % of the light through
    for strength, pale in ((0.095, True), (0.105, False)):
        start = LayerColours(dyed(strength), WHITE)
        if pale:
            with pytest.raises(RangeError, match="takes only 20 % of the light"):
                bleed(start, start, 1.0)
        else:
            assert bleed(start, start, 1.0).left == 1
    grey = LayerColours(lab_of((0.3, 0.2, 0.6)), WHITE)
    assert bleed(grey, grey, 1.0).channel == "green"  # in which it takes most
