"""The forms of the stability panel around the readings: plans of one's own, photos, old notes, files and papers."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from PIL import Image

from kit.errors import StoreError
from kit.stability.plan import plans
from kit.stability.plan_files import read_plan
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.stability_panel import StabilityPanel
from tests.widgets.hands import HOSTILE, html_of, is_hidden, rows, words

if TYPE_CHECKING:
    import ipywidgets as ipw

DAY = date(2026, 3, 9)
FILE = "stability_log.db"


@pytest.fixture
def panel() -> StabilityPanel:
    made = StabilityPanel(FILE, formula_title="Shake", today=lambda: DAY)
    made.start.title.value, made.start.batches.value = "Shake, spring", "TL-01, TL-02"
    made.start.start.click()
    return made


def give(upload: ipw.FileUpload, name: str, content: bytes) -> None:
    """Choose a file, as a browser hands it over."""
    now = datetime(2026, 3, 9, tzinfo=UTC)
    upload.value = (
        {"name": name, "type": "", "size": len(content), "content": memoryview(content), "last_modified": now},
    )


# ---- the rows ---------------------------------------------------------------------------------------------


def test_what_the_browser_sends_with_the_wish_to_save_is_what_is_saved() -> None:
    made = ReadingRows(texts={"0.0.0": "old", "0.0.9": "of another row"})
    heard: list[dict[str, str]] = []
    made.on_save(lambda: heard.append(made.texts))
    made._hear(made, {"kind": "save", "texts": {"0.0.0": "5,1"}}, [])
    assert heard == [{"0.0.0": "5,1", "0.0.9": "of another row"}]


@pytest.mark.parametrize("content", [None, "save", {}, {"kind": "other"}, {"kind": 5, "texts": {}}])
def test_another_message_is_let_pass(content: object) -> None:
    made = ReadingRows()
    made.on_save(lambda: pytest.fail("nothing asked to save"))
    made._hear(made, content, [])


def test_texts_that_are_none_do_not_replace_what_was_typed() -> None:
    made = ReadingRows(texts={"0.0.0": "5,1"})
    made._hear(made, {"kind": "save", "texts": {"0.0.0": 5}}, [])
    made._hear(made, {"kind": "save", "texts": None}, [])
    assert made.texts == {"0.0.0": "5,1"}


# ---- a plan of one's own ----------------------------------------------------------------------------------


@pytest.fixture
def change(panel: StabilityPanel) -> StabilityPanel:
    panel.start.change_box.selected_index = 0
    return panel


def test_an_unchanged_plan_is_the_ready_one(panel: StabilityPanel) -> None:
    assert panel.start.change.places == {}  # the ticks are made only when they are asked for
    assert panel.start.change.plan() == plans()["home-twelve-weeks"]
    panel.start.change_box.selected_index = 0
    assert panel.start.change.plan() == plans()["home-twelve-weeks"]
    panel.start.plan.value = "freeze-thaw"
    assert panel.start.change.plan() == plans()["freeze-thaw"]


def test_places_days_and_things_can_be_dropped_and_added(change: StabilityPanel) -> None:
    form = change.start.change
    form.places["window"].value, form.places["warm_box_45"].value = False, True
    form.things["microbes"].value, form.things["density"].value = False, True
    form.days.value = "0, 3, 7,21; 56"
    plan = form.plan()
    assert [one.key for one in plan.conditions] == ["cupboard", "fridge", "warm_box", "warm_box_45"]
    assert [(one.label, one.days, one.grace) for one in plan.time_points] == [
        ("start", 0, 0), ("3 days", 3, 0), ("1 week", 7, 1), ("3 weeks", 21, 2), ("8 weeks", 56, 3),
    ]  # fmt: skip
    assert "density" in [one.key for one in plan.attributes]
    assert "microbes" not in [one.key for one in plan.attributes]
    assert (plan.key, plan.title) == ("home-twelve-weeks-changed", "Home maker, twelve weeks (changed)")
    assert plan.source.startswith("changed by the maker; before that: common practice")
    assert "Warm box, 45 °C" in words(change.start.about)
    change.start.title.value, change.start.batches.value = "Own", "X-1"
    change.start.start.click()
    assert change.study is not None
    assert change.study.plan == plan


def test_limits_can_be_set_and_say_whose_they_are(change: StabilityPanel) -> None:
    form = change.start.change
    form.attribute.value = "ph"
    assert [form.limits[name].value for name in ("lower", "upper", "change")] == ["", "", "0.5"]
    assert words(form.told).startswith("Source of these limits: common practice. Draw from the water layer")
    form.limits["lower"].value, form.limits["upper"].value, form.limits["change"].value = "4,8", "5.6", ""
    form.set_limits.click()
    assert words(form.told).startswith("Source of these limits: the maker's own limits.")
    assert words(form.message) == "✓ pH: at least 4.8, at most 5.6."
    made = form.plan().attribute("ph")
    assert (made.lower, made.upper, made.change, made.source) == (4.8, 5.6, None, "the maker's own limits")
    form.limits["lower"].value = "7"
    form.set_limits.click()
    assert "✕ pH: its lower limit 7 must be below its upper limit 5.6." in words(form.message)
    assert form.plan().attribute("ph").lower == 4.8
    form.attribute.value = "colour"
    assert form.limits["lower"].disabled
    assert not form.limits["change"].disabled


def test_a_place_of_ones_own_can_be_added(change: StabilityPanel) -> None:
    form = change.start.change
    form.own_label.value, form.own_coldest.value, form.own_warmest.value = "Bathroom shelf", "18", "28"
    form.own_add.click()
    assert words(form.message) == "✓ Added Bathroom shelf."
    place = form.plan().condition("bathroom_shelf")
    assert (place.label, place.coldest, place.warmest, place.source) == ("Bathroom shelf", 18, 28, "the maker's own")
    form.own_label.value, form.own_coldest.value, form.own_warmest.value = "Bathroom shelf", "18", "28"
    form.own_add.click()
    assert "There is a place called 'Bathroom shelf' already" in words(form.message)
    form.own_label.value, form.own_coldest.value = "Cellar", "cold"
    form.own_add.click()
    assert "from [°C]: 'cold' is not a number" in words(form.message)
    form.own_label.value = " "
    form.own_add.click()
    assert words(form.message) == "✕ Another place: write its name, and between which temperatures it lies."
    form.attribute.value = "ph"
    form.limits["upper"].value = "six"
    form.set_limits.click()
    assert words(form.message).startswith("✕ At most: 'six' is not a number.")


def test_a_thing_of_ones_own_can_be_looked_at(change: StabilityPanel) -> None:
    form = change.start.change
    form.thing_add.click()
    assert words(form.message) == "✕ Another thing: write what is to be looked at, such as 'Foam height'."
    form.thing_label.value = "ph"
    form.thing_add.click()
    assert "'ph' is among the things to look at already" in words(form.message)
    form.thing_label.value, form.thing_unit.value = "Foam height", "mm"
    form.thing_add.click()
    assert words(form.message) == "✓ Added Foam height [mm]. Its limits can be set below."
    form.attribute.value, form.limits["lower"].value = "foam_height", "12,5"
    form.set_limits.click()
    for label, kind in (("Clarity", "grade"), ("Pump <b> works", "yes/no"), ("Smell in words", "text")):
        form.thing_label.value, form.thing_kind.value = label, kind
        form.thing_add.click()
    change.start.title.value, change.start.batches.value = "Own", "X-1"
    change.start.start.click()
    assert change.study is not None
    foam, clarity, pump, smell = change.study.plan.attributes[-4:]
    assert (foam.title, foam.kind, foam.lower, foam.unit) == ("Foam height [mm]", "number", 12.5, "mm")
    assert (clarity.title, pump.kind, pump.key, smell.kind) == ("Clarity [grade 0-4]", "yes/no", "pump_b_works", "text")
    bottle = change.form.choice.one_bottle
    assert bottle is not None
    change.form.rows.type(change.form.key(bottle, "foam_height"), "11")
    said = change.form.rows.said[change.form.key(bottle, "foam_height")]["findings"][0]["sentence"]
    assert said.startswith("Foam height is 11 mm: below its limit, 12.5 mm.")


def test_a_place_may_have_any_name_and_its_light(change: StabilityPanel) -> None:
    form = change.start.change
    form.own_label.value, form.own_coldest.value, form.own_warmest.value = "Shelf 1/2 <b>", "18", "28"
    form.own_light.value = "daylight"
    form.own_add.click()
    change.start.title.value, change.start.batches.value = "Own", "X/1"
    change.start.start.click()
    assert change.study is not None
    place = change.study.plan.condition("Shelf 1/2 <b>")
    assert (place.key, place.light) == ("shelf_1_2_b", "daylight")
    change.form.choice.bottle.value = ("X/1", place.key)
    change.files.sheet.click()
    assert words(change.files.message) == "✓ Wrote own_start_x_1_shelf_1_2_b_record.html beside this notebook."


@pytest.mark.parametrize(
    ("days", "sentence"),
    [
        ("0, soon", "Days of the pulls: 'soon' is not a number of days. Write them as 0, 7, 14, 28."),
        ("", "Days of the pulls: '' is not a number of days."),
        ("0, 1.5", "'1.5' is not a number of days"),
        ("7, 14", "Days of the pulls: there is no 0. Changes are counted from the readings at the start, on day 0."),
    ],
)
def test_days_that_cannot_be_read_are_told_and_nothing_starts(change: StabilityPanel, days: str, sentence: str) -> None:
    change.start.change.days.value = days
    assert sentence in words(change.start.about)
    change.start.title.value, change.start.batches.value = "Own", "X-1"
    change.start.start.click()
    assert sentence in words(change.start.message)
    assert len(change.logbook.studies()) == 1


def test_a_plan_without_any_place_is_told(change: StabilityPanel) -> None:
    for tick in change.start.change.places.values():
        tick.value = False
    assert "a plan needs at least one condition" in words(change.start.about)


def test_a_changed_plan_is_saved_and_offered_from_then_on(change: StabilityPanel) -> None:
    start = change.start
    start.save.click()
    assert words(start.plan_message) == "✕ Give the plan a name first, such as 'autumn'."
    start.change.places["window"].value = False
    start.name.value = "My autumn"
    start.save.click()
    assert words(start.plan_message).startswith("✓ Saved my_autumn.plan.toml beside this notebook.")
    plan = read_plan(Path("my_autumn.plan.toml"))
    assert (plan.key, plan.title, len(plan.conditions)) == ("my_autumn", "My autumn", 3)
    assert start.plan.value == "own: my_autumn"
    again = StabilityPanel(FILE, today=lambda: DAY)
    assert ("own: My autumn", "own: my_autumn") in again.start.plan.options
    again.start.plan.value = "own: my_autumn"
    assert again.start.change.plan() == plan


def test_a_faulty_plan_beside_the_notebook_is_told(panel: StabilityPanel) -> None:
    Path("broken.plan.toml").write_text("key = 1", encoding="utf-8")
    assert "broken.plan.toml has 4 faults" in words(StabilityPanel(FILE, today=lambda: DAY).start.message)


# ---- a photo ----------------------------------------------------------------------------------------------


def photo(fmt: str = "PNG", **more: Any) -> bytes:
    """A bottle of one colour beside a grey card in the upper left corner."""
    image = Image.new("RGB", (400, 300), (200, 150, 60))
    image.paste((110, 118, 126), (0, 0, 60, 60))
    out = io.BytesIO()
    image.save(out, format=fmt, **more)
    return out.getvalue()


def test_a_photo_shows_its_patch_and_its_colour_with_the_caution(panel: StabilityPanel) -> None:
    form = panel.photo
    assert is_hidden(form.work)
    give(form.upload, "bottle.jpg", photo("JPEG"))
    assert not is_hidden(form.work)
    assert [box.value for box in form.patch_boxes] == [160, 120, 80, 60]
    assert '<img src="data:image/png;base64,' in form.picture.value
    assert 'alt="bottle.jpg with its patch"' in form.picture.value
    assert words(form.told).startswith("L* 65.3, a* 9.9, b* 52.5 (D65, 2°)")
    assert "Compare them only with pictures taken by the same camera in the same light" in words(form.told)


def test_the_patch_can_be_moved_and_put_back(panel: StabilityPanel) -> None:
    form = panel.photo
    give(form.upload, "bottle.png", photo())
    for box, value in zip(form.patch_boxes, (10, 10, 40, 40), strict=True):
        box.value = value
    assert "L* 49.2" in words(form.told)
    form.patch_boxes[0].value = 390
    assert "✕ The patch does not lie within the picture, which is 400 wide and 300 high." in words(form.told)
    assert form.fill.disabled
    form.middle.click()
    assert [box.value for box in form.patch_boxes] == [160, 120, 80, 60]
    assert not form.fill.disabled


def test_a_card_corrects_the_colour(panel: StabilityPanel) -> None:
    form = panel.photo
    give(form.upload, "bottle.png", photo())
    plain = form.colour
    form.card.value = True
    assert not is_hidden(form.card_row)
    assert [box.value for box in form.card_boxes] == [0, 0, 50, 37]
    assert form.colour is not None
    assert plain is not None
    assert form.colour.lab != plain.lab
    assert "corrected by the card" in words(form.told)


def test_the_colour_goes_into_its_box_and_the_photo_with_the_reading(panel: StabilityPanel) -> None:
    form, bottle = panel.photo, ("TL-01", "cupboard")
    give(form.upload, "bottle.png", photo())
    form.fill.click()
    assert words(form.message) == "✓ 65.3 9.8 52.9 stands in the box Colour. Save the readings to keep it."
    assert panel.form.rows.texts[panel.form.key(bottle, "colour")] == "65.3 9.8 52.9"
    panel.form.rows.type(panel.form.key(bottle, "ph"), "5,1")
    panel.form.observer.value = "KM"
    panel.form.rows.save()
    assert words(panel.form.message).endswith("start: Colour, pH. bottle.png is kept with the log.")
    (kept,) = panel.logbook.photos(1)
    reading = next(row for row in panel.logbook.current(1) if row.id == kept.observation_id)
    assert (reading.attribute, reading.value) == ("colour", "65.3 9.8 52.9")
    assert (kept.patch, kept.file_name, kept.attached_by) == ((160, 120, 80, 60), "bottle.png", "KM")
    assert kept.colour == pytest.approx((65.29, 9.81, 52.90), abs=0.01)
    assert panel.logbook.photo_file(kept).read_bytes() == photo()
    assert is_hidden(form.work)
    assert 'alt="bottle.png, start, 2026-03-09 · L* 65.3, a* 9.8, b* 52.9"' in form.kept.value


def test_a_photo_is_kept_with_a_reading_that_was_saved_before(panel: StabilityPanel) -> None:
    form = panel.photo
    panel.form.rows.type(panel.form.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.form.rows.save()
    form.attach.click()
    assert words(form.message) == "✕ Choose a photo first."
    give(form.upload, "bottle.png", photo())
    form.attach.click()
    assert words(form.message) == "✓ It will be kept with the next reading that is saved of this bottle."
    form.reading.value = 1
    form.attach.click()
    assert words(form.message) == "✓ bottle.png is kept with the log."
    assert [one.observation_id for one in panel.logbook.photos(1)] == [1]


def test_a_turned_photo_keeps_its_patch_in_the_pixels_of_the_file(panel: StabilityPanel) -> None:
    exif = Image.new("RGB", (1, 1)).getexif()
    exif[0x0112] = 6
    give(panel.photo.upload, "turned.png", photo(exif=exif))
    for box, value in zip(panel.photo.patch_boxes, (240, 0, 60, 60), strict=True):
        box.value = value  # the card, upright in the upper right corner
    assert "L* 49.2" in words(panel.photo.told)
    panel.form.rows.type(panel.form.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.form.rows.save()
    assert panel.logbook.photos(1)[0].patch == (0, 0, 60, 60)


def test_a_file_that_is_no_picture_is_told(panel: StabilityPanel) -> None:
    give(panel.photo.upload, "notes.jpg", b"no picture at all")
    assert "✕ This is not a JPEG or PNG picture that can be read." in words(panel.photo.message)
    assert is_hidden(panel.photo.work)


def test_readings_are_kept_where_the_photo_cannot_be(panel: StabilityPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_place: object, **_more: object) -> None:
        msg = "the disk is full."
        raise StoreError(msg)

    monkeypatch.setattr(panel.logbook, "attach_photo", full)
    give(panel.photo.upload, "bottle.png", photo())
    panel.form.rows.type(panel.form.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.form.rows.save()
    assert [row.value for row in panel.logbook.current(1)] == ["5,1"]
    assert words(panel.photo.message) == "✕ The readings are saved; the photo is not: the disk is full."
    assert panel.photo.content == photo()


def test_a_lost_photo_is_told_in_its_place(panel: StabilityPanel) -> None:
    give(panel.photo.upload, "bottle.png", photo())
    panel.form.rows.type(panel.form.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.form.rows.save()
    panel.logbook.photo_file(panel.logbook.photos(1)[0]).unlink()
    panel.refresh()
    assert "The photo cannot be found. Look through the log with verify." in words(panel.photo.kept)


# ---- old notes --------------------------------------------------------------------------------------------

NOTES = (
    "Lot;Storage;Date;pH;Lower layer [cm];Comments;By\n"
    "TL-01;fridge;9.3.2026;5,31;6,2;clear;KM\n"
    "TL-09;fridge;9.3.2026;5,3;;;KM\n"
)


def test_old_notes_are_mapped_looked_at_and_recorded(panel: StabilityPanel) -> None:
    form = panel.import_form
    assert is_hidden(form.work)
    give(form.upload, "notes.csv", NOTES.encode())
    assert not is_hidden(form.work)
    assert is_hidden(form.worksheet)
    assert words(form.about) == "notes.csv: 2 rows, 7 columns; cells parted by semicolons."
    assert (form.fields["batch"].value, form.fields["time_point"].value) == (0, "")
    assert (form.columns["ph"].value, form.columns["odour"].value) == (3, "")
    assert form.record.description == "Record these 2 readings"
    assert "To be recorded: 2; the first of them:" in words(form.shown)
    assert "3 Lot TL-09 'TL-09' is not a batch of 'Shake, spring'" in words(form.shown)
    form.record.click()
    assert words(form.message) == (
        "✓ Recorded 2 readings from notes.csv. 1 cell was refused. The refused cells with their reasons are in "
        "refused_notes.csv, beside this notebook."
    )
    assert [(o.attribute, o.value, o.note, o.observer) for o in panel.logbook.current(1)] == [
        ("ph", "5,31", "clear", "KM"), ("lower_layer", "6,2 cm", "clear", "KM"),
    ]  # fmt: skip
    refused = list(csv.DictReader(io.StringIO(Path("refused_notes.csv").read_text(encoding="utf-8"))))
    assert [(one["line"], one["column"], one["text"]) for one in refused] == [("3", "Lot", "TL-09")]
    assert is_hidden(form.work)
    assert "partly done" in words(panel.due)


def test_a_table_with_the_same_columns_is_mapped_as_the_last_one_was(panel: StabilityPanel) -> None:
    form = panel.import_form
    strange = b"Lot;Storage;Date;x1\nTL-01;fridge;9.3.2026;5,3\n"
    give(form.upload, "notes.csv", strange)
    form.columns["ph"].value, form.days.value = 3, True
    form.record.click()
    give(form.upload, "more.csv", strange.replace(b"TL-01", b"TL-02"))
    assert (form.columns["ph"].value, form.days.value) == (3, True)
    form.record.click()
    assert [(o.batch, o.value) for o in panel.logbook.current(1)] == [("TL-01", "5,3"), ("TL-02", "5,3")]
    give(form.upload, "other.csv", strange.replace(b"x1", b"x2"))
    assert (form.columns["ph"].value, form.days.value) == ("", "column")


def test_a_wrong_guess_is_put_right_by_hand(panel: StabilityPanel) -> None:
    form = panel.import_form
    give(form.upload, "notes.csv", b"a,b,c,d\nTL-01,fridge,4/3/2026,5.3\n")
    assert "✕ Which column holds the batch?" in words(form.shown)
    assert form.record.disabled
    for name, column in (("batch", 0), ("condition", 1), ("observed_on", 2)):
        form.fields[name].value = column
    form.columns["ph"].value = 3
    assert "In the days, such as '4/3/2026': does the day or the month come first?" in words(form.shown)
    form.fields["time_point"].value = "start"
    form.days.value = True
    assert form.record.description == "Record this 1 reading"
    assert rows(form.shown)[0][:6] == ["2", "TL-01", "Fridge, 4 to 8 °C", "start", "2026-03-04", "pH"]
    assert rows(form.shown)[0][7] == "5 days early"
    assert "Nothing is refused." in words(form.shown)
    form.record.click()
    assert [o.note for o in panel.logbook.current(1)] == ["5 days early"]


def test_a_long_table_and_a_workbook_with_sheets(panel: StabilityPanel) -> None:
    book = openpyxl.Workbook()
    first = book.active
    assert first is not None
    first.title = "Nothing"
    first.append(["a", "b"])
    first.append(["1", "2"])
    sheet = book.create_sheet("Long")
    sheet.append(["Batch", "Kept in", "Pull", "Date", "What", "Value"])
    sheet.append(["TL-02", "window", "start", DAY, "pH", 5.25])
    sheet.append(["TL-02", "window", "start", DAY, "taste", 1])
    out = io.BytesIO()
    book.save(out)
    form = panel.import_form
    give(form.upload, "notes.xlsx", out.getvalue())
    assert not is_hidden(form.worksheet)
    form.worksheet.value = "Long"
    assert (form.shape.value, form.fields["attribute"].value, form.fields["value"].value) == ("long", 4, 5)
    assert is_hidden(form.wide_box)
    form.record.click()
    assert [(o.batch, o.attribute, o.number) for o in panel.logbook.current(1)] == [("TL-02", "ph", 5.25)]
    assert "'taste' is not an attribute" in Path("refused_notes.csv").read_text(encoding="utf-8")


def test_what_was_recorded_meanwhile_is_refused_and_told(panel: StabilityPanel) -> None:
    form = panel.import_form
    give(form.upload, "notes.csv", NOTES.encode())
    StabilityPanel(FILE, today=lambda: DAY).logbook.record(1, "TL-01", "fridge", "start", "ph", "5,0", DAY)
    form.record.click()
    assert "Recorded 1 reading from notes.csv. 2 cells were refused." in words(form.message)
    assert "ph" in Path("refused_notes.csv").read_text(encoding="utf-8")


def test_a_file_without_a_table_is_told(panel: StabilityPanel) -> None:
    give(panel.import_form.upload, "notes.csv", b"just words")
    assert "✕ notes.csv holds no table" in words(panel.import_form.message)
    assert is_hidden(panel.import_form.work)


def test_hostile_notes_stay_text(panel: StabilityPanel) -> None:
    text = f"Lot;Storage;Date;{HOSTILE};Comments\nTL-01;fridge;9.3.2026;5;{HOSTILE}\n{HOSTILE};fridge;9.3.2026;5;x\n"
    form = panel.import_form
    give(form.upload, f"{HOSTILE}.csv", text.encode())
    form.columns["ph"].value = 3
    give(panel.photo.upload, f"{HOSTILE}.png", photo())
    assert HOSTILE in rows(form.shown)[0]
    assert "&lt;img" in html_of(panel)
    assert "<img src=x" not in html_of(panel)


# ---- files and papers -------------------------------------------------------------------------------------


def test_the_calendar_is_shown_and_every_file_can_be_written(panel: StabilityPanel) -> None:
    panel.form.rows.type(panel.form.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.form.rows.save()
    assert rows(panel.files.days)[0] == ["2026-03-09", "start", "2026-03-09", "8", "8 still to read"]
    assert rows(panel.files.days)[2] == ["2026-03-16", "1 week", "2026-03-17", "8", "8 still to read"]
    for button, name, holds in (
        (panel.files.csv, "shake_spring_readings.csv", b"TL-01,cupboard,start,ph"),
        (panel.files.xlsx, "shake_spring_readings.xlsx", b"PK"),
        (panel.files.ics, "shake_spring.ics", b"BEGIN:VEVENT\r\n"),
        (panel.files.plan, "shake_spring_plan.html", b"Stability plan"),
        (panel.files.sheet, "shake_spring_start_tl_01_cupboard_record.html", b"Record sheet"),
    ):
        button.click()
        assert words(panel.files.message) == f"✓ Wrote {name} beside this notebook."
        assert holds in Path(name).read_bytes()


def test_the_record_sheet_of_all_bottles_is_that_of_the_pull(panel: StabilityPanel) -> None:
    panel.form.choice.pull.value = "1 week"
    panel.form.choice.bottle.value = "every"
    panel.files.sheet.click()
    assert (
        Path("shake_spring_1_week_record.html").read_text(encoding="utf-8").count('<section aria-labelledby="bottle-')
        == 8
    )


def test_what_was_missed_is_to_be_read_no_more() -> None:
    panel = StabilityPanel(FILE, today=lambda: DAY + timedelta(days=1))
    panel.start.title.value, panel.start.batches.value, panel.start.started_on.value = "Old", "A", DAY
    panel.start.start.click()
    assert rows(panel.files.days)[0][4] == "all read or missed"
    assert rows(panel.files.days)[1][4] == "4 still to read"


def test_without_a_study_no_file_is_written() -> None:
    panel = StabilityPanel(FILE, today=lambda: DAY)
    panel.files.csv.click()
    assert words(panel.files.message) == "✕ There is no study yet. Start one below."
