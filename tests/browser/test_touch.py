"""A tablet in the workshop: handles and buttons worked by a finger, and a finger beside them moves the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase
from tests.browser.steps import PATIENCE, Lab, assert_quiet, open_notebook, run_all, watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, CDPSession, Locator, Page

pytestmark = pytest.mark.slow

#: Salt and some alcohol below, an ester above; no demo.
RINSE = Formula(
    "Groyne rinse",
    (
        Phase("Brine", "water", (
            Line("Aqua", "q.s.", "fill"), Line("Sodium Chloride", "4"), Line("Alcohol", "8"), Line("Glycerin", "3"),
        )),
        Phase("Ester layer", "oil", (Line("Isopropyl Myristate", "25", "fill"), Line("Tocopherol", "0.3"))),
    ),
)  # fmt: skip
STEPS = 8


@pytest.fixture(scope="module")
def tablet(browser: Browser, lab: Lab) -> Iterator[Page]:
    """A tablet, 1024 × 768, with three panels of the rinse."""
    save_formula(RINSE, lab.folder / "groyne_rinse.toml")
    lab.close_notebooks()
    cells = [f"kit.{name}(bench).add_class('of-{name}')" for name in ("RatioPanel", "FormulaPanel", "WeighingPanel")]
    name = lab.write_notebook("tablet.ipynb", "import kit\nbench = kit.open_bench('groyne_rinse.toml')", *cells)
    context = browser.new_context(viewport={"width": 1024, "height": 768}, has_touch=True)
    page = context.new_page()
    watch(page)
    open_notebook(page, lab, name)
    run_all(page)
    yield page
    context.close()


@pytest.fixture(scope="module")
def finger(tablet: Page) -> CDPSession:
    return tablet.context.new_cdp_session(tablet)


def middle(part: Locator) -> tuple[float, float]:
    box = part.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def draw(page: Page, finger: CDPSession, start: tuple[float, float], across: float, down: float) -> None:
    """Put a finger down, move it evenly, and lift it."""

    def touch(kind: str, part: float) -> None:
        points = [{"x": start[0] + part * across, "y": start[1] + part * down}]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [] if kind == "touchEnd" else points})
        page.wait_for_timeout(40)

    touch("touchStart", 0)
    for n in range(1, STEPS + 1):
        touch("touchMove", n / STEPS)
    touch("touchEnd", 1)


def scrolled(page: Page) -> float:
    found: float = page.locator(".jp-WindowedPanel-outer").evaluate("(e) => e.scrollTop")
    return found


def test_the_ratio_follows_a_finger_and_the_page_stays(tablet: Page, finger: CDPSession) -> None:
    panel = tablet.locator(".of-RatioPanel")
    panel.scroll_into_view_if_needed()
    for name, across, down in (("oil", 40, 0), ("height", 0, 20)):
        grip = panel.locator(f'[data-grip="{name}"]')
        before, page_before = float(grip.get_attribute("aria-valuenow") or 0), scrolled(tablet)
        x, y = middle(grip.locator("circle"))
        draw(tablet, finger, (x + 9, y + 9), across, down)  # a finger is broad and hits beside it
        expect(grip).not_to_have_attribute("aria-valuenow", f"{before:g}", timeout=PATIENCE)
        tablet.wait_for_timeout(500)
        after = float(grip.get_attribute("aria-valuenow") or 0)
        assert after > before if name == "oil" else after < before
        assert scrolled(tablet) == page_before
    assert_quiet(tablet)


def test_a_finger_on_the_picture_moves_the_page(tablet: Page, finger: CDPSession) -> None:
    panel = tablet.locator(".of-RatioPanel")
    panel.scroll_into_view_if_needed()
    before, oil = scrolled(tablet), panel.locator('[data-grip="oil"]').get_attribute("aria-valuenow")
    box = panel.locator(".sw-bottle").bounding_box()
    assert box
    draw(tablet, finger, (box["x"] + box["width"] / 3, box["y"] + box["height"] * 0.4), 0, -150)
    tablet.wait_for_timeout(600)
    assert scrolled(tablet) > before + 60
    expect(panel.locator('[data-grip="oil"]')).to_have_attribute("aria-valuenow", oil or "")


def test_a_line_is_moved_by_its_handle(tablet: Page, finger: CDPSession, lab: Lab) -> None:
    panel = tablet.locator(".of-FormulaPanel")
    panel.scroll_into_view_if_needed()
    handle = panel.locator("tr", has=tablet.get_by_role("textbox", name="Amount of Glycerin")).locator(".sw-grip")
    handle.scroll_into_view_if_needed()
    goal = panel.locator("tr", has=tablet.get_by_role("textbox", name="Amount of Sodium Chloride"))
    (x, y), (_, above) = middle(handle), middle(goal)
    draw(tablet, finger, (x, y), 0, above - y - 18)
    rows = panel.get_by_role("textbox", name="Amount of")
    expect(rows.nth(1)).to_have_attribute("aria-label", "Amount of Glycerin", timeout=PATIENCE)
    expect(panel.get_by_role("combobox", name="Ingredient, line 2").first).to_be_focused()  # it went along
    assert_quiet(tablet)


def test_boxes_and_buttons_take_a_tap(tablet: Page, lab: Lab) -> None:
    panel = tablet.locator(".of-FormulaPanel")
    amount = panel.get_by_role("textbox", name="Amount of Alcohol", exact=True)
    amount.scroll_into_view_if_needed()
    amount.tap()
    expect(amount).to_be_focused()
    amount.fill("9,5")
    panel.get_by_role("textbox", name="Amount of Glycerin", exact=True).tap()
    undo = panel.get_by_role("button", name="Undo").first
    undo.tap()
    expect(amount).not_to_have_value("9,5", timeout=PATIENCE)
    save = tablet.get_by_role("button", name="Save", exact=True).first
    save.scroll_into_view_if_needed()
    save.tap()
    tablet.wait_for_timeout(1500)
    phases = read_formula(lab.folder / "groyne_rinse.toml").phases
    assert [line.material for line in phases[0].lines][:2] == ["Aqua", "Glycerin"]
    assert_quiet(tablet)
