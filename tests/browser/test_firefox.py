"""Panels in Firefox: painted, worked by key and by mouse, nothing cut, and nothing asked of another computer."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase
from tests.browser import firefox_bridge
from tests.browser.every_panel import MEASURES
from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, run_all, watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page, Playwright

pytestmark = pytest.mark.slow

#: Much alcohol in the lower layer, and an oil by its INCI name; no demo.
SPLASH = Formula(
    "Dune splash",
    (
        Phase("Spirit layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "21.5"), Line("Panthenol", "1"))),
        Phase("Light oil", "oil", (Line("Isopropyl Palmitate", "18", "fill"), Line("Tocopherol", "0.2"))),
    ),
)
PANELS = ("FormulaPanel", "RatioPanel", "BottlePanel", "WeighingPanel", "SeparationPanel", "LabelPanel")
#: Where pictures go, if they are wanted.
PICTURES = os.environ.get("SHAKEWELL_PICTURES")


@pytest.fixture(scope="module")
def firefox(driver: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A window of Firefox, 1280 × 900."""
    program = os.environ.get("SHAKEWELL_FIREFOX") or shutil.which("firefox-esr") or shutil.which("firefox")
    if program is None:
        sentence = "No Firefox: install it (Debian: firefox-esr) or name one in SHAKEWELL_FIREFOX."
        if os.environ.get("SHAKEWELL_BROWSER_REQUIRED") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    started_as = tmp_path_factory.mktemp("firefox") / "firefox"
    started_as.write_text(f'#!/bin/sh\nexec "{sys.executable}" "{firefox_bridge.__file__}" "$@"\n', encoding="utf-8")
    started_as.chmod(0o700)
    browser = driver.firefox.launch(
        channel="moz-firefox", executable_path=started_as, env={**os.environ, "SHAKEWELL_FIREFOX": program}
    )
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    watch(page)
    yield page
    browser.close()


@pytest.fixture(scope="module")
def splash(firefox: Page, lab: Lab) -> Page:
    """A notebook with six panels of the splash, run."""
    save_formula(SPLASH, lab.folder / "dune_splash.toml")
    lab.close_notebooks()
    cells = [f"kit.{name}(bench).add_class('of-{name}')" for name in PANELS]
    name = lab.write_notebook("firefox.ipynb", "import kit\nbench = kit.open_bench('dune_splash.toml')", *cells)
    open_notebook(firefox, lab, name)
    run_all(firefox)
    for each in PANELS:
        firefox.locator(f".of-{each}").scroll_into_view_if_needed()
    return firefox


def picture(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=Path(PICTURES) / f"{name}.png")


def test_panels_are_painted_and_nothing_is_cut(splash: Page) -> None:
    for width in (1280, 1024):
        splash.set_viewport_size({"width": width, "height": 900})
        for name in PANELS:
            panel = splash.locator(f".of-{name}")
            panel.scroll_into_view_if_needed()
            expect(panel.locator(".sw-title").first).to_be_visible()
            splash.wait_for_timeout(800)
            assert panel.evaluate(f"(panel) => ({MEASURES}).stickingOut(panel)") == [], (name, width)
            picture(splash, f"firefox_{width}_{name}")
    splash.set_viewport_size({"width": 1280, "height": 900})
    assert_quiet(splash)


def test_an_amount_and_the_ratio_are_changed_and_saved(splash: Page, lab: Lab) -> None:
    table, ratio = splash.locator(".of-FormulaPanel .sw-table"), splash.locator(".of-RatioPanel")
    table.scroll_into_view_if_needed()
    box = splash.get_by_role("textbox", name="Amount of Panthenol", exact=True)
    box.fill("1,5")
    box.press("Enter")
    expect(table.locator("tr.sw-line").filter(has=box)).to_contain_text("1.50", timeout=PATIENCE)
    expect(table.locator(".sw-sum")).to_have_text("100.00 %")

    ratio.scroll_into_view_if_needed()
    grip = ratio.get_by_role("slider", name="Light oil, % of the whole by mass").or_(
        ratio.get_by_role("slider", name="Oil layer, % of the whole by mass")
    )
    before = float(grip.get_attribute("aria-valuenow") or 0)
    grip.focus()
    grip.press("ArrowRight")
    expect(grip).to_have_attribute("aria-valuenow", f"{before + 0.5:g}", timeout=PATIENCE)
    expect(grip).to_be_focused()

    line = ratio.get_by_role("slider", name="Line between the layers")
    place = line.locator("circle").bounding_box()
    assert place
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    splash.mouse.move(x, y)
    splash.mouse.down()
    for step in range(1, 9):
        splash.mouse.move(x, y + 4 * step)
    splash.mouse.up()
    expect(grip).not_to_have_attribute("aria-valuenow", f"{before + 0.5:g}", timeout=PATIENCE)
    assert float(grip.get_attribute("aria-valuenow") or 0) > before + 2  # the line went down: more oil above it

    table.scroll_into_view_if_needed()
    splash.locator(".of-FormulaPanel").get_by_role("button", name="Save", exact=True).click()
    expect(splash.locator(".of-FormulaPanel")).to_contain_text("Saved dune_splash.toml.")
    kept = read_formula(lab.folder / "dune_splash.toml")
    assert {line.material: line.entry for _, _, line, _ in kept.each_line()}["Panthenol"] == "1,5"
    assert kept.ratio is not None
    assert kept.ratio.oil > before + 2
    picture(splash, "firefox_ratio")
    assert_quiet(splash)
