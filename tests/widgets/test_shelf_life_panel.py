"""The shelf-life panel: set a choice, read the result; every word of it is the calculation's."""

from __future__ import annotations

import time
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from kit.figures.arrhenius import plain
from kit.stability.demo import write_demo_log
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans
from kit.stability.series import acceptance, series_of
from kit.stability.shelf_life import shelf_life
from kit.widgets.shelf_life_panel import ShelfLifePanel
from kit.widgets.temperature_views import TOO_FEW, MeanTemperature
from tests.pace import on_this_machine
from tests.widgets.hands import HOSTILE, html_of, is_hidden, offered, rows, words

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.shelf_life import ShelfLife

TODAY = date(2026, 4, 8)
FILE = "demo_log.db"


@pytest.fixture
def panel(folder: Path) -> ShelfLifePanel:
    write_demo_log(folder / FILE)
    panel = ShelfLifePanel(FILE, today=lambda: TODAY)
    panel.choose(attribute="ph", condition="warm_box")
    return panel


def alone(panel: ShelfLifePanel, **more: Any) -> ShelfLife:
    """The same estimate without the panel."""
    assert panel.study is not None
    key, place = panel.form["attribute"], panel.form["condition"]
    lower, upper, sided = acceptance(panel.study, key, panel.bench.hand.readings, place)
    asked = {"lower": lower, "upper": upper, "sided": sided, **more}
    return shelf_life(series_of(panel.study, panel.bench.hand.readings, place, key), **asked)


def test_the_sentence_and_the_numbers_are_the_calculations(panel: ShelfLifePanel) -> None:
    expected = alone(panel)
    assert panel.result == expected
    assert words(panel.sentence) == expected.sentence
    assert [row[0].rstrip(" ◂") for row in rows(panel.batches)] == [fit.batch for fit in expected.fits]
    assert [row[-1] for row in rows(panel.batches)] == [f"{fit.crossing:.1f}" for fit in expected.fits]
    assert [row[0].endswith("◂") for row in rows(panel.batches)].count(True) == 1
    assert [row[1] for row in rows(panel.checks)] == [check.words for check in expected.checks]


def test_pooling_is_shown_with_both_p_values_and_the_reach_with_its_reason(panel: ShelfLifePanel) -> None:
    panel.form.type(condition="cupboard")
    found = rows(panel.tests)
    result = alone(panel)
    assert result.cap is not None
    assert found[0] == ["Equal slopes?", f"p\u00a0=\u00a0{result.pooling.slopes:.3f}", "not below 0.25: not told apart"]
    assert found[1][2] == "below 0.25: they count as different"
    assert found[2][2] == result.model
    assert found[3][1:] == ["day\u00a084", result.cap.reason]


@pytest.mark.parametrize(
    ("control", "value", "more"),
    [
        ("order", "first", {"order": "first"}),
        ("sides", "one", {"sided": "one"}),
        ("model", "common line", {"model": "common line"}),
        ("level", 0.05, {"pooling_level": 0.05}),
        ("confidence", 90.0, {"confidence": 0.9}),
        ("warm", "no significant change", {"warm": "no significant change"}),
        ("storage", "cold", {"storage": "cold"}),
    ],
)
def test_every_choice_is_computed_with(panel: ShelfLifePanel, control: str, value: Any, more: dict[str, Any]) -> None:
    panel.form.type(**{control: str(value)})
    assert panel.result == alone(panel, **more)
    assert words(panel.sentence) == alone(panel, **more).sentence


def test_what_stands_in_the_fridge_is_taken_for_cold_until_told_otherwise(panel: ShelfLifePanel) -> None:
    panel.form.type(warm="no significant change")
    panel.form.type(condition="fridge")
    assert panel.form["storage"] == "cold"
    assert panel.result == alone(panel, warm="no significant change", storage="cold")
    panel.form.type(storage="room")
    assert panel.result == alone(panel, warm="no significant change", storage="room")
    panel.form.type(condition="cupboard")
    assert panel.form["storage"] == "room"


def test_a_colour_has_no_first_order(panel: ShelfLifePanel) -> None:
    panel.form.type(order="first")
    panel.form.type(attribute="colour")
    assert "order" in panel.form.hidden
    assert panel.result == alone(panel, order="zero")
    assert "CIEDE2000 from the start" in panel.chart.value
    panel.form.type(attribute="ph")
    assert "order" not in panel.form.hidden
    assert panel.result == alone(panel, order="first")


def test_words_and_grades_are_not_offered(panel: ShelfLifePanel) -> None:
    found = offered(panel.form, "attribute")
    assert "ph" in found
    assert not {"appearance", "odour", "colour_note", "leak"} & set(found)


def test_rates_across_temperatures_and_the_rate_at_one_of_them(panel: ShelfLifePanel) -> None:
    rates = panel.across.rates
    assert rates is not None
    assert rates.fit is not None
    assert words(panel.across.sentence).startswith("pH falls in warmth. Computed from the rates at 3 temperatures")
    panel.across.form.type(temperature="30")
    found = rates.fit.at(30)
    assert words(panel.across.predicted).startswith(f"{found.k:.3g} pH per day (95 %: {plain(found.lower)} to ")
    panel.across.form.type(temperature="50")
    assert words(panel.across.predicted).endswith("Outside the temperatures studied: extrapolated.")


