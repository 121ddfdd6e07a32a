"""Readings as CSV: whole or not at all, and every fault at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.errors import EntryError, FileFaultsError, StoreError
from kit.saving import earlier_saves
from kit.stability.exchange import COLUMNS

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.log.store import StabilityLog
    from kit.stability.study import Study

HEAD = "reading,batch,condition,time_point,attribute,value,observed_on,replaces,reason,recorded_at\n"


def test_an_exported_file_has_the_units_and_keeps_the_previous_one(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    file = tmp_path / "shake.csv"
    file.write_text("my own words", encoding="utf-8")
    log.record(study.id, "A", "fridge", "start", "lower_layer", "61,5", "2026-01-12", note='said "clear", twice')
    log.export_csv(file, study.id)
    head, row = ("", "") if log.path else (",recorded_by", ",tester")
    moment = "2026-01-12T12:00:00+00:00"
    assert file.read_text(encoding="utf-8").splitlines() == [
        ",".join(COLUMNS) + head,
        '1,A,fridge,start,lower_layer,"61,5",61.5,mm,2026-01-12,,"said ""clear"", twice",,,' + moment + row,
    ]
    assert earlier_saves(file)[0].read() == b"my own words"
    assert {one.name for one in tmp_path.glob("*.csv*")} == {"shake.csv"}


def test_a_place_that_cannot_be_written_is_named(log: StabilityLog, study: Study, tmp_path: Path) -> None:
    with pytest.raises(
        StoreError, match=r"shake\.csv was not saved: its folder is not there\. Make the folder, or choose another"
    ):
        log.export_csv(tmp_path / "nowhere" / "shake.csv", study.id)


def test_a_short_file_of_a_maker_is_read_with_the_moment_of_reading(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    file = tmp_path / "own.csv"
    rows = '5,A,fridge,start,pH,"5,4",2026-01-12,,,\n6,a,fridge,start,ph,5.5,2026-01-12,5,settled,\n'
    file.write_bytes(("\ufeff" + HEAD + rows).replace("\n", "\r\n").encode())
    assert log.import_csv(file, study.id) == 2
    first, second = log.observations(study.id)
    assert (first.value, first.recorded_at) == ("5,4", "2026-01-12T12:00:00+00:00")
    assert (second.replaces, second.batch) == (first.id, "A")


def test_every_fault_is_named_and_nothing_is_added(log: StabilityLog, study: Study, tmp_path: Path) -> None:
    file = tmp_path / "own.csv"
    rows = [
        "1,A,fridge,start,ph,5.4,2026-01-12,,,",
        "1,A,fridge,1 week,ph,5.4,2026-01-19,,,",
        "2,C,fridge,start,ph,5.4,2026-01-12,,,",
        "3,A,window,start,ph,wet,2026-01-12,,,",
        "4,A,window,start,ph,5.4,Monday,,,",
        "5,A,fridge,start,ph,5.5,2026-01-12,,,",
        "6,A,fridge,start,ph,5.5,2026-01-12,1,,",
        "7,A,window,start,ph,5.5,2026-01-12,1,why,",
        "8,A,fridge,start,ph,5.5,2026-01-12,1,why,",
        "9,A,fridge,start,ph,5.5,2026-01-12,1,why,",
        "x,A,cupboard,start,ph,5.5,2026-01-12,,,",
        "11,A,cupboard,start,ph,5.5,2026-01-12,,why,",
        "12,A,cupboard,start,ph,5.5,2026-01-12,,,yesterday",
    ]
    file.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    with pytest.raises(FileFaultsError) as caught:
        log.import_csv(file, study.id)
    found = {fault.where: fault.problem for fault in caught.value.faults}
    expected = {
        "row 3": "reading 1 is in the file twice",
        "row 4": "'C' is not a batch of",
        "row 5": "pH: 'wet' cannot be read",
        "row 6": "'Monday' is not a date",
        "row 7": "reading 5 is of the same thing as reading 1. Say which replaces which.",
        "row 8": "reading 6 replaces reading 1 without a reason",
        "row 9": "which is not an earlier row of the same thing",
        "row 11": "which another row has replaced already",
        "row 12": "'x' is not the number of a reading",
        "row 13": "gives a reason but does not say which reading it replaces",
        "row 14": "'yesterday' is not a moment",
    }
    assert set(found) == set(expected)
    for where, words in expected.items():
        assert words in found[where]
    assert str(caught.value).startswith("own.csv has 11 faults; nothing was changed.")
    assert log.observations(study.id) == []


@pytest.mark.parametrize(
    ("content", "error", "words"),
    [
        (
            b"reading,batch,condition\n1,A,fridge\n",
            FileFaultsError,
            "row 1: there is no column 'time_point', 'attribute', 'value'",
        ),
        (HEAD.encode() + b'1,A,fridge,start,"ph', FileFaultsError, "row 2: a quotation mark is opened here"),
        (b"reading\xff", FileFaultsError, "it is not saved as UTF-8 text. Save it again as 'CSV UTF-8'."),
        (None, StoreError, "own.csv cannot be read: there is no such file"),
    ],
)
def test_a_file_that_is_not_a_table_of_readings_is_refused(
    log: StabilityLog, study: Study, tmp_path: Path, content: bytes | None, error: type[Exception], words: str
) -> None:
    if content is not None:
        (tmp_path / "own.csv").write_bytes(content)
    with pytest.raises(error) as caught:
        log.import_csv(tmp_path / "own.csv", study.id)
    assert words in str(caught.value)


def test_a_reading_that_the_log_has_already_stops_the_whole_file(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    log.record(study.id, "A", "fridge", "1 week", "ph", "5.4", "2026-01-19")
    file = tmp_path / "own.csv"
    rows = "1,A,fridge,start,ph,5.4,2026-01-12,,,\n2,A,fridge,1 week,ph,5.6,2026-01-19,,,\n"
    file.write_text(HEAD + rows, encoding="utf-8")
    with pytest.raises(EntryError, match="pH of batch A, Fridge, 4 to 8 °C, 1 week, is in the log already: reading 1"):
        log.import_csv(file, study.id)
    assert len(log.observations(study.id)) == 1


WHOLE = "reading,batch,condition,time_point,attribute,value,observed_on,observer,note\n"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (WHOLE + "1,A,fridge,start,ph,5.4,2026-01-12,Ada,cloudy, at the rim\n", "row 2: there are 10 cells under 9"),
        (WHOLE.replace("observer", "note") + "1,A,fridge,start,ph,5.4,2026-01-12,x,y\n", "'note' is there 2 times"),
        (WHOLE.replace("observer", "observr") + "1,A,fridge,start,ph,5.4,2026-01-12,Ada,\n", "row 1: 'observr' is not"),
        (
            WHOLE.replace(",observer", "") + "1,A,fridge,start,ph,5,4,2026-01-12\n",
            "row 2: observed_on: '4' is not a date",
        ),
        (
            "reading,batch,condition,time_point,attribute,observed_on,value,note\n1,A,fridge,start,ph,2026-01-12,5,4\n",
            "row 2: the value can be 5, with '4' under note, or 5.4",
        ),
    ],
)
def test_nothing_in_a_file_is_passed_over_in_silence(
    log: StabilityLog, study: Study, tmp_path: Path, content: str, words: str
) -> None:
    file = tmp_path / "own.csv"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(FileFaultsError) as caught:
        log.import_csv(file, study.id)
    assert words in str(caught.value)
    assert log.observations(study.id) == []


def test_a_spreadsheet_may_write_it_with_semicolons_and_the_maker_with_capitals(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    file = tmp_path / "own.csv"
    file.write_text(
        "Reading; Batch;Condition;Time point;Attribute;Value;Observed on;Note\n"
        "1;A;fridge;start;ph;5,4;2026-01-12;cloudy, at the rim\n",
        encoding="utf-8",
    )
    assert log.import_csv(file, study.id) == 1
    (read,) = log.observations(study.id)
    assert (read.value, read.number, read.note) == ("5,4", 5.4, "cloudy, at the rim")


def test_what_looks_like_one_number_or_name_comes_back_from_an_exported_file(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    log.record(study.id, "A", "fridge", "start", "ph", "5", "2026-01-12", observer="7", note="2-week-old bottle")
    log.correct(1, "6", "3-day-old meter")
    log.export_csv(tmp_path / "out.csv", study.id)
    again = log.start_study("Again", study.plan, study.batches, study.started_on)
    assert log.import_csv(tmp_path / "out.csv", again.id) == 2
    (read,) = log.current(again.id)
    assert (read.value, read.reason) == ("6", "3-day-old meter")
