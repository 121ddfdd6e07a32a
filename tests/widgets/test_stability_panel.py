from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import plotly.graph_objects as go
import pytest

from kit.demos import demo
from kit.errors import StoreError
from kit.library.description import Description
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans
from kit.widgets.bench import Bench
from kit.widgets.stability_panel import StabilityPanel
from tests.present import present
from tests.widgets.hands import HOSTILE, html_of, is_hidden, offered, rows, said, words

DAY = date(2026, 3, 9)
FILE = "stability_log.db"


def open_panel(day: date = DAY, title: str = "Shake") -> StabilityPanel:
    return StabilityPanel(FILE, formula_title=title, today=lambda: day)


def start(panel: StabilityPanel, batches: str = "TL-01, TL-02", title: str = "Shake, spring") -> StabilityPanel:
    panel.start.form.type(title=title, batches=batches)
    panel.start.form.press("start")
    return panel


@pytest.fixture
def panel() -> StabilityPanel:
    return start(open_panel())


def choose(panel: StabilityPanel, batch: str, condition: str, time_point: str = "start") -> None:
    panel.reading.form.type(label=time_point)
    panel.reading.form.type(bottle=str((batch, condition)))


def write(panel: StabilityPanel, **values: str) -> None:
    """Type into the rows of the bottle in hand."""
    bottle = panel.bench.hand.one_bottle
    assert bottle is not None
    for name, value in values.items():
        panel.reading.rows.type(panel.bench.hand.key(bottle, name), value)


def read(panel: StabilityPanel, **values: str) -> None:
    write(panel, **values)
    panel.reading.rows.save()


def shown(panel: StabilityPanel) -> dict[str, dict[str, Any]]:
    """The rows on show by their attribute; those of one bottle."""
    assert panel.study is not None
    keys = [one.key for one in panel.study.plan.attributes]
    return {
        keys[int(row["key"].split(".")[2])]: row for group in panel.reading.rows.view["groups"] for row in group["rows"]
    }


def typed(panel: StabilityPanel, name: str) -> str:
    """What stands in a box of the bottle in hand."""
    return panel.reading.rows.texts.get(shown(panel)[name]["key"], "")


def sentences(panel: StabilityPanel, name: str) -> str:
    """What a row says about its text."""
    said = panel.reading.rows.said[shown(panel)[name]["key"]]
    return " ".join([said["words"], *(one["sentence"] for one in said["findings"])]).strip()


def bottles(panel: StabilityPanel) -> list[str]:
    return list(panel.bench.hand.bottles.values())


def current_values(panel: StabilityPanel) -> dict[str, str]:
    return {o.attribute: o.value for o in panel.bench.log.current(1)}


# ---- a study ----------------------------------------------------------------------------------------------


def test_an_empty_log_offers_only_to_start_a_study() -> None:
    panel = open_panel()
    assert is_hidden(panel.work)
    assert is_hidden(panel.chooser)
    assert panel.start_box.selected_index == 0
    assert panel.start.form["title"] == "Shake"
    assert "Kept in: Cupboard" in words(panel.start.about)


def test_a_started_study_is_shown_and_told_where_it_can_be_seen(panel: StabilityPanel) -> None:
    assert said(panel.chooser) == "Started Shake, spring. The first pull is due on 2026-03-09."
    assert said(panel.start.form) == ""
    assert panel.start_box.selected_index is None
    assert not is_hidden(panel.work)
    assert panel.study is not None
    assert (panel.study.batches, panel.study.formula_title) == (("TL-01", "TL-02"), "Shake")
    assert next(iter(offered(panel.chooser, "study").values())) == "Shake, spring, started 2026-03-09"


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
    assert panel.start.form.said["severity"] == "stop"
    assert sentence in said(panel.start.form)
    assert (panel.start.form.texts["title"], panel.start.form.texts["batches"]) == (title, batches)
    assert panel.bench.log.studies() == []


def test_what_a_study_begins_with_is_said_before_it_starts() -> None:
    panel = open_panel()
    assert panel.start.counted.value == ""
    panel.start.form.type(batches="TL-01; TL-02")
    assert words(panel.start.counted) == "2 batches (TL-01, TL-02) in 4 places: 8 bottles to fill."
    panel.start.form.type(started_on=str(DAY + timedelta(days=3)))
    assert words(panel.start.counted).endswith("The first pull lies ahead, on 2026-03-12.")
    panel.start.form.type(started_on="")
    panel.start.form.type(title="Shake")
    panel.start.form.press("start")
    assert said(panel.start.form) == "Choose the day on which the study started."
    panel.start.form.type(started_on=str(DAY))
    panel.start.form.press("start")
    assert panel.study is not None
    assert panel.study.batches == ("TL-01", "TL-02")
    assert "Started Shake" in said(panel.chooser)
    read(panel, ph="5")
    assert said(panel.chooser) == ""