def test_two_temperatures_are_said_to_be_too_few() -> None:
    log = StabilityLog.open("few.db")
    study = log.start_study("Few", plans()["freeze-thaw"], ["A"], TODAY)
    panel = ShelfLifePanel(log, today=lambda: TODAY)
    assert "No number or colour was read yet in this study" in words(panel.sentence)
    for point, value in (
        ("start", "5,3"),
        ("after cycle 1", "5,2"),
        ("after cycle 2", "5,15"),
        ("after cycle 3", "5,1"),
    ):
        day = study.due_on(study.plan.time_point(point))
        log.record(study.id, "A", "kept", point, "ph", value, observed_on=day)
    panel.chooser.press("again")
    panel.form.type(condition="kept")
    assert panel.result is not None
    assert panel.result.days is not None
    assert words(panel.across.sentence) == TOO_FEW
    assert is_hidden(panel.across.asking)
    panel.form.type(condition="cycled")
    assert panel.result.days is None
    assert "Nothing was computed." in words(panel.sentence)


def test_starts_too_far_apart_are_told_and_nothing_old_stays(panel: ShelfLifePanel) -> None:
    place = ("TL-02", "warm_box", "start", "ph")
    readings = panel.bench.hand.readings
    old = next(row for row in readings if (row.batch, row.condition, row.time_point, row.attribute) == place)
    panel.bench.log.correct(old.id, "7,9", reason="another bottle")
    panel.chooser.press("again")
    assert words(panel.sentence).endswith("Look at one batch at a time.")
    assert panel.result is None
    assert panel.chart.value == panel.tests.value == panel.batches.value == panel.findings.value == ""
    panel.form.type(condition="fridge")
    assert panel.result is not None


def test_label_words_explain_and_assert_nothing(panel: ShelfLifePanel) -> None:
    text = html_of(panel)
    assert "article 19(1)(c)" in text
    assert "30 months or less" in text
    assert "This kit proposes neither of the two." in " ".join(text.split())


def test_a_step_takes_less_than_a_tenth_of_a_second(panel: ShelfLifePanel) -> None:
    panel.form.type(condition="cupboard")
    spent = []
    for place in ("warm_box", "fridge", "window", "cupboard"):
        begun = time.perf_counter()
        panel.form.type(condition=place)
        spent.append(time.perf_counter() - begun)
    assert min(spent) < on_this_machine(0.1)


# ---- mean kinetic temperature -----------------------------------------------------------------------------


def test_a_pasted_log_gives_its_mean_kinetic_temperature() -> None:
    view = MeanTemperature()
    view.form.type(text="time;temperature\n2026-03-09 08:00;20,0\n2026-03-09 20:00;30,0")
    # 20 and 30 °C for equal times: 26.26 °C by USP <1160>'s formula, computed at full precision
    assert "mean 25.0 °C, mean kinetic temperature 26.3 °C" in words(view.told)
    assert "excuses no excursion" in words(view.told)
    view.form.type(text=" ")
    assert view.told.value == ""
    assert view.log_read is None


def test_a_picked_file_is_read_and_named() -> None:
    view = MeanTemperature()
    content = b"date,min,max\n2026-03-09,18,24\n2026-03-11,19,25\n"
    view.form.press("file", "box.csv", content)
    assert "Computed from 4 temperatures" in words(view.told)
    assert "box.csv misses 1 of its 3 days" in words(view.told)


def test_every_fault_of_a_log_is_told_and_nothing_computed() -> None:
    view = MeanTemperature()
    view.form.type(text=f"time;temperature\n2026-03-09 08:00;warm\nyesterday;20\n{HOSTILE};21")
    said = words(view.told)
    assert "has 3 faults; nothing was changed." in said
    assert "'warm' is not a temperature in °C" in said
    assert "<img" not in view.told.value
    assert view.log_read is None
    view.form.type(text="just some words")
    assert "name the columns time and temperature" in words(view.told)


def test_a_file_that_is_no_text_is_refused() -> None:
    view = MeanTemperature()
    view.form.press("file", "x.csv", b"\xff\xfe\x00")
    assert words(view.told) == "✕ x.csv is not text in UTF-8. Save it as CSV in UTF-8."


def test_what_a_person_typed_stays_text() -> None:
    log = StabilityLog.open("hostile.db")
    study = log.start_study(HOSTILE, plans()["home-twelve-weeks"], [HOSTILE], date(2026, 1, 12), HOSTILE)
    for point, value in (("start", "5,3"), ("1 week", "5,25"), ("2 weeks", "5,2"), ("4 weeks", "5,12")):
        day = study.due_on(study.plan.time_point(point))
        log.record(study.id, HOSTILE, "cupboard", point, "ph", value, observed_on=day)
    panel = ShelfLifePanel(log, today=lambda: TODAY)
    assert panel.result is not None
    assert panel.result.fits[0].batch == HOSTILE
    assert "<img" not in html_of(panel)


def test_a_slope_and_its_error_end_with_the_same_digit(panel: ShelfLifePanel) -> None:
    for row, fit in zip(rows(panel.batches), alone(panel).fits, strict=True):
        slope, error = row[3].split(" ± ")
        assert len(slope.partition(".")[2]) == len(error.partition(".")[2])
        assert float(error) == pytest.approx(fit.slope_error, rel=0.05)
        assert float(slope) == pytest.approx(fit.slope, abs=fit.slope_error)
