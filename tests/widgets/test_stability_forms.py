"""The forms of the stability panel around the readings: plans of one's own, photos, old notes, files and papers."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from PIL import Image

from kit.errors import StoreError
from kit.stability.plan import plans
from kit.stability.plan_files import read_plan
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.stability_panel import StabilityPanel
from kit.widgets.stability_photo import SIDES
from tests.widgets.hands import HOSTILE, html_of, offered, rows, said, words

DAY = date(2026, 3, 9)
FILE = "stability_log.db"


@pytest.fixture
def panel() -> StabilityPanel:
    made = StabilityPanel(FILE, formula_title="Shake", today=lambda: DAY)
    made.start.form.type(title="Shake, spring", batches="TL-01, TL-02")
    made.start.form.press("start")
    return made


# ---- the rows ---------------------------------------------------------------------------------------------


def test_what_the_browser_sends_with_the_wish_to_save_is_what_is_saved() -> None:
    made = ReadingRows(texts={"0.0.0": "old", "0.0.9": "of another row"})
    heard: list[dict[str, str]] = []
    made.on_save(lambda: heard.append(made.texts))
    made._receive(made, {"kind": "save", "texts": {"0.0.0": "5,1"}}, [])
    assert heard == [{"0.0.0": "5,1", "0.0.9": "of another row"}]


@pytest.mark.parametrize("content", [None, "save", {}, {"kind": "other"}, {"kind": 5, "texts": {}}])
def test_another_message_is_let_pass(content: object) -> None:
    made = ReadingRows()
    made.on_save(lambda: pytest.fail("nothing asked to save"))
    made._receive(made, content, [])


def test_texts_that_are_none_do_not_replace_what_was_typed() -> None:
    made = ReadingRows(texts={"0.0.0": "5,1"})
    made._receive(made, {"kind": "save", "texts": {"0.0.0": 5}}, [])
    made._receive(made, {"kind": "save", "texts": None}, [])
    assert made.texts == {"0.0.0": "5,1"}


# ---- a plan of one's own ----------------------------------------------------------------------------------


@pytest.fixture
def change(panel: StabilityPanel) -> StabilityPanel:
    panel.start.change_box.selected_index = 0
    return panel


def test_an_unchanged_plan_is_the_ready_one(panel: StabilityPanel) -> None:
    assert panel.start.change.places.inputs == {}  # the ticks are made only when they are asked for
    assert panel.start.change.plan() == plans()["home-twelve-weeks"]
    panel.start.change_box.selected_index = 0
    assert panel.start.change.plan() == plans()["home-twelve-weeks"]
    panel.start.form.type(plan="freeze-thaw")
    assert panel.start.change.plan() == plans()["freeze-thaw"]


def test_a_shampoo_is_looked_at_for_separation_and_not_for_its_layers(change: StabilityPanel) -> None:
    change.start.form.type(layers="one piece, as a shampoo or a lotion", batches="MS-01", title="Marram shampoo")
    plan = change.start.change.plan()
    assert plan.title == "Home maker, twelve weeks, one piece"
    assert [one.key for one in plan.attributes if "layer" in (one.label + one.how).casefold()] == []
    before = {one.key for one in plans()["home-twelve-weeks"].attributes}
    assert {one.key for one in plan.attributes} - before == {"separation"}
    assert before - {one.key for one in plan.attributes} == before & {
        "colour_lower", "leaching", "lower_layer", "middle_layer", "upper_layer", "minutes_to_separate",
        "shakes_to_remix", "layer_line",
    }  # fmt: skip
    change.start.form.press("start")
    study = change.bench.log.studies()[-1]
    assert change.bench.log.study(study.id).plan == plan
    for key, text in {
        "appearance": "0",
        "odour": "0",
        "ph": "5,4",
        "separation": "0",
        "mass": "104,2",
        "leak": "no",
    }.items():
        change.bench.log.record(study.id, "MS-01", "cupboard", "start", key, text, study.started_on)
    here = [
        d
        for d in change.bench.log.due(study.id, study.started_on)
        if (d.condition, d.time_point) == ("cupboard", "start")
    ]
    assert [pull.state for pull in here] == ["done"], "nothing is waited for that a shampoo has not"
    change.start.saving.type(name="my shampoos")
    change.start.saving.press("save")
    assert change.start.change.plan().title == "my shampoos", "what is in one piece already stays as it was saved"
    change.start.form.type(layers="layers", plan="home-twelve-weeks")
    assert change.start.change.plan() == plans()["home-twelve-weeks"]


def test_places_days_and_things_can_be_dropped_and_added(change: StabilityPanel) -> None:
    form = change.start.change
    form.places.type(window="no", warm_box_45="yes")
    form.things.type(microbes="no", density="yes")
    form.days.type(days="0, 3, 7,21; 56")
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
    change.start.form.type(title="Own", batches="X-1")
    change.start.form.press("start")
    assert change.study is not None
    assert change.study.plan == plan


def test_limits_can_be_set_and_say_whose_they_are(change: StabilityPanel) -> None:
    form = change.start.change
    form.limits.type(attribute="ph")
    assert [form.limits.texts[name] for name in ("lower", "upper", "change")] == ["", "", "0.5"]
    assert words(form.told).startswith("Source of these limits: common practice. Draw from the water layer")
    form.limits.type(lower="4,8", upper="5.6", change="")
    form.limits.press("set")
    assert words(form.told).startswith("Source of these limits: the maker's own limits.")
    assert said(form.limits) == "pH: at least 4.8, at most 5.6."
    made = form.plan().attribute("ph")
    assert (made.lower, made.upper, made.change, made.source) == (4.8, 5.6, None, "the maker's own limits")
    form.limits.type(lower="7")
    form.limits.press("set")
    assert "pH: its lower limit 7 must be below its upper limit 5.6." in said(form.limits)
    assert form.plan().attribute("ph").lower == 4.8
    form.limits.type(attribute="colour")
    assert "lower" in form.limits.hidden
    assert "change" not in form.limits.hidden


def test_a_place_of_ones_own_can_be_added(change: StabilityPanel) -> None:
    form = change.start.change
    form.place.type(label="Bathroom shelf", coldest="18", warmest="28")
    form.place.press("add")
    assert said(form.place) == "Added Bathroom shelf."
    place = form.plan().condition("bathroom_shelf")
    assert (place.label, place.coldest, place.warmest, place.source) == ("Bathroom shelf", 18, 28, "the maker's own")
    form.place.type(label="Bathroom shelf", coldest="18", warmest="28")
    form.place.press("add")
    assert "There is a place called 'Bathroom shelf' already" in said(form.place)
    form.place.type(label="Cellar", coldest="cold")
    form.place.press("add")
    assert "from: 'cold' is not a number" in said(form.place)
    form.place.type(label=" ")
    form.place.press("add")
    assert said(form.place).startswith("Another place: This is empty. Type it, such as Bathroom shelf.")
    form.limits.type(attribute="ph")
    form.limits.type(upper="six")
    form.limits.press("set")
    assert said(form.limits).startswith("At most: 'six' is not a number.")


def test_a_thing_of_ones_own_can_be_looked_at(change: StabilityPanel) -> None:
    form = change.start.change
    form.thing.press("add")
    assert said(form.thing) == "Another thing: This is empty. Type it, such as Foam height."
    form.thing.type(label="ph")
    form.thing.press("add")
    assert "'ph' is among the things to look at already" in said(form.thing)
    form.thing.type(label="Foam height", unit="mm")
    form.thing.press("add")
    assert said(form.thing) == "Added Foam height [mm]. Its limits can be set below."
    form.limits.type(attribute="foam_height")
    form.limits.type(lower="12,5")
    form.limits.press("set")
    for label, kind in (("Clarity", "grade"), ("Pump <b> works", "yes/no"), ("Smell in words", "text")):
        form.thing.type(label=label, kind=kind)
        form.thing.press("add")
    change.start.form.type(title="Own", batches="X-1")
    change.start.form.press("start")
    assert change.study is not None
    foam, clarity, pump, smell = change.study.plan.attributes[-4:]
    assert (foam.title, foam.kind, foam.lower, foam.unit) == ("Foam height [mm]", "number", 12.5, "mm")
    assert (clarity.title, pump.kind, pump.key, smell.kind) == ("Clarity [grade 0-4]", "yes/no", "pump_b_works", "text")
    bottle = change.bench.hand.one_bottle
    assert bottle is not None
    change.reading.rows.type(change.bench.hand.key(bottle, "foam_height"), "11")
    heard = change.reading.rows.said[change.bench.hand.key(bottle, "foam_height")]["findings"][0]["sentence"]
    assert heard.startswith("Foam height is 11 mm: below its limit, 12.5 mm.")


def test_a_place_may_have_any_name_and_its_light(change: StabilityPanel) -> None:
    form = change.start.change
    form.place.type(label="Shelf 1/2 <b>", coldest="18", warmest="28")
    form.place.type(light="daylight")
    form.place.press("add")
    change.start.form.type(title="Own", batches="X/1")
    change.start.form.press("start")
    assert change.study is not None
    place = change.study.plan.condition("Shelf 1/2 <b>")
    assert (place.key, place.light) == ("shelf_1_2_b", "daylight")
    change.reading.form.type(bottle=str(("X/1", place.key)))
    change.files.form.press("sheet")
    assert said(change.files.form) == "Wrote own_start_x_1_shelf_1_2_b_record.html beside this notebook."


@pytest.mark.parametrize(
    ("days", "sentence"),
    [
        ("0, soon", "'soon' is not a number of days. Write them as 0, 7, 14, 28."),
        ("", "This is empty. Type it, such as 0, 7, 14, 28."),
        ("0, 1.5", "'1.5' is not a number of days"),
        ("7, 14", "there is no 0. Changes are counted from the readings at the start, on day 0."),
    ],
)
def test_days_that_cannot_be_read_are_told_and_nothing_starts(change: StabilityPanel, days: str, sentence: str) -> None:
    change.start.change.days.type(days=days)
    change.start.form.type(title="Own", batches="X-1")
    change.start.form.press("start")
    assert sentence in change.start.change.days.faults["days"]
    assert f"Days of the pulls: {sentence}" in said(change.start.form)
    assert len(change.bench.log.studies()) == 1


def test_a_plan_without_any_place_is_told(change: StabilityPanel) -> None:
    places = change.start.change.places
    places.type(**dict.fromkeys(places.inputs, "no"))
    assert "a plan needs at least one condition" in words(change.start.about)


def test_a_changed_plan_is_saved_and_offered_from_then_on(change: StabilityPanel) -> None:
    start = change.start
    start.saving.press("save")
    assert said(start.saving) == "Give the plan a name first, such as 'autumn'."
    start.change.places.type(window="no")
    start.saving.type(name="My autumn")
    start.saving.press("save")
    assert said(start.saving).startswith("Saved my_autumn.plan.toml beside this notebook.")
    plan = read_plan(Path("my_autumn.plan.toml"))
    assert (plan.key, plan.title, len(plan.conditions)) == ("my_autumn", "My autumn", 3)
    assert start.form["plan"] == "own: my_autumn"
    again = StabilityPanel(FILE, today=lambda: DAY)
    assert offered(again.start.form, "plan")["own: my_autumn"] == "own: My autumn"
    again.start.form.type(plan="own: my_autumn")
    assert again.start.change.plan() == plan


def test_a_faulty_plan_beside_the_notebook_is_told(panel: StabilityPanel) -> None:
    Path("broken.plan.toml").write_text("key = 1", encoding="utf-8")
    assert "broken.plan.toml has 4 faults" in said(StabilityPanel(FILE, today=lambda: DAY).start.form)


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
    assert "x" in form.form.hidden
    form.form.press("upload", "bottle.jpg", photo("JPEG"))
    assert "x" not in form.form.hidden
    assert [form.form[side] for side in SIDES] == [160, 120, 80, 60]
    assert '<img src="data:image/png;base64,' in form.picture.value
    assert 'alt="bottle.jpg with its patch"' in form.picture.value
    assert words(form.told).startswith("L* 65.3, a* 9.9, b* 52.5 (D65, 2°)")
    assert "Compare them only with pictures taken by the same camera in the same light" in words(form.told)


def test_the_patch_can_be_moved_and_put_back(panel: StabilityPanel) -> None:
    form = panel.photo
    form.form.press("upload", "bottle.png", photo())
    form.form.type(x="10", y="10", width="40", height="40")
    assert "L* 49.2" in words(form.told)
    form.form.type(x="390")
    assert "✕ The patch does not lie within the picture, which is 400 wide and 300 high." in words(form.told)
    assert "fill" in form.form.disabled
    form.form.press("middle")
    assert [form.form[side] for side in SIDES] == [160, 120, 80, 60]
    assert "fill" not in form.form.disabled


def test_a_card_corrects_the_colour(panel: StabilityPanel) -> None:
    form = panel.photo
    form.form.press("upload", "bottle.png", photo())
    plain = form.colour
    form.form.type(card="yes")
    assert "reflects" not in form.form.hidden
    assert [form.form[f"card_{side}"] for side in SIDES] == [0, 0, 50, 37]
    assert form.colour is not None
    assert plain is not None
    assert form.colour.lab != plain.lab
    assert "corrected by the card" in words(form.told)


def test_the_colour_goes_into_its_box_and_the_photo_with_the_reading(panel: StabilityPanel) -> None:
    form, bottle = panel.photo, ("TL-01", "cupboard")
    form.form.press("upload", "bottle.png", photo())
    form.form.press("fill")
    assert said(form.form) == "65.3 9.8 52.9 stands in the box Colour. Save the readings to keep it."
    assert panel.reading.rows.texts[panel.bench.hand.key(bottle, "colour")] == "65.3 9.8 52.9"
    panel.reading.rows.type(panel.bench.hand.key(bottle, "ph"), "5,1")
    panel.reading.form.type(by="KM")
    panel.reading.rows.save()
    assert words(panel.reading.message).endswith("start: Colour, pH. bottle.png is kept with the log.")
    (kept,) = panel.bench.log.photos(1)
    reading = next(row for row in panel.bench.log.current(1) if row.id == kept.observation_id)
    assert (reading.attribute, reading.value) == ("colour", "65.3 9.8 52.9")
    assert (kept.patch, kept.file_name, kept.attached_by) == ((160, 120, 80, 60), "bottle.png", "KM")
    assert kept.colour == pytest.approx((65.29, 9.81, 52.90), abs=0.01)
    assert panel.bench.log.photo_file(kept).read_bytes() == photo()
    assert "x" in form.form.hidden
    assert 'alt="bottle.png, start, 2026-03-09 · L* 65.3, a* 9.8, b* 52.9"' in form.kept.value


def test_a_photo_is_kept_with_a_reading_that_was_saved_before(panel: StabilityPanel) -> None:
    form = panel.photo
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    form.form.press("attach")
    assert said(form.form) == "Choose a photo first."
    form.form.press("upload", "bottle.png", photo())
    form.form.press("attach")
    assert said(form.form) == "It will be kept with the next reading that is saved of this bottle."
    form.form.type(reading="1")
    form.form.press("attach")
    assert said(form.form) == "bottle.png is kept with the log."
    assert [one.observation_id for one in panel.bench.log.photos(1)] == [1]


def test_a_turned_photo_keeps_its_patch_in_the_pixels_of_the_file(panel: StabilityPanel) -> None:
    exif = Image.new("RGB", (1, 1)).getexif()
    exif[0x0112] = 6
    panel.photo.form.press("upload", "turned.png", photo(exif=exif))
    panel.photo.form.type(x="240", y="0", width="60", height="60")  # the card, upright in the upper right corner
    assert "L* 49.2" in words(panel.photo.told)
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    assert panel.bench.log.photos(1)[0].patch == (0, 0, 60, 60)


def test_a_file_that_is_no_picture_is_told(panel: StabilityPanel) -> None:
    panel.photo.form.press("upload", "notes.jpg", b"no picture at all")
    assert "This is not a JPEG or PNG picture that can be read." in said(panel.photo.form)
    assert "x" in panel.photo.form.hidden


def test_readings_are_kept_where_the_photo_cannot_be(panel: StabilityPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_place: object, **_more: object) -> None:
        msg = "the disk is full."
        raise StoreError(msg)

    monkeypatch.setattr(panel.bench.log, "attach_photo", full)
    panel.photo.form.press("upload", "bottle.png", photo())
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    assert [row.value for row in panel.bench.log.current(1)] == ["5,1"]
    assert said(panel.photo.form) == "The readings are saved; the photo is not: the disk is full."
    assert panel.photo.content == photo()


def test_the_place_is_left_out_of_the_kept_photo_and_the_panel_says_so(panel: StabilityPanel) -> None:
    exif = Image.new("RGB", (1, 1)).getexif()
    exif[0x8825] = {1: "N", 2: (51.0, 28.0, 40.0)}
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    panel.photo.form.press("upload", "bottle.jpg", photo("JPEG", exif=exif))
    panel.photo.form.type(reading="1")
    panel.photo.form.press("attach")
    left_out = "Left out of the file: the place where it was taken. The picture is unchanged."
    assert said(panel.photo.form) == f"bottle.jpg is kept with the log. {left_out}"


def test_a_lost_or_damaged_photo_is_told_in_its_place(panel: StabilityPanel) -> None:
    panel.photo.form.press("upload", "bottle.png", photo())
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    place = panel.bench.log.photo_file(panel.bench.log.photos(1)[0])
    for spoilt in (photo()[:200], b"no picture"):
        place.write_bytes(spoilt)
        panel.bench.read()
        assert "The photo cannot be shown. Th" in words(panel.photo.kept)
        assert StabilityPanel(panel.bench.log, today=lambda: DAY)
    place.unlink()
    panel.bench.read()
    assert "The photo cannot be found. Look through the log with verify." in words(panel.photo.kept)


# ---- old notes --------------------------------------------------------------------------------------------

NOTES = (
    "Lot;Storage;Date;pH;Lower layer [cm];Comments;By\n"
    "TL-01;fridge;9.3.2026;5,31;6,2;clear;KM\n"
    "TL-09;fridge;9.3.2026;5,3;;;KM\n"
)


def test_old_notes_are_mapped_looked_at_and_recorded(panel: StabilityPanel) -> None:
    form = panel.notes
    assert form.form.inputs == {}
    form.form.press("upload", "notes.csv", NOTES.encode())
    assert form.form.inputs
    assert "worksheet" not in form.form.inputs
    assert words(form.about) == "notes.csv: 2 rows, 7 columns; cells parted by semicolons."
    assert (form.form["batch"], form.form["time_point"]) == (0, "")
    assert (form.form["column of ph"], form.form["column of odour"]) == (3, "")
    assert form.last.actions["record"].words == "Record these 2 readings"
    assert "To be recorded: 2; the first of them:" in words(form.shown)
    assert "3 Lot TL-09 'TL-09' is not a batch of 'Shake, spring'" in words(form.shown)
    form.last.press("record")
    assert said(form.last) == (
        "Recorded 2 readings from notes.csv. 1 cell was refused. The refused cells with their reasons are in "
        "refused_notes.csv, beside this notebook."
    )
    assert [(o.attribute, o.value, o.note, o.observer) for o in panel.bench.log.current(1)] == [
        ("ph", "5,31", "clear", "KM"), ("lower_layer", "6,2 cm", "clear", "KM"),
    ]  # fmt: skip
    refused = list(csv.DictReader(io.StringIO(Path("refused_notes.csv").read_text(encoding="utf-8"))))
    assert [(one["line"], one["column"], one["text"]) for one in refused] == [("3", "Lot", "TL-09")]
    assert form.form.inputs == {}
    assert "partly done" in words(panel.due)


WORDED = (
    "Jar;Shelf;Looked on;pH now;Looks;Smells\n"
    "TL-01;fridge;9.3.2026;5,31;ok;as on the first day\n"
    "TL-02;attic room;9.3.2026;5,28;slight;ok\n"
)


def test_words_for_grades_and_places_are_asked_for_and_then_read(panel: StabilityPanel) -> None:
    form = panel.notes
    form.form.press("upload", "notes.csv", WORDED.encode())
    # "attic room" comes before what stands in its row: its words are asked for once the row has a place
    asked = [one.words for one in form.words.inputs.values()]
    assert asked == ["Appearance, 'ok' is", "Place 'attic room' is"]
    assert "'attic room' is not a condition" in words(form.shown)
    assert "Say above what 'ok', 'attic room' stand for, or it is refused." in words(form.shown)
    form.words.type(**{"word 0": "0: as on the first day", "word 1": "Warm box, 40 °C"})
    # "slight" is how the words of grade 1 begin, "slight change ...": it is offered, and can be changed
    assert [one.words for one in form.words.inputs.values()] == [
        "Appearance, 'ok' is", "Place 'attic room' is", "Appearance, 'slight' is", "Odour, 'ok' is",
    ]  # fmt: skip
    assert list(form.words.values.values()) == ["0", "warm_box", "1", ""]
    form.words.type(**{"word 3": "0: as on the first day"})
    assert "Nothing is refused." in words(form.shown)
    form.last.press("record")
    kept = {(o.batch, o.condition, o.attribute): (o.value, o.note) for o in panel.bench.log.current(1)}
    assert kept["TL-01", "fridge", "ph"][0] == "5,31"
    assert kept["TL-01", "fridge", "appearance"] == ("0", "noted as 'ok'")
    assert kept["TL-01", "fridge", "odour"] == ("0", "noted as 'as on the first day'")
    assert kept["TL-02", "warm_box", "appearance"][0] == "1"
    assert "noted as 'slight'" in kept["TL-02", "warm_box", "appearance"][1]
    assert form.words.inputs == {}


def test_a_table_with_the_same_columns_is_mapped_as_the_last_one_was(panel: StabilityPanel) -> None:
    form = panel.notes
    strange = b"Lot;Storage;Date;x1\nTL-01;fridge;9.3.2026;5,3\n"
    form.form.press("upload", "notes.csv", strange)
    form.form.type(**{"column of ph": "3", "day_first": "the day"})
    form.last.press("record")
    form.form.press("upload", "more.csv", strange.replace(b"TL-01", b"TL-02"))
    assert (form.form["column of ph"], form.form["day_first"]) == (3, True)
    form.last.press("record")
    assert [(o.batch, o.value) for o in panel.bench.log.current(1)] == [("TL-01", "5,3"), ("TL-02", "5,3")]
    form.form.press("upload", "other.csv", strange.replace(b"x1", b"x2"))
    assert (form.form["column of ph"], form.form["day_first"]) == ("", "column")


def test_a_wrong_guess_is_put_right_by_hand(panel: StabilityPanel) -> None:
    form = panel.notes
    form.form.press("upload", "notes.csv", b"a,b,c,d\nTL-01,fridge,4/3/2026,5.3\n")
    assert "✕ Which column holds the batch?" in words(form.shown)
    assert "record" in form.last.disabled
    for name, column in (("batch", 0), ("condition", 1), ("observed_on", 2)):
        form.form.type(**{name: str(column)})
    form.form.type(**{"column of ph": "3"})
    assert "In the days, such as '4/3/2026': does the day or the month come first?" in words(form.shown)
    form.form.type(time_point="start")
    form.form.type(day_first="the day")
    assert form.last.actions["record"].words == "Record this 1 reading"
    assert rows(form.shown)[0][:6] == ["2", "TL-01", "Fridge, 4 to 8 °C", "start", "2026-03-04", "pH"]
    assert rows(form.shown)[0][7] == "5 days early"
    assert "Nothing is refused." in words(form.shown)
    form.last.press("record")
    assert [o.note for o in panel.bench.log.current(1)] == ["5 days early"]


def test_a_unit_that_a_heading_leaves_open_is_asked_for_in_a_box(panel: StabilityPanel) -> None:
    form = panel.notes
    form.form.press("upload", "notes.csv", b"Jar,Place,Date,Lower layer (mL),pH\nTL-01,fridge,2026-03-09,4.6,5.3\n")
    assert "In which unit are the numbers under 'Lower layer (mL)'?" in words(form.shown)
    assert "unit of 3" not in form.form.hidden
    assert "record" in form.last.disabled
    form.form.type(**{"unit of 3": "cm"})
    assert "are in cm, as you said: 4.6 cm becomes 46 mm." in words(form.shown)
    form.last.press("record")
    assert {o.attribute: o.number for o in panel.bench.log.current(1)} == {"lower_layer": 46.0, "ph": 5.3}
    form.form.press("upload", "notes.csv", b"Jar,Place,Date,Lower layer cm\nTL-02,fridge,2026-03-09,4.6\n")
    assert "unit of 3" in form.form.hidden
    assert "are in cm, by their heading" in words(form.shown)


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
    form = panel.notes
    form.form.press("upload", "notes.xlsx", out.getvalue())
    assert "worksheet" in form.form.inputs
    form.form.type(worksheet="Long")
    assert (form.form["shape"], form.form["attribute"], form.form["value"]) == ("long", 4, 5)
    assert "column of ph" in form.form.hidden
    form.last.press("record")
    assert [(o.batch, o.attribute, o.number) for o in panel.bench.log.current(1)] == [("TL-02", "ph", 5.25)]
    assert "'taste' is not an attribute" in Path("refused_notes.csv").read_text(encoding="utf-8")


def test_what_was_recorded_meanwhile_is_refused_and_told(panel: StabilityPanel) -> None:
    form = panel.notes
    form.form.press("upload", "notes.csv", NOTES.encode())
    StabilityPanel(FILE, today=lambda: DAY).bench.log.record(1, "TL-01", "fridge", "start", "ph", "5,0", DAY)
    form.last.press("record")
    assert "Recorded 1 reading from notes.csv. 2 cells were refused." in said(form.last)
    assert "ph" in Path("refused_notes.csv").read_text(encoding="utf-8")


def test_a_file_without_a_table_is_told(panel: StabilityPanel) -> None:
    panel.notes.form.press("upload", "notes.csv", b"just words")
    assert "notes.csv holds no table" in said(panel.notes.form)
    assert panel.notes.form.inputs == {}


def test_hostile_notes_stay_text(panel: StabilityPanel) -> None:
    text = f"Lot;Storage;Date;{HOSTILE};Comments\nTL-01;fridge;9.3.2026;5;{HOSTILE}\n{HOSTILE};fridge;9.3.2026;5;x\n"
    form = panel.notes
    form.form.press("upload", f"{HOSTILE}.csv", text.encode())
    form.form.type(**{"column of ph": "3"})
    panel.photo.form.press("upload", f"{HOSTILE}.png", photo())
    assert HOSTILE in rows(form.shown)[0]
    assert "&lt;img" in html_of(panel)
    assert "<img src=x" not in html_of(panel)


# ---- files and papers -------------------------------------------------------------------------------------


def test_the_calendar_is_shown_and_every_file_can_be_written(panel: StabilityPanel) -> None:
    panel.reading.rows.type(panel.bench.hand.key(("TL-01", "cupboard"), "ph"), "5,1")
    panel.reading.rows.save()
    assert rows(panel.files.days)[0] == ["2026-03-09", "start", "2026-03-09", "8", "8 still to read"]
    assert rows(panel.files.days)[2] == ["2026-03-16", "1 week", "2026-03-17", "8", "8 still to read"]
    for button, name, holds in (
        ("csv", "shake_spring_readings.csv", b"TL-01,cupboard,start,ph"),
        ("xlsx", "shake_spring_readings.xlsx", b"PK"),
        ("ics", "shake_spring.ics", b"BEGIN:VEVENT\r\n"),
        ("plan", "shake_spring_plan.html", b"Stability plan"),
        ("sheet", "shake_spring_start_tl_01_cupboard_record.html", b"Record sheet"),
    ):
        panel.files.form.press(button)
        assert said(panel.files.form) == f"Wrote {name} beside this notebook."
        assert holds in Path(name).read_bytes()


def test_the_record_sheet_of_all_bottles_is_that_of_the_pull(panel: StabilityPanel) -> None:
    panel.reading.form.type(label="1 week")
    panel.reading.form.type(bottle="every")
    panel.files.form.press("sheet")
    assert (
        Path("shake_spring_1_week_record.html").read_text(encoding="utf-8").count('<section aria-labelledby="bottle-')
        == 8
    )


def test_what_was_missed_is_to_be_read_no_more() -> None:
    panel = StabilityPanel(FILE, today=lambda: DAY + timedelta(days=1))
    panel.start.form.type(title="Old", batches="A", started_on=str(DAY), before="left")
    panel.start.form.press("start")
    assert rows(panel.files.days)[0][4] == "all read or missed"
    assert rows(panel.files.days)[1][4] == "4 still to read"


def test_without_a_study_no_file_is_written() -> None:
    panel = StabilityPanel(FILE, today=lambda: DAY)
    panel.files.form.press("csv")
    assert said(panel.files.form) == "There is no study yet. Start one below."


def test_a_reading_is_withdrawn_or_brought_to_its_right_pull_by_hand(panel: StabilityPanel) -> None:
    log = panel.bench.log
    for attribute, value in (("ph", "5,4"), ("odour", "1")):
        log.record(1, "TL-01", "fridge", "start", attribute, value, DAY)
    odd = log.record(1, "TL-02", "fridge", "start", "ph", "3,9", DAY)
    panel.bench.read()
    form = panel.correction.form
    form.press("withdraw")  # the newest is chosen
    assert "Say why the reading does not count there" in said(form)
    form.type(reason="the meter was not calibrated")
    form.press("withdraw")
    assert said(form) == "It does not count any more, and stays in the log with your reason."
    assert {row.batch for row in panel.bench.hand.now} == {"TL-01"}
    assert [row.value for row in log.history(odd.id)] == ["3,9", "(withdrawn)"]
    form.type(pull="1 day", value="5,5", reason="typed under the wrong pull")
    form.press("save")
    assert "Move it to its pull first" in said(form)
    assert "all_of_it" not in form.hidden
    form.type(value="", all_of_it="yes")
    form.press("save")
    assert "Nothing was saved yet" in said(panel.correction.odd_day)  # it was seen a day before that pull is due
    assert {row.time_point for row in panel.bench.hand.now} == {"start"}
    panel.correction.odd_day.press("keep")
    assert said(panel.correction.odd_day) == "Moved 2 readings from start to 1 day. Where it was, the log says so."
    assert {(row.time_point, row.attribute) for row in panel.bench.hand.now} == {("1 day", "ph"), ("1 day", "odour")}
    assert "all_of_it" in form.hidden