def begun_before(days: int, **typed: str) -> StabilityPanel:
    panel = open_panel()
    panel.start.form.type(title="Toner", batches="T-1, T-2", started_on=str(DAY - timedelta(days=days)), **typed)
    return panel


def test_a_study_of_the_past_asks_what_was_read_of_it() -> None:
    panel = open_panel()
    assert {"before", "because"} <= {*panel.start.form.hidden}
    panel = begun_before(30)
    assert "before" not in panel.start.form.hidden
    assert "because" in panel.start.form.hidden
    assert (
        "Over by now: 8 bottles at start, 8 bottles at 1 day, 8 bottles at 1 week, 8 bottles at 2 weeks. Say what was"
        in words(panel.start.counted)
    )
    panel.start.form.press("start")
    assert "This study began before today, on 2026-02-07. Choose what was read" in said(panel.start.form)
    panel.start.form.type(before="not read")
    panel.start.form.press("start")
    assert "Write why nothing was read" in said(panel.start.form)
    assert panel.bench.log.studies() == []
    panel.start.form.type(because="bought the log late")
    panel.start.form.press("start")
    assert said(panel.chooser) == "Started Toner. Recorded as missed, with the reason: 32 bottles of past pulls."
    assert {(o.attribute, o.value) for o in panel.bench.log.current(1)} == {("remark", "missed: bought the log late")}
    assert "Missed: 8 bottles at start, 8 bottles at 1 day, 8 bottles at 1 week, 8 bottles at 2 weeks" in words(
        panel.due
    )
    assert panel.bench.hand.label == "4 weeks"
    assert panel.start.form["before"] == ""


def test_notes_of_a_study_of_the_past_are_asked_for_next() -> None:
    panel = begun_before(30, before="notes")
    panel.start.form.press("start")
    assert said(panel.chooser) == "Started Toner. Choose the file of your notes below, under Bring in old notes."
    assert panel.notes_box.selected_index == 0
    assert panel.bench.log.current(1) == []


@pytest.mark.parametrize(
    ("days", "sentence"), [(30, "The next pull is due on 2026-04-04."), (300, "Every pull of it is over.")]
)
def test_pulls_of_the_past_may_be_left_as_missed_and_are_folded(days: int, sentence: str) -> None:
    panel = begun_before(days, before="left")
    panel.start.form.press("start")
    assert said(panel.chooser) == f"Started Toner. {sentence}"
    assert "<details" in panel.due.value
    assert "Missed: 8 bottles at start, 8 bottles at 1 day, " in words(panel.due)


def test_a_plan_without_remarks_cannot_say_why_nothing_was_read() -> None:
    panel = begun_before(30, before="not read", because="closed")
    panel.start.change.lay()
    panel.start.change.things.type(remark="no")
    panel.start.form.press("start")
    assert "This plan has no row for remarks" in said(panel.start.form)
    assert panel.bench.log.studies() == []


def test_that_nothing_was_read_is_told_where_it_could_not_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_place: object, **_more: object) -> None:
        msg = "The disk is full."
        raise StoreError(msg)

    panel = begun_before(30, before="not read", because="closed")
    monkeypatch.setattr(panel.bench.log, "import_rows", full)
    panel.start.form.press("start")
    assert "could not be recorded: The disk is full." in said(panel.chooser)
    assert panel.study is not None


def test_another_plan_tells_what_it_looks_at(panel: StabilityPanel) -> None:
    before = panel.start.about.value
    panel.start.form.type(plan="freeze-thaw")
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
    assert list(panel.bench.hand.pulls.values())[:2] == [
        "start · 2026-03-09 · 8 of 8 bottles open",
        "1 day · 2026-03-10 · to come",
    ]
    assert bottles(panel)[0] == "TL-01 · Cupboard, 20 to 25 °C (due)"
    assert bottles(panel)[-1] == "every bottle of this pull"
    late = open_panel(DAY + timedelta(days=28))
    assert late.reading.form["label"] == "4 weeks"


