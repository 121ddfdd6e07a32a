"""A product of a newcomer's own in a real JupyterLab: from *New* to a line that is on disk, and on to its label."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.formula.files import read_formula
from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, wait_until_open, wait_until_run, watch

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Locator, Page

#: So many interactions, at most, until the first line of her own is saved.
MOST = 12
TITLE = "Pine foot soak"
FOLDER = "pine_foot_soak"


class Hand:
    """What a newcomer does, counted."""

    def __init__(self) -> None:
        self.did: list[str] = []

    def does(self, what: str, do: Callable[[], object]) -> None:
        self.did.append(what)
        do()


def type_in(box: Locator, text: str, key: str) -> None:
    """Type a text and leave its box by a key."""
    box.fill(text)
    box.press(key)


@pytest.fixture
def beginning(page: Page, lab: Lab) -> Page:
    """A notebook with the panel that begins a product."""
    shutil.rmtree(lab.folder / FOLDER, ignore_errors=True)
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook("begin.ipynb", "import kit\nkit.NewProductPanel()"))
    return page


def test_a_newcomer_saves_a_line_of_her_own_and_finds_it_on_the_label(beginning: Page, lab: Lab) -> None:
    page, hand = beginning, Hand()
    hand.does("open the Run menu", lambda: page.get_by_role("menuitem", name="Run", exact=True).click())
    hand.does("run all", lambda: page.get_by_role("menuitem", name="Run All Cells", exact=True).click())
    wait_until_run(page)
    title = page.get_by_label("What it is called")
    hand.does("type its name", lambda: title.fill(TITLE))
    kinds = page.get_by_label("What it is", exact=True)
    hand.does("say what it is", lambda: kinds.select_option("foot care"))
    hand.does("press New", lambda: page.get_by_role("button", name="New", exact=True).click())
    link = page.get_by_role("link", name=f"Go on in {FOLDER}/product.ipynb")
    link.wait_for()
    with page.context.expect_page() as opened:
        hand.does("follow the link", link.click)
    own = opened.value
    watch(own)
    wait_until_open(own, lab, f"{FOLDER}/product.ipynb")
    hand.does("open the Run menu", lambda: own.get_by_role("menuitem", name="Run", exact=True).click())
    hand.does("run all", lambda: own.get_by_role("menuitem", name="Run All Cells", exact=True).click())
    wait_until_run(own, folded=True)
    own.locator(".jp-Notebook .jp-CodeCell").nth(1).scroll_into_view_if_needed()
    name = own.get_by_role("combobox", name="Ingredient, line 1", exact=True).first
    name.wait_for()
    name.scroll_into_view_if_needed()
    hand.does("type an ingredient", lambda: type_in(name, "sodium bicarb", "Enter"))
    amount = own.get_by_role("textbox", name="Amount of Sodium Bicarbonate", exact=True).first
    hand.does("type its amount", lambda: type_in(amount, "100", "Tab"))
    expect(own.locator(".sw-sum").first).to_have_text("100.00 %", timeout=PATIENCE)
    hand.does("save", own.get_by_role("button", name="Save", exact=True).first.click)
    expect(own.get_by_text("Saved formula.toml.").first).to_be_visible(timeout=PATIENCE)

    assert len(hand.did) <= MOST, hand.did
    on_disk = read_formula(lab.folder / FOLDER / "formula.toml")
    assert (on_disk.title, on_disk.description.product_type) == (TITLE, "foot care")
    assert [line.material for _, _, line, _ in on_disk.each_line() if not line.is_blank] == ["Sodium Bicarbonate"]

    label = own.locator('.shakewell-panel:has(.sw-title:text-is("Label"))')
    own.locator(".jp-Notebook .jp-Cell").filter(has_text="LabelPanel").scroll_into_view_if_needed()
    label.first.wait_for()
    expect(label.locator("textarea.sw-label").first).to_have_value(label_of(TITLE), timeout=PATIENCE)
    assert_quiet(own)
    own.close()


def label_of(title: str) -> re.Pattern[str]:
    """A pattern of a label that bears the title and the only ingredient."""
    return re.compile(rf"{title}[\s\S]*Sodium Bicarbonate")
