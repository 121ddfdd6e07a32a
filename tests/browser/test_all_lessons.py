"""Every lesson in a real JupyterLab: it runs, fits, names its sliders, and asks nothing of another computer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.folded import run_all_folded
from tests.browser.steps import Lab, assert_quiet, open_notebook

if TYPE_CHECKING:
    from playwright.sync_api import Page

NOTEBOOKS = sorted(path.name for path in (Path(__file__).parent.parent.parent / "notebooks").glob("[0-9]*.ipynb"))

#: What a cell shows, asked for in one go: what it warns of, and each panel's widths and sliders without a name.
LOOK = """(cell) => ({
  warnings: [...cell.querySelectorAll(".jp-OutputArea-output[data-mime-type*='stderr']")].map((out) => out.innerText),
  panels: [...cell.querySelectorAll(".shakewell-panel")].map((panel) => ({
    wide: panel.scrollWidth, room: panel.clientWidth, text: panel.innerText.slice(0, 60),
    unnamed: [...panel.querySelectorAll("[role=slider]")].filter((slider) => !slider.getAttribute("aria-label")).length,
  })),
})"""


#: Two go through every run, the others where slow tests do.
LESSONS = [*NOTEBOOKS[1:3], *(pytest.param(name, marks=pytest.mark.slow) for name in NOTEBOOKS[3:])]


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_runs_and_fits_a_narrow_page(page: Page, lab: Lab, name: str) -> None:
    page.set_viewport_size({"width": 1024, "height": 900})
    lab.close_notebooks()
    open_notebook(page, lab, name)
    run_all_folded(page)
    panels = 0
    for cell in page.locator(".jp-CodeCell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(40)
        seen = cell.evaluate(LOOK)
        assert seen["warnings"] == [], seen["warnings"]
        for panel in seen["panels"]:
            panels += 1
            assert panel["wide"] <= panel["room"] + 1, panel["text"]
            assert panel["unnamed"] == 0, panel["text"]
    assert panels >= 1
    assert_quiet(page)
