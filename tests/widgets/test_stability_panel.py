from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import plotly.graph_objects as go
import pytest

from kit.errors import StoreError
from kit.stability.store import StabilityLog
from kit.widgets.stability_panel import StabilityPanel
from tests.widgets.hands import HOSTILE, html_of, is_hidden, rows, words

DAY = date(2026, 3, 9)
FILE = "stability_log.db"


def open_panel(day: date = DAY, title: str = "Shake") -> StabilityPanel:
    return StabilityPanel(FILE, formula_title=title, today=lambda: day)


def start(panel: StabilityPanel, batches: str = "TL-01, TL-02", title: str = "Shake, spring") -> StabilityPanel:
    panel.start.title.value, panel.start.batches.value = title, batches
    panel.start.start.click()
    return panel


@pytest.fixture
def panel() -> StabilityPanel:
    return start(open_panel())


def choose(panel: StabilityPanel, batch: str, condition: str, time_point: str = "start") -> None:
    panel.form.pull.value = (batch, condition, time_point)


def read(panel: StabilityPanel, **values: str) -> None:
    for key, value in values.items():
        panel.form.entries[key].value = value
    panel.form.save.click()


def offered(panel: StabilityPanel) -> list[str]:
    return [label for label, _ in panel.form.pull.options]


# ---- a study ----------------------------------------------------------------------------------------------


def test_an_empty_log_offers_only_to_start_a_study() -> None:
    panel = open_panel()
    assert is_hidden(panel.work)
    assert is_hidden(panel.studies)
    assert panel.start_box.selected_index == 0
    assert panel.start.title.value == "Shake"
    assert "Kept in: Cupboard" in words(panel.start.about)


def test_a_started_study_is_shown_and_told_where_it_can_be_seen(panel: StabilityPanel) -> None:
    assert words(panel.message) == "✓ Started Shake, spring. The first pull is due on 2026-03-09."
    assert panel.start.message.value == ""
    assert panel.start_box.selected_index is None
    assert not is_hidden(panel.work)
    assert panel.study is not None
    assert (panel.study.batches, panel.study.formula_title) == (("TL-01", "TL-02"), "Shake")
    assert panel.studies.options[0][0] == "Shake, spring, started 2026-03-09"


@pytest.mark.parametrize(
    ("title", "batches", "sentence"),
    [
        ("Shake", " , ", "Shake: a study needs at least one batch. Write the batch number from the bottle."),
        (" ", "TL-01", "A study needs a title, such as 'Body shake, autumn'."),
        ("Shake", "TL-01, TL-01", "TL-01"),
    ],
)
def test_a_study_that_cannot_start_is_told_and_stays_typed(title: str, batches: str, sentence: str) -> None:
    panel = start(open_panel(), batches, title)
    assert words(panel.start.message).startswith("✕")
    assert sentence in words(panel.start.message)
    assert (panel.start.title.value, panel.start.batches.value) == (title, batches)
    assert panel.logbook.studies() == []


def test_another_plan_tells_what_it_looks_at(panel: StabilityPanel) -> None:
    before = panel.start.about.value
    panel.start.plan.value = "freeze-thaw"
    assert panel.start.about.value != before
    start(panel, "TL-03", "Frozen")
    assert panel.study is not None
    assert (panel.study.title, panel.study.plan.key) == ("Frozen", "freeze-thaw")


def test_the_due_list_counts_what_is_open_and_what_is_to_come(panel: StabilityPanel) -> None:
    assert words(panel.due).startswith("8 open; 0 done, 0 missed, 48 to come, of 56 pulls")
    assert rows(panel.due)[0] == ["TL-01", "Cupboard, 20 to 25 °C", "start", "2026-03-09", "due today"]
    late = open_panel(DAY + timedelta(days=1))
    assert words(late.due).startswith("8 open; 0 done, 8 missed, 40 to come, of 56 pulls")


# ---- readings ---------------------------------------------------------------------------------------------


def test_a_pull_has_a_row_for_each_attribute_with_what_to_type(panel: StabilityPanel) -> None:
    assert panel.study is not None
    assert list(panel.form.entries) == [attribute.key for attribute in panel.study.plan.attributes]
    assert panel.form.entries["ph"].description == "pH"
    assert panel.form.entries["leak"].placeholder == "yes or no"
    assert "0 as on the first day" in panel.form.entries["odour"].placeholder


