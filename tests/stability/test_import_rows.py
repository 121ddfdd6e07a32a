"""Rows from elsewhere: the good ones are added together, each of the others comes back with its reason."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import UnknownNameError
from kit.stability.exchange import read_rows
from kit.stability.plan import plans
from kit.stability.study import Study

if TYPE_CHECKING:
    from kit.stability.log.store import StabilityLog

GOOD: dict[str, object] = {
    "batch": "A", "condition": "fridge", "time_point": "start", "attribute": "ph", "value": "5,4",
    "observed_on": "2026-01-12",
}  # fmt: skip
ROWS: list[dict[str, object]] = [
    GOOD | {"observer": "Ada", "note": "clear"},
    GOOD | {"batch": "C"},
    GOOD | {"value": "wet", "condition": "window"},
    GOOD | {"value": 5.5},
    GOOD | {"time_point": "1 week", "observed_on": date(2026, 1, 19)},
    GOOD | {"time_point": "2 weeks", "observed_on": datetime(2026, 1, 26, 9, 30)},
    GOOD | {"time_point": "4 weeks", "observed_on": ""},
    GOOD | {"batch": "B", "observed_on": "12/1/26"},
    GOOD | {"replicate": 2},
    GOOD | {"replicate": "x"},
    GOOD | {"replicate": 100, "batch": "B"},
]
REASONS = {
    2: "'C' is not a batch of 'Body shake, autumn'. Choose one of: A, B.",
    3: "pH: 'wet' cannot be read. Type a number from 0 to 14.",
    4: "pH of batch A, Fridge, 4 to 8 °C, start, is in row 1 already. Keep one of the two.",
    7: "There is no observed on. Fill it in, or leave the row out.",
    8: "observed on: '12/1/26' is not a date. Write year, month and day, such as 2026-03-09.",
    10: "'x' is not the number of a replicate. Write a whole number from 1 on, or leave it empty.",
    11: "100 is not the number of a replicate. Count from 1: the first measurement is 1, the second 2.",
}


def test_good_rows_are_added_and_bad_ones_come_back_with_their_reason(log: StabilityLog, study: Study) -> None:
    report = log.import_rows(study.id, ROWS)
    assert {one.number: one.reason for one in report.refused} == REASONS
    assert [one.row for one in report.refused] == [ROWS[number - 1] for number in REASONS]
    assert list(report.added) == log.observations(study.id)
    assert [(row.value, row.time_point, row.replicate) for row in report.added] == [
        ("5,4", "start", 1),
        ("5,4", "1 week", 1),
        ("5,4", "2 weeks", 1),
        ("5,4", "start", 2),
    ]
    assert (report.added[0].observer, report.added[0].note) == ("Ada", "clear")
    assert report.added[2].observed_on == date(2026, 1, 26)
    assert report.sentence == "4 of 11 rows taken; 7 refused."


def test_a_number_of_thousands_of_digits_is_a_reason_like_another(log: StabilityLog, study: Study) -> None:
    (refused,) = log.import_rows(study.id, [GOOD | {"replicate": "9" * 5000}]).refused
    assert refused.reason.startswith("'9999999999")
    assert refused.reason.endswith(
        "… is not the number of a replicate. Write a whole number from 1 on, or leave it empty."
    )


def test_a_preview_says_the_same_and_saves_nothing(log: StabilityLog, study: Study) -> None:
    preview = log.import_rows(study.id, ROWS, dry_run=True)
    assert log.observations(study.id) == []
    report = log.import_rows(study.id, ROWS)
    assert preview.refused == report.refused
    assert [row.cell for row in preview.added] == [row.cell for row in report.added]
    assert all(row.id == 0 for row in preview.added)


def test_what_is_in_the_log_already_is_refused_row_by_row(log: StabilityLog, study: Study) -> None:
    log.record(study.id, "A", "fridge", "start", "ph", "5.3", "2026-01-12")
    rows = [GOOD, GOOD | {"batch": "B"}, GOOD | {"batch": "nobody's"}]
    for report in (log.import_rows(study.id, rows, dry_run=True), log.import_rows(study.id, rows)):
        assert [one.number for one in report.refused] == [1, 3]
        assert "pH of batch A, Fridge, 4 to 8 °C, start, is in the log already: reading 1" in report.refused[0].reason
        assert [row.batch for row in report.added] == ["B"]
    again = log.import_rows(study.id, rows)
    assert (len(again.added), len(again.refused)) == (0, 3)


def test_no_rows_and_no_study(log: StabilityLog, study: Study) -> None:
    assert log.import_rows(study.id, []).sentence == "0 of 0 rows taken."
    with pytest.raises(UnknownNameError, match="There is no study 9"):
        log.import_rows(9, [GOOD])


STUDY = Study(1, "Shake", plans()["home-twelve-weeks"], ("A", "B"), date(2026, 1, 12))


@given(
    st.lists(
        st.fixed_dictionaries(
            {},
            optional={
                name: st.text(max_size=5) | st.none() | st.integers() | st.just(good) for name, good in GOOD.items()
            },
        ),
        max_size=5,
    )
)
def test_every_row_is_either_taken_or_refused_with_a_sentence(rows: list[dict[str, object]]) -> None:
    report = read_rows(STUDY, rows, "2026-01-12T12:00:00+00:00", "")
    assert len(report.added) + len(report.refused) == len(rows)
    assert all(one.reason.endswith((".", "?")) for one in report.refused)
    assert sorted([number for number, _ in report.rows] + [one.number for one in report.refused]) == list(
        range(1, len(rows) + 1)
    )
