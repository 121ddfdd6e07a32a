"""The picture of a trend: who is who without colour, what the limits are, and what a point says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import combinations

import pytest

from kit.errors import EntryError
from kit.figures.stability import trend_figure
from kit.figures.theme import INK, PAPER, SOFT, STYLES
from kit.stability.demo import demo_observations, demo_study
from kit.stability.plan import Attribute, plans
from kit.stability.study import Observation, Study

STUDY = demo_study()
ROWS = demo_observations()


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_lines_and_words_stand_out_from_the_paper() -> None:
    # 3:1 for graphical objects, 4.5:1 for text: WCAG 2.2, success criteria 1.4.11 and 1.4.3
    assert min(contrast(colour, PAPER) for colour, _, _ in STYLES) >= 3
    assert min(contrast(colour, PAPER) for colour in (INK, SOFT)) >= 4.5


def test_every_bottle_has_a_line_at_the_days_on_which_it_was_read() -> None:
    figure = trend_figure(STUDY, ROWS, "ph")
    assert len(figure.data) == 3 * 4
    late = next(trace for trace in figure.data if trace.name == "batch TL-03" and trace.legendgroup == "fridge")
    assert list(late.x) == pytest.approx([0, 1 / 7, 1, 2, 4, 62 / 7, 12])
    missed = next(trace for trace in figure.data if trace.name == "batch TL-02" and trace.legendgroup == "fridge")
    assert list(missed.x) == pytest.approx([0, 1 / 7, 1, 4, 8, 12])


def test_conditions_differ_in_colour_and_dash_and_symbol_and_batches_in_filling() -> None:
    looks = {
        (trace.legendgroup, trace.name): (trace.line.color, trace.line.dash, trace.marker.symbol)
        for trace in trend_figure(STUDY, ROWS, "ph").data
    }
    for one, other in combinations(looks, 2):
        same = [a == b for a, b in zip(looks[one], looks[other], strict=True)]
        assert same == ([True, True, False] if one[0] == other[0] else [False, False, False])
    for axis in zip(*STYLES, strict=True):
        assert len(set(axis)) == len(STYLES)


def test_many_batches_stay_distinguishable() -> None:
    batches = tuple(f"B{number}" for number in range(6))
    study = replace(STUDY, batches=batches)
    rows = [
        Observation(number, 1, batch, "fridge", "start", "ph", "5", 5.0, STUDY.started_on)
        for number, batch in enumerate(batches, start=1)
    ]
    marks = {(trace.marker.symbol, trace.marker.size) for trace in trend_figure(study, rows, "ph").data}
    assert len(marks) == 6


def test_a_corrected_reading_is_left_out_and_its_correction_says_why() -> None:
    figure = trend_figure(STUDY, ROWS, "ph")
    trace = next(trace for trace in figure.data if trace.name == "batch TL-02" and trace.legendgroup == "warm_box")
    assert len(trace.x) == 7
    assert any("corrected: two digits swapped when typing" in words for words in trace.hovertext)


def test_the_axes_and_the_title_have_units() -> None:
    figure = trend_figure(STUDY, ROWS, "mass")
    assert figure.layout.xaxis.title.text == "Time since the start [weeks]"
    assert figure.layout.yaxis.title.text == "Mass of the bottle [g]"
    assert figure.layout.title.text == "Mass of the bottle: After-swim body shake, twelve weeks (invented)"


def limits(figure: object) -> dict[str, float]:
    layout = figure.layout  # type: ignore[attr-defined]
    return {words.text: shape.y0 for words, shape in zip(layout.annotations, layout.shapes, strict=True)}


def test_an_allowed_change_is_drawn_where_it_holds_for_every_bottle() -> None:
    starts = [row.number for row in ROWS if (row.attribute, row.time_point) == ("ph", "start") and row.number]
    found = limits(trend_figure(STUDY, ROWS, "ph"))
    assert found == {
        "lower limit 4.89: 0.5 below the highest start": pytest.approx(max(starts) - 0.5),
        "upper limit 5.78: 0.5 above the lowest start": pytest.approx(min(starts) + 0.5),
    }


def bottle(key: str, *values: float, batch: str = "A") -> list[Observation]:
    points = STUDY.plan.time_points
    return [
        Observation(number, 1, batch, "fridge", points[number].label, key, str(value), value, STUDY.started_on)
        for number, value in enumerate(values)
    ]


def test_one_bottle_has_limits_of_its_own_start() -> None:
    study = replace(STUDY, batches=("A",))
    assert limits(trend_figure(study, bottle("mass", 100.0, 99.0), "mass")) == {
        "lower limit 98: 2 % below the start": pytest.approx(98),
        "upper limit 102: 2 % above the start": pytest.approx(102),
    }


def test_no_common_limit_is_drawn_where_the_starts_lie_too_far_apart() -> None:
    study = replace(STUDY, batches=("A", "B"))
    rows = bottle("mass", 100.0) + [replace(row, id=9) for row in bottle("mass", 120.0, batch="B")]
    assert limits(trend_figure(study, rows, "mass")) == {}


def test_fixed_limits_are_drawn_and_named() -> None:
    attribute = Attribute("height", "Height", "number", unit="mm", lower=10, upper=20)
    study = replace(STUDY, plan=replace(STUDY.plan, attributes=(attribute,)))
    assert limits(trend_figure(study, bottle("height", 12.0), "height")) == {
        "lower limit 10 mm": 10,
        "upper limit 20 mm": 20,
    }


def test_a_grade_has_its_whole_scale_and_its_words() -> None:
    figure = trend_figure(STUDY, ROWS, "appearance")
    assert list(figure.layout.yaxis.tickvals) == [0, 1, 2, 3, 4]
    assert figure.layout.yaxis.title.text == "Appearance [grade 0-4]"
    worst = [words for trace in figure.data for words, y in zip(trace.hovertext, trace.y, strict=True) if y == 3]
    assert worst
    assert all(words.startswith("<b>Appearance: 3 (strong change: a customer would ask)</b>") for words in worst)
    assert all(words.endswith("outside its limit") for words in worst)


def test_a_point_says_what_it_is() -> None:
    study = replace(STUDY, batches=("A",))
    row = replace(bottle("ph", 5.4)[0], observed_on=date(2026, 1, 13), note="drawn <b>twice</b>")
    (trace,) = trend_figure(study, [row], "ph").data
    assert trace.hovertext == (
        "<b>pH: 5.4</b><br>batch A, Fridge, 4 to 8 °C<br>start, read on 2026-01-13<br>drawn &lt;b&gt;twice&lt;/b&gt;",
    )
    assert trace.hovertemplate == "%{hovertext}<extra></extra>"


def test_what_a_person_typed_is_escaped() -> None:
    study = replace(STUDY, batches=("<i>A</i>",), title="<b>Mine</b>")
    figure = trend_figure(study, bottle("ph", 5.4, batch="<i>A</i>"), "ph")
    assert figure.data[0].name == "batch &lt;i&gt;A&lt;/i&gt;"
    assert figure.layout.title.text == "pH: &lt;b&gt;Mine&lt;/b&gt;"


def test_it_lies_on_the_kits_paper_and_is_high_enough_for_its_legend() -> None:
    figure = trend_figure(STUDY, ROWS, "ph")
    assert figure.layout.paper_bgcolor == figure.layout.plot_bgcolor == PAPER
    assert figure.layout.font.color == INK
    assert figure.layout.height >= 20 * (len(figure.data) + len(STUDY.plan.conditions))


def test_nothing_recorded_is_said_in_the_picture() -> None:
    figure = trend_figure(STUDY, [], "ph")
    assert len(figure.data) == 0
    assert [words.text for words in figure.layout.annotations] == ["Nothing recorded yet for pH."]


def test_words_have_no_trend() -> None:
    with pytest.raises(
        EntryError, match=r"Colour note is words, so it has no trend to draw. Choose one of: Appearance,"
    ):
        trend_figure(STUDY, ROWS, "colour_note")
    with pytest.raises(EntryError, match="'smell' is not an attribute of"):
        trend_figure(STUDY, ROWS, "smell")


def test_every_number_and_grade_of_every_ready_plan_can_be_drawn() -> None:
    for plan in plans().values():
        study = Study(1, "Any", plan, ("A",), date(2026, 1, 12))
        for attribute in plan.attributes:
            if attribute.numeric:
                assert trend_figure(study, [], attribute.key).layout.yaxis.title.text == attribute.title
