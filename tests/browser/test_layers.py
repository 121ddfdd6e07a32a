"""The bottle panel in a real JupyterLab: a layer with alcohol, and the density that a hand measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

SPIRIT = """\
import kit
from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench

water = Phase("Water layer", "water", (Line("Alcohol", "32.2"), Line("Aqua", "37.8")))
oil = Phase("Oil layer", "oil", (Line("Prunus Amygdalus Dulcis Oil", "30"),))
bench = Bench(Formula("Spirit", (water, oil)))
kit.BottlePanel(bench)"""


def test_almond_oil_floats_on_alcohol_until_a_hand_has_measured_otherwise(page: Page, lab: Lab) -> None:
    # 46 % w/w ethanol: 0.923 g/mL (OIML R 22); almond oil 0.916 against water at 20 °C (British Pharmacopoeia 2025)
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook("layers_try.ipynb", SPIRIT, "kit.RatioPanel(bench)"))
    run_all(page)
    bottle, ratio = page.locator(".shakewell-panel").first, page.locator(".shakewell-panel").last
    rows = bottle.locator("table").first.locator("tbody tr")
    expect(rows.first).to_contain_text("Oil layer")
    expect(rows.last).to_contain_text("0.923 ± 0.001")
    expect(bottle).to_contain_text("it cannot be told throughout which layer stands below")
    expect(bottle).to_contain_text("OIML R 22 (1975)")

    bottle.get_by_label("Its density", exact=True).fill("0,9010")
    bottle.get_by_label("Give or take", exact=True).fill("0,001")
    bottle.get_by_role("button", name="Use this density").click()
    expect(rows.first).to_contain_text("Water layer")
    expect(rows.first).to_contain_text("0.901 ± 0.001")
    expect(bottle).to_contain_text("you measured it")
    ratio.scroll_into_view_if_needed()
    expect(ratio).to_contain_text("0.901 g/mL")

    bottle.scroll_into_view_if_needed()
    bottle.get_by_role("button", name="Forget it").click()
    expect(rows.last).to_contain_text("0.923 ± 0.001")
    assert_quiet(page)
