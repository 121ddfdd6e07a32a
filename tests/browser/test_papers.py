"""Papers in a real browser: none is pushed wide by what is typed, and the panel writes and shows them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all
from tests.papers.all_papers import PAPERS, TAME

if TYPE_CHECKING:
    from playwright.sync_api import Page

LONG = "W" * 2_000


@pytest.mark.parametrize("name", PAPERS)
def test_no_text_pushes_a_paper_wide(page: Page, name: str) -> None:
    for text in (TAME, LONG):
        page.set_content(PAPERS[name](text))
        for width in (1024, 760):
            page.set_viewport_size({"width": width, "height": 900})
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, f"{name} is {wide} px wide for {text[:9]!r}"
    assert_quiet(page)


@pytest.mark.parametrize("name", PAPERS)
def test_nothing_hostile_runs(page: Page, name: str) -> None:
    page.set_content(PAPERS[name]("<script>alert(1)</script><img src=x onerror=alert(2)>\"'onload=alert(3)"))
    page.wait_for_timeout(50)
    ours = "[src^='data:image/']"  # the pictures that a class handed in
    assert page.locator(f"script, img:not({ours}), [onerror], [onload]").count() == 0
    assert_quiet(page)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_paper_stays_paper_in_either_theme(page: Page, theme: str) -> None:
    page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
    page.set_content(PAPERS["batch sheet"](TAME))
    colours = page.evaluate("[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]")
    assert colours == ["rgb(21, 27, 32)", "rgb(255, 255, 255)"]


def test_the_panel_shows_writes_and_follows(page: Page, lab: Lab) -> None:
    for left in lab.folder.glob("formula_card_*"):
        left.unlink()
    lab.close_notebooks()
    name = lab.write_notebook("papers.ipynb", "import kit\nbench = kit.open_bench()\nkit.PapersPanel(bench)")
    open_notebook(page, lab, name)
    run_all(page)
    panel = page.locator(".shakewell-panel").filter(has_text="Papers")
    panel.get_by_label("Paper", exact=True).select_option(label="Formula card")
    panel.get_by_label("Batches, between ;").fill("50 g; 2 kg")
    panel.get_by_role("button", name="Write it").click()

    expect(panel).to_contain_text("Wrote formula_card_after_swim_body_shake.html beside this notebook.")
    paper = panel.frame_locator("iframe")
    expect(paper.get_by_role("heading", name="When the layers change size")).to_be_attached()
    expect(paper.locator("table").first).to_contain_text("80.00")  # 4 % of 2 kg
    written = (lab.folder / "formula_card_after_swim_body_shake.html").read_text(encoding="utf-8")
    assert re.search(r"for 2000 g", written)

    panel.get_by_label("Batches, between ;").fill("3 kg")
    panel.get_by_label("Batches, between ;").press("Tab")
    expect(paper.locator("table").first).to_contain_text("120.00")
    assert (lab.folder / "formula_card_after_swim_body_shake.html").read_text(encoding="utf-8") == written
    wide, room = panel.evaluate("(panel) => [panel.scrollWidth, panel.clientWidth]")
    assert wide <= room + 1
    assert_quiet(page)
