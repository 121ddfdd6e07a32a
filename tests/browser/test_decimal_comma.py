"""A box for a number in a real browser: a decimal comma is never dropped, which would make 12,5 into 125."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page


@pytest.mark.parametrize("typed", ["2,5", "2.5"])
def test_a_comma_is_a_decimal_mark(page: Page, lab: Lab, typed: str) -> None:
    lab.close_notebooks()
    name = lab.write_notebook(
        "decimal_comma.ipynb", "import kit\nbench = kit.open_bench()\nkit.WeighingPanel(bench)", "bench.tolerance"
    )
    open_notebook(page, lab, name)
    run_all(page)
    box = page.get_by_label("A weighing may be off", exact=True)
    box.click()
    page.keyboard.press("Control+a")
    page.keyboard.type(typed)
    page.keyboard.press("Tab")
    expect(page.locator(".shakewell-panel")).to_contain_text("Within 2.5 % it weighs")
    expect(box).to_have_value(typed)
    assert_quiet(page)


@pytest.mark.parametrize("typed", ["1,250", "1250", "1,2500"])
def test_one_mark_and_three_digits_change_nothing_until_it_is_said_which(page: Page, lab: Lab, typed: str) -> None:
    lab.close_notebooks()
    cell = "import kit\nbench = kit.open_bench()\nkit.ScalingPanel(bench)"
    open_notebook(page, lab, lab.write_notebook(f"thousands_{len(typed)}.ipynb", cell))
    run_all(page)
    box = page.get_by_role("textbox", name="Product", exact=True)
    box.click()
    page.keyboard.press("Control+a")
    page.keyboard.type(typed)
    page.keyboard.press("Tab")
    two_ways = page.get_by_text("can mean 1250 g or 1.25 g")
    if typed == "1,250":
        expect(two_ways).to_be_visible()
        expect(page.locator(".shakewell-panel")).to_contain_text("250 g of product")
    else:
        expect(page.locator(".shakewell-panel")).to_contain_text(
            f"{'1250' if typed == '1250' else '1.25'} g of product"
        )
        expect(two_ways).to_have_count(0)
    expect(box).to_have_value(typed)
    assert_quiet(page)
