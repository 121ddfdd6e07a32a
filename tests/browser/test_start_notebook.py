"""The start notebook in a real JupyterLab, worked as a maker works it: type, move the ratio, save, come back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.folded import run_all_folded, wait_until_idle
from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, watch

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

NAME = "00_start.ipynb"


@pytest.fixture(scope="module")
def opened(one_page: Page, lab: Lab) -> Page:
    """The start notebook, freshly laid, all cells run."""
    for left in lab.folder.glob("my_body_shake*"):
        left.unlink()
    lab.close_notebooks()
    open_notebook(one_page, lab, NAME)
    run_all_folded(one_page)
    look_at_everything(one_page)
    table(one_page).get_by_role("textbox", name="Amount of Glycerin").wait_for()
    return one_page


@pytest.fixture
def start(opened: Page) -> Page:
    """The same notebook, with all that the test before did undone by its own button."""
    watch(opened)
    undo = table(opened).get_by_role("button", name="Undo")
    while undo.is_enabled():
        undo.click()
        opened.wait_for_timeout(200)
    expect(amount(opened, "Glycerin")).to_have_value("4")
    expect(oil_grip(opened)).to_have_attribute("aria-valuenow", "15")
    return opened


def look_at_everything(page: Page) -> None:
    """Scroll through the notebook once: JupyterLab draws a cell only when it comes near the window."""
    for cell in page.locator(".jp-Notebook .jp-Cell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(60)
    page.wait_for_timeout(400)


def table(page: Page) -> Locator:
    return page.locator(".sw-table").first


def amount(page: Page, material: str) -> Locator:
    return table(page).get_by_role("textbox", name=f"Amount of {material}", exact=True)


def row_of(page: Page, material: str) -> Locator:
    box = page.get_by_role("textbox", name=f"Amount of {material}", exact=True)
    return table(page).locator("tr.sw-line").filter(has=box)


def oil_grip(page: Page) -> Locator:
    return page.get_by_role("slider", name="Oil layer, % of the whole by mass").first


def total(page: Page) -> Locator:
    return table(page).locator(".sw-sum")


def to_weigh(page: Page) -> Locator:
    """The panel that says what to weigh."""
    return page.locator('.shakewell-panel:has(.sw-title:text-is("What to weigh"))')


@pytest.mark.parametrize("width", [1280, 1024])
def test_nothing_is_cut_off_and_every_slider_has_a_name(start: Page, width: int) -> None:
    start.set_viewport_size({"width": width, "height": 900})
    names: list[str | None] = []
    for cell in start.locator(".jp-CodeCell").all():
        cell.scroll_into_view_if_needed()
        start.wait_for_timeout(40)
        names += [slider.get_attribute("aria-label") for slider in cell.get_by_role("slider").all()]
        for panel in cell.locator(".shakewell-panel").all():
            wide, room = panel.evaluate("(panel) => [panel.scrollWidth, panel.clientWidth]")
            assert wide <= room + 1, panel.inner_text()[:60]
    assert len(names) == 5  # two handles of the ratio; mass, overage and loss of a batch that is made by mass
    assert all(names), names
    start.set_viewport_size({"width": 1280, "height": 900})
    assert_quiet(start)


def test_a_percent_typed_is_followed_by_total_grams_and_picture(start: Page) -> None:
    expect(total(start)).to_have_text("100.00 %")
    expect(row_of(start, "Aqua")).to_contain_text("74.40")
    amount(start, "Glycerin").fill("6,5 %")
    amount(start, "Glycerin").press("Enter")

    expect(row_of(start, "Glycerin")).to_contain_text("6.50")
    expect(row_of(start, "Glycerin")).to_contain_text("16.25")  # g in the batch of 250 g
    expect(row_of(start, "Aqua")).to_contain_text("71.90")
    expect(total(start)).to_have_text("100.00 %")
    weighing = to_weigh(start).locator("table")
    expect(weighing).to_contain_text("16.25")
    assert_quiet(start)


def test_the_ratio_moves_by_key_and_table_and_bottle_follow(start: Page) -> None:
    grip = oil_grip(start)
    expect(grip).to_have_attribute("aria-valuenow", "15")
    before = start.locator(".sw-bottle .sw-layer").first.get_attribute("points")
    grip.focus()
    for _ in range(4):
        grip.press("ArrowRight")

    expect(oil_grip(start)).to_have_attribute("aria-valuenow", "17")
    expect(oil_grip(start)).to_be_focused()
    expect(row_of(start, "Coco-Caprylate")).to_contain_text("10.89")  # 9.6 + 2 x (1 - 5.3 / 15), see the docs of hold
    expect(row_of(start, "Coco-Caprylate")).to_contain_text("+1.29")
    expect(row_of(start, "Parfum")).to_contain_text("0.10")
    expect(total(start)).to_have_text("100.00 %")
    assert start.locator(".sw-bottle .sw-layer").first.get_attribute("points") != before
    expect(start.locator(".sw-ratios")).to_contain_text("17.0 % now")

    oil_grip(start).press("End")
    expect(oil_grip(start)).to_have_attribute("aria-valuenow", re.compile(r"31\.4516"))
    expect(start.locator(".sw-ratios")).to_contain_text("Sodium Benzoate at most 0.6 % of the water layer")
    assert_quiet(start)


def test_the_line_in_the_bottle_is_dragged_by_mouse(start: Page) -> None:
    grip = start.get_by_role("slider", name="Line between the layers")
    grip.scroll_into_view_if_needed()
    box = grip.locator("circle").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    start.mouse.move(x, y)
    start.mouse.down()
    for step in range(1, 11):
        start.mouse.move(x, y + 4 * step)
    start.mouse.up()

    expect(oil_grip(start)).not_to_have_attribute("aria-valuenow", "15")
    share = float(oil_grip(start).get_attribute("aria-valuenow") or 0)
    assert share > 20  # the line went down, so the upper layer, the oil, grew
    expect(total(start)).to_have_text("100.00 %")
    assert_quiet(start)


def test_nonsense_stays_in_its_box_with_a_sentence_and_undo_takes_it_back(start: Page) -> None:
    amount(start, "Tocopherol").fill("a pinch")
    amount(start, "Tocopherol").press("Enter")

    expect(amount(start, "Tocopherol")).to_have_value("a pinch")
    expect(table(start)).to_contain_text("'a pinch' is not an amount. Type a percent (3.5)")
    expect(start.locator(".sw-ratio").first).to_contain_text("cannot be moved to another ratio yet")
    expect(to_weigh(start)).to_contain_text("cannot be weighed yet")

    table(start).get_by_role("button", name="Undo").click()
    expect(amount(start, "Tocopherol")).to_have_value("0.3")
    expect(oil_grip(start)).to_be_visible()
    assert_quiet(start)


def test_a_reading_is_on_disk_and_comes_back(start: Page, lab: Lab) -> None:
    for left in lab.folder.glob("stability_log.db*"):
        left.unlink()
    run_all_folded(start)
    panel = start.locator(".shakewell-panel").filter(has_text="Stability log")
    panel.get_by_label("Batches").fill("TL-07")
    panel.get_by_role("button", name="Start this study").click()
    expect(panel).to_contain_text("due today", timeout=PATIENCE)  # the first chart of a kernel takes its time
    panel.get_by_label("pH", exact=True).fill("5,1")
    panel.get_by_role("button", name="Save these readings").click()
    expect(panel).to_contain_text("Saved for TL-07")

    run_all_folded(start)
    panel = start.locator(".shakewell-panel").filter(has_text="Stability log")
    panel.scroll_into_view_if_needed()
    expect(panel).to_contain_text("partly done")
    panel.get_by_label("Trend of").select_option(label="pH")
    expect(panel.locator(".scatterlayer .trace").first).to_be_attached()
    assert_quiet(start)


def test_saved_work_is_there_after_the_kernel_was_restarted(start: Page, lab: Lab) -> None:
    amount(start, "Glycerin").fill("7")
    amount(start, "Glycerin").press("Enter")
    expect(row_of(start, "Glycerin")).to_contain_text("7.00")
    start.get_by_role("button", name="Save", exact=True).click()
    expect(start.locator(".shakewell-panel").filter(has=start.locator(".sw-table"))).to_contain_text(
        "Saved my_body_shake.toml."
    )
    assert 'amount = "7"' in (lab.folder / "my_body_shake.toml").read_text(encoding="utf-8")

    start.get_by_role("menuitem", name="Kernel", exact=True).click()
    start.get_by_role("menuitem", name="Restart Kernel and Run All Cells…").click()
    start.get_by_role("button", name="Confirm Kernel Restart").click()
    start.wait_for_timeout(1000)
    wait_until_idle(start)
    expect(amount(start, "Glycerin")).to_have_value("7")
