"""What the bench asks, in a real JupyterLab: thin what is at hand, neutralise with an amine, weigh a trace."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

NAME = "bench_questions.ipynb"
FORMULA = """import kit
from kit.formula.model import Line, Phase
lines = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"), Line("Lactic Acid", "0.9"), Line("Allantoin", "0.05"))
amine = kit.Stock("TEA 20 %", {"Aqua": 80, "Triethanolamine": 20}, "Triethanolamine", 20)
bench = kit.Bench(kit.Formula("Gel toner", (Phase("Water", "water", lines),), materials=(amine,)))
bench.balance = kit.Balance(0.1, 1000)"""


@pytest.fixture
def shown(page: Page, lab: Lab) -> Page:
    """A maker's own notebook with the three panels on one bench."""
    lab.close_notebooks()
    cells = FORMULA, "kit.DilutionPanel(bench)", "kit.PhPanel(bench, [(0, 2.4)])", "kit.WeighingPanel(bench)"
    lab.write_notebook(NAME, *cells)
    open_notebook(page, lab, NAME)
    run_all(page)
    for cell in page.locator(".jp-Notebook .jp-Cell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(60)
    return page


def panel(page: Page, title: str) -> Locator:
    return page.locator(".shakewell-panel").filter(has=page.locator(".sw-title", has_text=title))


def typed(box: Locator, text: str) -> None:
    box.fill(text)
    box.press("Tab")


def test_what_the_bench_asks_is_answered(shown: Page) -> None:
    thin = panel(shown, "Dilute a stock")
    thin.get_by_label("thin what I have").check()
    thin.get_by_label("liquids by volume").check()
    typed(thin.get_by_role("combobox", name="Dissolved in water"), "Alcohol")
    typed(thin.get_by_role("textbox", name="At hand, its strength", exact=True), "95")
    typed(thin.get_by_role("textbox", name="Wanted", exact=True), "70")
    typed(thin.get_by_role("textbox", name="At hand", exact=True), "100")
    expect(thin).to_contain_text(re.compile(r"Add 39\.\d+ g \(39\.\d+ mL\) of diluent: it comes to"))
    expect(thin).to_contain_text("less than the two volumes together")
    typed(thin.get_by_role("textbox", name="Or I add exactly"), "50 mL")
    expect(thin).to_contain_text(re.compile(r"Add 49\.\d+ g \(50 mL\) of diluent: .* at 65\.\d+ % v/v"))

    ph = panel(shown, "Adjust the pH")
    typed(ph.get_by_label("Target pH"), "5.5")
    ph.get_by_label("Computed curve beside it").check()
    expect(ph).to_contain_text(re.compile(r"Computed, pH 5\.5 takes about 7\.\d+ g of this stock"))
    expect(ph).to_contain_text("Counted in the sample: Lactic Acid 0.9 %")
    expect(ph).to_contain_text("certified buffers")

    weigh = panel(shown, "Weigh well")
    expect(weigh).to_contain_text("one premix would come to")
    typed(weigh.get_by_label("Sensitivity requirement", exact=True), "6 mg")
    expect(weigh).to_contain_text("by its sensitivity requirement 0.6 g", timeout=30_000)
    weigh.get_by_label("Premix", exact=True).select_option("Allantoin 1 % in Aqua")
    weigh.get_by_role("button", name="Use this premix").click()
    expect(weigh).to_contain_text("Allantoin 1 % in Aqua", timeout=30_000)
    assert_quiet(shown)
