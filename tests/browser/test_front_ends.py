"""A maker's own product in the other front ends: Jupyter Notebook, behind a hub, and as an app without code.

Each is started by the kit's own command. In each an amount is typed, the total follows, the formula is saved, and
every request of the page goes to this computer. JupyterLab has ``test_own_product.py`` and ``test_start_notebook.py``.
"""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from kit.__main__ import main
from kit.formula.files import read_formula
from tests.browser.conftest import started, started_by
from tests.browser.steps import PATIENCE, Lab, assert_quiet, wait_for_kernel

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.slow

FRONT_ENDS = {"Jupyter Notebook": ["--front", "notebook"], "app": ["app"]}
PANELS = ".shakewell-panel"

#: What Jupyter Notebook 7.6 says at its start of its own shortcuts, without the kit too.
OF_THE_NOTEBOOK = "Cannot read properties of undefined (reading 'schema')"

#: A hub starts its own server on the folder; the same is done here by the kit's, told of the address.
BEHIND_A_HUB = """
import sys
from pathlib import Path
from kit import launcher
launcher.OPTIONS["ServerApp.base_url"] = "/user/ada/"
sys.exit(launcher.launch(Path({!r}).resolve(), browser=False, port=8765))
"""


@pytest.fixture(scope="module", params=FRONT_ENDS)
def front_end(request: pytest.FixtureRequest, browser_program: str) -> Iterator[tuple[str, Lab]]:
    """One front end after the other, on a product of its own."""
    with TemporaryDirectory(prefix="own-", ignore_cleanup_errors=True) as parent:
        assert main(["new", "Tide splash", "--from", "alcohol-splash", "--in", parent]) == 0
        folder = Path(parent) / "tide_splash"
        with started(folder, *FRONT_ENDS[request.param], str(folder)) as opened:
            yield request.param, opened


def open_notebook_of(page: Page, name: str, lab: Lab, notebook: str = "product.ipynb") -> list[str]:
    """Open a notebook beside the one of the address that was printed, and have its cells run.

    Returns every address that the page asks for, from then on.
    """
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.goto(re.sub(r"\w+\.ipynb", notebook, lab.address), timeout=2 * PATIENCE)
    if name != "app":
        press_run_all(page, name, lab, notebook)
    page.locator(PANELS).first.wait_for(timeout=2 * PATIENCE)
    if name != "app":
        ready(page, name)
    return asked


def press_run_all(page: Page, name: str, lab: Lab, notebook: str) -> None:
    """Run all cells of a notebook once its kernel is there; before that nothing would run."""
    page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached", timeout=PATIENCE)
    wait_for_kernel(page, lab, notebook)
    ready(page, name)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()


def press_new(page: Page, title: str) -> Page:
    """Begin a product in the panel for it, and follow the link: the page that opens."""
    page.get_by_label("What it is called").first.fill(title)
    page.get_by_role("button", name="New", exact=True).click()
    link = page.locator("a.sw-go-on")
    link.wait_for(timeout=PATIENCE)
    with page.expect_popup() as opened:
        link.click()
    return opened.value


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
    asked = open_notebook_of(page, name, lab)
    table = page.locator(".sw-table").first
    expect(table.locator(".sw-sum")).to_have_text("100.00 %")
    amount(page, "Alcohol Denat.").fill("60,5 %")
    amount(page, "Alcohol Denat.").press("Enter")
    row = table.locator("tr.sw-line").filter(has=amount(page, "Alcohol Denat."))
    expect(row).to_contain_text("151.25", timeout=PATIENCE)  # g in the batch of 250 g
    expect(table.locator(".sw-sum")).to_have_text("100.00 %")  # the water makes room
    amount(page, "Aqua").fill("20")
    amount(page, "Aqua").press("Enter")
    expect(table.locator(".sw-sum")).not_to_have_text("100.00 %")
    status = page.locator(PANELS).first
    expect(status).to_contain_text("Only in hand")
    status.get_by_role("button", name="Save", exact=True).click()
    expect(status).to_contain_text("is saved there too")

    kept = read_formula(lab.folder / "formula.toml", [])
    entries = {line.material: line.entry for phase in kept.phases for line in phase.lines}
    assert (entries["Alcohol Denat."], entries["Aqua"]) == ("60,5 %", "20")
    expect(table.locator(".sw-sum")).to_have_text(f"{kept.total:g} %")
    assert_at_home(asked, lab)
    assert_quiet(page, OF_THE_NOTEBOOK if name == "Jupyter Notebook" else None)


def test_a_whole_job_from_new_to_the_label_and_a_paper(front_end: tuple[str, Lab], page: Page) -> None:
    name, lab = front_end
    beginning = lab.write_notebook("begin.ipynb", "import kit", "kit.NewProductPanel()")
    asked = open_notebook_of(page, name, lab, beginning)
    made = press_new(page, "Dune soak")
    made.on("request", lambda request: asked.append(request.url))
    expect(made.locator(".sw-table").or_(made.locator(".jp-Notebook .jp-CodeCell")).first).to_be_attached(
        timeout=2 * PATIENCE
    )
    assert urlsplit(made.url).path.endswith("/dune_soak/product.ipynb")
    if name != "app":
        press_run_all(made, name, lab, "dune_soak/product.ipynb")
        made.locator(PANELS).first.wait_for(timeout=2 * PATIENCE)
        ready(made, name)
    folder = lab.folder / "dune_soak"
    type_two_lines(made, folder)
    if name == "app":
        # On a busy machine its page is made anew until every panel is there: label and paper are followed elsewhere.
        assert_at_home(asked, lab)
        return
    label = section(made, "LabelPanel", "Label")
    listed = re.compile(r"Dune soak[\s\S]*Sodium Bicarbonate, Citric Acid")  # the larger share first
    expect(label.locator("textarea.sw-label").first).to_have_value(listed, timeout=PATIENCE)
    papers = section(made, "PapersPanel", "Papers")
    papers.get_by_label("Paper", exact=True).select_option("Batch sheet")
    papers.get_by_role("button", name="Write it", exact=True).click()
    expect(papers).to_contain_text("Wrote", timeout=PATIENCE)
    (sheet,) = folder.glob("**/*.html")
    assert "Citric Acid" in sheet.read_text(encoding="utf-8")
    assert_at_home(asked, lab)
    assert_quiet(page, OF_THE_NOTEBOOK if name == "Jupyter Notebook" else None)


