"""Cost and comparison in a real JupyterLab: a price typed, versions compared, the list and the paper saved."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.bench.price_list import read_prices
from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

NAME = "cost_and_compare.ipynb"


@pytest.fixture(scope="module")
def shown(one_page: Page, lab: Lab) -> Page:
    """A notebook of a maker's own with both panels on one bench."""
    for left in ("prices.csv", "comparison_after_swim_body_shake.html"):
        (lab.folder / left).unlink(missing_ok=True)
    lab.close_notebooks()
    cells = (
        "import kit\nbench = kit.open_bench()",
        "kit.CostPanel(bench)",
        "kit.ComparePanel(bench)",
        "bench.move_oil(20)",
    )
    lab.write_notebook(NAME, *cells)
    open_notebook(one_page, lab, NAME)
    run_all(one_page)
    for cell in one_page.locator(".jp-Notebook .jp-Cell").all():
        cell.scroll_into_view_if_needed()
        one_page.wait_for_timeout(60)
    return one_page


def panel(page: Page, title: str) -> Locator:
    return page.locator(".shakewell-panel").filter(has=page.locator(".sw-title", has_text=title))


def test_a_price_is_typed_and_the_sums_follow_and_the_list_is_saved(shown: Page, lab: Lab) -> None:
    cost = panel(shown, "Cost")
    row = cost.locator("table.sw-sheet tbody tr").filter(has_text="Glycerin")
    expect(row).to_contain_text("10.40")
    expect(cost.locator("svg.sw-chart")).to_contain_text("now 20.0 %")
    cost.get_by_text("Write or change a price").click()
    cost.get_by_label("Bought", exact=True).fill("Glycerin")
    cost.get_by_label("Bought", exact=True).press("Tab")
    expect(cost.get_by_label("Price of the pack", exact=True)).to_have_value("10.40 EUR")
    cost.get_by_label("Price of the pack", exact=True).fill("104,00")
    expect(cost.get_by_label("Price of the pack", exact=True)).to_have_value("104,00")
    cost.get_by_role("button", name="Set this price").click()
    expect(cost).to_contain_text("Glycerin: 1 kg for 104,00. Save the list to keep it.")
    expect(row).to_contain_text("104.00")
    cost.get_by_label("Waste", exact=True).fill("50")
    cost.get_by_label("Waste", exact=True).press("Enter")
    expect(cost.locator("tfoot")).to_contain_text("500.00")
    cost.get_by_role("button", name="Save", exact=True).click()
    expect(cost).to_contain_text("Saved to prices.csv beside this notebook.")
    assert [price.price for price in read_prices(lab.folder / "prices.csv").prices if price.material == "Glycerin"][
        -1
    ] == 104
    cost.get_by_role("radio", name="what to buy").check()
    expect(cost.locator("table.sw-sheet")).to_contain_text("1 × 250 g")
    assert_quiet(shown)


def test_versions_are_compared_and_written_on_paper(shown: Page, lab: Lab) -> None:
    compare = panel(shown, "Compare")
    expect(compare).to_contain_text("From version 3 to in hand")
    compare.get_by_role("radio", name="line by line").check()
    row = compare.locator("table.sw-sheet tbody tr").filter(has_text="Coco-Caprylate")
    expect(row).to_contain_text("▲ more: 9.6 % to 12.8")
    compare.get_by_role("listbox").select_option(["version 2", "version 3", "in hand"])
    expect(compare.locator("thead")).to_contain_text("version 2")
    compare.get_by_role("radio", name="what follows").check()
    expect(compare.locator("table.sw-sheet")).to_contain_text("materials of 100 g")
    compare.get_by_role("button", name="Write the comparison").click()
    expect(compare).to_contain_text("Wrote comparison_after_swim_body_shake.html beside this notebook.")
    paper = shown.context.new_page()
    paper.goto((lab.folder / "comparison_after_swim_body_shake.html").as_uri())
    expect(paper.locator("h1")).to_have_text("After-swim body shake")
    expect(paper.locator("body")).to_contain_text("Step 2: from version 3 to in hand")
    paper.close()
    assert_quiet(shown)
