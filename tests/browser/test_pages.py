"""A page of a lesson in a browser, from its folder: it asks for nothing, fits, and shows one section at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.pages.running import saved_notebooks
from kit.pages.writing import write_pages
from kit.resources import resource_folder

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

LESSON = "01_stock_dilutions"


def test_a_page_fits_asks_for_nothing_and_shows_its_sections_one_by_one(browser: Browser, tmp_path: Path) -> None:
    notebook = saved_notebooks(resource_folder("notebooks"))[LESSON]
    index, lesson = write_pages({LESSON: notebook}, tmp_path)
    page = browser.new_page(viewport={"width": 360, "height": 800}, color_scheme="dark")
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.goto(index.as_uri())
    page.get_by_role("link", name="Stock solutions and dilutions").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert asked == [index.as_uri(), lesson.as_uri()]
    place = page.locator("#place")
    page.keyboard.press("p")
    assert place.inner_text().startswith("1 / ")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowRight")
    assert place.inner_text().startswith("2 / ")
    assert page.locator("main h1, main h2, main h3").filter(visible=True).count() == 1
    assert page.get_by_role("heading", name="Percent of what?").is_visible()
    assert not page.locator("details.code").first.is_visible()
    page.keyboard.press("Escape")
    assert page.locator("main h2").filter(visible=True).count() > 5
    # a script that somebody brought in does not run
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=\"window.harm=1\">')")
    page.wait_for_timeout(100)
    assert page.evaluate("window.harm") is None
    assert any("Content Security Policy" in words for words in said)
    page.close()
