from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import plotly.graph_objects as go
import pytest

from kit.errors import StoreError
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans
from kit.widgets.stability_panel import StabilityPanel
from tests.present import present
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
    panel.form.choice.pull.value = time_point
    panel.form.choice.bottle.value = (batch, condition)


def write(panel: StabilityPanel, **values: str) -> None:
    """Type into the rows of the bottle in hand."""
    bottle = panel.form.choice.one_bottle
    assert bottle is not None
    for name, value in values.items():
        panel.form.rows.type(panel.form.key(bottle, name), value)


def read(panel: StabilityPanel, **values: str) -> None:
    write(panel, **values)
    panel.form.rows.save()


def shown(panel: StabilityPanel) -> dict[str, dict[str, Any]]:
    """The rows on show by their attribute; those of one bottle."""
    assert panel.study is not None
    keys = [one.key for one in panel.study.plan.attributes]
    return {
        keys[int(row["key"].split(".")[2])]: row for group in panel.form.rows.view["groups"] for row in group["rows"]
    }


def typed(panel: StabilityPanel, name: str) -> str:
    """What stands in a box of the bottle in hand."""
    return panel.form.rows.texts.get(shown(panel)[name]["key"], "")


def sentences(panel: StabilityPanel, name: str) -> str:
    """What a row says about its text."""
    said = panel.form.rows.said[shown(panel)[name]["key"]]
    return " ".join([said["words"], *(one["sentence"] for one in said["findings"])]).strip()


def bottles(panel: StabilityPanel) -> list[str]:
    return [label for label, _ in panel.form.choice.bottle.options]


def current_values(panel: StabilityPanel) -> dict[str, str]:
    return {o.attribute: o.value for o in panel.logbook.current(1)}


# ---- a study ----------------------------------------------------------------------------------------------


def test_an_empty_log_offers_only_to_start_a_study() -> None:
    panel = open_panel()
    assert is_hidden(panel.work)
    assert is_hidden(panel.chooser)
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
        ("Shake", "TL-01; TL-01", "TL-01"),
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


def test_what_a_study_begins_with_is_said_before_it_starts() -> None:
    panel = open_panel()
    assert panel.start.counted.value == ""
    panel.start.batches.value = "TL-01; TL-02"
    assert words(panel.start.counted) == "2 batches (TL-01, TL-02) in 4 places: 8 bottles to fill."
    panel.start.started_on.value = DAY + timedelta(days=3)
    assert words(panel.start.counted).endswith("The first pull lies ahead, on 2026-03-12.")
    panel.start.started_on.value = None
    panel.start.title.value = "Shake"
    panel.start.start.click()
    assert words(panel.start.message) == "✕ Choose the day on which the study started."
    panel.start.started_on.value = DAY
    panel.start.start.click()
    assert panel.study is not None
    assert panel.study.batches == ("TL-01", "TL-02")
    assert "Started Shake" in words(panel.message)
    read(panel, ph="5")
    assert panel.message.value == ""


def test_another_plan_tells_what_it_looks_at(panel: StabilityPanel) -> None:
    before = panel.start.about.value
    panel.start.plan.value = "freeze-thaw"
    assert panel.start.about.value != before
    start(panel, "TL-03", "Frozen")
    assert panel.study is not None
    assert (panel.study.title, panel.study.plan.key) == ("Frozen", "freeze-thaw")


def test_the_due_list_counts_what_is_open_and_what_is_to_come(panel: StabilityPanel) -> None:
    assert words(panel.due).startswith("8 open; 0 done, 0 missed, 48 to come, of 56 pulls")
    first = ["start", "2026-03-09", "Cupboard, 20 to 25 °C", "TL-01, TL-02", "due today"]
    assert rows(panel.due)[0] == first
    assert rows(panel.due)[4:] == [
        ["1 day", "2026-03-10", "every place", "TL-01, TL-02", "in 1 day"],
        ["1 week", "2026-03-16", "every place", "TL-01, TL-02", "in 7 days"],
    ]
    late = open_panel(DAY + timedelta(days=1))
    assert words(late.due).startswith("8 open; 0 done, 8 missed, 40 to come, of 56 pulls")


# ---- readings ---------------------------------------------------------------------------------------------