def test_readings_are_saved_with_day_hand_and_note(panel: StabilityPanel) -> None:
    panel.reading.form.type(by="KM", note="cap was loose")
    read(panel, ph="5,1", leak="no")
    assert words(panel.reading.message) == ("✓ Saved for TL-01, Cupboard, 20 to 25 °C, start: pH, Leak or loose cap.")
    found = {o.attribute: o for o in panel.bench.log.current(1)}
    assert (found["ph"].number, found["leak"].value) == (5.1, "no")
    assert (found["ph"].observed_on, found["ph"].observer, found["ph"].note) == (DAY, "KM", "cap was loose")
    assert (panel.reading.form["note"], panel.reading.form["by"]) == ("", "KM")
    assert "ph" not in shown(panel)
    assert panel.bench.hand.one_bottle == ("TL-01", "cupboard")
    assert "partly done" in words(panel.due)


def test_an_unreadable_reading_stays_typed_while_the_others_are_saved(panel: StabilityPanel) -> None:
    """Also where the pull changes its place in the list, because it is now partly done."""
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,1", odour="rubbish", mass="12 apples")
    assert words(panel.reading.message).startswith("✓ Saved for TL-02, Fridge, 4 to 8 °C, start: pH. ✕ ")
    assert "Odour: 'rubbish' cannot be read. Type one grade" in words(panel.reading.message)
    assert panel.bench.hand.one_bottle == ("TL-02", "fridge")
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
        patch.setattr(panel.bench.log, "record", full)
        read(panel, ph="5,1", odour="1")
        assert len(tried) == 1  # the rest is not tried against a disk that is full
        assert words(panel.reading.message) == "✕ stability_log.db was not saved: the disk is full."
        assert (typed(panel, "ph"), typed(panel, "odour")) == ("5,1", "1")
        assert "the disk is full" in sentences(panel, "odour")
    panel.reading.rows.save()
    assert current_values(panel) == {"odour": "1", "ph": "5,1"}


def test_a_log_that_another_program_holds_gives_back_what_was_typed(panel: StabilityPanel) -> None:
    panel.bench.hand = replace(panel.bench.hand, log=StabilityLog.open(FILE, wait=0.1))
    panel.bench.log.study(1)
    with sqlite3.connect(FILE, isolation_level=None) as other:
        other.execute("BEGIN EXCLUSIVE")
        read(panel, ph="5,1")
        assert words(panel.reading.message).startswith("✕")
        assert typed(panel, "ph") == "5,1"
        other.execute("ROLLBACK")
    other.close()
    panel.reading.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_log_moved_away_under_the_panel_is_told_and_what_was_typed_stays(panel: StabilityPanel) -> None:
    Path(FILE).rename("away.db")
    read(panel, ph="5,1")
    assert "is no longer where it was opened: it was renamed, moved or deleted." in words(panel.reading.message)
    assert typed(panel, "ph") == "5,1"
    panel.chooser.press("again")
    assert "is no longer where it was opened" in said(panel.chooser)
    assert not Path(FILE).exists()
    Path("away.db").rename(FILE)
    panel.reading.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_log_put_back_from_a_backup_is_told_and_read_again(panel: StabilityPanel) -> None:
    shutil.copy(FILE, "older.db")
    read(panel, odour="1")
    Path("older.db").replace(FILE)
    read(panel, ph="5,1")
    assert "was replaced: another file now has its name." in words(panel.reading.message)
    panel.chooser.press("again")
    assert current_values(panel) == {}
    assert typed(panel, "ph") == "5,1"
    panel.reading.rows.save()
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
    panel.reading.rows.save()
    panel.reading.odd_day.press("keep")  # a day early
    assert [(o.time_point, o.value) for o in panel.bench.log.current(1)] == [("1 day", "7")]


def test_what_is_half_typed_for_one_study_does_not_turn_up_in_another(panel: StabilityPanel) -> None:
    first = panel.chooser["study"]
    write(panel, ph="5")
    start(panel, "TL-01", "Second")
    assert panel.bench.hand.one_bottle == ("TL-01", "cupboard")
    assert typed(panel, "ph") == ""
    panel.chooser.type(study=str(first))
    assert typed(panel, "ph") == "5"


def test_what_somebody_else_saved_is_seen_when_the_log_is_read_again(panel: StabilityPanel) -> None:
    write(panel, ph="5")
    start(open_panel(), "B-1", "Of somebody else")
    with StabilityLog.open(FILE) as other:
        other.record(1, "TL-01", "cupboard", "start", "odour", "1", DAY)
    assert "odour" in shown(panel)
    panel.chooser.press("again")
    assert list(offered(panel.chooser, "study").values()) == [
        "Of somebody else, started 2026-03-09", "Shake, spring, started 2026-03-09",
    ]  # fmt: skip
    assert panel.chooser["study"] == 1
    assert "odour" not in shown(panel)
    assert typed(panel, "ph") == "5"


