"""The picture of how far off each line may be, and the strip of batch sizes."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from kit.bench.balance import Balance
from kit.bench.uncertainty import WeighingUncertainty, simulate, weighing_uncertainty
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.figures.weighing import batch_scale, name_axis, uncertainty_figure, uncertainty_traces
from kit.formula.editing import set_line
from tests.present import present


def found(mass: str = "50 g", balance: Balance | None = None) -> WeighingUncertainty:
    return weighing_uncertainty(weigh(demo(), mass, balance))


def test_a_bar_ends_at_how_far_off_each_line_may_be() -> None:
    result = found()
    figure = uncertainty_figure(result)
    stems, dots, rounding, drawn, tolerance = figure.data
    assert list(dots.x) == pytest.approx([line.relative for line in result.lines])
    assert [x for x in stems.x if x not in (None, 0.001)] == pytest.approx(list(dots.x))
    assert list(dots.y) == list(range(11))
    assert set(rounding.x) == {None}
    assert set(drawn.x) == {None}
    assert (set(tolerance.x), tolerance.name) == ({1.0}, "tolerance 1 %")
    assert figure.layout.xaxis.type == "log"
    assert figure.layout.xaxis.title.text == "How far off a line may be [% of the line]"
    assert figure.layout.yaxis.range[0] > figure.layout.yaxis.range[1]


def test_what_is_beyond_the_tolerance_has_another_shape() -> None:
    result = found()
    shapes = uncertainty_traces(result)[1]["marker"]["symbol"]
    beyond = [present(line.relative) > 1 for line in result.lines]
    assert shapes == ["square" if far else "circle" for far in beyond]
    assert 0 < sum(beyond) < 11


def test_bars_grow_as_the_batch_shrinks() -> None:
    large, small = (uncertainty_traces(found(mass))[1]["x"] for mass in ("500 g", "50 g"))
    assert small == pytest.approx([10 * x for x in large])


def test_monte_carlo_stands_beside_it() -> None:
    result = found()
    drawn = simulate(result.batch, np.random.default_rng(1), draws=50_000)
    trace = uncertainty_traces(result, drawn)[3]
    assert trace["x"] == pytest.approx([line.relative for line in result.lines], rel=0.05)
    assert trace["name"] == "by Monte Carlo, 50,000 draws"


def test_what_is_beyond_the_axis_is_drawn_at_its_end() -> None:
    result = found("3 g", Balance(2, 500))
    dots, rounding = (uncertainty_traces(result)[n] for n in (1, 2))
    assert dots["x"][:2] == [None, None]  # one line is all of it, and certain; the other is not weighed
    assert rounding["x"][1] == 100
    assert uncertainty_figure(found("0.3 g", Balance(0.01, 500, 0.02))).data[1].x[1] == 100


def test_names_are_escaped_and_cut() -> None:
    formula = set_line(demo(), 0, 1, material="<b>Glycerin</b> & a name that is much too long")
    result = weighing_uncertainty(weigh(formula, "50 g"))
    name = name_axis(result)["ticktext"][1]
    assert name.startswith("&lt;b&gt;Glycerin")
    assert name.endswith("…")
    assert "<b>Glycerin</b> &" not in uncertainty_traces(result)[1]["hovertext"][1]


def test_the_hover_says_where_the_doubt_comes_from() -> None:
    result = found("50 g", Balance(0.01, 500, 0.02))
    words = uncertainty_traces(result)[1]["hovertext"][1]
    assert "Glycerin</b>: 4 ± 0.077 % of the whole" in words
    assert re.search(r"standard uncertainty from repeatability 0\.0\d+ %, two readings 0\.00\d+ %$", words)


def places(svg: str) -> tuple[float, float]:
    root = ET.fromstring(svg)
    circle = next(e for e in root.iter() if e.tag.endswith("circle"))
    mark = next(e for e in root.iter() if e.tag.endswith("line") and e.get("stroke-width") == "2")
    return float(present(circle.get("cx"))), float(present(mark.get("x1")))


def test_the_strip_has_the_batch_and_the_smallest_sound_one() -> None:
    svg = batch_scale(250, 820, 2000)
    now, sound = places(svg)
    assert 20 < now < sound < 770
    assert places(batch_scale(820, 820, 2000))[0] == sound
    assert "smallest sound batch 820 g" in svg
    assert 'aria-label="Batch 250 g. Smallest sound batch 820 g."' in svg


def test_beyond_the_strip_is_said() -> None:
    svg = batch_scale(5000, 16400, 2000)
    assert places(svg) == (770, 770)
    assert "→ smallest sound batch 16 400 g" in svg
    assert "beyond this scale" in svg
    assert places(batch_scale(0.5, 0.9, 2000)) == (20, 20)


def test_a_line_of_nothing_has_no_bar() -> None:
    batch = weigh(set_line(demo(), 1, 3, entry="0"), "50 g")
    traces = uncertainty_traces(replace(weighing_uncertainty(batch)))
    assert traces[1]["x"][-1] is None
    assert traces[0]["x"][-3:] == [None, None, None]
