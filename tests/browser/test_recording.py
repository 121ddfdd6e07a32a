"""Record a pull with the keyboard alone, see a limit broken before saving, and keep a photo with its colour."""

from __future__ import annotations

import io
import os
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from playwright.sync_api import expect

from kit.stability.log.store import StabilityLog
from kit.stability.photos.files import MOST_BYTES
from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, run_all, watch

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

FILE = "recording_log.db"
MAKE = """
from datetime import date
from pathlib import Path
import kit
from kit.stability.plan import plans

for left in Path().glob("recording_log.db*"):
    left.unlink() if left.is_file() else None
log = kit.StabilityLog.open("recording_log.db")
log.start_study("Shake", plans()["home-twelve-weeks"], ["TL-01"], date(2026, 1, 12))
for attribute, value in {"ph": "5,3", "mass": "110,0", "colour": "65 9 53"}.items():
    log.record(1, "TL-01", "cupboard", "start", attribute, value, date(2026, 1, 12))
log.close()
"""
SHOW = "kit.StabilityPanel('recording_log.db', today=lambda: date(2026, 2, 9))"

#: What is typed from top to bottom, row by row; None leaves a row out.
TYPED = {
    "Appearance": "1",
    "Odour": "0",
    "Colour": None,
    "Colour of the lower layer": None,
    "Colour across the line": None,
    "pH": "3,9",
    "Viscosity of the lower layer": None,
    "Lower layer": "6,2 cm",
    "Time to separate": "4",
    "Shakes to re-mix": "8",
    "Line between the layers": None,
    "Mass of the bottle": "109,5",
    "Colour note": None,
    "Leak or loose cap": "no",
    "Microbial count": None,
    "Remark": None,
}


@pytest.fixture(scope="module")
def page(one_page: Page, lab: Lab) -> Page:
    """One window and one kernel for all of them."""
    lab.close_notebooks()
    open_notebook(one_page, lab, lab.write_notebook("recording.ipynb", MAKE, SHOW))
    return one_page


@pytest.fixture
def panel(page: Page) -> Locator:
    """The panel of a log that was made anew."""
    watch(page)
    run_all(page)
    found = page.locator(".shakewell-panel").filter(has_text="Stability log")
    found.scroll_into_view_if_needed()
    expect(found.locator(".sw-rows input").first).to_be_visible()
    return found


def readings(lab: Lab) -> dict[tuple[str, str], str]:
    with StabilityLog.open(lab.folder / FILE) as log:
        return {(o.time_point, o.attribute): o.value for o in log.current(1)}


def focused(page: Page) -> str | None:
    label: str | None = page.evaluate("() => document.activeElement.getAttribute('aria-label')")
    return label


def test_a_list_gone_through_quickly_ends_where_the_hand_left_it(panel: Locator, page: Page) -> None:
    pulls = panel.get_by_label("Pull", exact=True)
    for pause in (0, 5, 20, 40, 60, 80, 120, 200):  # each choice changes the options of the list beside this one
        pulls.focus()
        page.keyboard.press("Home")
        page.keyboard.press("ArrowDown")
        page.wait_for_timeout(pause)
        page.keyboard.press("ArrowUp")
        page.wait_for_timeout(600)  # for whatever might still come and change it
        expect(pulls.locator("option:checked")).to_contain_text("4 weeks · 2026-02-09")
        assert pulls.evaluate("(e) => e === document.activeElement")


def test_a_pull_is_recorded_with_the_keyboard_alone(panel: Locator, page: Page, lab: Lab) -> None:
    panel.get_by_label("Pull", exact=True).focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(1000)  # as a hand waits for the rows of that pull before it types into them
    expect(panel.get_by_label("Pull", exact=True).locator("option:checked")).to_contain_text("4 weeks · 2026-02-09")
    for _ in range(20):  # bottle, what to look at, which measurement, the parts of the day, hand, note: then the rows
        page.keyboard.press("Tab")
        if focused(page) == "Appearance":
            break
    for name, text in TYPED.items():
        assert focused(page) == name
        if text is not None:
            page.keyboard.type(text)
        if name == "pH":
            row = panel.locator(".sw-row").filter(has=page.get_by_label("pH", exact=True))
            expect(row.locator(".sw-finding[data-severity=caution]")).to_contain_text(
                "pH is 3.9: 1.4 below the 5.3 at the start, and the plan allows 0.5."
            )
            expect(row).to_contain_text("start: 5,3")
            assert ("4 weeks", "ph") not in readings(lab)
        page.keyboard.press("Enter")
    expect(panel).to_contain_text("Saved for TL-01, Cupboard, 20 to 25 °C, 4 weeks: Appearance, Odour, pH, Lower layer")
    saved = readings(lab)
    assert {name: text for name, text in TYPED.items() if text} == {
        label: saved["4 weeks", key]
        for label, key in {
            "Appearance": "appearance", "Odour": "odour", "pH": "ph", "Lower layer": "lower_layer",
            "Time to separate": "minutes_to_separate", "Shakes to re-mix": "shakes_to_remix",
            "Mass of the bottle": "mass", "Leak or loose cap": "leak",
        }.items()
    }  # fmt: skip
    expect(panel.get_by_label("Bottle", exact=True).locator("option:checked")).to_contain_text("Fridge, 4 to 8 °C")
    page.wait_for_function("() => document.activeElement.getAttribute('aria-label') === 'Appearance'")
    assert panel.get_by_label("Appearance", exact=True).input_value() == ""
    assert_quiet(page)