def test_a_log_that_cannot_be_read_just_now_is_told_and_what_was_typed_stays(
    panel: StabilityPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = start(open_panel(), "B-1", "Second").chooser["study"]
    panel.chooser.press("again")
    write(panel, ph="5")

    def away(*_place: object, **_more: object) -> None:
        msg = "The shared log cannot be reached."
        raise StoreError(msg)

    with monkeypatch.context() as patch:
        patch.setattr(panel.bench.log, "observations", away)
        panel.chooser.press("again")
        assert panel.chooser.said == {"severity": "stop", "sentence": "The shared log cannot be reached."}
        panel.chooser.type(study=str(second))
        assert panel.chooser.said == {"severity": "stop", "sentence": "The shared log cannot be reached."}
        panel.chooser.type(study=str(1))
        read(panel)
        assert words(panel.reading.message).startswith("✓ Saved for TL-01")
    assert current_values(panel) == {"ph": "5"}


def test_nothing_typed_is_nothing_saved(panel: StabilityPanel) -> None:
    panel.reading.form.type(note="looked only")
    panel.reading.rows.save()
    assert words(panel.reading.message) == "✓ Nothing was typed, so nothing was saved."
    assert panel.reading.form["note"] == "looked only"
    assert panel.bench.log.current(1) == []


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
    panel.reading.form.type(observed_on=str(DAY + timedelta(days=400)))
    assert "2027-04-13 has not come yet. Check the year and the month." in words(panel.reading.date_findings)
    panel.reading.form.type(observed_on="")
    assert words(panel.reading.date_findings) == "✕ Choose the day on which it was seen."


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
    panel.reading.form.type(observed_on=str(day or ""), note="as I saw it")
    read(panel, ph="5,1")
    assert words(panel.reading.message) == f"✕ Nothing was saved. {sentence}"
    assert (typed(panel, "ph"), panel.reading.form["note"]) == ("5,1", "as I saw it")
    panel.reading.missed.press("missed")
    assert said(panel.reading.missed) == f"Nothing was saved. {sentence}"
    assert panel.bench.log.current(1) == []
    panel.reading.form.type(observed_on=str(DAY))
    panel.reading.rows.save()
    assert current_values(panel) == {"ph": "5,1"}


def test_a_panel_that_stays_open_over_night_records_the_new_day() -> None:
    now = [DAY]
    panel = start(StabilityPanel(FILE, today=lambda: now[0]))
    now[0] = DAY + timedelta(days=1)
    read(panel, ph="5,1")
    assert words(panel.reading.message) == "A new day has begun: seen on 2026-03-10."
    panel.reading.odd_day.press("keep")  # the pull is a day old, and its grace is none
    assert panel.bench.log.current(1)[0].observed_on == now[0]
    panel.reading.form.type(observed_on=str(DAY))  # by hand: yesterday it is
    read(panel, odour="0")
    now[0] = DAY + timedelta(days=2)
    read(panel, mass="104,2")
    assert {o.attribute: o.observed_on for o in panel.bench.log.current(1)} == {
        "ph": DAY + timedelta(days=1), "odour": DAY, "mass": DAY,
    }  # fmt: skip


def test_what_the_browser_sends_late_is_not_taken_for_readings_of_the_next_pull(panel: StabilityPanel) -> None:
    """The last keys may arrive after the wish to save, when the rows of another pull are on show already."""
    write(panel, appearance="1", odour="1", ph="5,1")
    as_seen_by_the_browser = dict(panel.reading.rows.texts)
    panel.reading.rows.save()
    choose(panel, "TL-01", "cupboard", "1 day")
    panel.reading.rows.texts = as_seen_by_the_browser
    assert [typed(panel, name) for name in shown(panel)] == [""] * len(shown(panel))
    panel.reading.rows.save()
    assert {o.time_point for o in panel.bench.log.current(1)} == {"start"}


def test_a_pull_of_the_past_is_gone_through_bottle_by_bottle() -> None:
    late = start(open_panel(), "TL-01")
    late = open_panel(DAY + timedelta(days=2))  # the start now counts as missed, and "1 day" is overdue
    late.reading.form.type(observed_on=str(DAY))
    seen = []
    choose(late, "TL-01", "cupboard")
    for _ in range(4):
        seen.append((late.bench.hand.label, *(late.bench.hand.one_bottle or ())))
        needed = [one for one in plans()["home-twelve-weeks"].attributes if not one.optional]
        read(late, **{one.key: "no" if one.kind == "yes/no" else "5" if one.key == "ph" else "1" for one in needed})
        offered = late.bench.hand.pulls
        if len(seen) < 4:
            assert offered["start"].endswith(f"{len(seen)} of 4 bottles read")
    assert seen == [("start", "TL-01", place) for place in ("cupboard", "fridge", "warm_box", "window")]
    assert (late.bench.hand.label, late.bench.hand.one_bottle) == ("1 day", ("TL-01", "cupboard"))


def test_a_late_reading_says_so_with_its_reason(panel: StabilityPanel) -> None:
    late = open_panel(DAY + timedelta(days=13))
    choose(late, "TL-01", "fridge", "1 week")
    assert "It will be recorded as 6 days late." in words(late.reading.date_findings)
    late.reading.form.type(note="workshop closed")
    read(late, ph="5,3")
    assert late.bench.log.current(1) == []
    late.reading.odd_day.press("keep")
    late.reading.form.type(observed_on=str(DAY + timedelta(days=5)))
    read(late, odour="0")
    late.reading.odd_day.press("keep")
    assert [o.note for o in late.bench.log.current(1)] == ["6 days late; workshop closed", "2 days early"]


def test_an_old_pull_proposes_its_own_day_and_the_next_one_today() -> None:
    start(open_panel(), "TL-01")
    late = open_panel(DAY + timedelta(days=77))
    assert late.reading.form["observed_on"] == str(DAY + timedelta(days=77))
    late.reading.form.type(look_at="ph")
    choose(late, "TL-01", "cupboard", "1 week")
    assert late.reading.form["observed_on"] == "2026-03-16"
    assert "2026-03-16 is the day of this pull. Was it read on another one" in words(late.reading.date_findings)
    read(late, ph="5,3")
    assert words(late.reading.message).endswith("1 week: pH. Seen on 2026-03-16.")
    assert [str(o.observed_on) for o in late.bench.log.current(1)] == ["2026-03-16"]
    choose(late, "TL-01", "cupboard", "12 weeks")
    assert late.reading.form["observed_on"] == str(DAY + timedelta(days=77))
    late.reading.form.type(label="2 weeks", observed_on="2026-03-24")
    assert late.reading.form["observed_on"] == "2026-03-24"  # a day that a hand sets with the pull stays


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ("2026-05-25", "2026-05-25 is 70 days after this pull was due, on 2026-03-16: say why in the note."),
        ("2026-03-12", "2026-03-12 is 4 days before this pull is due, on 2026-03-16: is it the right pull?"),
        ("2026-03-01", "2026-03-01 is before the study began, on 2026-03-09. Check the date."),
    ],
)
def test_an_odd_day_is_asked_about_before_it_is_kept_for_ever(day: str, sentence: str) -> None:
    start(open_panel(), "TL-01")
    late = open_panel(DAY + timedelta(days=77))
    choose(late, "TL-01", "fridge", "1 week")
    late.reading.form.type(observed_on=day)
    late.reading.rows.save()
    assert words(late.reading.message) == "✓ Nothing was typed, so nothing was saved."
    for _ in range(2):  # pressing the same button again is no answer
        read(late, ph="5,3")
        assert said(late.reading.odd_day).startswith(sentence)
        assert "Nothing was saved yet" in said(late.reading.odd_day)
        assert late.bench.log.current(1) == []
    late.reading.form.type(observed_on="2026-03-17")
    late.reading.odd_day.press("keep")  # it asks about the other day no more
    assert (said(late.reading.odd_day), late.bench.log.current(1)) == ("", [])
    late.reading.form.type(observed_on=day)
    late.reading.rows.save()
    late.reading.odd_day.press("keep")
    read(late, odour="0")  # asked once for each pull and day
    assert [(o.attribute, str(o.observed_on)) for o in late.bench.log.current(1)] == [("ph", day), ("odour", day)]


