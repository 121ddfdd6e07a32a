"""Every lesson in a real JupyterLab: it runs, fits, names its sliders, and asks nothing of another computer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

NOTEBOOKS = sorted(path.name for path in (Path(__file__).parent.parent.parent / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("name", NOTEBOOKS[1:])
def test_a_lesson_runs_and_fits_a_narrow_page(page: Page, lab: Lab, name: str) -> None:
    page.set_viewport_size({"width": 1024, "height": 900})
    lab.close_notebooks()
    open_notebook(page, lab, name)
    run_all(page)
    panels = 0
    for cell in page.locator(".jp-CodeCell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(40)
        assert cell.locator(".jp-OutputArea-output[data-mime-type*='stderr']").count() == 0, cell.inner_text()[:200]
        for panel in cell.locator(".shakewell-panel").all():
            panels += 1
            wide, room = panel.evaluate("(panel) => [panel.scrollWidth, panel.clientWidth]")
            assert wide <= room + 1, panel.inner_text()[:60]
            sliders = panel.locator("[role=slider]").all()
            assert all(slider.get_attribute("aria-label") for slider in sliders), panel.inner_text()[:60]
    assert panels >= 1
    assert_quiet(page)