def test_a_pull_has_a_row_for_each_attribute_with_what_to_type_and_its_limits(panel: StabilityPanel) -> None:
    assert panel.study is not None
    found = shown(panel)
    assert list(found) == [attribute.key for attribute in panel.study.plan.attributes]
    assert (found["ph"]["label"], found["ph"]["name"], found["ph"]["limits"]) == ("pH", "pH", "change at most 0.5")
    assert found["leak"]["hint"] == "yes or no"
    assert "0 as on the first day" in found["odour"]["hint"]
    assert found["colour"]["hint"] == "L* a* b*, such as 62,1 4,5 18,0"
    assert found["shakes_to_remix"]["limits"] == "at most 20 shakes"
    assert found["ph"]["how"].startswith("Draw from the water layer")
    assert (found["ph"]["optional"], found["viscosity"]["optional"]) == (False, True)


def test_the_pulls_are_offered_with_the_open_ones_first(panel: StabilityPanel) -> None:
    assert [label for label, _ in panel.form.choice.pull.options][:2] == [
        "start · 2026-03-09 · 8 of 8 bottles open",
        "1 day · 2026-03-10 · to come",
    ]
    assert bottles(panel)[0] == "TL-01 · Cupboard, 20 to 25 °C (due)"
    assert bottles(panel)[-1] == "every bottle of this pull"
    late = open_panel(DAY + timedelta(days=28))
    assert late.form.choice.pull.value == "4 weeks"


def test_readings_are_saved_with_day_hand_and_note(panel: StabilityPanel) -> None:
    panel.form.observer.value, panel.form.note.value = "KM", "cap was loose"
    read(panel, ph="5,1", leak="no")
    assert words(panel.form.message) == ("✓ Saved for TL-01, Cupboard, 20 to 25 °C, start: pH, Leak or loose cap.")
    found = {o.attribute: o for o in panel.logbook.current(1)}
    assert (found["ph"].number, found["leak"].value) == (5.1, "no")
    assert (found["ph"].observed_on, found["ph"].observer, found["ph"].note) == (DAY, "KM", "cap was loose")
    assert (panel.form.note.value, panel.form.observer.value) == ("", "KM")
    assert "ph" not in shown(panel)
    assert panel.form.choice.one_bottle == ("TL-01", "cupboard")
    assert "partly done" in words(panel.due)


def test_an_unreadable_reading_stays_typed_while_the_others_are_saved(panel: StabilityPanel) -> None:
    """Also where the pull changes its place in the list, because it is now partly done."""
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,1", odour="rubbish", mass="12 apples")
    assert words(panel.form.message).startswith("✓ Saved for TL-02, Fridge, 4 to 8 °C, start: pH. ✕ ")
    assert "Odour: 'rubbish' cannot be read. Type one grade" in words(panel.form.message)
    assert panel.form.choice.one_bottle == ("TL-02", "fridge")
    assert (typed(panel, "odour"), typed(panel, "mass")) == ("rubbish", "12 apples")
    assert "Odour: 'rubbish' cannot be read" in sentences(panel, "odour")
    assert list(current_values(panel)) == ["ph"]
    read(panel, odour="1", mass="104.2")
    assert set(current_values(panel)) == {"ph", "odour", "mass"}