def test_nothing_is_missed_before_the_study_began(panel: StabilityPanel) -> None:
    panel.reading.form.type(observed_on="2026-03-01", note="closed")
    panel.reading.missed.press("missed")
    assert said(panel.reading.missed) == "2026-03-01 is before the study began, on 2026-03-09. Check the day."


def test_a_missed_pull_is_recorded_with_its_reason(panel: StabilityPanel) -> None:
    late = open_panel(DAY + timedelta(days=9))
    choose(late, "TL-01", "fridge", "1 day")
    late.reading.missed.press("missed")
    assert said(late.reading.missed) == "Write into the note why it was missed, such as 'workshop closed'."
    late.reading.form.type(note="workshop closed")
    late.reading.missed.press("missed")
    assert said(late.reading.missed) == "Recorded as missed at 1 day, with its reason: TL-01, Fridge, 4 to 8 °C."
    (row,) = late.bench.log.current(1)
    assert (row.attribute, row.value) == ("remark", "missed: workshop closed")
    assert late.reading.form["note"] == ""
    choose(late, "TL-02", "fridge", "1 week")
    read(late, ph="5,3")
    late.reading.form.type(note="no reason")
    late.reading.missed.press("missed")
    assert said(late.reading.missed) == "Something was read of this bottle, so it was not missed."


