"""The lesson on shelf life in a real JupyterLab: a choice is changed by hand and the sentence follows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.folded import run_all_folded
from tests.browser.steps import Lab, assert_quiet, open_notebook

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

NAME = "07_shelf_life.ipynb"


def panel(page: Page, title: str) -> Locator:
    """The panel of that title, brought near the window: JupyterLab draws a cell only then."""
    for cell in page.locator(".jp-Notebook .jp-CodeCell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(60)
        found = cell.locator(".shakewell-panel").filter(has_text=title)
        if found.count():
            return found.first
    raise AssertionError(f"no panel is called {title!r}")


@pytest.fixture(scope="module")
def page(one_page: Page, lab: Lab) -> Page:
    """The lesson, all cells run."""
    lab.close_notebooks()
    open_notebook(one_page, lab, NAME)
    run_all_folded(one_page)
    return one_page


def test_another_place_and_other_lines_give_another_sentence(page: Page) -> None:
    shelf = panel(page, "Shelf life, estimated")
    sentence = shelf.locator(".sw-estimate")
    expect(sentence).to_contain_text("of 3 batches over 84 days")
    expect(sentence).to_contain_text("first in batch TL-03 on day 56.1, so they support 56 days")
    expect(shelf.locator("svg").first).to_contain_text("pH, Warm box, 40 °C")

    shelf.get_by_label("Lines").select_option(label="one line for all")
    expect(sentence).not_to_contain_text("first in batch")
    shelf.get_by_label("Kept in").select_option(label="Cupboard, 20 to 25 °C")
    expect(shelf.locator("svg").first).to_contain_text("pH, Cupboard, 20 to 25 °C")
    expect(sentence).to_contain_text("they support 84 days (2 whole months) and no more")
    shelf.get_by_label("In warm storage").select_option(label="no significant change")
    expect(sentence).to_contain_text("they support 168 days (5 whole months) and no more")
    assert_quiet(page)


def test_the_overview_shows_the_attribute_chosen_and_writes_the_report(page: Page, lab: Lab) -> None:
    over = panel(page, "Overview of a study")
    over.get_by_label("Show").select_option(label="pH")
    expect(over.locator("svg").first).to_contain_text("pH: After-swim body shake")
    over.get_by_role("button", name="Write the stability report").click()
    expect(over.locator("iframe")).to_have_count(1)
    report = over.frame_locator("iframe")
    expect(report.locator("h1")).to_contain_text("After-swim body shake")
    assert list(lab.folder.glob("stability_report_*.html"))
    assert_quiet(page)