def test_when_the_log_cannot_be_written_nothing_typed_is_lost(
    panel: StabilityPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = []

    def full(*place: object, **more: object) -> None:
        tried.append(place)
        msg = "stability_log.db was not saved: the disk is full."
        raise StoreError(msg)

    with monkeypatch.context() as patch:
        patch.setattr(panel.logbook, "record", full)
        read(panel, ph="5,1", odour="1")
        assert len(tried) == 1  # the rest is not tried against a disk that is full
        assert words(panel.form.message) == "✕ stability_log.db was not saved: the disk is full."
        assert (typed(panel, "ph"), typed(panel, "odour")) == ("5,1", "1")
        assert "the disk is full" in sentences(panel, "odour")
    panel.form.rows.save()
    assert current_values(panel) == {"odour": "1", "ph": "5,1"}


def test_a_log_that_another_program_holds_gives_back_what_was_typed(panel: StabilityPanel) -> None:
    panel.logbook = StabilityLog.open(FILE, wait=0.1)
    panel.logbook.study(1)
    with sqlite3.connect(FILE, isolation_level=None) as other:
        other.execute("BEGIN EXCLUSIVE")
        read(panel, ph="5,1")
        assert words(panel.form.message).startswith("✕")
        assert typed(panel, "ph") == "5,1"
        other.execute("ROLLBACK")
    other.close()
    panel.form.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_log_moved_away_under_the_panel_is_told_and_what_was_typed_stays(panel: StabilityPanel) -> None:
    Path(FILE).rename("away.db")
    read(panel, ph="5,1")
    assert "is no longer where it was opened: it was renamed, moved or deleted." in words(panel.form.message)
    assert typed(panel, "ph") == "5,1"
    panel.again.click()
    assert "is no longer where it was opened" in words(panel.message)
    assert not Path(FILE).exists()
    Path("away.db").rename(FILE)
    panel.form.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_log_put_back_from_a_backup_is_told_and_read_again(panel: StabilityPanel) -> None:
    shutil.copy(FILE, "older.db")
    read(panel, odour="1")
    Path("older.db").replace(FILE)
    read(panel, ph="5,1")
    assert "was replaced: another file now has its name." in words(panel.form.message)
    panel.again.click()
    assert current_values(panel) == {}
    assert typed(panel, "ph") == "5,1"
    panel.form.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_what_is_half_typed_waits_with_its_pull_and_bottle(panel: StabilityPanel) -> None:
    write(panel, ph="5")
    choose(panel, "TL-02", "window")
    assert typed(panel, "ph") == ""
    write(panel, ph="6")
    choose(panel, "TL-01", "cupboard", "1 day")
    assert typed(panel, "ph") == ""
    write(panel, ph="7")
    choose(panel, "TL-01", "cupboard")
    assert typed(panel, "ph") == "5"
    choose(panel, "TL-02", "window")
    assert typed(panel, "ph") == "6"
    choose(panel, "TL-01", "cupboard", "1 day")
    assert typed(panel, "ph") == "7"
    panel.form.rows.save()
    assert [(o.time_point, o.value) for o in panel.logbook.current(1)] == [("1 day", "7")]


def test_what_is_half_typed_for_one_study_does_not_turn_up_in_another(panel: StabilityPanel) -> None:
    first = panel.studies.value
    write(panel, ph="5")
    start(panel, "TL-01", "Second")
    assert panel.form.choice.one_bottle == ("TL-01", "cupboard")
    assert typed(panel, "ph") == ""
    panel.studies.value = first
    assert typed(panel, "ph") == "5"


def test_what_somebody_else_saved_is_seen_when_the_log_is_read_again(panel: StabilityPanel) -> None:
    write(panel, ph="5")
    start(open_panel(), "B-1", "Of somebody else")
    with StabilityLog.open(FILE) as other:
        other.record(1, "TL-01", "cupboard", "start", "odour", "1", DAY)
    assert "odour" in shown(panel)
    panel.again.click()
    assert [label for label, _ in panel.studies.options] == [
        "Of somebody else, started 2026-03-09", "Shake, spring, started 2026-03-09",
    ]  # fmt: skip
    assert panel.studies.value == 1
    assert "odour" not in shown(panel)
    assert typed(panel, "ph") == "5"


def test_a_log_that_cannot_be_read_just_now_is_told_and_what_was_typed_stays(
    panel: StabilityPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = start(open_panel(), "B-1", "Second").studies.value
    panel.again.click()
    write(panel, ph="5")

    def away(*_place: object, **_more: object) -> None:
        msg = "The shared log cannot be reached."
        raise StoreError(msg)

    with monkeypatch.context() as patch:
        patch.setattr(panel.logbook, "current", away)
        panel.again.click()
        assert words(panel.message) == "✕ The shared log cannot be reached."
        panel.studies.value = second
        assert words(panel.message) == "✕ The shared log cannot be reached."
        panel.studies.value = 1
        read(panel)
        assert words(panel.form.message).startswith("✓ Saved for TL-01")
    assert current_values(panel) == {"ph": "5"}


def test_nothing_typed_is_nothing_saved(panel: StabilityPanel) -> None:
    panel.form.note.value = "looked only"
    panel.form.rows.save()
    assert words(panel.form.message) == "✓ Nothing was typed, so nothing was saved."
    assert panel.form.note.value == "looked only"
    assert panel.logbook.current(1) == []


def test_what_is_odd_is_said_before_it_is_saved_beside_what_was_before(panel: StabilityPanel) -> None:
    read(panel, ph="5,3")
    next_day = open_panel(DAY + timedelta(days=1))
    choose(next_day, "TL-01", "cupboard", "1 day")
    assert (shown(next_day)["ph"]["start"], shown(next_day)["ph"]["before"]) == ("5,3", "")
    read(next_day, ph="5,25")
    later = open_panel(DAY + timedelta(days=7))
    choose(later, "TL-01", "cupboard", "1 week")
    assert (shown(later)["ph"]["start"], shown(later)["ph"]["before"]) == ("5,3", "5,25 at 1 day")
    write(later, ph="4,7")
    assert "pH is 4.7: 0.6 below the 5.3 at the start, and the plan allows 0.5." in sentences(later, "ph")
    write(later, ph="five")
    assert "'five' cannot be read" in sentences(later, "ph")
    write(later, ph=" ")
    assert sentences(later, "ph") == ""


def test_a_value_is_said_back_where_it_is_not_plain(panel: StabilityPanel) -> None:
    write(panel, appearance="2", lower_layer="6,2 cm", colour="62,1 4,5 18,0", ph="5,4", leak="no")
    assert sentences(panel, "appearance") == "2 (clear change: seen at once and still pleasing)"
    assert sentences(panel, "lower_layer") == "read as 62 mm"
    assert sentences(panel, "colour") == "L* 62.1, a* 4.5, b* 18"
    assert sentences(panel, "ph") == sentences(panel, "leak") == ""


def test_a_day_that_is_odd_is_said(panel: StabilityPanel) -> None:
    panel.form.observed_on.value = DAY + timedelta(days=400)
    assert "2027-04-13 has not come yet. Check the year and the month." in words(panel.form.date_findings)
    panel.form.observed_on.value = None
    assert words(panel.form.date_findings) == "✕ Choose the day on which it was seen."


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        (DAY + timedelta(days=1), "2026-03-10 has not come yet. Check the day on which it was seen."),
        (None, "Choose the day on which it was seen."),
    ],
)
def test_no_reading_is_saved_of_a_day_that_has_not_come_or_of_none(
    panel: StabilityPanel, day: date | None, sentence: str
) -> None:
    panel.form.observed_on.value, panel.form.note.value = day, "as I saw it"
    read(panel, ph="5,1")
    assert words(panel.form.message) == f"✕ Nothing was saved. {sentence}"
    assert (typed(panel, "ph"), panel.form.note.value) == ("5,1", "as I saw it")
    panel.form.missed.click()
    assert words(panel.form.message) == f"✕ Nothing was saved. {sentence}"
    assert panel.logbook.current(1) == []
    panel.form.observed_on.value = DAY
    panel.form.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_panel_that_stays_open_over_night_records_the_new_day() -> None:
    now = [DAY]
    panel = start(StabilityPanel(FILE, today=lambda: now[0]))
    now[0] = DAY + timedelta(days=1)
    read(panel, ph="5,1")
    assert words(panel.form.message).endswith("A new day has begun: seen on 2026-03-10.")
    assert panel.logbook.current(1)[0].observed_on == now[0]
    panel.form.observed_on.value = DAY  # by hand: yesterday it is
    read(panel, odour="0")
    now[0] = DAY + timedelta(days=2)
    read(panel, mass="104,2")
    assert {o.attribute: o.observed_on for o in panel.logbook.current(1)} == {
        "ph": DAY + timedelta(days=1), "odour": DAY, "mass": DAY,
    }  # fmt: skip