def test_a_plan_without_remarks_cannot_keep_a_reason(panel: StabilityPanel) -> None:
    plan = plans()["home-twelve-weeks"]
    bare = replace(plan, attributes=(plan.attribute("ph"),))
    begun = panel.bench.log.start_study("Bare", bare, ["X"], DAY)
    panel.bench.read(begun.id)
    panel.reading.form.type(note="closed")
    panel.reading.missed.press("missed")
    assert "The plan of this study has no row for remarks" in said(panel.reading.missed)


NEEDED = {
    "appearance": "0", "odour": "0", "ph": "5", "lower_layer": "40", "minutes_to_separate": "3",
    "shakes_to_remix": "6", "mass": "104", "leak": "no",
}  # fmt: skip
OPTIONAL = {
    "colour": "84 -2 27", "colour_lower": "88 1 6", "leaching": "0", "viscosity": "12", "layer_line": "1",
    "colour_note": "clear", "microbes": "10", "remark": "none",
}  # fmt: skip


def test_when_a_bottle_is_done_the_next_one_is_in_hand(panel: StabilityPanel) -> None:
    read(panel, **NEEDED)
    assert panel.bench.hand.one_bottle == ("TL-01", "fridge")
    assert panel.reading.rows.focus == 1
    assert "1 done" in words(panel.due)
    assert "TL-01 · Cupboard, 20 to 25 °C (done)" in bottles(panel)  # what is optional can still be added


def test_a_bottle_of_which_all_is_read_is_offered_no_more(panel: StabilityPanel) -> None:
    read(panel, **NEEDED, **OPTIONAL)
    assert not any(label.startswith("TL-01 · Cupboard") for label in bottles(panel))


def test_one_thing_can_be_read_of_every_bottle(panel: StabilityPanel) -> None:
    panel.reading.form.type(look_at="ph")
    panel.reading.form.type(bottle="every")
    view = panel.reading.rows.view["groups"]
    assert [group["title"] for group in view][:2] == ["TL-01 · Cupboard, 20 to 25 °C", "TL-01 · Fridge, 4 to 8 °C"]
    assert view[0]["rows"][0]["name"] == "pH, TL-01 · Cupboard, 20 to 25 °C"
    for number, key in enumerate(panel.reading.rows.keys_on_show):
        panel.reading.rows.type(key, f"5.{number}")
    panel.reading.rows.save()
    assert words(panel.reading.message) == "✓ Saved 8 readings of 8 bottles, start."
    assert [o.number for o in panel.bench.log.current(1)] == [5 + number / 10 for number in range(8)]


