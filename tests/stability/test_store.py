"""The log: what goes in comes out, nothing is overwritten, and every refusal is a sentence."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import count, product
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError, UnknownNameError
from kit.stability.log import schema
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify
from kit.stability.plan import Plan, plans
from kit.stability.study import Study, current

DAY = date(2026, 1, 12)
PLAN = plans()["home-twelve-weeks"]


def test_a_study_comes_back_as_it_was_begun(log: StabilityLog, plan: Plan, place: str) -> None:
    begun = log.start_study(" Shake ", plan, ["A", "B"], "2026-01-12", "After-swim body shake")
    assert begun == Study(1, "Shake", plan, ("A", "B"), DAY, "After-swim body shake", "2026-01-12T12:00:00+00:00")
    second = log.start_study("Cold", "freeze-thaw", "A", DAY)
    with StabilityLog.open(place) as again:
        assert again.studies() == [begun, second]
        assert again.study(2).batches == ("A",)


def test_a_study_keeps_its_plan_when_the_ready_one_changes(log: StabilityLog, plan: Plan) -> None:
    own = replace(plan, conditions=plan.conditions[:1], title="Only the cupboard")
    assert log.study(log.start_study("Shake", own, ["A"], DAY).id).plan == own


def test_a_study_that_makes_no_sense_is_refused(log: StabilityLog, plan: Plan) -> None:
    with pytest.raises(RangeError, match="A study needs a title"):
        log.start_study(" ", plan, ["A"], DAY)
    with pytest.raises(RangeError, match="a study needs at least one batch"):
        log.start_study("Shake", plan, [], DAY)
    with pytest.raises(RangeError, match="the batch 'a' is named twice"):
        log.start_study("Shake", plan, ["A", "a"], DAY)
    with pytest.raises(EntryError, match=r"'12/1/26' is not a date\. Write year, month and day"):
        log.start_study("Shake", plan, ["A"], "12/1/26")
    with pytest.raises(UnknownNameError, match=r"no ready plan 'home'\. Choose one of: .*home-twelve-weeks"):
        log.start_study("Shake", "home", ["A"], DAY)
    assert log.studies() == []


def test_a_reading_is_kept_as_typed_and_as_a_number(log: StabilityLog, study: Study, place: str) -> None:
    saved = log.record(study.id, "a", "Fridge, 4 to 8 °C", "START", "pH", " 5,4 ", DAY, observer="Ada", note="clear")
    assert (saved.value, saved.number) == ("5,4", 5.4)
    assert (saved.batch, saved.condition, saved.time_point, saved.attribute) == ("A", "fridge", "start", "ph")
    assert (saved.observed_on, saved.recorded_at) == (DAY, "2026-01-12T12:00:00+00:00")
    words = log.record(study.id, "A", "fridge", "start", "colour_note", "pale gold", "2026-01-12")
    assert words.number is None
    with StabilityLog.open(place) as again:
        assert again.observations(study.id) == [saved, words]


def test_the_moment_of_saving_is_in_utc(tmp_path: Path, plan: Plan) -> None:
    def clock() -> datetime:
        return datetime(2026, 1, 12, 23, 30, tzinfo=timezone(timedelta(hours=-5)))

    with StabilityLog.open(tmp_path / "log.db", clock=clock) as log:
        assert log.start_study("Shake", plan, ["A"], DAY).created_at == "2026-01-13T04:30:00+00:00"


@pytest.mark.parametrize(
    ("cell", "value", "words"),
    [
        (("C", "fridge", "start", "ph"), "5", "'C' is not a batch of 'Body shake, autumn'. Choose one of: A, B."),
        (("A", "attic", "start", "ph"), "5", "'attic' is not a condition of"),
        (("A", "fridge", "3 weeks", "ph"), "5", "'3 weeks' is not a time point of"),
        (("A", "fridge", "start", "smell"), "5", "'smell' is not an attribute of"),
        (("A", "fridge", "start", "ph"), "5.4.3", "pH: '5.4.3' cannot be read. Type a number from 0 to 14."),
    ],
)
def test_what_the_plan_does_not_know_is_refused_and_nothing_saved(
    log: StabilityLog, study: Study, cell: tuple[str, str, str, str], value: str, words: str
) -> None:
    with pytest.raises(EntryError) as caught:
        log.record(study.id, *cell, value, DAY)
    assert words in str(caught.value)
    assert log.observations(study.id) == []


def test_a_bad_date_and_an_unknown_study_are_refused(log: StabilityLog, study: Study) -> None:
    with pytest.raises(EntryError, match="observed on: 'today' is not a date"):
        log.record(study.id, "A", "fridge", "start", "ph", "5", "today")
    with pytest.raises(UnknownNameError, match=r"no study 7 in .*\. It holds: 1 \(Body shake, autumn\)"):
        log.observations(7)


def by(log: StabilityLog) -> str:
    """On a server the sentence names the user."""
    return "" if log.path else ", by tester"


def test_a_second_reading_of_the_same_cell_has_to_be_a_correction(log: StabilityLog, study: Study) -> None:
    log.record(study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    log.correct(1, "5.5", "meter read before it settled")
    with pytest.raises(EntryError) as caught:
        log.record(study.id, "A", "fridge", "start", "ph", "5.6", DAY)
    assert str(caught.value) == (
        f"pH of batch A, Fridge, 4 to 8 °C, start, is in the log already: reading 2, '5.5' of 2026-01-12{by(log)}. "
        "To change it, correct reading 2; nothing is overwritten."
    )
    assert len(log.observations(study.id)) == 2


def test_a_correction_is_a_new_row_and_the_old_one_stays(log: StabilityLog, study: Study) -> None:
    first = log.record(study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    other = log.record(study.id, "A", "fridge", "start", "mass", "110", DAY)
    second = log.correct(first.id, "5,4", "digits swapped", observer="Ada")
    third = log.correct(second.id, "5,45", "second decimal on the sheet", observed_on="2026-01-13")
    assert (second.replaces, second.reason, second.observed_on, second.number) == (1, "digits swapped", DAY, 5.4)
    assert third.observed_on == date(2026, 1, 13)
    assert log.observations(study.id) == [first, other, second, third]
    assert log.current(study.id) == [other, third]
    for row in (first, second, third):
        assert log.history(row.id) == [first, second, third]
    assert log.history(other.id) == [other]


def test_a_correction_that_does_not_do_is_refused(log: StabilityLog, study: Study) -> None:
    log.record(study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    with pytest.raises(EntryError, match="A correction needs a reason, such as"):
        log.correct(1, "5.4", "  ")
    with pytest.raises(EntryError, match="'much' cannot be read"):
        log.correct(1, "much", "typed wrong")
    with pytest.raises(EntryError, match=r"There is no reading 9 in (shake.log.db|The shared log)"):
        log.correct(9, "5.4", "typed wrong")
    with pytest.raises(EntryError, match=r"There is no reading 9 in (shake.log.db|The shared log)"):
        log.history(9)
    log.correct(1, "5.4", "typed wrong")
    with pytest.raises(EntryError, match=r"Reading 1 was corrected before; the newest is reading 2, '5.4'. Correct"):
        log.correct(1, "5.5", "typed wrong")
    assert len(log.observations(study.id)) == 2


def test_a_log_in_a_file_is_durable_and_checks_its_references(file_log: StabilityLog) -> None:
    names = ("journal_mode", "synchronous", "foreign_keys", "application_id", "user_version")
    found = file_log._backend.write(
        lambda connection: {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names}
    )
    assert found == {
        "journal_mode": "delete",
        "synchronous": 3,  # EXTRA, sqlite.org/pragma.html#pragma_synchronous
        "foreign_keys": 1,
        "application_id": schema.APPLICATION_ID,
        "user_version": schema.SCHEMA_VERSION,
    }


def test_a_replicate_is_a_reading_of_its_own_and_its_correction_stays_with_it(log: StabilityLog, study: Study) -> None:
    first, second = (log.record(study.id, "A", "fridge", "start", "ph", f"5.{n}", DAY, replicate=n) for n in (1, 2))
    third = log.correct(second.id, "5.25", "read again")
    assert (first.replicate, second.replicate, third.replicate) == (1, 2, 2)
    assert log.current(study.id) == [first, third]
    with pytest.raises(EntryError, match=r"start, replicate 2, is in the log already: reading 3, '5\.25'"):
        log.record(study.id, "A", "fridge", "start", "ph", "5.3", DAY, replicate=2)
    for wrong in (0, 100, True, "2"):
        with pytest.raises(EntryError, match="is not the number of a replicate"):
            log.record(study.id, "A", "fridge", "start", "ph", "5.3", DAY, replicate=wrong)  # type: ignore[arg-type]


def test_the_table_has_a_row_for_each_pull_and_a_unit_in_each_title(log: StabilityLog, study: Study) -> None:
    log.record(study.id, "B", "window", "1 week", "mass", "110,5", "2026-01-20")
    log.record(study.id, "B", "window", "1 week", "leak", "no", "2026-01-19")
    log.record(study.id, "A", "fridge", "start", "ph", "4.5", DAY)
    log.correct(3, "5.4", "typed wrong")
    table = log.table(study.id)
    assert table.iloc[:, :5].to_numpy().tolist() == [
        ["A", "Fridge, 4 to 8 °C", "start", "2026-01-12", 0],
        ["B", "Window light", "1 week", "2026-01-19", 7],
    ]
    assert table["pH"].fillna(-1).tolist() == [5.4, -1]
    assert table["Mass of the bottle [g]"].fillna(-1).tolist() == [-1, 110.5]
    assert table["Leak or loose cap"].tolist() == ["", "no"]
    assert {"Appearance [grade 0-4]", "Lower layer [mm]", "Time to separate [min]"} <= set(table.columns)


def test_the_table_of_an_empty_study_is_an_empty_table(log: StabilityLog, study: Study) -> None:
    table = log.table(study.id)
    assert len(table) == 0
    assert list(table.columns[:3]) == ["Batch", "Condition", "Time point"]


def one_break(text: str) -> str:
    """The text as the log keeps it: line breaks of one kind, no blanks around it."""
    return "\n".join(re.split("\r\n|\r|\n", text)).strip()


TYPED = {
    "ph": st.floats(0, 14).map(str) | st.floats(0, 14).map(lambda number: f"{number:.3f}".replace(".", ",")),
    "mass": st.floats(1, 1e5).map(lambda number: f"{number:.2f} g"),
    "appearance": st.integers(0, 4).map(str),
    "leak": st.sampled_from(["yes", "No", "y"]),
    "colour_note": st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1).filter(
        lambda text: bool(text.strip())
    ),
}
WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
ENTRY = st.sampled_from(list(TYPED)).flatmap(lambda key: st.tuples(st.just(key), TYPED[key], WORDS, WORDS, st.dates()))


@settings(max_examples=15)
@given(st.lists(ENTRY, max_size=8), st.lists(st.tuples(st.integers(0, 7), st.integers(0, 4)), max_size=4))
def test_whatever_is_recorded_comes_back_and_travels_by_csv_and_workbook(
    entries: list[tuple[str, str, str, str, date]], corrections: list[tuple[int, int]]
) -> None:
    moments = (datetime(2026, 1, 12, tzinfo=UTC) + timedelta(minutes=minute) for minute in count())
    with TemporaryDirectory() as folder, StabilityLog.open(Path(folder) / "a.db", clock=lambda: next(moments)) as log:
        study = log.start_study("Shake", PLAN, ["A"], DAY)
        cells = product([one.key for one in PLAN.conditions], [one.label for one in PLAN.time_points])
        saved = []
        for (key, value, observer, note, day), (condition, point) in zip(entries, cells, strict=False):
            saved.append(log.record(1, "A", condition, point, key, value, day, observer=observer, note=note))
            assert (saved[-1].value, saved[-1].note) == (one_break(value), one_break(note))
        for index, grade in corrections:
            if index < len(saved) and saved[index].attribute == "appearance":
                saved.append(log.correct(log.history(saved[index].id)[-1].id, str(grade), "looked again"))
        assert log.observations(study.id) == saved
        log.export_csv(Path(folder) / "out.csv", study.id)
        log.export_xlsx(Path(folder) / "out.xlsx", study.id)
        for name in ("out.csv", "out.xlsx"):
            with StabilityLog.open(Path(folder) / f"{name}.db") as other:
                other.start_study("Shake", PLAN, ["A"], DAY)
                bring = other.import_csv if name.endswith("csv") else other.import_xlsx
                assert bring(Path(folder) / name, 1) == len(saved)
                assert other.observations(1) == saved


# ---- a reading that does not count, or stands under a wrong pull -------------------------------------------


def test_a_withdrawn_reading_counts_nowhere_and_stays_in_the_log(tmp_path: Path) -> None:
    with StabilityLog.open(tmp_path / "log.db") as log:
        begun = log.start_study("Lotion", "home-twelve-weeks", ["A"], date(2026, 3, 2))
        place = (begun.id, "A", "fridge", "1 week")
        kept = log.record(*place, "ph", "5,4", date(2026, 3, 9))
        odd = log.record(*place, "odour", "0", date(2026, 3, 9))
        before = log.due(begun.id, date(2026, 3, 10))
        with pytest.raises(EntryError, match="Say why the reading does not count there"):
            log.withdraw(odd.id, " ")
        log.withdraw(odd.id, "smelled with a cold")
        log.withdraw(kept.id, "the meter was not calibrated")
        assert log.current(begun.id) == []
        assert current(log.observations(begun.id)) == []
        with pytest.raises(EntryError, match="was corrected or withdrawn before"):
            log.withdraw(kept.id, "once more")
        # as if nothing had been read there, in a log that stayed open and in one opened anew
        state = {(d.batch, d.condition, d.time_point): d.state for d in log.due(begun.id, date(2026, 3, 10))}
        assert {(d.batch, d.condition, d.time_point): d.state for d in before} != state
        with StabilityLog.open(tmp_path / "log.db") as again:
            anew = {(d.batch, d.condition, d.time_point): d.state for d in again.due(begun.id, date(2026, 3, 10))}
        assert anew == state
        assert state["A", "fridge", "1 week"] == state["A", "window", "1 week"] != "partly done"
        # and it can be recorded anew, once
        new = log.record(*place, "ph", "5,3", date(2026, 3, 9))
        assert [row.value for row in log.history(new.id)] == ["5,4", "(withdrawn)", "5,3"]
        with pytest.raises(EntryError, match="is in the log already"):
            log.record(*place, "ph", "5,2", date(2026, 3, 9))
        with pytest.raises(EntryError, match="is what the log writes where a reading was withdrawn"):
            log.record(*place, "remark", "(withdrawn)", date(2026, 3, 9))
    assert [finding for finding in verify(tmp_path / "log.db").findings if finding.severity != "note"] == []


def test_readings_under_a_wrong_pull_are_moved_all_or_none(tmp_path: Path) -> None:
    with StabilityLog.open(tmp_path / "log.db") as log:
        begun = log.start_study("Lotion", "home-twelve-weeks", ["A"], date(2026, 3, 2))
        wrong = [
            log.record(begun.id, "A", "window", "1 week", *what, date(2026, 3, 16), note=note)
            for what, note in ((("ph", "5,4"), "cloudy day"), (("odour", "1"), ""))
        ]
        ids = [row.id for row in wrong]
        log.record(begun.id, "A", "window", "2 weeks", "odour", "0", date(2026, 3, 16))
        with pytest.raises(EntryError, match="Odour of batch A, Window light, 2 weeks, is in the log already"):
            log.move(ids, "2 weeks", "typed under the wrong pull")
        assert [row.time_point for row in log.current(begun.id)] == ["1 week", "1 week", "2 weeks"]
        log.move(ids[:1], "2 weeks", "typed under the wrong pull")
        now = {(row.time_point, row.attribute): row for row in log.current(begun.id)}
        assert set(now) == {("1 week", "odour"), ("2 weeks", "odour"), ("2 weeks", "ph")}
        moved = now["2 weeks", "ph"]
        assert (moved.value, moved.number, moved.observed_on) == ("5,4", 5.4, date(2026, 3, 16))
        assert moved.note == "entered first under 1 week; cloudy day"
        assert log.history(ids[0])[-1].reason == "typed under the wrong pull"


def test_what_was_withdrawn_goes_out_as_a_file_and_comes_back(tmp_path: Path) -> None:
    with StabilityLog.open(tmp_path / "log.db") as log:
        begun = log.start_study("Lotion", "home-twelve-weeks", ["A"], date(2026, 3, 2))
        row = log.record(begun.id, "A", "fridge", "start", "ph", "5,4", date(2026, 3, 2))
        log.withdraw(row.id, "the meter was not calibrated")
        log.record(begun.id, "A", "fridge", "start", "odour", "0", date(2026, 3, 2))
        log.export_csv(tmp_path / "out.csv", begun.id)
        other = log.start_study("Lotion again", "home-twelve-weeks", ["A"], date(2026, 3, 2))
        assert log.import_csv(tmp_path / "out.csv", other.id) == 3
        assert [(row.attribute, row.value) for row in log.current(other.id)] == [("odour", "0")]
