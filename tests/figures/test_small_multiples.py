"""Small charts: every reading at its place, the limits, what a pointer reads, and text that stays text."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.errors import EntryError
from kit.figures.chart import CHARACTER, Frame, cut, in_lines, padded
from kit.figures.small_multiples import layers_over_time, small_multiples, small_of
from kit.stability.colour_difference import delta_e_2000
from kit.stability.demo import demo_observations, demo_study
from kit.stability.plan import plans
from kit.stability.reading import read_colour
from kit.stability.study import Study, current
from tests.figures.svg_reading import HOSTILE, assert_within, said, titles, tree

STUDY, ROWS = demo_study(), demo_observations()
NOW = current(ROWS)
PH = STUDY.plan.attribute("ph")
WARM = STUDY.plan.condition("warm_box")


def test_a_chart_holds_every_reading_in_force_at_its_week() -> None:
    small = small_of(STUDY, PH, WARM, [row for row in NOW if row.attribute == "ph"])
    rows = [row for row in NOW if (row.attribute, row.condition, row.batch) == ("ph", "warm_box", "TL-03")]
    number, points = small.lines[2]
    assert number == 2
    assert [(weeks, level) for weeks, level, _, _ in points] == [
        ((row.observed_on - STUDY.started_on).days / 7, row.number) for row in rows
    ]
    assert [level for _, level, _, outside in points if outside] == [rows[-1].number]


def test_the_limits_of_a_condition_hold_for_all_its_bottles() -> None:
    small = small_of(STUDY, PH, WARM, [row for row in NOW if row.attribute == "ph"])
    starts = [
        r.number for r in NOW if (r.attribute, r.condition, r.time_point) == ("ph", "warm_box", "start") and r.number
    ]
    lower, upper = max(starts) - 0.5, min(starts) + 0.5
    assert [level for level, _ in small.limits] == pytest.approx([lower, upper])
    assert [words for _, words in small.limits] == [f"limit {lower:.4g}", f"limit {upper:.4g}"]


def test_a_colour_is_drawn_as_its_difference_from_the_start() -> None:
    rows = [row for row in NOW if row.attribute == "colour"]
    small = small_of(STUDY, STUDY.plan.attribute("colour"), WARM, rows)
    own = [read_colour(row.value) for row in rows if (row.batch, row.condition) == ("TL-01", "warm_box")]
    assert [level for _, level, _, _ in small.lines[0][1]] == [delta_e_2000(own[0], colour) for colour in own]
    assert small.limits == ((3.0, "limit 3"),)


def test_the_picture_says_conditions_batches_and_each_reading() -> None:
    drawn = small_multiples(STUDY, ROWS, "ph")
    words = said(drawn)
    assert {condition.label for condition in STUDY.plan.conditions} <= set(words)
    assert {"batch TL-01", "batch TL-02", "batch TL-03", "outside its limit", "Weeks since the start"} <= set(words)
    assert len(titles(drawn)) == sum(row.attribute == "ph" for row in NOW)
    assert any("batch TL-03, 12 weeks" in told and told.endswith("and the plan allows 0.5.") for told in titles(drawn))


def test_a_grade_has_its_whole_scale() -> None:
    assert {"0", "1", "2", "3", "4", "limit 2"} <= set(said(small_multiples(STUDY, ROWS, "odour")))


@pytest.mark.parametrize("columns", [1, 2, 4])
@pytest.mark.parametrize("width", [600, 840])
def test_no_word_is_cut_off(columns: int, width: float) -> None:
    assert_within(small_multiples(STUDY, ROWS, "minutes_to_separate", columns=columns, width=width))
    assert_within(layers_over_time(STUDY, ROWS, width=width))


def test_words_have_no_trend_and_the_choices_are_named() -> None:
    with pytest.raises(
        EntryError, match=r"Colour note is words, so it has no trend to draw. Choose one of: Appearance"
    ):
        small_multiples(STUDY, ROWS, "colour_note")


def test_an_empty_study_says_so_in_every_chart() -> None:
    assert said(small_multiples(STUDY, [], "ph")).count("nothing read yet") == len(STUDY.plan.conditions)
    assert tree(small_multiples(STUDY, [], "colour")).get("aria-label", "").count("nothing read yet") == 4


def test_what_a_person_typed_stays_text() -> None:
    condition = replace(WARM, label=HOSTILE)
    others = tuple(condition if one is WARM else one for one in STUDY.plan.conditions)
    plan = replace(STUDY.plan, conditions=others)
    study = replace(STUDY, title=HOSTILE, batches=(HOSTILE, "TL-02", "TL-03"), plan=plan)
    rows = [replace(row, batch=HOSTILE if row.batch == "TL-01" else row.batch) for row in ROWS]
    for drawn in (small_multiples(study, rows, "ph"), layers_over_time(study, rows)):
        assert "<script" not in drawn
        assert "\x00" not in drawn
        assert "\u202e" not in drawn
        assert any("alert(1)" in told for told in titles(drawn))
    assert any("⟨U+202E⟩" in told for told in titles(small_multiples(study, rows, "ph")))


def test_layers_are_heights_and_times_of_the_plan() -> None:
    words = said(layers_over_time(STUDY, ROWS))
    assert "Lower layer [mm]" in words
    assert " ".join(words).count("Time to separate") == 1
    assert len(titles(layers_over_time(STUDY, ROWS))) == sum(
        row.attribute in ("lower_layer", "minutes_to_separate") for row in NOW
    )


def test_a_plan_without_layers_draws_none() -> None:
    kept = tuple(one for one in STUDY.plan.attributes if one.unit not in ("mm", "min"))
    study = replace(STUDY, plan=replace(STUDY.plan, attributes=kept))
    assert layers_over_time(study, []) == ""


def test_every_number_of_every_ready_plan_can_be_drawn() -> None:
    for plan in plans().values():
        study = Study(1, "Any", plan, ("A",), STUDY.started_on)
        for attribute in plan.attributes:
            if attribute.numeric or attribute.kind == "colour":
                assert tree(small_multiples(study, [], attribute.key)).get("viewBox")


def test_places_on_a_frame() -> None:
    frame = Frame(100, 50, 200, 100, 0, 10, 4, 6)
    assert (frame.x(0), frame.x(10), frame.y(4), frame.y(6)) == (100, 300, 150, 50)
    assert frame.holds(5)
    assert not frame.holds(6.1)
    assert padded([]) == pytest.approx((-0.08, 1.08))
    assert padded([5, 5]) == (4.75, 5.25)
    assert padded([0.1, 1.1], least=0) == pytest.approx((0.02, 1.18))


def test_long_words_are_cut_with_a_sign_or_set_on_two_lines() -> None:
    assert cut("Fridge", 200) == "Fridge"
    short = cut("A very long name of a condition", 60)
    assert short.endswith("…")
    assert len(short) * 12 * CHARACTER <= 60
    assert in_lines("Viscosity of the lower layer [mPa·s]", 150) == ["Viscosity of the lower", "layer [mPa·s]"]