def test_a_second_measurement_has_rows_of_its_own(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    write(panel, odour="0")
    panel.reading.form.type(measurement="2")
    assert panel.bench.hand.one_bottle == ("TL-01", "cupboard")
    assert typed(panel, "odour") == ""
    read(panel, ph="5,2")
    assert [(o.replicate, o.value) for o in panel.bench.log.current(1)] == [(1, "5,1"), (2, "5,2")]
    panel.reading.form.type(measurement="1")
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
    begun = panel.bench.log.start_study("Small", small, ["X"], DAY)
    panel.bench.read(begun.id)
    read(panel, leak="no")
    assert panel.reading.rows.view == {"groups": [], "save": ""}
    panel.reading.rows.save()
    assert words(panel.due) == "Nothing is due: 0 open; 1 done, 0 missed, 0 to come, of 1 pulls."


# ---- corrections and the trend ----------------------------------------------------------------------------


def test_a_correction_is_a_new_row_with_a_reason(panel: StabilityPanel) -> None:
    read(panel, ph="1,5")
    form = panel.correction.form
    form.type(value="5,1", reason="two digits swapped")
    form.press("save")
    assert said(form) == "Saved. The old value stays in the history."
    assert [row[0] for row in rows(panel.correction.history)] == ["1,5", "5,1"]
    assert [row[3] for row in rows(panel.correction.history)] == ["first reading", "two digits swapped"]
    assert (form["value"], form["reason"]) == ("", "")
    assert [o.value for o in panel.bench.log.current(1)] == ["5,1"]


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
    form = panel.correction.form
    form.type(value=value, reason=reason)
    form.press("save")
    assert sentence in said(form)
    assert (form.texts["value"], form.texts["reason"]) == (value, reason)
    assert [o.value for o in panel.bench.log.observations(1)] == ["1,5"]


def test_a_wrong_day_is_corrected_like_a_wrong_value(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    form = panel.correction.form
    assert form["observed_on"] == str(DAY)
    form.type(observed_on=str(DAY + timedelta(days=1)), reason="wrong day")
    form.press("save")
    assert "Choose the day on which it was seen; it cannot be one that has not come yet." in said(form)
    form.type(observed_on=str(DAY - timedelta(days=1)))
    form.press("save")
    assert "2026-03-08 is before the study began, on 2026-03-09." in said(panel.correction.odd_day)
    assert len(panel.bench.log.history(1)) == 1
    panel.correction.odd_day.press("keep")
    assert said(panel.correction.odd_day) == "Saved. The old value stays in the history."
    (now,) = panel.bench.log.current(1)
    assert (now.value, now.observed_on, now.reason) == ("5,1", DAY - timedelta(days=1), "wrong day")
    form.type(reason="nothing new")
    form.press("save")
    assert form.said["severity"] == "stop"
    assert len(panel.bench.log.history(now.id)) == 2


def test_what_was_just_saved_is_offered_for_correction_unless_one_is_being_written(panel: StabilityPanel) -> None:
    read(panel, ph="5,1")
    read(panel, odour="0")
    assert panel.correction.form.texts["reading"].startswith("Odour")
    panel.correction.form.type(value="1")
    read(panel, mass="104")
    assert panel.correction.form.texts["reading"].startswith("Odour")


def test_without_a_reading_there_is_nothing_to_correct(panel: StabilityPanel) -> None:
    panel.correction.form.press("save")
    assert "There is no reading to correct yet." in said(panel.correction.form)
    assert panel.correction.history.value == ""


def test_a_correction_does_not_disturb_what_is_half_typed(panel: StabilityPanel) -> None:
    read(panel, ph="1,5")
    choose(panel, "TL-02", "warm_box")
    write(panel, odour="rubb")
    panel.correction.form.type(value="5,1", reason="swapped")
    panel.correction.form.press("save")
    assert panel.bench.hand.one_bottle == ("TL-02", "warm_box")
    assert typed(panel, "odour") == "rubb"


def test_a_right_value_that_is_odd_is_told_before_it_is_saved(panel: StabilityPanel) -> None:
    read(panel, ph="5,3")
    later = open_panel(DAY + timedelta(days=1))
    choose(later, "TL-01", "cupboard", "1 day")
    read(later, ph="5,2")
    later.correction.form.type(reading="2")
    later.correction.form.type(value="4,1")
    assert "pH is 4.1: 1.2 below the 5.3 at the start" in words(later.correction.told)
    later.correction.form.type(value="5,1")
    assert later.correction.told.value == ""
    later.correction.form.type(value="4,1")
    later.correction.form.type(reading="1")
    assert later.correction.told.value == ""


def test_any_reading_can_be_found_by_what_it_is_of(panel: StabilityPanel) -> None:
    read(panel, ph="5,3", odour="0")
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,4")
    form = panel.correction.form
    assert len(offered(form, "reading")) == 3
    form.type(attribute="ph")
    assert [label.rsplit(": ", 1)[1] for label in offered(form, "reading").values()] == ["5,4", "5,3"]
    form.type(condition="fridge")
    assert form.texts["reading"] == "pH of batch TL-02, Fridge, 4 to 8 °C, start: 5,4"
    form.type(batch="TL-01")
    assert offered(form, "reading") == {}
    assert panel.correction.history.value == ""
    form.type(condition="every")
    assert [row[0] for row in rows(panel.correction.history)] == ["5,3"]


def test_the_trend_is_drawn_in_one_figure_that_follows(panel: StabilityPanel) -> None:
    figure = present(panel.trend.figure)
    assert isinstance(figure, go.FigureWidget)
    panel.trend.form.type(attribute="ph")
    assert "Nothing recorded yet for pH." in figure.layout.annotations[0].text
    read(panel, ph="5,1")
    assert panel.trend.figure is figure
    assert [tuple(trace.y) for trace in present(panel.trend.figure).data] == [(5.1,)]
    assert panel.trend.children.count(figure) == 1


# ---- the file ---------------------------------------------------------------------------------------------


def test_made_anew_on_the_same_file_the_panel_finds_everything_again(panel: StabilityPanel) -> None:
    choose(panel, "TL-02", "fridge")
    read(panel, ph="5,1")
    again = open_panel(title="Another")
    assert offered(again.chooser, "study") == offered(panel.chooser, "study")
    assert again.study == panel.study
    assert again.due.value == panel.due.value
    assert again.bench.log.current(1) == panel.bench.log.current(1)
    assert again.correction.form.inputs["reading"] == panel.correction.form.inputs["reading"]
    choose(again, "TL-02", "fridge")
    assert "ph" not in shown(again)


def test_two_panels_on_one_file_cannot_read_the_same_place_twice(panel: StabilityPanel) -> None:
    other = open_panel()
    read(panel, ph="5,1")
    read(other, ph="5,2")
    assert words(other.reading.message).startswith("✕")
    assert "5,1" in words(other.reading.message)
    assert typed(other, "ph") == "5,2"
    assert [o.value for o in panel.bench.log.current(1)] == ["5,1"]


def test_a_file_that_is_no_log_is_told_and_left_as_it_is() -> None:
    Path(FILE).write_text("my shopping list", encoding="utf-8")
    with pytest.raises(StoreError, match="stability_log"):
        open_panel()
    assert Path(FILE).read_text(encoding="utf-8") == "my shopping list"


def test_hostile_text_is_escaped_everywhere() -> None:
    panel = start(open_panel(title=HOSTILE), HOSTILE, HOSTILE)
    assert HOSTILE in said(panel.chooser)
    panel.reading.form.type(by=HOSTILE, note=HOSTILE)
    read(panel, ph="5,1", colour_note=HOSTILE, odour=HOSTILE)
    assert HOSTILE in words(panel.reading.message)
    panel.correction.form.type(value=HOSTILE, reason=HOSTILE)
    panel.correction.form.press("save")
    assert HOSTILE in rows(panel.correction.history)[0]
    assert rows(panel.due)[0][3] == HOSTILE
    later = StabilityPanel(FILE, today=lambda: DAY + timedelta(days=1))
    choose(later, HOSTILE, "cupboard", "1 day")
    assert later.reading.rows.view["groups"][0]["title"].startswith(HOSTILE)  # put into the page as text, by rows.js
    for one in (panel, later):
        assert "&lt;img" in html_of(one)
        assert "<img" not in html_of(one)
        assert "<img" not in str(present(one.trend.figure).to_plotly_json())


def test_the_log_says_what_a_pass_does_not_mean(panel: StabilityPanel) -> None:
    assert "A pass in this log says only what was seen on that day." in html_of(panel)
    assert StabilityLog.open(FILE).studies()[0].title == "Shake, spring"


def test_a_new_study_begins_with_the_product_in_hand() -> None:
    bench = Bench(demo("quiet_hour_lotion"))
    start = StabilityPanel(FILE, today=lambda: DAY, product=bench).start
    assert (start.form["title"], start.form["layers"]) == ("Quiet-hour hand lotion", "one piece")
    assert "Separation" in words(start.about)
    assert "Lower layer" not in words(start.about)
    bench.formula = replace(bench.formula, title="Hand lotion", description=Description(layering="two layers"))
    assert (start.form["title"], start.form["layers"]) == ("Hand lotion", "layers")
    start.form.type(title="A title of my own")
    bench.formula = replace(bench.formula, title="Another")
    assert start.form["title"] == "A title of my own"


def test_what_is_missing_in_the_same_way_everywhere_is_one_line() -> None:
    panel = start(open_panel(), batches="TL-01")
    log, study = panel.bench.log, present(panel.bench.hand.study)
    places = [one.key for one in study.plan.conditions]
    for place in places:
        for attribute, value in (("ph", "5,1"), ("odour", "0")):
            log.record(1, "TL-01", place, "start", attribute, value, DAY)
    panel.bench.read()
    (line,) = [row for row in rows(panel.due) if row[0] == "start"]
    assert line[2:4] == ["every place", "TL-01"]
    assert line[4].startswith("partly done")
    log.record(1, "TL-01", places[0], "start", "leak", "no", DAY)
    panel.bench.read()
    found = [row for row in rows(panel.due) if row[0] == "start"]
    assert [row[2].count(";") for row in found] in ([0, len(places) - 2], [len(places) - 2, 0])