def test_what_the_browser_sends_late_is_not_taken_for_readings_of_the_next_pull(panel: StabilityPanel) -> None:
    """The last keys may arrive after the wish to save, when the rows of another pull are on show already."""
    write(panel, appearance="1", odour="1", ph="5,1")
    as_seen_by_the_browser = dict(panel.form.rows.texts)
    panel.form.rows.save()
    choose(panel, "TL-01", "cupboard", "1 day")
    panel.form.rows.texts = as_seen_by_the_browser
    assert [typed(panel, name) for name in shown(panel)] == [""] * len(shown(panel))
    panel.form.rows.save()
    assert {o.time_point for o in panel.logbook.current(1)} == {"start"}


def test_a_pull_of_the_past_is_gone_through_bottle_by_bottle() -> None:
    late = start(open_panel(), "TL-01")
    late = open_panel(DAY + timedelta(days=2))  # the start now counts as missed, and "1 day" is overdue
    late.form.observed_on.value = DAY
    seen = []
    choose(late, "TL-01", "cupboard")
    for _ in range(4):
        seen.append((late.form.choice.label, *(late.form.choice.one_bottle or ())))
        needed = [one for one in plans()["home-twelve-weeks"].attributes if not one.optional]
        read(late, **{one.key: "no" if one.kind == "yes/no" else "5" if one.key == "ph" else "1" for one in needed})
        offered = {value: label for label, value in late.form.choice.pull.options}
        if len(seen) < 4:
            assert offered["start"].endswith(f"{len(seen)} of 4 bottles read")
    assert seen == [("start", "TL-01", place) for place in ("cupboard", "fridge", "warm_box", "window")]
    assert (late.form.choice.label, late.form.choice.one_bottle) == ("1 day", ("TL-01", "cupboard"))


