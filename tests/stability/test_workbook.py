"""Readings as a workbook, and as CSV: what goes out comes back, and no spreadsheet runs any of it."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, FileFaultsError, StoreError
from kit.spreadsheet_text import RUN_BY_SPREADSHEETS
from kit.stability.exchange import COLUMNS, from_csv, from_rows, to_csv, to_rows
from kit.stability.plan import plans
from kit.stability.study import Observation, Study, storable
from kit.stability.workbook import _fill, _text, to_xlsx

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.log.store import StabilityLog

DAY = date(2026, 1, 12)
STUDY = Study(1, "Shake", plans()["home-twelve-weeks"], ("A", "=1+1", "@B"), DAY)
RUN = '=HYPERLINK("https://example.org","look")'


def row(**changed: object) -> Observation:
    kept = {"value": "pale gold", "note": "", "observer": "", "batch": "A"}
    place = ("fridge", "start", "colour_note")
    texts = {**kept, **changed}
    return Observation(
        1, 1, str(texts["batch"]), *place, str(texts["value"]), None, DAY, str(texts["observer"]), str(texts["note"]),
        recorded_at="2026-01-12T12:00:00+00:00",
    )  # fmt: skip


def book_of(*rows: Observation) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(to_xlsx(STUDY, rows)))


def test_a_workbook_has_the_columns_and_says_of_which_study_it_is() -> None:
    book = book_of(row())
    assert [cell.value for cell in book["Readings"][1]] == list(COLUMNS)
    assert [[cell.value for cell in line] for line in book["About"]][:4] == [
        ["study", "Shake"],
        ["formula", None],
        ["plan", "Home maker, twelve weeks"],
        ["started on", "2026-01-12"],
    ]


def test_what_was_read_is_a_number_beside_what_was_typed() -> None:
    read = replace(row(value="6,2 cm"), attribute="lower_layer", number=62.0)
    sheet = book_of(read, row(value="pale"))["Readings"]
    value, number = (COLUMNS.index(name) for name in ("value", "number"))
    shown = [(line[value].value, line[number].value) for line in sheet.iter_rows(min_row=2)]
    assert shown == [("6,2 cm", 62), ("pale", None)]
    assert sheet.cell(2, number + 1).data_type == "n"
    assert from_rows(to_rows(STUDY, [read]), "x", STUDY) == [read]


@pytest.mark.parametrize("text", [RUN, "+1", "-1-1", "@SUM(A1)", "'=1", "=cmd|' /C calc'!A0"])
def test_no_text_is_a_formula_in_the_workbook_and_none_starts_like_one_in_the_csv(text: str) -> None:
    rows = [row(value=text, note=text, observer=text, batch="=1+1")]
    for sheet in book_of(*rows):
        for line in sheet:
            assert all(cell.data_type in "sn" and cell.number_format == "@" for cell in line if cell.value is not None)
    cells = [cell for line in csv.reader(io.StringIO(to_csv(STUDY, rows))) for cell in line]
    assert not any(cell.startswith(RUN_BY_SPREADSHEETS) for cell in cells)
    assert from_csv(to_csv(STUDY, rows).encode(), "a.csv", STUDY) == rows


HOSTILE = st.sampled_from(
    ["", "=", "+", "-", "@", "'", "'=", "''", "\t=", " =", "＝", "_x0041_", "\x07", "\ufffe", "-5"]
)
TEXTS = st.builds(
    lambda start, rest: storable(start + rest, "x"),
    HOSTILE,
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30),
)


@given(st.lists(st.tuples(TEXTS.filter(bool), TEXTS, TEXTS), min_size=1, max_size=6))
def test_any_text_comes_back_from_csv_and_from_a_workbook(texts: list[tuple[str, str, str]]) -> None:
    points = [point.label for point in STUDY.plan.time_points]
    rows = [
        Observation(
            number, 1, "@B", "fridge", points[number - 1], "colour_note", value, None, DAY, observer, note,
            recorded_at="2026-01-12T12:00:00+00:00",
        )
        for number, (value, note, observer) in enumerate(texts, start=1)
    ]  # fmt: skip
    assert from_csv(to_csv(STUDY, rows).encode(), "a.csv", STUDY) == rows
    sheet = book_of(*rows)["Readings"]
    table = [[_text(value) for value in line] for line in sheet.iter_rows(values_only=True)]
    assert from_rows(table, "a.xlsx", STUDY) == rows
    cells = [cell for line in csv.reader(io.StringIO(to_csv(STUDY, rows), newline="")) for cell in line]
    assert not any(cell.startswith(RUN_BY_SPREADSHEETS) and not cell[1:].replace(".", "").isdecimal() for cell in cells)


def test_replicates_and_users_travel_and_have_columns_only_where_needed(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    for number in (1, 2, 3):
        log.record(study.id, "A", "fridge", "start", "ph", f"5.{number}", DAY, replicate=number)
    log.correct(2, "5.25", "read again")
    log.export_xlsx(tmp_path / "out.xlsx", study.id)
    log.export_csv(tmp_path / "out.csv", study.id)
    head = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    assert head[len(COLUMNS) :] == (["replicate"] if log.path else ["replicate", "recorded_by"])
    begun = log.start_study("Again", study.plan, study.batches, DAY)
    assert log.import_xlsx(tmp_path / "out.xlsx", begun.id) == 4
    again = log.start_study("Once more", study.plan, study.batches, DAY)
    assert log.import_csv(tmp_path / "out.csv", again.id) == 4
    for one in (begun, again):
        assert [(row.value, row.replicate) for row in log.current(one.id)] == [("5.1", 1), ("5.3", 3), ("5.25", 2)]
    table = log.table(study.id)
    assert table["pH"].tolist() == [5.1, 5.25, 5.3]


def test_a_workbook_that_a_hand_typed_is_read_as_it_shows(log: StabilityLog, study: Study, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["reading", "batch", "condition", "time_point", "attribute", "value", "observed_on"])
    sheet.append([1, "A", "fridge", "start", "mass", 110, datetime(2026, 1, 12)])
    sheet.append([None] * 7)
    sheet.append([2.0, "A", "fridge", "start", "leak", False, date(2026, 1, 12)])
    sheet.append([3, "A", "fridge", "start", "ph", 5.4, "2026-01-12"])
    book.save(tmp_path / "own.xlsx")
    assert log.import_xlsx(tmp_path / "own.xlsx", study.id) == 3
    assert [row.value for row in log.observations(study.id)] == ["110", "no", "5.4"]


def test_every_fault_of_a_workbook_is_named_and_nothing_is_added(
    log: StabilityLog, study: Study, tmp_path: Path
) -> None:
    book = openpyxl.Workbook()
    _fill(book.active, [*to_rows(study, []), ["1", "C", "fridge", "start", "ph", "5", "", "2026-01-12"], ["2", "A"]])
    book.save(tmp_path / "own.xlsx")
    with pytest.raises(FileFaultsError) as caught:
        log.import_xlsx(tmp_path / "own.xlsx", study.id)
    assert [fault.where for fault in caught.value.faults] == ["row 2", "row 3"]
    assert "'C' is not a batch of" in caught.value.faults[0].problem
    assert log.observations(study.id) == []


def test_what_is_no_workbook_is_refused(file_log: StabilityLog, file_study: Study, tmp_path: Path) -> None:
    (tmp_path / "own.xlsx").write_bytes(b"PK but not a workbook")
    with pytest.raises(FileFaultsError, match=r"it cannot be read as a workbook .* Save it as XLSX in the program"):
        file_log.import_xlsx(tmp_path / "own.xlsx", 1)
    with pytest.raises(StoreError, match=r"none\.xlsx cannot be read: there is no such file"):
        file_log.import_xlsx(tmp_path / "none.xlsx", 1)


def test_a_text_too_long_for_a_cell_is_never_cut_short() -> None:
    to_xlsx(STUDY, [row(note="x" * 32_767)])
    with pytest.raises(
        EntryError, match=r"Row 2, column 11 holds 32768 characters, and a cell of a workbook holds 32767"
    ):
        to_xlsx(STUDY, [row(note="x" * 32_768)])