def test_readings_are_saved_with_day_hand_and_note(panel: StabilityPanel) -> None:
    panel.form.observer.value, panel.form.note.value = "KM", "cap was loose"
    read(panel, ph="5,1", leak="no")
    assert words(panel.form.message) == ("✓ Saved for TL-01, Cupboard, 20 to 25 °C, start: pH, Leak or loose cap.")
    found = {o.attribute: o for o in panel.logbook.current(1)}
    assert (found["ph"].number, found["leak"].value) == (5.1, "no")
    assert (found["ph"].observed_on, found["ph"].observer, found["ph"].note) == (DAY, "KM", "cap was loose")
    assert (panel.form.note.value, panel.form.observer.value) == ("", "KM")
    assert "ph" not in panel.form.entries
    assert panel.form.pull.value == ("TL-01", "cupboard", "start")
    assert "partly done" in words(panel.due)


def test_an_unreadable_reading_stays_typed_while_the_others_are_saved(panel: StabilityPanel) -> None:
    """Also where the pull changes its place in the list, because it is now partly done."""
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,1", odour="rubbish", mass="12 apples")
    assert words(panel.form.message).startswith("✓ Saved for TL-02, Fridge, 4 to 8 °C, start: pH. ✕ ")
    assert "Odour: 'rubbish' cannot be read. Type one grade" in words(panel.form.message)
    assert panel.form.pull.value == ("TL-02", "fridge", "start")
    assert panel.form.entries["odour"].value == "rubbish"
    assert panel.form.entries["mass"].value == "12 apples"
    assert [o.attribute for o in panel.logbook.current(1)] == ["ph"]
    read(panel, odour="1", mass="104.2")
    assert {o.attribute for o in panel.logbook.current(1)} == {"ph", "odour", "mass"}


def test_what_is_half_typed_waits_with_its_pull(panel: StabilityPanel) -> None:
    panel.form.entries["ph"].value = "5"
    choose(panel, "TL-02", "window")
    assert panel.form.entries["ph"].value == ""
    panel.form.entries["ph"].value = "6"
    choose(panel, "TL-01", "cupboard")
    assert panel.form.entries["ph"].value == "5"
    choose(panel, "TL-02", "window")
    assert panel.form.entries["ph"].value == "6"


def test_what_is_half_typed_for_one_study_does_not_turn_up_in_another(panel: StabilityPanel) -> None:
    first = panel.studies.value
    panel.form.entries["ph"].value = "5"
    start(panel, "TL-01", "Second")
    assert panel.form.pull.value == ("TL-01", "cupboard", "start")
    assert panel.form.entries["ph"].value == ""
    panel.studies.value = first
    assert panel.form.entries["ph"].value == "5"


def test_nothing_typed_is_nothing_saved(panel: StabilityPanel) -> None:
    panel.form.note.value = "looked only"
    panel.form.save.click()
    assert words(panel.form.message) == "✓ Nothing was typed, so nothing was saved."
    assert panel.form.note.value == "looked only"
    assert panel.logbook.current(1) == []


def test_what_is_odd_is_said_before_it_is_saved_beside_what_was_before(panel: StabilityPanel) -> None:
    read(panel, ph="5,3")
    later = open_panel(DAY + timedelta(days=1))
    choose(later, "TL-01", "cupboard", "1 day")
    row = next(row for row in later.form.rows.children if row.children[0] is later.form.entries["ph"])
    assert words(row.children[1]) == "5,3 at start"
    later.form.entries["ph"].value = "4,7"
    assert "pH is 4.7: 0.6 below the 5.3 at the start, and the plan allows 0.5." in words(row.children[1])
    later.form.entries["ph"].value = "five"
    assert "'five' cannot be read" in words(row.children[1])


def test_a_day_that_is_odd_is_said(panel: StabilityPanel) -> None:
    panel.form.observed_on.value = DAY + timedelta(days=400)
    assert "2027-04-13 has not come yet. Check the year and the month." in words(panel.form.date_findings)
    panel.form.observed_on.value = None
    assert panel.form.date_findings.value == ""
    read(panel, ph="5")
    assert panel.logbook.current(1)[0].observed_on == DAY


def test_a_pull_that_is_done_is_offered_no_more(panel: StabilityPanel) -> None:
    answers = {"appearance": "0", "odour": "0", "ph": "5", "lower_layer": "40", "minutes_to_separate": "3"}
    read(panel, **answers, shakes_to_remix="6", mass="104", colour_note="clear", leak="no")
    assert panel.form.pull.value == ("TL-01", "fridge", "start")
    assert not any(label.startswith("TL-01 · Cupboard") and "start" in label for label in offered(panel))
    assert "1 done" in words(panel.due)


# ---- corrections and the trend ----------------------------------------------------------------------------


def test_a_correction_is_a_new_row_with_a_reason(panel: StabilityPanel) -> None:
    read(panel, ph="1,5")
    form = panel.correction
    form.value_box.value, form.reason.value = "5,1", "two digits swapped"
    form.save.click()
    assert words(form.message) == "✓ Saved. The old value stays in the history."
    assert [row[0] for row in rows(form.history)] == ["1,5", "5,1"]
    assert [row[3] for row in rows(form.history)] == ["first reading", "two digits swapped"]
    assert (form.value_box.value, form.reason.value) == ("", "")
    assert [o.value for o in panel.logbook.current(1)] == ["5,1"]


