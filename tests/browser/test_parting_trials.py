"""The stopwatch in a real JupyterLab: by the space bar alone, and nothing of it reaches the notebook."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

SHAKE = """\
import kit
from kit.formula.model import Formula, Line, Phase

water = Phase("Spirit water", "water", (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "12")))
oil = Phase("Light oil", "oil", (Line("Isopropyl Palmitate", "20"),))
kit.PartingTrialsPanel(kit.Bench(Formula("Evening shake", (water, oil))))"""


def keep_the_kernel_busy(page: Page) -> None:
    """Have it hear all that a hand does from now on together, as on a slow computer."""
    last = page.locator(".jp-CodeCell .cm-content").last
    last.click()
    page.keyboard.press("Control+a")
    page.keyboard.type("import time; time.sleep(4)")
    page.keyboard.press("Control+Enter")
    expect(page.locator("#jp-main-statusbar")).to_contain_text("| Busy")


def test_a_trial_is_timed_by_the_space_bar_and_kept(page: Page, lab: Lab) -> None:
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook("parting_try.ipynb", SHAKE, "1 + 1"))
    run_all(page)
    panel = page.locator(".shakewell-panel").first
    panel.scroll_into_view_if_needed()
    cells = page.locator(".jp-Notebook .jp-Cell").count()
    press = panel.get_by_role("button", name=re.compile("^Start: space bar"))
    scrolled = page.locator(".jp-WindowedPanel-outer").first.evaluate("(one) => one.scrollTop")
    press.focus()
    for wait in (400, 700, 500):
        page.keyboard.press("Space")
        page.wait_for_timeout(wait)
    marks = panel.locator(".sw-watch-marks li")
    expect(marks).to_have_count(2)  # the first press started it
    assert 0.2 <= float(marks.first.inner_text().removesuffix(" s")) <= 5
    expect(panel.locator(".sw-watch-said")).to_contain_text("Mark 2 at")
    assert page.locator(".jp-WindowedPanel-outer").first.evaluate("(one) => one.scrollTop") == scrolled
    assert page.locator(".jp-Notebook .jp-Cell").count() == cells
    heights = panel.get_by_role("textbox", name=re.compile("^height at"))
    expect(heights).to_have_count(2)
    keep_the_kernel_busy(page)
    panel.get_by_role("button", name="It has parted").click()
    heights.first.fill("4")
    heights.last.fill("9,5")
    panel.get_by_label("Variant", exact=True).fill("plain")
    panel.get_by_role("button", name="Keep this trial").click()
    expect(panel).to_contain_text("Trial 1 is kept in evening_shake_trials.csv: plain, parted after", timeout=PATIENCE)
    expect(marks).to_have_count(0)
    row = (lab.folder / "evening_shake_trials.csv").read_text(encoding="utf-8").splitlines()[1]
    assert re.search(r"[\d.]+ 4; [\d.]+ 9\.5", row), row
    expect(press).to_be_visible()
    assert_quiet(page)
