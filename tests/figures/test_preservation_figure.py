"""The picture of levels against the ratio: sound SVG, every curve named at its end, nothing hung on colour."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.figures.preservation import (
    APART,
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    level_near,
    level_picture,
    spread,
    ticks,
)
from kit.layers.preservation_end import LevelCurve

NONE_IN_OIL = LevelCurve("none of it in the oil", ((0.0, 0.30), (30.0, 0.43), (60.0, 0.75)), is_simple=True)
K_1 = LevelCurve("K 1", ((0.0, 0.30), (30.0, 0.31), (60.0, 0.32)), is_known=False)
K_10 = LevelCurve("K 10", ((0.0, 0.30), (30.0, 0.08), (60.0, 0.05)), is_known=False)
ALL = (NONE_IN_OIL, K_1, K_10)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(**how: object) -> ET.Element:
    """The picture as an XML tree, which fails where it is not well formed."""
    options: dict[str, object] = {"title": "Estimated level", "now": 15.0, "window": (10.0, 33.0), "least": 0.2}
    return ET.fromstring(level_picture(ALL, **{**options, **how}))  # type: ignore[arg-type]


def texts(tree: ET.Element) -> list[str]:
    return [text.text or "" for text in tree.iter(f"{SVG}text")]


def test_title_axes_marks_and_ends_are_in_words() -> None:
    said = texts(drawn())
    for words in (
        "Estimated level",
        "oil layer, % of the whole by mass",
        "in the water layer, % w/w of it",
        "window of ratios, 10.0 to 33.0 %",
        "now 15.0 %",
        "your least level, 0.2 %",
        "none of it in the oil",
        "K 1",
        "K 10",
    ):
        assert words in said


def test_every_curve_has_a_dash_of_its_own_and_its_name_stands_right_of_the_plot() -> None:
    tree = drawn()
    curves = [path for path in tree.iter(f"{SVG}path") if path.get("class") == "sw-curve"]
    dashes = [re.search(r"stroke-dasharray:([\d ]+)", path.get("style", "")) for path in curves]
    assert len({dash[1] if dash else "" for dash in dashes}) == len(ALL)
    places = {
        text.text: (float(text.get("x", 0)), float(text.get("y", 0)))
        for text in tree.iter(f"{SVG}text")
        if text.get("x")
    }
    names = [places[curve.name] for curve in ALL]
    assert all(x > WIDTH - RIGHT for x, _ in names)
    heights = sorted(y for _, y in names)
    assert all(b - a >= APART - 1e-6 for a, b in pairwise(heights))
    # in the order of the curves at their ends
    assert places["none of it in the oil"][1] < places["K 1"][1] < places["K 10"][1]


def test_the_window_is_a_band_between_its_ends() -> None:
    (band,) = (rect for rect in drawn().iter(f"{SVG}rect") if rect.get("class") == "sw-window")
    width = WIDTH - LEFT - RIGHT
    assert float(band.get("x", 0)) == pytest.approx(LEFT + width * 10 / 60, abs=0.1)
    assert float(band.get("width", 0)) == pytest.approx(width * 23 / 60, abs=0.2)
    assert not list(drawn(window=None).iter(f"{SVG}rect"))
    assert not list(drawn(window=(70.0, 90.0)).iter(f"{SVG}rect"))


def test_each_curve_has_a_point_at_the_ratio_in_hand() -> None:
    circles = list(drawn().iter(f"{SVG}circle"))
    assert len(circles) == len(ALL)
    assert len({circle.get("cx") for circle in circles}) == 1
    assert not list(drawn(now=None).iter(f"{SVG}circle"))


def test_without_a_wish_there_is_no_line_for_it() -> None:
    assert not [words for words in texts(drawn(least=None)) if "least" in words]


def test_nothing_is_drawn_outside() -> None:
    steep = LevelCurve("all in the water", ((0.0, 0.3), (50.0, 0.6), (99.0, 30.0)), is_simple=True)
    tree = ET.fromstring(level_picture([steep, K_10], title="x", now=15.0, window=(1.0, 90.0), least=0.2))
    for path in tree.iter(f"{SVG}path"):
        if path.get("class") == "sw-curve":
            numbers = [float(n) for n in re.findall(r"-?\d+\.\d", path.get("d", ""))]
            assert all(LEFT - 0.1 <= x <= WIDTH - RIGHT + 0.1 for x in numbers[::2])
            assert all(TOP - 0.1 <= y <= HEIGHT - BOTTOM + 0.1 for y in numbers[1::2])


def test_what_a_person_typed_is_escaped_and_read_out() -> None:
    picture = level_picture(ALL, title='<script>"x"</script>', now=15.0, least=0.2)
    assert "<script>" not in picture
    label = ET.fromstring(picture).get("aria-label", "")
    assert label.startswith(
        '<script>"x"</script>. With an oil layer of 15.0 %, in the water layer: none of it in the oil'
    )
    assert label.endswith("Your least level is 0.2 %")
    assert ET.fromstring(picture).get("role") == "img"


def test_colours_follow_the_theme() -> None:
    colours = re.findall(
        r"(?:fill|stroke):([^;\"]+)", level_picture(ALL, title="x", now=15.0, window=(1, 2), least=0.2)
    )
    assert colours
    assert all(colour.startswith("var(--sw-") or colour == "none" for colour in colours)


def test_levels_between_points() -> None:
    assert level_near(K_10, 15.0) == pytest.approx(0.19)
    assert level_near(K_10, -5) == 0.30
    assert level_near(K_10, 99) == 0.05


def test_a_single_ratio_can_be_drawn() -> None:
    still = LevelCurve("none of it in the oil", ((0.0, 0.3), (0.0, 0.3)))
    assert "0.3" in level_picture([still], title="x", now=0.0)


@given(low=st.floats(0, 50), span=st.floats(1e-3, 100))
def test_ticks_are_even_and_inside(low: float, span: float) -> None:
    marks = ticks(low, low + span)
    assert 1 <= len(marks) <= 8
    assert all(low - 1e-6 * span <= mark <= low + span * (1 + 1e-6) for mark in marks)
    steps = [b - a for a, b in pairwise(marks)]
    assert all(step == pytest.approx(steps[0], rel=1e-6) for step in steps)


@given(places=st.lists(st.floats(TOP, HEIGHT - BOTTOM), min_size=1, max_size=6))
def test_labels_keep_apart_and_stay_inside(places: list[float]) -> None:
    placed = spread(sorted(places))
    assert all(b - a >= APART - 1e-9 for a, b in pairwise(placed))
    assert placed[-1] <= HEIGHT - BOTTOM + 1e-9
