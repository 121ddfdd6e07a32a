"""The triangle of blends: its places, its levels, hostile names, and how quickly it is drawn."""

from __future__ import annotations

import re
import time
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.blends.models import fit_blend
from kit.blends.region import BlendRegion, Part
from kit.blends.trial_file import demo_trial
from kit.errors import KitError
from kit.figures.mixture import Sign, line_picture, triangle_picture
from kit.figures.triangle_cut import Cut, pixel
from tests.figures.svg_reading import HOSTILE, assert_within, said, titles, tree
from tests.pace import on_this_machine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.blends.region import Point

TRIAL = demo_trial()
CUT = Cut(TRIAL.region, (0, 1, 2), TRIAL.region.middle)
BOTTLES = [(bottle.code, bottle.point) for bottle in TRIAL.bottles]


def first_share(points: Sequence[Point]) -> list[float]:
    return [point[0] for point in points]


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_blend_is_found_where_it_is_drawn(one: float, two: float) -> None:
    low, high = sorted((one, two))
    weights = (low, high - low, 1 - high)
    blend = CUT.blend(weights)
    assert sum(blend) == pytest.approx(100)
    assert CUT.weights(blend) == pytest.approx(weights)
    x, y = pixel(weights)
    assert 0 <= x <= 640
    assert 50 <= y <= 401


@given(st.lists(st.integers(0, 30), min_size=4, max_size=4), st.lists(st.integers(20, 100), min_size=4, max_size=4))
def test_the_allowed_part_is_the_region(lows: list[int], more: list[int]) -> None:
    parts = tuple(Part(name, low, min(low + room, 100)) for name, low, room in zip("abcd", lows, more, strict=True))
    try:
        region = BlendRegion(parts)
        cut = Cut(region, (0, 1, 2), region.middle)
    except KitError:
        assume(False)
        raise
    corners = [cut.blend(corner) for corner in cut.allowed()]
    assert corners
    assert all(region.holds(corner, 1e-6) for corner in corners)
    tree(triangle_picture(cut, scores=first_share))


def test_lines_of_equal_score_lie_where_the_score_is_that() -> None:
    """The score is the first part's share, so a line at 40 is level with the mark 40 % of the way."""
    picture = triangle_picture(CUT, scores=first_share, what="share")
    assert {"20", "30", "40", "50", "60"} <= set(said(picture))
    paths = re.findall(r'<path d="(M[^Z"]+)" style="fill:none', picture)
    heights = [{float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", path)} for path in paths]
    expected = [pixel(CUT.weights((share, 100 - share, 0)))[1] for share in (20, 30, 40, 50, 60)]
    assert [len(found) for found in heights] == [1] * 5
    assert [height for found in heights for height in found] == pytest.approx(expected, abs=0.06)
    assert "Lines of equal share at 20, 30, 40, 50, 60." in (tree(picture).get("aria-label") or "")


def test_bottles_signs_and_what_is_held_are_told() -> None:
    signs = [Sign("best", (50, 35, 15), "half of it"), Sign("next", (20, 40, 40)), Sign("here", (30, 30, 40))]
    picture = triangle_picture(CUT, bottles=BOTTLES, signs=signs)
    assert len(titles(picture)) == len(BOTTLES) + 3
    assert titles(picture)[0] == "869: Squalane 70 %, Coco-Caprylate 15 %, Simmondsia Chinensis Seed Oil 15 %"
    assert {"bottle", "best", "next", "here"} <= set(said(picture))
    four = BlendRegion((*TRIAL.region.parts, Part("Bisabolol", 0, 5)))
    cut = Cut(four, (0, 1, 2), (40, 30, 28, 2))
    picture = triangle_picture(cut, bottles=[("1", (40, 30, 28, 2)), ("2", (40, 30, 25, 5))])
    assert "held: Bisabolol 2 %" in said(picture)
    assert picture.count("opacity:0.35") == 1  # the bottle beside the cut
    with pytest.raises(KitError, match="leave no room"):
        Cut(four, (0, 1, 2), (15, 15, 15, 60))
    much = BlendRegion((Part("a", 0, 10), Part("b", 0, 10), Part("c", 0, 10), Part("d", 70, 90)))
    nowhere = Cut(much, (0, 1, 2), (0, 0, 0, 0))
    assert "no allowed blend in this cut" in said(triangle_picture(nowhere, scores=first_share))


def test_two_parts_are_a_line() -> None:
    region = BlendRegion((Part(HOSTILE, 10, 80), Part("b")))
    fit = fit_blend([(10, 90), (80, 20), (40, 60), (40, 60)], [2.0, 3.0, 5.0, 5.4], "quadratic", region.names, HOSTILE)
    tree(line_picture(region, fit, signs=[Sign("here", (30, 70))]))
    exact = fit_blend([(10, 90), (80, 20)], [2.0, 3.0], "linear", region.names, "slip")
    assert "slip" in said(line_picture(region, exact))


def test_hostile_and_long_names_stay_words_within_the_picture() -> None:
    long = "a name so long that no corner of any triangle could hold it whole, however small the letters"
    region = BlendRegion((Part(HOSTILE), Part(long), Part(long[::-1])))
    picture = triangle_picture(
        Cut(region, (0, 1, 2), region.middle), scores=first_share, what=HOSTILE, bottles=[(HOSTILE, (20, 30, 50))],
        signs=[Sign("best", (1, 2, 97), HOSTILE)],
    )  # fmt: skip
    tree(picture)
    assert_within(picture)


def test_a_triangle_is_drawn_in_thirty_milliseconds() -> None:
    fit = TRIAL.fit("slip", "quadratic")
    times = []
    for _ in range(7):
        start = time.perf_counter()
        triangle_picture(CUT, scores=lambda points: fit.predict(np.array(points))[0], what="slip", bottles=BOTTLES)
        times.append(time.perf_counter() - start)
    assert min(times) < on_this_machine(0.03)
