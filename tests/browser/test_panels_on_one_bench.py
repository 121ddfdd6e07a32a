"""Every panel on one bench in a real JupyterLab: no control writes back what no hand set."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all
from tests.widgets.test_pairs_of_panels import PANELS

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Locator, Page

NAME, SAID = "all_panels.ipynb", "bench_now.json"
NAMES = [kind.__name__ for kind in PANELS]
#: Writes down what the bench holds whenever anything on it changes, and how often that was.
WATCH = f"""
import dataclasses, json, pathlib, time, kit
bench = kit.open_bench()
times = []
def tell(change=None):
    if change is None:
        times.append(None)
    elif change["name"] == "product":
        parts = [part.name for part in dataclasses.fields(change["new"])]
        times.extend(name for name in parts if getattr(change["old"], name) != getattr(change["new"], name))
    else:
        times.append(change["name"])
    order = bench.order
    found = dict(by=order.by, grams=repr(order.grams), bottles=order.bottles, fill=bench.fill, of_order=order.fill,
                 overage=order.overage, loss=order.loss, mass=repr(bench.product.batch.mass),
                 oil=repr(bench.product.oil),
                 balance=repr(bench.balance), tolerance=bench.tolerance, times=times)
    pathlib.Path("{SAID}").write_text(json.dumps(found))
"""
FOLLOW = """
bench.observe(tell)
tell()
"""


def said(folder: Path) -> dict[str, object]:
    found: dict[str, object] = json.loads((folder / SAID).read_text())
    return found


def panel(page: Page, title: str) -> Locator:
    return page.locator(".shakewell-panel").filter(has=page.locator(".sw-title", has_text=title)).first


def draw_every_cell(page: Page) -> None:
    for cell in page.locator(".jp-Notebook .jp-Cell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(80)


def settled(page: Page, folder: Path) -> dict[str, object]:
    """What the bench holds after every cell was drawn and nothing has changed for a while."""
    before = None
    for _ in range(20):
        draw_every_cell(page) if before is None else page.wait_for_timeout(700)
        now = said(folder)
        if now == before:
            return now
        before = now
    raise AssertionError(f"the bench never came to rest: {before}")


@pytest.mark.slow
def test_what_is_chosen_once_stays_chosen(page: Page, lab: Lab) -> None:
    lab.close_notebooks()
    (lab.folder / SAID).unlink(missing_ok=True)
    # One after the other: anywidget gives up a model that is not drawn within two seconds, and 23 panels at once
    # may take longer on a busy machine.
    shown = [f"time.sleep(0.25)\nkit.{name}(bench)" for name in NAMES]
    lab.write_notebook(NAME, WATCH.strip(), *shown, FOLLOW.strip())
    open_notebook(page, lab, NAME)
    run_all(page)
    at_first = settled(page, lab.folder)
    assert at_first["times"] == [None], "a panel that was only drawn has changed the bench"

    scaling = panel(page, "What to weigh")
    scaling.get_by_role("radio", name="by bottles").check()
    ratio_fill = page.locator(".sw-form").get_by_label("Filled with", exact=True).first
    ratio_fill.fill("100")
    ratio_fill.press("Enter")
    expect(scaling).to_contain_text("6 bottles of 100 mL")
    now = settled(page, lab.folder)
    assert (now["by"], now["bottles"], now["fill"], now["of_order"]) == ("bottles", 6, 100, 100)
    assert (now["grams"], now["oil"], now["balance"]) == (at_first["grams"], at_first["oil"], at_first["balance"])
    assert set(now["times"][1:]) <= {"order", "fill", "known"}  # type: ignore[index]
    expect(panel(page, "Cost")).to_contain_text("6 bottles")
    expect(scaling).to_contain_text("6 bottles of 100 mL")

    mass = panel(page, "Weigh well").get_by_role("textbox", name="Batch", exact=True)
    mass.fill("511")
    mass.press("Enter")
    expect(scaling).to_contain_text("511 g of product")
    now = settled(page, lab.folder)
    assert (now["by"], now["grams"], now["mass"]) == ("mass", "511.0", "511.0")
    expect(mass).to_have_value("511")
    expect(scaling.get_by_role("textbox", name="Product", exact=True)).to_have_value("511")
    expect(scaling).to_contain_text("weigh 511 g in all")
    assert_quiet(page)
