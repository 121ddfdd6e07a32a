"""Numbers typed into boxes in a real browser: a decimal comma is never dropped, which would make 12,5 into 125.

Where one mark and three digits can mean two numbers, nothing changes and the field says why; the window is 1024 px
wide, and the sentence must be seen beside the field there too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

BOTH = "'1,250 g' can mean 1250 g or 1.25 g. Type 1250 g for the one, 1.25 g for the other."


PANELS = ("FormulaPanel", "CostPanel", "ScalingPanel", "WeighingPanel")


@pytest.fixture(scope="module")
def page(one_page: Page, lab: Lab) -> Page:
    """Four panels, each on a bench of its own."""
    lab.close_notebooks()
    one_page.set_viewport_size({"width": 1024, "height": 900})
    cells = [f"import kit\nkit.{name}(kit.open_bench()).add_class('of-{name}')" for name in PANELS]
    open_notebook(one_page, lab, lab.write_notebook("numbers_typed.ipynb", *cells))
    run_all(one_page)
    return one_page


def panel_of(page: Page, name: str) -> Locator:
    panel = page.locator(f".of-{name}")
    panel.scroll_into_view_if_needed()
    return panel


def type_over(page: Page, box: Locator, text: str) -> None:
    box.click()
    page.keyboard.press("Control+a")
    page.keyboard.type(text)
    page.keyboard.press("Tab")


def gap(upper: Locator, lower: Locator) -> float:
    """How far the top of one is below the foot of the other. [px]"""
    above, below = upper.bounding_box(), lower.bounding_box()
    assert above is not None
    assert below is not None
    assert below["x"] + below["width"] <= 1024
    return below["y"] - above["y"] - above["height"]


def test_an_amount_in_the_formula_table(page: Page) -> None:
    panel = panel_of(page, "FormulaPanel")
    row = panel.locator("tr", has=page.locator("input[data-field=amount]")).nth(1)
    cell = row.locator("input[data-field=amount]")
    assert "4.00" in row.inner_text()
    type_over(page, cell, "1,250 g")
    said = panel.get_by_text(BOTH).locator("visible=true").first
    expect(said).to_be_visible(timeout=20_000)
    assert -2 < gap(cell, said) < 60  # a long name takes a second row
    expect(cell).to_have_value("1,250 g")
    assert not {"1.25", "1250", "1,250"} & set(row.inner_text().split())  # no share of the whole is made of it
    type_over(page, cell, "4")
    expect(row).to_contain_text("4.00")
    expect(panel.get_by_text(BOTH)).to_have_count(0)
    assert_quiet(page)


def test_a_price(page: Page) -> None:
    panel = panel_of(page, "CostPanel")
    cost = "The batch costs 4.02 EUR"
    expect(panel).to_contain_text(cost)
    panel.get_by_text("Write or change a price").click()
    type_over(page, panel.get_by_label("Bought", exact=True), "Glycerin")
    pack, price = panel.get_by_label("Pack holds"), panel.get_by_label("Price of the pack")
    expect(pack).to_have_value("1 kg")
    button = panel.get_by_role("button", name="Set this price")
    for box, typed, right, said in (
        (pack, "1,250 g", "1250 g", BOTH),
        (price, "1,250 EUR", "12,50 EUR", "'1,250' can mean 1250 or 1.25. Type 1250 for the one, 1.25 for the other."),
    ):
        type_over(page, box, typed)
        button.click()
        sentence = panel.get_by_text(said)
        expect(sentence).to_be_visible(timeout=20_000)
        assert 0 < gap(box, sentence) < 250  # under the same form
        expect(box).to_have_value(typed)
        expect(panel).to_contain_text(cost)
        type_over(page, box, right)
    button.click()
    expect(panel).to_contain_text("Glycerin: 1250 g for 12,50 EUR. Save the list to keep it.")
    assert_quiet(page)


def test_a_batch(page: Page) -> None:
    panel = panel_of(page, "ScalingPanel")
    box = panel.get_by_role("textbox", name="Product", exact=True)
    type_over(page, box, "1,250 g")
    sentence = panel.get_by_text(BOTH)
    expect(sentence).to_be_visible(timeout=20_000)
    assert -2 < gap(box, sentence) < 40  # under its box
    expect(box).to_have_value("1,250 g")
    expect(panel).to_contain_text("250 g of product, with overage")
    type_over(page, box, "1250")
    expect(panel).to_contain_text("1250 g of product, with overage")
    expect(panel.get_by_text(BOTH)).to_have_count(0)
    assert_quiet(page)


def test_a_comma_is_a_decimal_mark(page: Page) -> None:
    panel = panel_of(page, "WeighingPanel")
    box = panel.get_by_label("A weighing may be off", exact=True)
    for typed, said in (("2,5", "2.5"), ("3.5", "3.5"), ("1,2500", "1.25")):
        type_over(page, box, typed)
        expect(panel).to_contain_text(f"Within {said} % it weighs")
        expect(box).to_have_value(typed)
    assert_quiet(page)
