"""The chart of an estimate: what is drawn is what was computed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from kit.figures.shelf_life import MONTHS, TOP, WEEKS, shelf_life_chart, time_unit
from kit.stability.demo import demo_observations, demo_study
from kit.stability.series import Series, acceptance, series_of
from kit.stability.shelf_life import shelf_life
from tests.figures.svg_reading import HOSTILE, assert_within, said, titles, tree

if TYPE_CHECKING:
    from kit.stability.shelf_life import ShelfLife

STUDY, ROWS = demo_study(), demo_observations()


def estimate(condition: str = "warm_box", attribute: str = "ph", **more: object) -> tuple[ShelfLife, list[Series]]:
    series = series_of(STUDY, ROWS, condition, attribute)
    lower, upper, _ = acceptance(STUDY, attribute, ROWS, condition)
    return shelf_life(series, lower=lower, upper=upper, **more), series  # type: ignore[arg-type]


def chart(result: ShelfLife, series: list[Series], title: str = "pH", width: float = 840) -> str:
    return shelf_life_chart(result, series, title=title, y_title="pH", colour="#1f9070", width=width)


def lines(svg: str) -> list[tuple[str, list[tuple[float, float]]]]:
    """Every line: its dash and its points."""
    found = []
    for element in tree(svg).iter("{http://www.w3.org/2000/svg}polyline"):
        points = [tuple(map(float, pair.split(","))) for pair in element.get("points", "").split()]
        found.append((element.get("stroke-dasharray", ""), points))
    return found  # type: ignore[return-value]


def upright(svg: str) -> list[float]:
    """Where an upright line runs through the chart. [px]"""
    return [p[0][0] for _, p in lines(svg) if len(p) == 2 and p[0][0] == p[1][0] and p[0][1] < TOP < p[1][1]]


def test_every_reading_is_a_mark_that_says_what_it_is() -> None:
    result, series = estimate()
    told = titles(chart(result, series))
    assert len(told) == sum(len(one.days) for one in series)
    assert f"batch TL-01, day 84: {series[0].values[-1]:.4g}" in told


def test_limits_last_reading_reach_and_estimate_are_named() -> None:
    result, series = estimate(warm="no significant change")
    words = said(chart(result, series))
    assert result.days == int(min(result.crossing or 0, 168))
    assert f"lower limit {result.asked.lower:.5g}" in words
    assert f"upper limit {result.asked.upper:.5g}" in words
    assert "last reading, week 12" in words
    assert "may reach week 24" in words
    assert any(word.startswith(f"estimate {result.days:.0f} days, week ") for word in words)


def test_the_estimate_stands_where_the_band_meets_the_limit() -> None:
    result, series = estimate()
    drawn = chart(result, series)
    assert result.crossing is not None
    axis = [element for element in lines(drawn) if element[0] == "6 3"]
    left, right = axis[0][1][0][0], axis[0][1][-1][0]
    horizon = 1.06 * max(84.0, result.crossing)
    low, high = -0.02 * horizon, horizon
    expected = left + ((result.days or 0) - low) / (high - low) * (right - left)
    assert any(x == pytest.approx(expected, abs=0.2) for x in upright(drawn))
    band = result.band([result.crossing])[result.governing]
    assert min(abs(band.lower[0] - (result.asked.lower or 0)), abs(band.upper[0] - (result.asked.upper or 9))) < 1e-6


def test_beyond_the_last_reading_every_line_is_dashed() -> None:
    result, series = estimate(warm="no significant change")
    drawn = chart(result, series)
    last = next(x for x, word in zip(sorted(upright(drawn)), range(9), strict=False) if word == 1)
    dashed = [points for dash, points in lines(drawn) if dash == "6 5" and len(points) > 2]
    solid = [points for dash, points in lines(drawn) if not dash and len(points) > 30]
    assert len(dashed) == len(result.fits)
    assert all(points[0][0] >= last - 0.2 for points in dashed)
    means = [points for points in solid if points[-1][0] <= last + 0.2]
    assert len(means) >= len(result.fits)


def test_a_crossing_beyond_the_cap_is_named_where_it_is_near() -> None:
    result, series = estimate(attribute="mass")
    assert result.cap is not None
    assert result.crossing is not None
    assert result.days == result.cap.days < result.crossing
    assert any(word.startswith("limit met at week ") for word in said(chart(result, series)))
    far, flat = estimate("fridge")
    assert not any(word.startswith("limit met") for word in said(chart(far, flat)))


def test_too_few_readings_are_still_drawn() -> None:
    series = [Series("A", (0, 7), (5.3, 5.2))]
    result = shelf_life(series, lower=4.8)
    drawn = chart(result, series)
    assert len(titles(drawn)) == 2
    assert "Nothing was computed." in (tree(drawn).get("aria-label") or "")
    assert not any(word.startswith("estimate") for word in said(drawn))


def test_without_any_reading_there_is_a_frame() -> None:
    assert titles(chart(shelf_life([], lower=4.8), [])) == []


def test_a_common_line_is_drawn_once() -> None:
    one = Series("A", (0, 28, 56, 84), (5.31, 5.24, 5.18, 5.11))
    two = Series("B", (0, 28, 56, 84), (5.30, 5.25, 5.17, 5.12))
    result = shelf_life([one, two], lower=4.8)
    assert result.model_key == "common line"
    drawn = chart(result, [one, two])
    assert len([points for dash, points in lines(drawn) if dash == "6 5" and len(points) > 2]) == 1


def test_weeks_for_a_short_study_months_for_a_long_one() -> None:
    assert time_unit(84) is WEEKS
    assert time_unit(800) is MONTHS
    assert WEEKS.said(31) == "week 4.4"
    assert MONTHS.said(365.25) == "month 12"


@pytest.mark.parametrize("width", [600, 700, 840])
@pytest.mark.parametrize("place", ["cupboard", "fridge", "warm_box", "window"])
@pytest.mark.parametrize("attribute", ["ph", "colour", "shakes_to_remix", "mass"])
def test_no_word_leaves_the_picture(width: float, place: str, attribute: str) -> None:
    assert_within(chart(*estimate(place, attribute), width=width))


def test_what_a_person_typed_stays_text() -> None:
    series = [Series(HOSTILE, (0, 28, 56, 84), (5.31, 5.24, 5.18, 5.11))]
    drawn = chart(shelf_life(series, lower=4.8), series, title=HOSTILE)
    assert "<script" not in drawn
    assert not re.search("[\x00\u202e]", drawn)
    assert len(titles(drawn)) == 4