def test_a_pull_of_the_past_is_typed_as_fast_as_can_be_and_nothing_of_it_lands_in_another(
    panel: Locator, page: Page, lab: Lab
) -> None:
    """The last keys may reach the kernel after the wish to save, when the rows of another bottle are laid already."""
    panel.get_by_label("Pull", exact=True).select_option("1 day · 2026-01-13 · missed")
    for place in ("Cupboard, 20 to 25 °C", "Fridge, 4 to 8 °C", "Warm box, 40 °C", "Window light"):
        chosen = panel.get_by_label("Bottle", exact=True).locator("option:checked")
        expect(chosen).to_contain_text(f"TL-01 · {place} (missed)")
        panel.get_by_label("Appearance", exact=True).focus()
        for text in TYPED.values():
            page.keyboard.type(text or "")
            page.keyboard.press("Enter")
        expect(panel).to_contain_text(f"Saved for TL-01, {place}, 1 day: Appearance")
    expect(panel.get_by_label("Pull", exact=True).locator("option:checked")).to_contain_text("4 weeks")
    page.wait_for_function("() => document.activeElement.getAttribute('aria-label') === 'Appearance'")
    assert [box.input_value() for box in panel.locator(".sw-rows input").all()] == [""] * len(TYPED)
    panel.get_by_role("button", name="Save these readings").click()
    expect(panel).to_contain_text("Nothing was typed, so nothing was saved.")
    assert {point for point, _ in readings(lab)} == {"start", "1 day"}
    assert_quiet(page)


def test_shift_enter_goes_back_and_the_button_saves(panel: Locator, page: Page, lab: Lab) -> None:
    panel.get_by_label("Odour", exact=True).focus()
    page.keyboard.type("rubbish")
    page.keyboard.press("Shift+Enter")
    assert focused(page) == "Appearance"
    page.keyboard.type("1")
    button = panel.get_by_role("button", name="Save these readings")
    button.focus()
    page.keyboard.press("Enter")
    expect(panel).to_contain_text("Saved for TL-01, Cupboard, 20 to 25 °C, 4 weeks: Appearance.")
    expect(panel.get_by_label("Odour", exact=True)).to_have_value("rubbish")
    expect(panel.get_by_label("Odour", exact=True)).to_have_attribute("aria-invalid", "true")
    assert readings(lab)["4 weeks", "appearance"] == "1"
    assert_quiet(page)


def test_a_photo_is_shown_with_its_patch_and_its_colour_goes_into_the_box(panel: Locator, page: Page, lab: Lab) -> None:
    out = io.BytesIO()
    Image.new("RGB", (600, 450), (200, 150, 60)).save(out, format="JPEG", quality=95)
    panel.get_by_text("Photo and colour").click()
    with page.expect_file_chooser() as chooser:
        panel.get_by_role("button", name="Choose a photo").click()
    chooser.value.set_files({"name": "bottle.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    picture = panel.get_by_role("img", name="bottle.jpg with its patch")
    expect(picture).to_be_visible()
    assert picture.evaluate("(image) => image.naturalWidth") == 420
    expect(panel).to_contain_text("Compare them only with pictures taken by the same camera in the same light")
    panel.get_by_role("button", name="Put it into the colour box").click()
    expect(panel.get_by_label("Colour", exact=True)).to_have_value("65.3 9.9 52.5")
    panel.get_by_role("button", name="Save these readings").click()
    expect(panel).to_contain_text("Colour. bottle.jpg is kept with the log.")
    expect(panel.get_by_role("img", name="bottle.jpg, 4 weeks")).to_be_visible()
    with StabilityLog.open(lab.folder / FILE) as log:
        (photo,) = log.photos(1)
        assert log.photo_file(photo).read_bytes() == out.getvalue()
        assert photo.patch == (240, 180, 120, 90)
    assert_quiet(page)


def test_a_photo_of_many_megabytes_arrives_and_the_panel_goes_on(panel: Locator, page: Page) -> None:
    """The page's messages to the kernel are held to 10 MB by default; beyond it the panel would be deaf."""
    out = io.BytesIO()
    Image.frombytes("RGB", (2200, 2000), os.urandom(2200 * 2000 * 3)).save(out, format="PNG", compress_level=0)
    assert 13_000_000 < len(out.getvalue()) < MOST_BYTES
    panel.get_by_text("Photo and colour").click()
    with page.expect_file_chooser() as chooser:
        panel.get_by_role("button", name="Choose a photo").click()
    chooser.value.set_files({"name": "large.png", "mimeType": "image/png", "buffer": out.getvalue()})
    expect(panel.get_by_role("img", name="large.png with its patch")).to_be_visible(timeout=PATIENCE)
    expect(panel).to_contain_text("The patch is uneven")
    panel.get_by_label("pH", exact=True).fill("five")
    expect(panel).to_contain_text("pH: 'five' cannot be read.")
    assert_quiet(page)


def test_a_log_moved_away_under_the_panel_is_told_and_what_was_typed_stays(
    panel: Locator, page: Page, lab: Lab
) -> None:
    box = panel.get_by_label("pH", exact=True)
    box.fill("5,1")
    (lab.folder / FILE).rename(lab.folder / "away.db")
    panel.get_by_role("button", name="Save these readings").click()
    expect(panel).to_contain_text(
        "recording_log.db is no longer where it was opened: it was renamed, moved or deleted."
    )
    expect(box).to_have_value("5,1")
    assert not (lab.folder / FILE).exists()
    (lab.folder / "away.db").rename(lab.folder / FILE)
    panel.get_by_role("button", name="Save these readings").click()
    expect(panel).to_contain_text("Saved for TL-01, Cupboard, 20 to 25 °C, 4 weeks: pH.")
    assert readings(lab)["4 weeks", "ph"] == "5,1"
    assert_quiet(page)
