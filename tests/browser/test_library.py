"""The library and the findings in a real JupyterLab: search, read the source of a figure, add, and see it judged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_search_read_a_source_add_and_find_the_limit(page: Page, lab: Lab) -> None:
    lab.close_notebooks()
    name = lab.write_notebook(
        "library_check.ipynb",
        "from kit import FindingsPanel, LibraryPanel, open_bench\nbench = open_bench()\nLibraryPanel(bench)",
        "FindingsPanel(bench)",
    )
    open_notebook(page, lab, name)
    run_all(page)
    library = page.locator(".shakewell-panel").filter(has_text="every figure with its source")
    library.get_by_label("Search", exact=True).fill("phenoxyetanol")
    expect(library).to_contain_text("spelled like Phenoxyethanol")
    library.get_by_label("Show", exact=True).select_option("Phenoxyethanol")
    card = library.locator(".sw-card")
    expect(card).to_contain_text("CRC Handbook of Chemistry and Physics")
    expect(card).to_contain_text("Annex V, entry 29")

    library.get_by_label("Amount", exact=True).fill("1.2")
    library.get_by_role("button", name="Add to the formula").click()
    expect(library).to_contain_text("Phenoxyethanol now stands in Water layer at 1.2 %.")

    findings = page.locator(".shakewell-panel").filter(has_text="what the formula breaks")
    findings.scroll_into_view_if_needed()
    stop = findings.locator('.sw-finding[data-severity="stop"]')
    expect(stop).to_contain_text("Phenoxyethanol comes to 1.2 %; the limit is 1 %.")
    expect(stop.get_by_text("local rules decide; ask which hold there")).to_be_hidden()
    stop.locator("summary").click()
    expect(stop.get_by_text("local rules decide; ask which hold there")).to_be_visible()
    findings.get_by_label("Limits of").select_option("United States")
    expect(findings.locator('.sw-finding[data-severity="stop"]')).to_have_count(0)
    assert_quiet(page)