def test_a_late_reading_says_so_with_its_reason(panel: StabilityPanel) -> None:
    late = open_panel(DAY + timedelta(days=13))
    choose(late, "TL-01", "fridge", "1 week")
    assert "It will be recorded as 6 days late; write the reason into the note." in words(late.form.date_findings)
    late.form.note.value = "workshop closed"
    read(late, ph="5,3")
    late.form.observed_on.value = DAY + timedelta(days=5)
    read(late, odour="0")
    assert [o.note for o in late.logbook.current(1)] == ["6 days late; workshop closed", "2 days early"]


def test_a_missed_pull_is_recorded_with_its_reason(panel: StabilityPanel) -> None:
    late = open_panel(DAY + timedelta(days=9))
    choose(late, "TL-01", "fridge", "1 day")
    late.form.missed.click()
    assert words(late.form.message) == "✕ Write into the note why it was missed, such as 'workshop closed'."
    late.form.note.value = "workshop closed"
    late.form.missed.click()
    assert words(late.form.message) == "✓ Recorded as missed at 1 day, with its reason: TL-01, Fridge, 4 to 8 °C."
    (row,) = late.logbook.current(1)
    assert (row.attribute, row.value) == ("remark", "missed: workshop closed")
    assert late.form.note.value == ""
    choose(late, "TL-02", "fridge", "1 week")
    read(late, ph="5,3")
    late.form.note.value = "no reason"
    late.form.missed.click()
    assert words(late.form.message) == "✕ Something was read of this bottle, so it was not missed."


def test_a_plan_without_remarks_cannot_keep_a_reason(panel: StabilityPanel) -> None:
    plan = plans()["home-twelve-weeks"]
    bare = replace(plan, attributes=(plan.attribute("ph"),))
    begun = panel.logbook.start_study("Bare", bare, ["X"], DAY)
    panel.list_studies(choose=begun.id)
    panel.form.note.value = "closed"
    panel.form.missed.click()
    assert "The plan of this study has no row for remarks" in words(panel.form.message)


NEEDED = {
    "appearance": "0", "odour": "0", "ph": "5", "lower_layer": "40", "minutes_to_separate": "3",
    "shakes_to_remix": "6", "mass": "104", "leak": "no",
}  # fmt: skip
OPTIONAL = {"colour": "84 -2 27", "viscosity": "12", "colour_note": "clear", "microbes": "10", "remark": "none"}


def test_when_a_bottle_is_done_the_next_one_is_in_hand(panel: StabilityPanel) -> None:
    read(panel, **NEEDED)
    assert panel.form.choice.one_bottle == ("TL-01", "fridge")
    assert panel.form.rows.focus == 1
    assert "1 done" in words(panel.due)
    assert "TL-01 · Cupboard, 20 to 25 °C (done)" in bottles(panel)  # what is optional can still be added


