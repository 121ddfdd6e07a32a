"""Old notes: read from any table, mapped, and every cell that is no reading given back with its reason."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, datetime, timedelta

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import EntryError, KitError
from kit.stability.demo import demo_csv, demo_observations, demo_study
from kit.stability.old_notes.cells import condition_of, is_open, order_of, pull_of, pull_on, read_day
from kit.stability.old_notes.columns import ColumnMap, guess_mapping
from kit.stability.old_notes.readings import FoundReading, Preview, preview, refused_csv, with_schedule
from kit.stability.old_notes.table import ForeignTable, read_table, sheet_names
from kit.stability.plan import plans
from kit.stability.study import Study, current

STUDY = demo_study()
TODAY = date(2026, 6, 1)
CELLS = st.sampled_from(["TL-01", "fridge", "19.1.2026", "5,3", "x", "", "1/2/2026", "99"])
NOTES = (
    "Lot;Storage;Date;pH;Lower layer [cm];Comments;By\n"
    "TL-01;fridge;19.1.2026;5,31;6,2;clear;KM\n"
    "TL-02;40 °C;15.2.2026;5,2;;;KM\n"
)


def table(text: str, name: str = "notes.csv") -> ForeignTable:
    return read_table(text.encode(), name)


def looked_at(text: str, mapping: ColumnMap | None = None, **more: object) -> Preview:
    found = table(text)
    return preview(found, STUDY, mapping or guess_mapping(found, STUDY), TODAY, **more)  # type: ignore[arg-type]


# ---- any table --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", [";", ",", "\t", "|"])
def test_the_mark_between_cells_is_found(mark: str) -> None:
    rows = [["Batch", "pH", "Note"], ["TL-01", "5,3", "clear; as before, and | so"], ["TL-02", "5,4", ""]]
    out = io.StringIO()
    csv.writer(out, delimiter=mark).writerows(rows)
    found = table(out.getvalue())
    assert found.head == ("Batch", "pH", "Note")
    assert [list(row) for row in found.rows] == rows[1:]


@pytest.mark.parametrize("mark", [";", ","])
def test_a_title_above_the_table_is_left_out_and_told(mark: str) -> None:
    found = table(
        f"My notes, spring\n\nBatch{mark}pH{mark}Note\nTL-01{mark}5.3{mark}\nTL-02{mark}5.4{mark}\n".replace(
            "notes, spring", "notes"
        )
    )
    assert (found.head, found.lines) == (("Batch", "pH", "Note"), (4, 5))
    assert found.told[-1] == "left out above the table: 'My notes'"


def test_a_title_in_a_workbook_is_left_out_too() -> None:
    book = openpyxl.Workbook()
    for row in (["My notes"], [], ["Lot", "Where", "When", "Smell"], ["TL-01", "fridge", date(2026, 1, 19), 1]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    found = read_table(out.getvalue(), "notes.xlsx")
    assert (found.head, found.lines) == (("Lot", "Where", "When", "Smell"), (4,))
    seen = preview(found, STUDY, guess_mapping(found, STUDY), TODAY)
    assert [(one.condition, one.attribute, one.value) for one in seen.readings] == [("fridge", "odour", "1")]


def test_a_first_line_with_one_name_stays_where_nothing_else_names_the_columns() -> None:
    assert table("Batch;;\nTL-01;5,3;x\n").head == ("Batch", "column 2", "column 3")


def test_columns_that_are_left_out_are_named() -> None:
    found = looked_at("Lot;Storage;Date;pH;Largeness;Empty\nTL-01;fridge;19.1.2026;5,3;7;\n")
    assert found.told == ("Not brought in: 'Largeness'. Choose above what they are, if they matter.",)
    assert looked_at(NOTES).told[1].startswith("1 of 2 pulls were early or late")


def test_decimal_commas_do_not_part_cells() -> None:
    assert table("Batch;pH\nTL-01;5,3\nTL-02;5,4\nTL-03;5,2\n").head == ("Batch", "pH")


def test_lines_are_counted_as_an_editor_counts_them() -> None:
    found = table('\n\nBatch;Note\n\nTL-01;"two\nlines"\nTL-02;x\n')
    assert found.lines == (5, 7)
    assert found.rows[0] == ("TL-01", "two\nlines")


def test_a_short_row_is_filled_and_every_column_has_a_name_of_its_own() -> None:
    found = table("pH;pH;;Note\n5,3\n5,4;5,5;x;y\n")
    assert found.head == ("pH", "pH (2)", "column 3", "Note")
    assert found.rows[0] == ("5,3", "", "", "")
    assert table("pH;pH;pH;pH (2);;\n1;2;3;4;5;6\n").head == (
        "pH",
        "pH (2)",
        "pH (3)",
        "pH (2) (2)",
        "column 5",
        "column 6",
    )


@pytest.mark.parametrize(
    ("code", "told"), [("utf-8-sig", False), ("utf-16", False), ("cp1252", True)], ids=["utf-8", "utf-16", "western"]
)
def test_the_usual_encodings_are_read(code: str, told: bool) -> None:
    found = read_table("Lot;Färbung\nTL-01;hellgrün\n".encode(code), "notes.csv")
    assert found.rows == (("TL-01", "hellgrün"),)
    assert any("look at the accented letters" in words for words in found.told) == told


def workbook(rows: list[list[object]], title: str = "Readings") -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    book.create_sheet("Other").append(["nothing", "here"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook_gives_days_numbers_and_answers_as_text() -> None:
    rows: list[list[object]] = [["Lot", "Day", "pH", "Leak"], ["TL-01", datetime(2026, 1, 19, 9, 30), 5.3, True]]
    content = workbook([*rows, ["TL-02", date(2026, 1, 20), 2, None]])
    assert sheet_names(content) == ["Readings", "Other"]
    found = read_table(content, "notes.xlsx")
    assert found.rows == (("TL-01", "2026-01-19", "5.3", "yes"), ("TL-02", "2026-01-20", "2", ""))
    with pytest.raises(EntryError, match=r"notes\.xlsx has no sheet 'Third'. Choose one of: Readings, Other"):
        read_table(content, "notes.xlsx", "Third")
    with pytest.raises(EntryError, match="holds no table"):
        read_table(content, "notes.xlsx", "Other")


def test_a_csv_file_has_no_sheets() -> None:
    assert sheet_names(b"a;b\n1;2\n") == []


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "holds no table: a first line with the names of the columns"),
        (b"Batch;pH\n", "holds no table"),
        (b"Batch\nTL-01\n", "has only one column. Save it with a semicolon"),
        (b"a;b\n" + b"1;2\n" * 20_001, "has more than 20000 rows"),
    ],
)
def test_a_file_without_a_table_is_told(content: bytes, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        read_table(content, "notes.csv")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04 no workbook", "it cannot be read as a workbook"),
        (b'"a;b\n1;2\n', "a quotation mark in it is never closed"),
        (b"a\x00;b\n1;2\n", "is no text and no workbook"),
    ],
)
def test_a_file_that_is_no_table_at_all_is_told(content: bytes, words: str) -> None:
    with pytest.raises(KitError, match=words):
        read_table(content, "notes.csv")


def test_an_exported_guard_is_taken_away_again() -> None:
    assert table("Batch;Note\nTL-01;'=1+1\n").rows == (("TL-01", "=1+1"),)


# ---- days -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-09", "2026/3/9", "9.3.2026", "09.03.26", "9. 3. 2026", "9 Mar 2026", "9. March 2026", "March 9, 2026",
        "Mar 9 2026", " 2026-03-09T18:30:00+00:00 ", "9.3.2026 18:30",
    ],
)  # fmt: skip
def test_a_day_that_can_be_only_one_is_read(text: str) -> None:
    assert read_day(text) == date(2026, 3, 9)


def test_what_could_be_two_days_is_asked_for() -> None:
    with pytest.raises(EntryError, match=r"'3/9/2026' could be two different days\. Say whether the day or the month"):
        read_day("3/9/2026")
    assert read_day("3/9/2026", day_first=True) == date(2026, 9, 3)
    assert read_day("3/9/2026", day_first=False) == date(2026, 3, 9)
    assert read_day("13-3-2026") == read_day("3-13-2026") == date(2026, 3, 13)
    assert read_day("3/3/2026") == date(2026, 3, 3)
    for text in ("12/3/2026", "3/12/2026", "12-11-2026"):  # December is a month too
        with pytest.raises(EntryError, match="could be two different days"):
            read_day(text)


@pytest.mark.parametrize(
    "text", ["", "soon", "31.2.2026", "13/13/2026", "9 Foo 2026", "26-03-09", "3/4/26", "20260309"]
)
def test_what_is_no_day_is_told(text: str) -> None:
    with pytest.raises(EntryError, match=r"is not a day\. Write it as 2026-03-09"):
        read_day(text)
    with pytest.raises(EntryError, match="is not a day"):
        read_day("31/2/2026", day_first=True)


@pytest.mark.parametrize(
    ("texts", "order", "asks"),
    [
        (["3/4/2026", "25/4/2026"], True, False),
        (["3/4/2026", "4/25/2026"], False, False),
        (["3/4/2026", "13/4/2026"], True, False),
        (["3/4/2026", "12/13/2026"], False, False),
        (["3/4/2026", "5/6/2026"], None, True),
        (["3/4/2026", "25/4/2026", "4/25/2026"], None, True),
        (["3/3/2026", "2026-04-05"], None, False),
        ([], None, False),
    ],
)
def test_the_order_is_told_by_the_column_or_stays_open(texts: list[str], order: bool | None, asks: bool) -> None:
    assert order_of(texts) is order
    assert is_open(texts) is asks


FORMATS = ("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y", "%d %b %Y", "%B %d, %Y")


@given(st.dates(date(1990, 1, 1), date(2100, 12, 31)), st.sampled_from(FORMATS))
def test_a_written_day_comes_back_or_is_asked_for(day: date, written: str) -> None:
    text = day.strftime(written)
    assert read_day(text, day_first=written != "%m/%d/%Y") == day
    try:
        assert read_day(text) == day
    except EntryError:
        assert "/" in text
        assert day.day <= 12


# ---- pulls and places -------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["4 weeks", "4 WEEKS", "4w", "wk 4", "Week 4", "28 days", "28d", "day 28"])
def test_a_pull_goes_by_many_names(text: str) -> None:
    assert pull_of(STUDY, text) == "4 weeks"


@pytest.mark.parametrize("text", ["4", "3 weeks", "4 months", "later", "weeks"])
def test_an_unknown_pull_is_answered_with_those_there_are(text: str) -> None:
    with pytest.raises(EntryError, match=r"is not a pull of this study\. It has: start, 1 day, 1 week"):
        pull_of(STUDY, text)


def test_a_day_tells_its_pull_where_only_one_is_near() -> None:
    assert pull_on(STUDY, date(2026, 2, 7)) == "4 weeks"
    assert pull_on(STUDY, date(2026, 1, 11)) == "start"
    assert pull_on(STUDY, date(2026, 4, 27)) == "12 weeks"  # a quarter of 84 days late
    assert pull_on(STUDY, date(2026, 1, 5)) == "start"  # a week early
    for far in (date(2026, 4, 28), date(2026, 1, 4)):
        with pytest.raises(EntryError, match="days from the nearest pull"):
            pull_on(STUDY, far)
    with pytest.raises(EntryError, match=r"2026-01-16 lies as near to '1 day' as to '1 week'\. Name the pull"):
        pull_on(STUDY, date(2026, 1, 16))
    with pytest.raises(EntryError, match=r"lies 56 days from the nearest pull, '12 weeks' on 2026-04-06"):
        pull_on(STUDY, date(2026, 6, 1))


@pytest.mark.parametrize(
    ("text", "key"),
    [("fridge", "fridge"), ("Fridge, 4 to 8 °C", "fridge"), ("Warm", "warm_box"), ("40", "warm_box"),
     ("40 °C", "warm_box"), ("22,5 C", "cupboard"), ("window", "window"), ("Warm Box 40", "warm_box"),
     ("cupboard 20", "cupboard")],
)  # fmt: skip
def test_a_place_goes_by_many_names(text: str, key: str) -> None:
    assert condition_of(STUDY, text) == key


def test_an_unknown_or_double_place_is_told() -> None:
    with pytest.raises(EntryError, match=r"'attic' is not a condition of this study. It has: Cupboard, 20 to 25 °C;"):
        condition_of(STUDY, "attic")
    with pytest.raises(EntryError, match="'' is not a condition"):
        condition_of(STUDY, "")
    with pytest.raises(EntryError, match="'W' could be more than one condition"):
        condition_of(STUDY, "W")


# ---- which column is what ---------------------------------------------------------------------------------


def test_the_names_of_the_columns_suggest_the_mapping() -> None:
    assert guess_mapping(table(NOTES), STUDY) == ColumnMap(
        batch=0, condition=1, observed_on=2, observer=6, note=5, attributes=((3, "ph"), (4, "lower_layer"))
    )


def test_a_long_table_is_seen_as_one() -> None:
    found = guess_mapping(table(demo_csv()), STUDY)
    assert (found.attribute, found.value, found.attributes) == (4, 5, ())
    assert (found.batch, found.condition, found.time_point, found.observed_on) == (1, 2, 3, 8)


def test_what_can_be_only_one_thing_is_filled_in() -> None:
    plan = replace(STUDY.plan, conditions=STUDY.plan.conditions[:1])
    one = Study(1, "One", plan, ("X-1",), STUDY.started_on)
    found = guess_mapping(table("Date;pH\n2026-01-12;5,3\n"), one)
    assert (found.batch, found.condition) == ("X-1", "cupboard")
    assert guess_mapping(table("a;b\n1;2\n"), STUDY) == ColumnMap()


# ---- readings ---------------------------------------------------------------------------------------------


def test_a_row_becomes_readings_with_the_unit_of_their_heading() -> None:
    found = looked_at(NOTES)
    assert found.readings == (
        FoundReading(2, "TL-01", "fridge", "1 week", "ph", "5,31", date(2026, 1, 19), "KM", "clear"),
        FoundReading(2, "TL-01", "fridge", "1 week", "lower_layer", "6,2 cm", date(2026, 1, 19), "KM", "clear"),
        FoundReading(3, "TL-02", "warm_box", "4 weeks", "ph", "5,2", date(2026, 2, 15), "KM", ""),
    )
    assert found.refused == ()
    assert found.told == (
        "The numbers under 'Lower layer [cm]' are in cm, by their heading: 6,2 cm becomes 62 mm.",
        "1 of 2 pulls were early or late; their notes will say so.",
    )
    assert with_schedule(found.readings[2], STUDY).note == "6 days late"
    assert with_schedule(found.readings[0], STUDY) == found.readings[0]


def test_a_unit_that_cannot_be_turned_is_asked_for_and_its_answer_taken() -> None:
    text = "Lot;Storage;Date;Lower layer (mL)\nTL-01;fridge;19.1.2026;6,2\n"
    found = looked_at(text)
    (ask,) = found.asks
    assert ask == (
        "In which unit are the numbers under 'Lower layer (mL)'? Lower layer is kept in mm, and 'mL' cannot be turned "
        "into that."
    )
    assert found.readings == ()
    mapping = guess_mapping(table(text), STUDY)
    turned = looked_at(text, replace(mapping, units=((3, "cm"),)))
    assert [one.value for one in turned.readings] == ["6,2 cm"]
    assert turned.told == ("The numbers under 'Lower layer (mL)' are in cm, as you said: 6,2 cm becomes 62 mm.",)
    assert [one.value for one in looked_at(text, replace(mapping, units=((3, "mm"),))).readings] == ["6,2"]


def test_words_in_brackets_are_no_unit() -> None:
    found = looked_at(
        "Lot;Storage;Date;Mass (with cap)\nTL-01;fridge;19.1.2026;104\n",
        ColumnMap(0, 1, None, 2, attributes=((3, "mass"),)),
    )
    assert found.told == ("The numbers under 'Mass (with cap)' are taken as g. If they are in another unit, say so.",)


def test_a_unit_beside_each_number_is_read() -> None:
    text = "Lot;Storage;Date;Test;Result;Unit\n" + "".join(
        f"TL-01;fridge;19.1.2026;{what}\n"
        for what in ("lower layer;6,2;cm", "pH;5,3;", "mass;104;g", "viscosity;1,2;Pa.s", "density;1,0;mL")
    )
    found = looked_at(text)
    assert [(one.attribute, one.value) for one in found.readings] == [
        ("lower_layer", "6,2 cm"), ("ph", "5,3"), ("mass", "104"), ("viscosity", "1,2 Pa·s"),
    ]  # fmt: skip
    assert found.told == ("Numbers were turned by the unit in their row, such as 6,2 cm, which becomes 62 mm.",)


def test_a_height_that_no_other_pull_of_the_bottle_had_is_refused() -> None:
    text = "Lot;Storage;Date;Lower layer\nTL-01;fridge;12.1.2026;62\nTL-01;fridge;19.1.2026;6,1\n"
    found = looked_at(text)
    assert [one.value for one in found.readings] == ["62"]
    assert found.refused[0].reason == (
        "Lower layer: 6.1 mm is far from the 62 mm of the same bottle at another pull. Is it in another unit? Where "
        "it is right, record it by hand."
    )


@pytest.mark.parametrize(
    ("row", "column", "text", "words"),
    [
        ("TL-09;fridge;19.1.2026;5;;;", "Lot", "TL-09", "'TL-09' is not a batch of"),
        (";fridge;19.1.2026;5;;;", "Lot", "", "The cell is empty. Fill it in, or leave the row out."),
        ("TL-01;attic;19.1.2026;5;;;", "Storage", "attic", "'attic' is not a condition"),
        ("TL-01;fridge;soon;5;;;", "Date", "soon", "'soon' is not a day"),
        ("TL-01;fridge;19.1.2027;5;;;", "Date", "19.1.2027", "2027-01-19 has not come yet"),
        ("TL-01;fridge;16.1.2026;5;;;", "Date", "16.1.2026", "lies as near to '1 day' as to '1 week'"),
        ("TL-03;fridge;19.1.2026;five;;;", "pH", "five", "pH: 'five' cannot be read"),
        ("TL-03;fridge;19.1.2026;;-6;;", "Lower layer [cm]", "-6", "Lower layer: '-6 cm' is not possible"),
    ],
)
def test_what_is_no_reading_is_given_back_with_its_reason(row: str, column: str, text: str, words: str) -> None:
    found = looked_at(NOTES + row + "\n")
    assert len(found.readings) == 3
    (refused,) = found.refused
    assert (refused.line, refused.column, refused.text) == (4, column, text)
    assert words in refused.reason


def test_a_bad_cell_does_not_cost_its_neighbours() -> None:
    found = looked_at(NOTES + "TL-03;fridge;19.1.2026;five;6,3;;\n")
    assert found.readings[-1].attribute == "lower_layer"
    assert [one.column for one in found.refused] == ["pH"]


def test_a_row_without_any_reading_is_left_out_in_silence() -> None:
    assert looked_at(NOTES + "TL-09;attic;never;;;;\n").refused == ()


def test_the_same_place_twice_is_refused_in_the_file_and_in_the_log() -> None:
    found = looked_at(NOTES + "TL-01;fridge;19.1.2026;5,4;;;\n")
    assert "line 2 of this table holds it already" in found.refused[0].reason
    log = [one for one in demo_observations() if one.attribute == "ph"]
    found = looked_at(NOTES, already=current(log))
    assert [one.attribute for one in found.readings] == ["lower_layer"]
    assert found.refused[0].reason == "pH of batch TL-01, Fridge, 4 to 8 °C, 1 week: the log has '5.30' there already."


def test_a_second_measurement_has_a_place_of_its_own() -> None:
    text = "Lot;Storage;Date;pH;Measurement no.\n" + "".join(
        f"TL-01;fridge;19.1.2026;{ph};{number}\n"
        for ph, number in (("5,3", ""), ("5,4", "2"), ("5,5", "2"), ("5,6", "x"))
    )
    found = looked_at(text)
    assert [(one.value, one.replicate) for one in found.readings] == [("5,3", 1), ("5,4", 2)]
    assert "line 3 of this table holds it already" in found.refused[0].reason
    assert (found.refused[1].column, found.refused[1].text) == ("Measurement no.", "x")
    assert "'x' is not the number of a measurement" in found.refused[1].reason
    assert looked_at(text.replace(";x", ";100")).refused[1].reason.startswith("100 is not the number of a replicate")


def test_what_is_missing_is_asked_for_first() -> None:
    found = looked_at("a;b\n1;2\n", ColumnMap())
    assert found.readings == ()
    assert found.refused == ()
    assert found.asks == (
        "Which column holds the batch?",
        "Which column holds the place?",
        "Which column holds the day on which it was seen?",
        "Which columns hold readings? Name one attribute for each, or the columns of attribute and value.",
    )


def test_an_open_order_of_day_and_month_is_asked_for_and_its_answer_taken() -> None:
    text = "Lot,Storage,Date,pH\nTL-01,fridge,3/2/2026,5.3\n"
    found = looked_at(text)
    assert found.asks == ("In the days, such as '3/2/2026': does the day or the month come first?",)
    mapping = replace(guess_mapping(table(text), STUDY), time_point="2 weeks")
    for day_first, day in ((True, date(2026, 2, 3)), (False, date(2026, 3, 2))):
        answered = looked_at(text, replace(mapping, day_first=day_first))
        assert [one.observed_on for one in answered.readings] == [day]


def test_what_is_the_same_for_every_row_can_be_said_once() -> None:
    found = looked_at(
        "Day,What,Found\n19.1.2026,pH,5.3\n19.1.2026,odour,1\n19.1.2026,taste,1\n",
        ColumnMap("TL-02", "window", "1 week", 0, "KM", attribute=1, value=2),
    )
    assert [(one.batch, one.condition, one.attribute, one.value) for one in found.readings] == [
        ("TL-02", "window", "ph", "5.3"), ("TL-02", "window", "odour", "1"),
    ]  # fmt: skip
    assert "'taste' is not an attribute" in found.refused[0].reason


def test_the_refused_can_be_taken_away_as_csv_that_no_spreadsheet_runs() -> None:
    found = looked_at(NOTES + "=1+1;fridge;19.1.2026;5;;;\n")
    rows = list(csv.reader(io.StringIO(refused_csv(found.refused))))
    assert rows[0] == ["line", "column", "text", "reason"]
    assert rows[1][:3] == ["4", "Lot", "'=1+1"]


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_notes_written_in_any_habit_come_back(data: st.DataObject) -> None:
    """Readings -> a wide table with this mark, decimal and day -> the same readings."""
    mark, decimal, day = data.draw(
        st.sampled_from([(m, d, f) for m in ";\t,|" for d in ".," for f in ("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y")])
    )
    places = data.draw(
        st.lists(
            st.tuples(
                st.sampled_from(STUDY.batches),
                st.sampled_from(STUDY.plan.conditions),
                st.sampled_from(STUDY.plan.time_points),
            ),
            min_size=1, max_size=8, unique=True,
        )
    )  # fmt: skip
    rows, wanted = [], set()
    for batch, condition, point in places:
        ph, grade = data.draw(st.floats(3, 9)), data.draw(st.integers(0, 4))
        seen = STUDY.due_on(point) + timedelta(days=data.draw(st.integers(-2, 3)))
        text = f"{ph:.2f}".replace(".", decimal)
        rows.append([batch, condition.label, point.label, seen.strftime(day), text, str(grade)])
        wanted.add((batch, condition.key, point.label, "ph", text, seen))
        wanted.add((batch, condition.key, point.label, "odour", str(grade), seen))
    out = io.StringIO()
    csv.writer(out, delimiter=mark).writerows([["Batch", "Kept in", "Pull", "Seen on", "pH", "Odour"], *rows])
    found = table(out.getvalue())
    mapping = replace(guess_mapping(found, STUDY), day_first=True)
    shown = preview(found, STUDY, mapping, TODAY)
    assert shown.asks == ()
    assert shown.refused == ()
    assert {
        (one.batch, one.condition, one.time_point, one.attribute, one.value, one.observed_on) for one in shown.readings
    } == wanted


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=4, max_size=4), min_size=1, max_size=6))
def test_every_filled_cell_is_either_a_reading_or_refused(rows: list[list[str]]) -> None:
    text = "Batch;Kept in;Seen on;pH\n" + "".join(f"{';'.join(row)}\n" for row in rows)
    found = read_table(text.encode(), "n.csv") if any(any(row) for row in rows) else None
    if found is None:
        return
    mapping = ColumnMap(0, 1, None, 2, attributes=((3, "ph"),), day_first=True)
    shown = preview(found, STUDY, mapping, TODAY)
    filled = {line for line, row in zip(found.lines, found.rows, strict=True) if row[3]}
    assert {one.line for one in shown.readings} | {one.line for one in shown.refused} == filled
    assert not {one.line for one in shown.readings} & {one.line for one in shown.refused}


def test_the_plan_of_another_study_is_asked_as_well() -> None:
    frozen = Study(2, "Frozen", plans()["freeze-thaw"], ("A",), date(2026, 1, 12))
    found = table("Kept in,Pull,Date,pH\ncycled,after cycle 1,14.1.2026,5.3\n")
    shown = preview(found, frozen, guess_mapping(found, frozen), TODAY)
    assert [(one.batch, one.time_point) for one in shown.readings] == [("A", "after cycle 1")]


def test_a_decimal_comma_between_commas_is_never_cut_into_a_reading() -> None:
    found = looked_at(
        "Lot,Storage,Date,pH,Comments\nTL-01,fridge,19.1.2026,5,4,clear\nTL-02,fridge,19.1.2026,5.2,clear\n"
    )
    assert [(one.batch, one.value) for one in found.readings] == [("TL-02", "5.2")]
    (refused,) = found.refused
    assert refused.line == 2
    assert "save the table with semicolons" in refused.reason
