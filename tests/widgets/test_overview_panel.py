"""The overview panel: the study chosen, the page, the pictures and the report."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from kit.errors import KitError, StoreError
from kit.stability.demo import demo_study, write_demo_log
from kit.stability.grades import grade_summary
from kit.stability.log.store import StabilityLog
from kit.stability.overview import overview
from kit.stability.plan import plans
from kit.widgets.overview_panel import OverviewPanel
from kit.widgets.study_panel import NO_STUDY
from tests.widgets.hands import HOSTILE, html_of, is_hidden, offered, said, words

if TYPE_CHECKING:
    from pathlib import Path

TODAY = date(2026, 4, 8)
FILE = "demo_log.db"


@pytest.fixture
def panel(folder: Path) -> OverviewPanel:
    write_demo_log(folder / FILE)
    return OverviewPanel(FILE, today=lambda: TODAY)


def test_the_page_is_that_of_the_calculation(panel: OverviewPanel) -> None:
    assert panel.study is not None
    found = overview(panel.study, panel.bench.hand.readings, TODAY)
    assert words(panel.summary) == found.in_words
    assert panel.to_look_at.value.count("<li>") == len(found.to_look_at())
    assert "missed" in words(panel.pulls)
    assert list(offered(panel.chooser, "study").values()) == [f"{panel.study.title}, started 2026-01-12"]


def test_where_no_colour_was_read_no_patches_are_drawn(panel: OverviewPanel) -> None:
    assert "Below each patch" in panel.colours.value
    with StabilityLog.open(FILE) as log:
        log.start_study("Mine", "home-twelve-weeks", ["A"], TODAY)
    assert OverviewPanel(FILE, today=lambda: TODAY).colours.value == ""


def test_a_study_of_ones_own_does_not_hide_the_one_that_was_asked_for(panel: OverviewPanel) -> None:
    with StabilityLog.open(FILE) as log:
        newest = log.start_study("Mine", "freeze-thaw", ["A"], TODAY).id
    assert OverviewPanel(FILE, today=lambda: TODAY).chooser["study"] == newest
    assert OverviewPanel(FILE, today=lambda: TODAY, study=1).chooser["study"] == 1
    with pytest.raises(KitError, match="There is no study 9"):
        OverviewPanel(FILE, study=9)


def test_a_log_that_cannot_be_read_just_now_is_told_and_the_page_stays(
    panel: OverviewPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = panel.table.value

    def away() -> None:
        msg = "The shared log cannot be reached."
        raise StoreError(msg)

    with monkeypatch.context() as patch:
        patch.setattr(panel.bench.log, "studies", away)
        panel.chooser.press("again")
    assert panel.chooser.said == {"severity": "stop", "sentence": "The shared log cannot be reached."}
    assert panel.table.value == page
    panel.chooser.press("again")
    assert said(panel.chooser) == ""


def test_the_attribute_chosen_is_drawn_in_every_condition(panel: OverviewPanel) -> None:
    before = panel.multiples.value
    panel.form.type(attribute="ph")
    assert panel.multiples.value != before
    assert "pH: After-swim body shake" in panel.multiples.value
    found = offered(panel.form, "attribute")
    assert "colour" in found
    assert "colour_note" not in found
    assert panel.grades.value == ""
    panel.form.type(attribute="odour")
    assert panel.study is not None
    assert grade_summary(panel.study, panel.bench.hand.readings, "odour").sentence in words(panel.grades)
    assert "Layers and separation" in panel.layers.value
    assert "Below each patch" in panel.colours.value


def test_a_reading_made_elsewhere_shows_when_the_log_is_read_again(panel: OverviewPanel) -> None:
    panel.form.type(attribute="ph")
    with StabilityLog.open(FILE) as other:
        old = next(
            row
            for row in other.current(1)
            if (row.batch, row.condition, row.time_point, row.attribute) == ("TL-01", "fridge", "12 weeks", "ph")
        )
        other.correct(old.id, "4,1", reason="misread")
    before = words(panel.summary)
    panel.chooser.press("again")
    assert words(panel.summary) != before
    assert "pH is 4.1" in words(panel.to_look_at)
    assert panel.form["attribute"] == "ph"


def test_an_empty_log_says_what_to_do_and_a_study_started_later_is_found() -> None:
    log = StabilityLog.open("empty.db")
    panel = OverviewPanel(log, today=lambda: TODAY)
    assert not is_hidden(panel.nothing)
    assert words(panel.nothing) == f"✕ {NO_STUDY}"
    assert is_hidden(panel.work)
    assert panel.report() == ""
    log.start_study("Frozen", plans()["freeze-thaw"], ["A"], TODAY)
    panel.chooser.press("again")
    assert not is_hidden(panel.work)
    assert is_hidden(panel.nothing)
    assert "0 of 3 cycles passed; 0 read in full so far." in words(panel.pulls)


def test_another_study_is_shown_when_it_is_chosen(panel: OverviewPanel) -> None:
    panel.bench.log.start_study("Second", plans()["home-twelve-weeks"], ["X-1"], TODAY)
    panel.chooser.press("again")
    assert panel.study is not None
    assert panel.study.title == demo_study().title
    panel.chooser.type(study="2")
    assert panel.study.title == "Second"
    count = len(panel.study.plan.attributes) * len(panel.study.plan.conditions)
    assert words(panel.summary).startswith(f"Of {count} judgements: {count} not read.")


def test_the_report_is_written_beside_the_notebook_and_shown(panel: OverviewPanel, folder: Path) -> None:
    panel.report_form.press("write")
    (path,) = folder.glob("stability_report_*.html")
    assert said(panel.report_form) == f"Wrote {path.name} beside this notebook. Open it in a browser and print."
    assert path.read_text(encoding="utf-8") == panel.report()
    assert '<iframe title="The stability report" srcdoc="&lt;!DOCTYPE html&gt;' in panel.preview.value
    panel.chooser.press("again")
    assert panel.preview.value == ""


def test_what_a_person_typed_stays_text() -> None:
    log = StabilityLog.open("hostile.db")
    study = log.start_study(HOSTILE, plans()["home-twelve-weeks"], [HOSTILE], TODAY, HOSTILE)
    log.record(
        study.id, HOSTILE, "fridge", "start", "colour_note", HOSTILE, observed_on=TODAY, observer=HOSTILE, note=HOSTILE
    )
    panel = OverviewPanel(log, today=lambda: TODAY)
    panel.report_form.press("write")
    assert "<img" not in html_of(panel)