def test_a_bottle_of_which_all_is_read_is_offered_no_more(panel: StabilityPanel) -> None:
    read(panel, **NEEDED, **OPTIONAL)
    assert not any(label.startswith("TL-01 · Cupboard") for label in bottles(panel))


def test_one_thing_can_be_read_of_every_bottle(panel: StabilityPanel) -> None:
    panel.form.choice.look_at.value = "ph"
    panel.form.choice.bottle.value = "every"
    view = panel.form.rows.view["groups"]
    assert [group["title"] for group in view][:2] == ["TL-01 · Cupboard, 20 to 25 °C", "TL-01 · Fridge, 4 to 8 °C"]
    assert view[0]["rows"][0]["name"] == "pH, TL-01 · Cupboard, 20 to 25 °C"
    for number, key in enumerate(panel.form.rows.keys_on_show):
        panel.form.rows.type(key, f"5.{number}")
    panel.form.rows.save()
    assert words(panel.form.message) == "✓ Saved 8 readings of 8 bottles, start."
    assert [o.number for o in panel.logbook.current(1)] == [5 + number / 10 for number in range(8)]


def test_a_second_measurement_has_rows_of_its_own(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    write(panel, odour="0")
    panel.form.choice.measurement.value = 2
    assert panel.form.choice.one_bottle == ("TL-01", "cupboard")
    assert typed(panel, "odour") == ""
    read(panel, ph="5,2")
    assert [(o.replicate, o.value) for o in panel.logbook.current(1)] == [(1, "5,1"), (2, "5,2")]
    panel.form.choice.measurement.value = 1
    assert "ph" not in shown(panel)
    assert typed(panel, "odour") == "0"
    later = open_panel(DAY + timedelta(days=1))
    choose(later, "TL-01", "cupboard", "1 day")
    assert shown(later)["ph"]["start"] == "5,1"


def test_when_every_pull_is_read_there_are_no_rows() -> None:
    panel = open_panel()
    plan = plans()["centrifuge"]
    small = replace(
        plan, attributes=(plan.attribute("leak"),), time_points=plan.time_points[:1], conditions=plan.conditions[:1]
    )
    begun = panel.logbook.start_study("Small", small, ["X"], DAY)
    panel.list_studies(choose=begun.id)
    read(panel, leak="no")
    assert panel.form.rows.view == {"groups": [], "save": ""}
    panel.form.rows.save()
    assert words(panel.due) == "Nothing is due: 0 open; 1 done, 0 missed, 0 to come, of 1 pulls."


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


def test_a_wrong_day_is_corrected_like_a_wrong_value(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    form = panel.correction
    assert form.observed_on.value == DAY
    form.observed_on.value, form.reason.value = DAY + timedelta(days=1), "wrong day"
    form.save.click()
    assert "Choose the day on which it was seen; it cannot be one that has not come yet." in words(form.message)
    form.observed_on.value = DAY - timedelta(days=1)
    form.save.click()
    assert words(form.message) == "✓ Saved. The old value stays in the history."
    (now,) = panel.logbook.current(1)
    assert (now.value, now.observed_on, now.reason) == ("5,1", DAY - timedelta(days=1), "wrong day")
    form.reason.value = "nothing new"
    form.save.click()
    assert words(form.message).startswith("✕")
    assert len(panel.logbook.history(now.id)) == 2


def test_what_was_just_saved_is_offered_for_correction_unless_one_is_being_written(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    read(panel, odour="0")
    assert panel.correction.reading.label.startswith("Odour")
    panel.correction.value_box.value = "1"
    read(panel, mass="104")
    assert panel.correction.reading.label.startswith("Odour")


def test_without_a_reading_there_is_nothing_to_correct(panel: StabilityPanel) -> None:
    panel.correction.save.click()
    assert "There is no reading to correct yet." in words(panel.correction.message)
    assert panel.correction.history.value == ""


def test_a_correction_does_not_disturb_what_is_half_typed(panel: StabilityPanel) -> None:
    read(panel, ph="1,5")
    choose(panel, "TL-02", "warm_box")
    write(panel, odour="rubb")
    panel.correction.value_box.value, panel.correction.reason.value = "5,1", "swapped"
    panel.correction.save.click()
    assert panel.form.choice.one_bottle == ("TL-02", "warm_box")
    assert typed(panel, "odour") == "rubb"


def test_a_right_value_that_is_odd_is_told_before_it_is_saved(panel: StabilityPanel) -> None:
    read(panel, ph="5,3")
    later = open_panel(DAY + timedelta(days=1))
    choose(later, "TL-01", "cupboard", "1 day")
    read(later, ph="5,2")
    later.correction.reading.value = 2
    later.correction.value_box.value = "4,1"
    assert "pH is 4.1: 1.2 below the 5.3 at the start" in words(later.correction.told)
    later.correction.value_box.value = "5,1"
    assert later.correction.told.value == ""
    later.correction.value_box.value = "4,1"
    later.correction.reading.value = 1
    assert later.correction.told.value == ""


def test_any_reading_can_be_found_by_what_it_is_of(panel: StabilityPanel) -> None:
    read(panel, ph="5,3", odour="0")
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,4")
    form = panel.correction
    assert len(form.reading.options) == 3
    form.attribute.value = "ph"
    assert [label.rsplit(": ", 1)[1] for label, _ in form.reading.options] == ["5,4", "5,3"]
    form.condition.value = "fridge"
    assert form.reading.options[0][0] == "pH of batch TL-02, Fridge, 4 to 8 °C, start: 5,4"
    form.batch.value = "TL-01"
    assert form.reading.options == ()
    assert form.history.value == ""
    form.condition.value = "every"
    assert [row[0] for row in rows(form.history)] == ["5,3"]


def test_the_trend_is_drawn_in_one_figure_that_follows(panel: StabilityPanel) -> None:
    figure = present(panel.figure)
    assert isinstance(figure, go.FigureWidget)
    panel.attribute.value = "ph"
    assert "Nothing recorded yet for pH." in figure.layout.annotations[0].text
    read(panel, ph="5,1")
    assert panel.figure is figure
    assert [tuple(trace.y) for trace in present(panel.figure).data] == [(5.1,)]
    assert panel.trend.children.count(figure) == 1


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
    assert "ph" not in shown(again)


def test_two_panels_on_one_file_cannot_read_the_same_place_twice(panel: StabilityPanel) -> None:
    other = open_panel()
    read(panel, ph="5,1")
    read(other, ph="5,2")
    assert words(other.form.message).startswith("✕")
    assert "5,1" in words(other.form.message)
    assert typed(other, "ph") == "5,2"
    assert [o.value for o in panel.logbook.current(1)] == ["5,1"]


def test_a_file_that_is_no_log_is_told_and_left_as_it_is() -> None:
    Path(FILE).write_text("my shopping list", encoding="utf-8")
    with pytest.raises(StoreError, match="stability_log"):
        open_panel()
    assert Path(FILE).read_text(encoding="utf-8") == "my shopping list"


def test_hostile_text_is_escaped_everywhere() -> None:
    panel = start(open_panel(title=HOSTILE), HOSTILE, HOSTILE)
    assert HOSTILE in words(panel.message)
    panel.form.observer.value = panel.form.note.value = HOSTILE
    read(panel, ph="5,1", colour_note=HOSTILE, odour=HOSTILE)
    assert HOSTILE in words(panel.form.message)
    panel.correction.value_box.value, panel.correction.reason.value = HOSTILE, HOSTILE
    panel.correction.save.click()
    assert HOSTILE in rows(panel.correction.history)[0]
    assert rows(panel.due)[0][3] == HOSTILE
    later = StabilityPanel(FILE, today=lambda: DAY + timedelta(days=1))
    choose(later, HOSTILE, "cupboard", "1 day")
    assert later.form.rows.view["groups"][0]["title"].startswith(HOSTILE)  # put into the page as text, by rows.js
    for one in (panel, later):
        assert "&lt;img" in html_of(one)
        assert "<img" not in html_of(one)
        assert "<img" not in str(present(one.figure).to_plotly_json())


def test_the_log_says_what_a_pass_does_not_mean(panel: StabilityPanel) -> None:
    assert "A pass in this log says only what was seen on that day." in html_of(panel)
    assert StabilityLog.open(FILE).studies()[0].title == "Shake, spring"