def type_two_lines(page: Page, folder: Path) -> None:
    """Fill the empty formula of a new product, and save it."""
    page.locator(".sw-table").first.wait_for(timeout=3 * PATIENCE)  # an app shows its panels when all are made
    page.locator(".sw-table").first.scroll_into_view_if_needed()
    for number, (typed, material, percent) in enumerate(
        (("sodium bicarb", "Sodium Bicarbonate", "62,5"), ("Citric Acid", "Citric Acid", "37,5")), start=1
    ):
        line = page.get_by_role("combobox", name=f"Ingredient, line {number}", exact=True).first
        line.wait_for(timeout=2 * PATIENCE)
        line.fill(typed)
        line.press("Enter")
        amount(page, material).fill(percent)
        amount(page, material).press("Enter")
    expect(page.locator(".sw-sum").first).to_have_text("100.00 %", timeout=PATIENCE)
    page.get_by_role("button", name="Save", exact=True).first.click()
    expect(page.get_by_text("Saved formula.toml.").first).to_be_visible(timeout=PATIENCE)
    kept = {line.material: line.entry for _, _, line, _ in read_formula(folder / "formula.toml", []).each_line()}
    assert kept["Sodium Bicarbonate"] == "62,5"
    assert kept["Citric Acid"] == "37,5"


def section(page: Page, code: str, title: str) -> Locator:
    """A panel of a product's notebook or app, drawn."""
    cell = page.locator(".jp-Notebook .jp-Cell").filter(has_text=code)
    if cell.count():
        cell.first.scroll_into_view_if_needed()
    panel = page.locator(f'{PANELS}:has(> * .sw-title:text-is("{title}"))').first
    panel.wait_for(timeout=PATIENCE)
    panel.scroll_into_view_if_needed()
    return panel


LUMINANCE = """element => {
    const linear = (part) => part <= 0.03928 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    const seen = (colour) => {
        const [red, green, blue] = colour.match(/[\\d.]+/g).slice(0, 3).map((part) => linear(part / 255));
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const panel = element.closest(".shakewell-panel");
    const inks = [seen(getComputedStyle(element).color), seen(getComputedStyle(panel).backgroundColor)].sort();
    return (inks[1] + 0.05) / (inks[0] + 0.05);
}"""  # contrast of a text against its panel, WCAG 2.1, 1.4.3


@pytest.mark.parametrize("front_end", ["app"], indirect=True)
def test_the_app_can_be_read_in_the_dark(front_end: tuple[str, Lab], page: Page) -> None:
    name, lab = front_end
    there = Lab(lab.url, lab.token, lab.folder, lab.address.replace("theme=light", "theme=dark"))
    asked = open_notebook_of(page, name, there)
    expect(page.locator("body")).to_have_attribute("data-jp-theme-light", "false")
    for text in page.locator(f"{PANELS} .sw-title").all():
        assert text.evaluate(LUMINANCE) >= 4.5
    assert page.locator(".jp-CodeCell .jp-InputArea").count() == 0, "no code"
    assert page.get_by_text("Run all cells").count() == 0, "and nothing about running it"
    assert_at_home(asked, lab)
    assert_quiet(page)


@pytest.fixture
def behind_a_hub(browser_program: str) -> Iterator[Lab]:
    """The launcher's server as a hub has it, below an address of the user's own."""
    with TemporaryDirectory(prefix="hub-", ignore_cleanup_errors=True) as home:
        assert main([home, "--no-open"]) == 0
        with started_by(BEHIND_A_HUB.format(home), Path(home)) as opened:
            yield opened


def test_behind_a_hub_panels_and_the_link_work(behind_a_hub: Lab, page: Page) -> None:
    lab = behind_a_hub
    assert lab.url.endswith("/user/ada")
    beginning = lab.write_notebook("begin.ipynb", "import kit", "kit.NewProductPanel()")
    asked = open_notebook_of(page, "JupyterLab", lab, beginning)
    made = press_new(page, "Dune mist")
    made.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached", timeout=PATIENCE)
    assert re.fullmatch(r"/user/ada/lab(/workspaces/[\w-]+)?/tree/dune_mist/product\.ipynb", urlsplit(made.url).path)
    press_run_all(made, "JupyterLab", lab, "dune_mist/product.ipynb")
    expect(made.locator(PANELS).first).to_contain_text("Dune mist", timeout=2 * PATIENCE)
    made.locator(".sw-table .sw-sum").first.wait_for(timeout=2 * PATIENCE)
    assert_at_home(asked, lab)
    assert_quiet(page)
