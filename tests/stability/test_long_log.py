"""What is asked of a long log is answered by the database, and as the readings themselves would answer it."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from kit.errors import EntryError
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans
from kit.stability.schedule import due

if TYPE_CHECKING:
    from kit.stability.study import Study

DAY = date(2026, 1, 12)
PLAN = plans()["home-twelve-weeks"]


def test_the_readings_of_one_condition_or_attribute_are_those_and_no_others(log: StabilityLog, study: Study) -> None:
    for batch, condition, attribute in product("AB", ("fridge", "window"), ("ph", "mass")):
        log.record(study.id, batch, condition, "start", attribute, "6", DAY)
    log.correct(1, "5.4", "typed wrong")
    log.start_study("Other", study.plan, ["A"], DAY)
    log.record(2, "A", "fridge", "start", "ph", "6", DAY)
    every = log.current(study.id)
    assert len(every) == 8
    for place, quality in product((None, "fridge", "Window light"), (None, "ph", "Mass of the bottle")):
        kept = None if place is None else study.plan.condition(place).key
        looked_at = None if quality is None else study.plan.attribute(quality).key
        wanted = [row for row in every if kept in (None, row.condition) and looked_at in (None, row.attribute)]
        assert log.current(study.id, condition=place, attribute=quality) == wanted
    with pytest.raises(EntryError, match="'attic' is not a condition of"):
        log.current(study.id, condition="attic")


NEEDED = [one for one in PLAN.attributes if not one.optional]
ANSWERS = {"yes/no": "no", "text": "clear", "colour": "60 4 18"}


@settings(max_examples=25)
@given(
    st.lists(st.integers(0, 30), min_size=len(NEEDED), max_size=len(NEEDED)),
    st.sets(st.integers(0, len(NEEDED) - 1), max_size=1),
    st.lists(st.tuples(st.integers(0, len(NEEDED) - 1), st.integers(0, 60)), max_size=3),
    st.dictionaries(st.integers(0, len(NEEDED) - 1), st.integers(0, 60), max_size=1),
    st.integers(0, 100),
)
def test_what_the_log_counts_as_due_is_what_the_readings_say(
    days: list[int], left_out: set[int], corrected: list[tuple[int, int]], again: dict[int, int], today: int
) -> None:
    with TemporaryDirectory() as folder, StabilityLog.open(Path(folder) / "a.db") as log:
        study = log.start_study("Shake", PLAN, ["A", "B"], DAY)

        def read(number: int, day: int, replicate: int) -> int:
            one = NEEDED[number]
            on = DAY + timedelta(days=day)
            answer = ANSWERS.get(one.kind, "1")
            return log.record(1, "A", "fridge", "1 week", one.key, answer, on, replicate=replicate).id

        on = DAY + timedelta(days=today)

        def as_the_readings_say() -> None:
            assert log.due(1, on) == due(study, log.current(1), on)

        ids = {number: read(number, day, 1) for number, day in enumerate(days) if number not in left_out}
        as_the_readings_say()
        for number, day in corrected:
            if number in ids:
                newest = log.history(ids[number])[-1]
                log.correct(newest.id, newest.value, "the day", observed_on=DAY + timedelta(days=day))
                as_the_readings_say()
        for number, day in again.items():
            read(number, day, 2)
        as_the_readings_say()


def test_what_another_saved_is_counted_too(log: StabilityLog, place: str, study: Study) -> None:
    """Few rows at a time, then more than are counted one by one, from a log that somebody else has open."""
    other = log.start_study("Another", study.plan, ["A"], DAY)
    assert {one.state for one in log.due(study.id, DAY)} == {"due", "to come"}
    with StabilityLog.open(place) as elsewhere:
        for one in NEEDED:
            elsewhere.record(study.id, "A", "fridge", "start", one.key, ANSWERS.get(one.kind, "1"), DAY)
        elsewhere.record(other.id, "A", "fridge", "start", "ph", "5", DAY)
        (done,) = [one for one in log.due(study.id, DAY) if one.state == "done"]
        assert (done.batch, done.condition, done.time_point) == ("A", "fridge", "start")
        everywhere = [(point.label, one) for point in study.plan.time_points for one in study.plan.conditions]
        elsewhere.import_rows(
            study.id,
            [
                {"batch": "B", "condition": kept.key, "time_point": point, "attribute": "ph", "value": "5",
                 "observed_on": DAY, "replicate": number}
                for point, kept in everywhere for number in range(1, 1 + 600 // len(everywhere) + 1)
            ],
        )  # fmt: skip
    assert log.due(study.id, DAY) == due(study, log.current(study.id), DAY)
    assert sum(one.state == "partly done" for one in log.due(study.id, DAY)) == len(everywhere)
    assert log.due(other.id, DAY) == due(other, log.current(other.id), DAY)


def test_a_log_that_was_put_back_is_counted_anew(tmp_path: Path) -> None:
    path, copy = tmp_path / "a.db", tmp_path / "copy.db"
    with StabilityLog.open(path) as log:
        study = log.start_study("Shake", PLAN, ["A"], DAY)
        copy.write_bytes(path.read_bytes())
        log.record(1, "A", "fridge", "start", "ph", "5", DAY)
        assert log.due(1, DAY)[1].state == "partly done"
        copy.replace(path)
        log.open_again()
        assert log.due(1, DAY) == due(study, [], DAY)


def test_a_day_that_was_corrected_counts_no_more(log: StabilityLog, study: Study) -> None:
    day = DAY + timedelta(days=7)
    for one in NEEDED:
        log.record(study.id, "A", "fridge", "1 week", one.key, ANSWERS.get(one.kind, "1"), day)
    newest = log.current(study.id)[-1]
    for observed_on, words in ((day + timedelta(days=30), "done, 30 days late"), (day, "done")):
        newest = log.correct(newest.id, newest.value, "the day", observed_on=observed_on)
        assert [one.words for one in log.due(study.id, day) if one.state == "done"] == [words]


def test_a_pull_that_was_missed_says_why(log: StabilityLog, study: Study) -> None:
    said = log.record(study.id, "A", "fridge", "1 week", "remark", "missed: workshop closd", DAY)
    log.correct(said.id, "missed: workshop closed", "a letter")
    found = log.due(study.id, DAY)
    assert [one.words for one in found if one.state == "missed"] == ["missed: workshop closed"]
    assert found == due(study, log.current(study.id), DAY)


def test_neither_question_reads_the_whole_log(file_log: StabilityLog, file_study: Study) -> None:
    engine = file_log._backend.engine
    asked: list[tuple[str, tuple[object, ...]]] = []

    def note(connection: object, cursor: object, statement: str, parameters: tuple[object, ...], *rest: object) -> None:
        asked.append((statement, parameters))

    event.listen(engine, "before_cursor_execute", note)
    file_log.due(1, DAY)
    file_log.current(1, condition="fridge", attribute="ph")
    event.remove(engine, "before_cursor_execute", note)
    plans_of: list[list[str]] = []
    with file_log._backend.reading() as connection:
        for statement, parameters in asked:
            if "FROM observations" in statement:
                steps = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters)
                plans_of.append([row[3] for row in steps])
    pulls, again, remarks, series = plans_of
    assert "SEARCH observations USING COVERING INDEX readings_of_a_pull (study_id=?)" in pulls
    assert series[0] == (
        "SEARCH observations USING INDEX readings_of_a_series (study_id=? AND attribute=? AND condition=?)"
    )
    assert remarks[0] == "SEARCH observations USING INDEX readings_of_a_series (study_id=? AND attribute=?)"
    assert not any("SCAN observations" in step for step in pulls + again + remarks + series)
