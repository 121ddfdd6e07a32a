"""The whole job with the keyboard alone: a new product, its lines, the ratio, the label, a paper; no mouse anywhere."""

from __future__ import annotations

import re
import shutil
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import TimeoutError as PlaywrightTimeout
from playwright.sync_api import expect

from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, wait_until_run, watch

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.slow

NEW, TITLE, FOLDER = "by_key.ipynb", "Juniper evening shake", "juniper_evening_shake"
#: Material and amount, as they are typed.
WATER = (("Aqua", "q.s."), ("Glycerin", "5"), ("Sodium Benzoate", "0,4"))
OIL = (("Coco-Caprylate", "18"), ("Tocopherol", "0.2"))
HAS_FOCUS = "(e) => e === document.activeElement"


def run_by_palette(page: Page) -> None:
    """Run all by the list of commands; JupyterLab closes it where a page that still opens takes the focus."""
    found = page.locator(".lm-CommandPalette-item.lm-mod-active").filter(has_text="Run All Cells")
    for _ in range(4):
        page.keyboard.press("Control+Shift+C")
        palette = page.locator(".lm-CommandPalette-input")
        expect(palette).to_be_focused(timeout=PATIENCE)
        page.keyboard.type("Run All Cells", delay=20)
        with suppress(PlaywrightTimeout):
            found.wait_for(timeout=4000)
            page.keyboard.press("Enter")
            return
        page.keyboard.press("Escape")
    raise AssertionError("the list of commands does not stay open")


def to_section(page: Page, heading: str) -> None:
    """Leave the control in hand, and go from heading to heading to this one."""
    page.keyboard.press("Escape")
    for key in ("ArrowUp", "ArrowDown"):
        for _ in range(14):
            if heading in " ".join(page.locator(".jp-Cell.jp-mod-active h2").all_inner_texts()).split():
                return
            page.keyboard.press(key)
            page.wait_for_timeout(150)
    raise AssertionError(f"no key leads to {heading}")


def tab_to(page: Page, control: Locator, *, back: bool = False) -> None:
    """Press Tab until a control has the focus."""
    for _ in range(60):
        if control.count() and control.evaluate(HAS_FOCUS):
            return
        page.keyboard.press("Shift+Tab" if back else "Tab")
        page.wait_for_timeout(30)
    raise AssertionError(f"Tab does not lead to {control}")


def panel_of(page: Page, part: str) -> Locator:
    return page.locator(".shakewell-panel").filter(has=page.locator(part)).first


def titled(page: Page, title: str) -> Locator:
    return page.locator(f'.shakewell-panel:has(> * .sw-title:text-is("{title}"))').first


def test_from_a_new_product_to_its_papers_without_a_mouse(page: Page, lab: Lab) -> None:
    shutil.rmtree(lab.folder / FOLDER, ignore_errors=True)
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook(NEW, "import kit\nkit.NewProductPanel()"))
    run_by_palette(page)
    wait_until_run(page)

    new = titled(page, "A product of your own")
    tab_to(page, new.get_by_label("What it is called", exact=True))
    page.keyboard.type(TITLE)
    layering = new.get_by_label("In the bottle", exact=True)
    tab_to(page, layering)
    page.keyboard.type("two")
    expect(layering.locator("option:checked")).to_have_text("two layers, shaken")
    tab_to(page, new.get_by_role("button", name="New", exact=True))
    page.keyboard.press("Enter")
    link = new.locator("a.sw-go-on")
    expect(link).to_be_visible(timeout=PATIENCE)
    tab_to(page, link)
    with page.context.expect_page() as opened:
        page.keyboard.press("Enter")
    work = opened.value
    watch(work)
    work.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached", timeout=PATIENCE)
    expect(work.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=PATIENCE)
    run_by_palette(work)
    expect(work.locator(".sw-table").first).to_be_visible(timeout=PATIENCE)
    expect(work.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=2 * PATIENCE)
    the_lines(work)
    expect(work.locator(".sw-table .sw-sum").first).to_have_text("100.00 %", timeout=PATIENCE)
    the_file(work, lab)
    the_ratio(work)
    the_label(work)
    the_paper(work, lab)
    assert_quiet(page)
    assert_quiet(work)


def the_lines(page: Page) -> None:
    formula = panel_of(page, ".sw-table")
    to_section(page, "Formula")
    for layer, lines in ((0, WATER), (1, OIL)):
        body = formula.locator(".sw-table tbody").nth(layer)
        tab_to(page, body.locator('[data-field="material"]').first)
        for number, (material, amount) in enumerate(lines):
            expect(body.locator('[data-field="material"]').nth(number)).to_be_focused()
            page.keyboard.type(material)
            page.keyboard.press("Enter")
            expect(body.locator('[data-field="amount"]').nth(number)).to_be_focused()
            page.keyboard.type(amount)
            if number + 1 < len(lines):
                page.keyboard.press("Enter")  # a new line, with its amount in hand
                expect(body.locator(".sw-line")).to_have_count(number + 2, timeout=PATIENCE)
                page.wait_for_timeout(600)
                there = body.locator('[data-field="amount"]').nth(number + 1).evaluate(HAS_FOCUS)
                tab_to(page, body.locator('[data-field="material"]').nth(number + 1), back=there)
        page.keyboard.press("Tab")


def the_file(page: Page, lab: Lab) -> None:
    formula = panel_of(page, ".sw-table")
    tab_to(page, formula.get_by_role("button", name="Save", exact=True))
    page.keyboard.press("Enter")
    expect(formula).to_contain_text("Saved", timeout=PATIENCE)
    text = (lab.folder / FOLDER / "formula.toml").read_text(encoding="utf-8")
    assert "Coco-Caprylate" in text
    assert "Sodium Benzoate" in text


def the_ratio(page: Page) -> None:
    ratio = panel_of(page, ".sw-ratios")
    to_section(page, "Layers")
    grip = ratio.get_by_role("slider", name="Oil layer, % of the whole by mass")
    tab_to(page, grip)
    expect(grip).to_have_attribute("aria-valuenow", "18.2")
    page.keyboard.press("ArrowRight")
    expect(grip).to_have_attribute("aria-valuenow", "18.7", timeout=PATIENCE)
    expect(grip).to_be_focused()
    expect(ratio.get_by_label("Oil layer", exact=True)).to_have_value("18.7")


def the_label(page: Page) -> None:
    label = titled(page, "Label")
    to_section(page, "Label")
    tab_to(page, label.get_by_label("Responsible person", exact=True))
    page.keyboard.type("The test workshop, Lane 1")
    expect(label.locator("textarea.sw-label")).to_have_value(re.compile("The test workshop, Lane 1"), timeout=PATIENCE)


def the_paper(page: Page, lab: Lab) -> None:
    papers = titled(page, "Papers")
    to_section(page, "Papers")
    tab_to(page, papers.get_by_label("Paper", exact=True))
    page.keyboard.type("batch")
    tab_to(page, papers.get_by_role("button", name="Write it", exact=True))
    page.keyboard.press("Enter")
    expect(papers).to_contain_text("Wrote", timeout=PATIENCE)
    assert list((lab.folder / FOLDER).glob("**/*.html"))
