"""A maker's own product in every front end: JupyterLab, Jupyter Notebook, and as an app without code.

Each is started by the kit's own command. In each an amount is typed, the total follows, the formula is saved, and
every request of the page goes to this computer.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from kit.__main__ import main
from kit.formula.files import read_formula
from tests.browser.conftest import started
from tests.browser.steps import PATIENCE, Lab, assert_quiet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Locator, Page

FRONT_ENDS = {"JupyterLab": [], "Jupyter Notebook": ["--front", "notebook"], "app": ["app"]}
PANELS = ".shakewell-panel"


@pytest.fixture(scope="module", params=FRONT_ENDS)
def front_end(request: pytest.FixtureRequest, browser_program: str) -> Iterator[tuple[str, Lab]]:
    """One front end after the other, on a product of its own."""
    with TemporaryDirectory(prefix="own-", ignore_cleanup_errors=True) as parent:
        assert main(["new", "Tide splash", "--from", "alcohol-splash", "--in", parent]) == 0
        folder = Path(parent) / "tide_splash"
        with started(folder, *FRONT_ENDS[request.param], str(folder)) as opened:
            yield request.param, opened


def open_product(page: Page, name: str, lab: Lab, more: str = "") -> list[str]:
    """Open the product at the address that was printed; every address that the page asks for, from then on."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.goto(f"{lab.address}{more}", timeout=2 * PATIENCE)
    if name != "app":
        page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached", timeout=PATIENCE)
        ready(page, name)
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.locator(".sw-table .sw-sum").first.wait_for(timeout=2 * PATIENCE)
    return asked


def ready(page: Page, name: str) -> None:
    """Wait until the notebook has its kernel."""
    if name == "JupyterLab":
        expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=PATIENCE)
    else:
        idle = page.locator(".jp-Notebook-ExecutionIndicator")
        expect(idle).to_have_attribute("data-status", "idle", timeout=PATIENCE)


def amount(page: Page, material: str) -> Locator:
    return page.get_by_role("textbox", name=f"Amount of {material}", exact=True).first


def assert_at_home(asked: list[str], lab: Lab) -> None:
    """Everything was asked of the server that the kit started, and it was asked for something."""
    hosts = {urlsplit(url).netloc for url in asked if not url.startswith(("data:", "blob:"))}
    assert hosts == {urlsplit(lab.url).netloc}


def test_an_amount_is_typed_the_total_follows_and_it_is_saved(front_end: tuple[str, Lab], page: Page) -> None:
    name, lab = front_end
    asked = open_product(page, name, lab)
    table = page.locator(".sw-table").first
    expect(table.locator(".sw-sum")).to_have_text("100.00 %")
    amount(page, "Alcohol Denat.").fill("60,5 %")
    amount(page, "Alcohol Denat.").press("Enter")
    row = table.locator("tr.sw-line").filter(has=amount(page, "Alcohol Denat."))
    expect(row).to_contain_text("151.25")  # g in the batch of 250 g
    expect(table.locator(".sw-sum")).to_have_text("100.00 %")  # the water makes room
    amount(page, "Aqua").fill("20")
    amount(page, "Aqua").press("Enter")
    expect(table.locator(".sw-sum")).not_to_have_text("100.00 %")
    status = page.locator(PANELS).first
    expect(status).to_contain_text("not saved")
    status.get_by_role("button", name="Save", exact=True).click()
    expect(status).to_contain_text("is saved there too")

    kept = read_formula(lab.folder / "formula.toml", [])
    entries = {line.material: line.entry for phase in kept.phases for line in phase.lines}
    assert (entries["Alcohol Denat."], entries["Aqua"]) == ("60,5 %", "20")
    expect(table.locator(".sw-sum")).to_have_text(f"{kept.total:.2f} %")
    assert_at_home(asked, lab)
    assert_quiet(page)
