"""The label panel in a real JupyterLab: typed, chosen, copied."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

CELLS = ("import kit", "bench = kit.open_bench()\nkit.LabelPanel(bench)")


def test_a_label_is_written_explained_and_copied(page: Page, lab: Lab) -> None:
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook("label_try.ipynb", *CELLS))
    run_all(page)
    panel = page.locator(".shakewell-panel")
    panel.scroll_into_view_if_needed()
    text = panel.get_by_role("textbox", name="Text of the label")
    expect(text).to_have_value(
        re.compile(r"Ingredients: Aqua, Coco-Caprylate, Prunus Armeniaca Kernel Oil, Glycerin, Sodium PCA")
    )
    expect(panel).to_contain_text("Nothing is known about the allergens in Parfum")

    panel.get_by_role("textbox", name="Batch").fill("TL-07 <b>")
    expect(text).to_have_value(re.compile(r"\nBatch: TL-07 <b>\n"))
    panel.get_by_role("textbox", name="It says").fill("Limonene 2; Linalool 5")
    panel.get_by_role("button", name="Note it").click()
    expect(text).to_have_value(re.compile(r"Parfum, Linalool, Limonene\n"))

    panel.get_by_label("Show why each ingredient stands where it does").check()
    expect(panel).to_contain_text("Citric Acid 10 % stock 3.143 + Sodium PCA (and) Aqua 1")
    panel.get_by_role("radio", name="United States").check()
    expect(text).to_have_value(re.compile(r"fl oz \(\d+ mL\)\n[\s\S]*Ingredients: Water, "))

    text.click()
    page.keyboard.press("Control+a")
    chosen = page.evaluate("() => { const box = document.activeElement; return box.selectionEnd - box.selectionStart }")
    assert chosen == len(text.input_value())
    page.keyboard.type("dd")
    page.keyboard.press("Backspace")
    expect(text).to_have_value(re.compile(r"^After-swim body shake\n"))
    expect(page.locator(".jp-Notebook .jp-Cell")).to_have_count(2)
    page.keyboard.press("Control+c")
    panel.get_by_role("textbox", name="More warnings").click()
    page.keyboard.press("Control+v")
    expect(text).to_have_value(re.compile(r"\nAfter-swim body shake\n"))  # pasted, a line each
    box = text.bounding_box()
    assert box is not None
    assert box["height"] > 200
    assert_quiet(page)
