"""The cost across the ratios as a drawing: stacked phases to scale, the window clear, every text escaped."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest

from kit.bench.cost_across import CostAcross, CostPart
from kit.figures.cost import HEIGHT, WIDTH, cost_picture

SVG = "{http://www.w3.org/2000/svg}"
ACROSS = CostAcross(
    "EUR",
    (CostPart("Water layer", "water", 0.2, -0.002), CostPart("Oil layer", "oil", 0.0, 0.05)),
    now=20.0,
    low=0.0,
    high=100.0,
    missing=(),
)


def texts(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{SVG}text")]


def shapes(svg: str, colour: str) -> list[list[tuple[float, float]]]:
    """The corners of each area in this colour."""
    return [
        [(float(x), float(y)) for x, y in (pair.split(",") for pair in (area.get("points") or "").split())]
        for area in ET.fromstring(svg).iter(f"{SVG}polygon")
        if colour in (area.get("style") or "")
    ]


def test_each_phase_is_a_band_to_scale_and_the_bands_touch() -> None:
    svg = cost_picture(ACROSS)
    (water,), (oil,) = shapes(svg, "--sw-water"), shapes(svg, "--sw-oil")
    heights = [abs(water[0][1] - water[1][1]), abs(oil[2][1] - oil[3][1])]
    assert heights[1] / heights[0] == pytest.approx(5.0 / 0.2, rel=0.02)
    assert water[1] == oil[0]
    assert water[2] == oil[3]


def test_what_it_says() -> None:
    svg = cost_picture(ACROSS, window=(10, 40))
    said = texts(svg)
    assert "now 20.0 %: 1.16 EUR" in said
    assert "what was judged holds from 10.0 % (0.68 EUR) to 40.0 % (2.12 EUR)" in said
    assert {"Water layer", "Oil layer", "oil layer, % of the whole by mass", "EUR for 100 g"} <= set(said)
    assert ET.fromstring(svg).get("aria-label") == (
        "100 g cost 1.16 EUR with an oil layer of 20.0 %; 0.20 EUR at 0.0 % and 5.00 EUR at 100.0 %; "
        "what was judged holds from 10.0 % (0.68 EUR) to 40.0 % (2.12 EUR)"
    )


def test_outside_the_window_there_is_a_veil() -> None:
    veils = shapes(cost_picture(ACROSS, window=(10, 40)), "--sw-paper")
    (left, right) = [(min(x for x, _ in veil), max(x for x, _ in veil)) for veil in veils]
    axis = right[1] - left[0]
    assert (left[1] - left[0]) / axis == pytest.approx(0.1, abs=0.01)
    assert (right[1] - right[0]) / axis == pytest.approx(0.6, abs=0.01)
    assert shapes(cost_picture(ACROSS), "--sw-paper") == []
    assert shapes(cost_picture(ACROSS, window=(-5, 120)), "--sw-paper") == []


@pytest.mark.parametrize("oil", [-5, 0, 50, 99.9, 150])
def test_everything_stays_inside_the_picture(oil: float) -> None:
    svg = cost_picture(ACROSS, now=oil, window=(0, 99))
    for text in ET.fromstring(svg).iter(f"{SVG}text"):
        assert 0 <= float(text.get("x", 0)) <= WIDTH
        assert 0 <= float(text.get("y", 0)) <= HEIGHT
    numbers = [float(pair) for pair in re.findall(r"[\d.]+", " ".join(re.findall(r'points="([^"]*)"', svg)))]
    assert max(numbers) <= WIDTH


def test_a_missing_price_makes_it_at_least() -> None:
    svg = cost_picture(replace(ACROSS, missing=("Parfum",)), window=(10, 40))
    said = texts(svg)
    assert "at least EUR for 100 g" in said
    assert "now 20.0 %: at least 1.16 EUR" in said
    assert "what was judged holds from 10.0 % (at least 0.68 EUR) to 40.0 % (at least 2.12 EUR)" in said
    told = str(ET.fromstring(svg).get("aria-label"))
    assert told.count("at least") == told.count("EUR") == 5


def test_several_phases_of_one_layer_differ_and_long_names_are_cut() -> None:
    parts = tuple(CostPart("A very long name of a phase that goes on and on", "oil", 0.1, 0.01) for _ in range(3))
    svg = cost_picture(replace(ACROSS, parts=parts))
    assert len(set(re.findall(r'fill-opacity="([\d.]+)"', svg))) == 3
    places = [
        float(text.get("y", 0)) for text in ET.fromstring(svg).iter(f"{SVG}text") if (text.text or "").endswith("…")
    ]
    assert len(places) == 3
    assert all(b - a >= 16.9 for a, b in pairwise(places))


def test_hostile_names_stay_text() -> None:
    svg = cost_picture(replace(ACROSS, parts=(CostPart('<script>"', "oil", 0, 1),), currency="<b>"))
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "<b>" not in svg


def test_nothing_to_draw_where_no_ratio_can_move_or_nothing_costs() -> None:
    assert cost_picture(replace(ACROSS, high=0.0)) == ""
    free = replace(ACROSS, parts=(CostPart("W", "water", 0, 0),), currency="")
    assert "money for 100 g" in texts(cost_picture(free))
