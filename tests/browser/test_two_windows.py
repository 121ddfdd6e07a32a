"""Two windows on one formula in a real JupyterLab: the second save is asked about, and earlier saves are taken back."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.formula.files import read_formula
from kit.saving import earlier_saves
from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all, watch

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

pytestmark = pytest.mark.slow

FILE = "shampoo.toml"
SHAMPOO = """\
title = "Linden shampoo"
product_kind = "rinse-off"

[[phase]]
name = "Wash"
layer = "water"

[[phase.line]]
ingredient = "Aqua"   # from the still
amount = "q.s."
holds = "fill"

[[phase.line]]
ingredient = "Coco-Glucoside"
amount = "18,0"

[[phase.line]]
ingredient = "Glycerin"
amount = 3.50
"""
CELL = f'import kit\nbench = kit.open_bench("{FILE}")\nkit.FormulaPanel(bench)'
#: Where pictures go, if they are wanted.
PICTURES = os.environ.get("SHAKEWELL_PICTURES")


def picture(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=Path(PICTURES) / f"{name}.png")


def type_amount(page: Page, row: int, text: str) -> None:
    """Type an amount into a line of the formula table."""
    box = page.locator(f'.sw-line[data-phase="0"][data-line="{row}"] [data-field=amount]')
    box.scroll_into_view_if_needed()
    box.fill(text)
    box.press("Tab")


def wait_for_save(page: Page, path: Path, wanted: list[str]) -> None:
    """Wait until the file holds these amounts, for the words of the save before may still stand there."""
    for _ in range(50):
        if amounts(path) == wanted:
            return
        page.wait_for_timeout(100)
    assert amounts(path) == wanted


def button(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name, exact=True)


def amounts(path: Path) -> list[str]:
    return [line.entry for line in read_formula(path).phases[0].lines]


def test_the_second_window_asks_and_a_save_is_taken_back(browser: Browser, lab: Lab) -> None:
    lab.close_notebooks()
    path = lab.folder / FILE
    path.write_text(SHAMPOO, encoding="utf-8")
    pages = []
    for number in (1, 2):
        lab.write_notebook(f"window_{number}.ipynb", CELL)
        page = browser.new_context(viewport={"width": 1024, "height": 900}).new_page()
        watch(page)
        open_notebook(page, lab, f"window_{number}.ipynb")
        run_all(page)
        pages.append(page)
    first, second = pages

    type_amount(first, 1, "20")
    button(first, "Save").click()
    expect(first.get_by_text("Saved shampoo.toml.")).to_be_visible()
    type_amount(second, 2, "4")
    button(second, "Save").click()
    question = second.get_by_text("was changed in another window or by another program since it was opened here")
    expect(question).to_be_visible()
    for words in ("Linden shampoo, version 1, changed since, 3 lines", "Whichever you choose, both are kept."):
        expect(second.get_by_text(words)).to_be_visible()
    assert amounts(path) == ["q.s.", "20", "3.50"]
    button(second, "Save mine as shampoo_2.toml").scroll_into_view_if_needed()
    picture(second, "two_windows_choice")
    assert_no_overflow(second)

    button(second, "Save mine over it").click()
    expect(second.get_by_text("What was on the disk is the latest of its earlier saves.")).to_be_visible()
    assert amounts(path) == ["q.s.", "18,0", "4"]
    assert amounts(earlier_saves(path)[0].path) == ["q.s.", "20", "3.50"]
    assert "# from the still" in path.read_text(encoding="utf-8")

    second.get_by_text("Earlier saves of this file").click()
    expect(second.get_by_role("columnheader", name="what taking it back changes")).to_be_visible()
    second.get_by_label("Which save").select_option(index=0)
    button(second, "Take it back").scroll_into_view_if_needed()
    picture(second, "earlier_saves")
    assert_no_overflow(second)
    button(second, "Take it back").click()
    expect(second.get_by_text("shampoo.toml holds again what was saved on")).to_be_visible()
    assert amounts(path) == ["q.s.", "20", "3.50"]

    type_amount(first, 0, "q.s.")
    type_amount(first, 1, "22")
    button(first, "Save").click()  # the file holds again what this window saved: nothing to ask
    wait_for_save(first, path, ["q.s.", "22", "3.50"])
    expect(first.get_by_text("Saved shampoo.toml.")).to_be_visible()
    for page in pages:
        assert_quiet(page)
        page.context.close()


def assert_no_overflow(page: Page) -> None:
    """Nothing of the panel reaches over its right edge."""
    wide = page.locator(".shakewell-panel").first.evaluate("panel => panel.scrollWidth - panel.clientWidth")
    assert wide <= 1, f"the panel is {wide} px wider than its room"
