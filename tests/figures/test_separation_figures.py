"""The charts of clearing and dosing, and the drawn bottle: what they hold, not how they look."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from kit.figures.separation import dosing_figure, marked_times, separation_figure, shaken_bottle_svg, time_span
from kit.figures.theme import LAYER_COLOURS, PAPER
from kit.layers.bottle import Bottle
from kit.layers.dosing import USERS, Pump, use_up
from kit.layers.drop_fit import DropFit, Timing
from kit.layers.separation import clearing, time_until
from kit.layers.shaken_product import time_words
from tests.layers.shaken_examples import ROUND, made
from tests.present import present

RISING, SINKING = made(bottle=ROUND, surround=60.0), made(gap=-0.12, kind="water")


if TYPE_CHECKING:
    from kit.layers.dosing import Doses
    from kit.layers.separation import Seen


def test_the_bands_stack_to_the_surface_at_every_time() -> None:
    figure = separation_figure([RISING])
    assert [trace.name for trace in figure.data] == [
        "clear water layer, below",
        "still mixed",
        "clear oil layer, above",
    ]
    together = np.sum([trace.y for trace in figure.data], axis=0)
    assert together == pytest.approx(np.full(len(together), ROUND.level(80)))
    assert figure.data[0].fillcolor == LAYER_COLOURS["water"]
    assert figure.data[2].fillcolor == LAYER_COLOURS["oil"]


def test_the_axis_says_its_unit_and_reaches_past_the_end() -> None:
    figure = separation_figure([RISING])
    assert figure.layout.xaxis.title.text == "Time after shaking [min]"
    assert figure.layout.xaxis.range[1] * 60 == pytest.approx(1.25 * time_until(RISING, 95))
    assert figure.layout.yaxis.title.text == "Height [mm]"
    assert figure.layout.paper_bgcolor == PAPER
    slow = separation_figure([made(viscosity=5000.0)])
    assert slow.layout.xaxis.title.text == "Time after shaking [days]"


def test_two_ways_stand_side_by_side_each_with_its_own_time() -> None:
    figure = separation_figure([RISING, SINKING], at=60.0)
    assert [words.text for words in figure.layout.annotations] == ["oil drops in water", "water drops in oil"]
    assert figure.layout.xaxis2.range[1] != figure.layout.xaxis.range[1]
    names = [trace.name for trace in figure.data if trace.showlegend]
    assert len(names) == len(set(names))
    assert time_span([RISING, SINKING]) == max(time_span([RISING]), time_span([SINKING]))


def test_the_chosen_time_is_marked_where_it_lies_on_the_axis() -> None:
    assert [shape.x0 for shape in separation_figure([RISING], at=90.0).layout.shapes] == [pytest.approx(1.5)]
    beyond = separation_figure([RISING], at=1e9)
    assert [shape.x0 for shape in beyond.layout.shapes] == [pytest.approx(beyond.layout.xaxis.range[1])]
    assert marked_times([RISING], 90.0) == [pytest.approx(1.5)]


@pytest.mark.parametrize("seen", ["lower", "upper"])
def test_timed_heights_stand_where_they_were_seen_and_lengthen_the_axis(seen: Seen) -> None:
    last = 2 * time_until(RISING, 95) / 60
    timings = (Timing(1.0, 4.0), Timing(2.0, 7.0), Timing(last, 9.0))
    fit = DropFit(100, 90, 110, 1.6, timings, (4.0, 7.0, 9.0))
    figure = separation_figure([RISING], fit=fit, seen=seen)
    points = figure.data[-1]
    assert points.name == "as you timed it"
    surface = clearing(RISING, [0.0]).surface
    assert list(points.y) == pytest.approx([h if seen == "lower" else surface - h for h in (4, 7, 9)])
    assert list(points.x) == pytest.approx([1, 2, last])
    assert figure.layout.xaxis.range[1] > last


def runs(bottles: int = 1) -> list[Doses]:
    return [use_up(RISING, Pump(3, 2), user, bottles) for user in USERS]


def test_each_user_has_a_line_of_its_own_and_the_label_has_one() -> None:
    figure = dosing_figure(runs())
    lines = {trace.name: trace for trace in figure.data}
    assert list(lines) == [user.name for user in USERS] + [f"the label says {runs()[0].label:.1f} %"]
    looks = {(trace.line.color, trace.line.dash) for trace in list(figure.data)[:3]}
    assert len(looks) == 3
    assert len({trace.line.dash for trace in list(figure.data)[:3]}) == 3  # not by colour alone
    never = lines["never shakes"]
    assert list(never.y) == pytest.approx(runs()[2].oil_percent[:, 0])
    assert set(figure.data[-1].y) == {runs()[0].label}


def test_many_bottles_have_a_band_around_the_median() -> None:
    figure = dosing_figure(runs(40))
    bands = [trace for trace in figure.data if trace.fill == "toself"]
    assert len(bands) == 3
    assert not any(band.showlegend for band in bands)
    good = next(trace for trace in figure.data if trace.name == USERS[0].name)
    assert min(bands[0].y) <= min(good.y)
    assert max(bands[0].y) >= max(good.y)


def test_a_users_name_is_escaped_and_no_run_is_no_line() -> None:
    run = use_up(RISING, Pump(3, 2), replace(USERS[0], name="<b>A</b>"))
    assert dosing_figure([run]).data[0].name == "&lt;b&gt;A&lt;/b&gt;"
    assert len(dosing_figure([]).data) == 0


def drawn(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def test_the_bottle_is_a_well_formed_picture_with_words_for_those_who_do_not_see_it() -> None:
    root = drawn(shaken_bottle_svg(RISING, 60.0))
    assert root.get("role") == "img"
    state = clearing(RISING, [60.0])
    assert root.get("aria-label") == (
        f"oil drops in water 60 s after shaking: clear below to {state.lower[0]:.0f} mm, "
        f"mixed to {state.upper[0]:.0f} mm, clear above to {state.surface:.0f} mm"
    )
    assert not re.search(r"#[0-9a-f]{6}", shaken_bottle_svg(RISING, 60.0))  # colours of the theme only


def test_drops_thin_out_and_their_layer_grows() -> None:
    counts, heights = [], []
    for second in (0.0, 60.0, 600.0):
        root = drawn(shaken_bottle_svg(RISING, second))
        counts.append(len(root.findall(".//circle")))
        own = [rect for rect in root.findall(".//rect") if rect.get("fill") == "var(--sw-oil)"]
        heights.append(sum(float(rect.get("height", 0)) for rect in own))
    assert counts[0] > counts[2]
    assert heights[0] == 0 < heights[1] < heights[2]


def test_the_tube_ends_at_its_tip_and_zones_are_named() -> None:
    root = drawn(shaken_bottle_svg(RISING, 120.0, tip=20.0))
    assert [present(text.text).split(",")[0] for text in root.findall(".//text")] == [
        "clear water",
        "mixed",
        "clear oil",
    ]
    tubes = [path for path in root.findall(".//path") if path.get("stroke-width") == "2.5"]
    assert len(tubes) == 1
    scale = 250 / ROUND.height
    assert float(present(tubes[0].get("d")).rsplit("V", 1)[1]) == pytest.approx(258 - 20 * scale, abs=0.1)


def test_a_bottles_own_name_cannot_break_the_picture() -> None:
    bottle = replace(RISING, bottle=Bottle('"><script>', RISING.bottle.profile))
    assert "<script" not in shaken_bottle_svg(bottle, 5.0)
    assert drawn(shaken_bottle_svg(bottle, 5.0)) is not None


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(5, "5 s"), (119, "120 s"), (121, "2 min"), (7000, "120 min"), (90_000, "25 h"), (1e9, "12,000 days")],
)
def test_a_time_is_said_in_its_unit(seconds: float, words: str) -> None:
    assert time_words(seconds) == words