@pytest.mark.parametrize(
    ("value", "reason", "sentence"),
    [
        ("5,1", "  ", "A correction needs a reason, such as 'two digits swapped when typing'."),
        ("five", "misread", "'five' cannot be read"),
    ],
)
def test_a_correction_that_does_not_do_is_told_and_stays_typed(
    panel: StabilityPanel, value: str, reason: str, sentence: str
) -> None:
    read(panel, ph="1,5")
    form = panel.correction
    form.value_box.value, form.reason.value = value, reason
    form.save.click()
    assert sentence in words(form.message)
    assert (form.value_box.value, form.reason.value) == (value, reason)
    assert [o.value for o in panel.logbook.observations(1)] == ["1,5"]


def test_without_a_reading_there_is_nothing_to_correct(panel: StabilityPanel) -> None:
    panel.correction.save.click()
    assert "There is no reading to correct yet." in words(panel.correction.message)
    assert panel.correction.history.value == ""


def test_a_correction_does_not_disturb_what_is_half_typed(panel: StabilityPanel) -> None:
    read(panel, ph="1,5")
    choose(panel, "TL-02", "warm_box")
    panel.form.entries["odour"].value = "rubb"
    panel.correction.value_box.value, panel.correction.reason.value = "5,1", "swapped"
    panel.correction.save.click()
    assert panel.form.pull.value == ("TL-02", "warm_box", "start")
    assert panel.form.entries["odour"].value == "rubb"


def test_the_trend_is_drawn_in_one_figure_that_follows(panel: StabilityPanel) -> None:
    figure = panel.figure
    assert isinstance(figure, go.FigureWidget)
    panel.attribute.value = "ph"
    assert "Nothing recorded yet for pH." in figure.layout.annotations[0].text
    read(panel, ph="5,1")
    assert panel.figure is figure
    assert [tuple(trace.y) for trace in figure.data] == [(5.1,)]
    assert panel.work.children.count(figure) == 1


# ---- the file ---------------------------------------------------------------------------------------------


def test_made_anew_on_the_same_file_the_panel_finds_everything_again(panel: StabilityPanel) -> None:
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,1")
    again = open_panel(title="Another")
    assert again.studies.options == panel.studies.options
    assert again.study == panel.study
    assert again.due.value == panel.due.value
    assert again.logbook.current(1) == panel.logbook.current(1)
    assert again.correction.reading.options == panel.correction.reading.options
    choose(again, "TL-02", "fridge")
    assert "ph" not in again.form.entries


def test_two_panels_on_one_file_cannot_read_the_same_place_twice(panel: StabilityPanel) -> None:
    other = open_panel()
    read(panel, ph="5,1")
    read(other, ph="5,2")
    assert words(other.form.message).startswith("✕")
    assert "5,1" in words(other.form.message)
    assert other.form.entries["ph"].value == "5,2"
    assert [o.value for o in panel.logbook.current(1)] == ["5,1"]


def test_a_file_that_is_no_log_is_told_and_left_as_it_is() -> None:
    Path(FILE).write_text("my shopping list", encoding="utf-8")
    with pytest.raises(StoreError, match="stability_log"):
        open_panel()
    assert Path(FILE).read_text(encoding="utf-8") == "my shopping list"


def test_hostile_text_is_escaped_everywhere() -> None:
    panel = start(open_panel(title=HOSTILE), HOSTILE, HOSTILE)
    panel.form.observer.value = panel.form.note.value = HOSTILE
    read(panel, ph="5,1", colour_note=HOSTILE, odour=HOSTILE)
    assert HOSTILE in words(panel.message)
    assert HOSTILE in words(panel.form.message)
    panel.correction.value_box.value, panel.correction.reason.value = HOSTILE, HOSTILE
    panel.correction.save.click()
    assert HOSTILE in rows(panel.correction.history)[0]
    assert rows(panel.due)[0][0] == HOSTILE
    later = StabilityPanel(FILE, today=lambda: DAY + timedelta(days=1))
    choose(later, HOSTILE, "cupboard", "1 day")
    for shown in (panel, later):
        assert "&lt;img" in html_of(shown)
        assert "<img" not in html_of(shown)
        assert "<img" not in str(shown.figure.to_plotly_json())


def test_the_log_says_what_a_pass_does_not_mean(panel: StabilityPanel) -> None:
    assert "A pass in this log says only what was seen on that day." in html_of(panel)
    assert StabilityLog.open(FILE).studies()[0].title == "Shake, spring"
