"""Keep two versions of a soak, move the ratio back and save, in a real JupyterLab: everything is found again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase
from kit.formula.versions import versions
from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

SOAK = Formula(
    "Cuticle soak",
    (
        Phase("Oils", "oil", (Line("Squalane", "57.5", "fill"), Line("Tocopherol", "2.5"))),
        Phase(
            "Waters",
            "water",
            (Line("Aqua", "q.s.", "fill"), Line("Propanediol", "1.5"), Line("Sodium Benzoate", "0.4", "level")),
        ),
    ),
)
CELLS = (
    "import kit\nfrom IPython.display import display\nbench = kit.open_bench('soak.toml')",
    "display(kit.FormulaPanel(bench), kit.RatioPanel(bench), kit.VersionsPanel(bench))",
)


@pytest.fixture
def soak(page: Page, lab: Lab) -> Page:
    """A notebook of one's own with three panels on the soak."""
    for left in lab.folder.glob("soak.toml*"):
        left.unlink()
    save_formula(SOAK, lab.folder / "soak.toml")
    lab.close_notebooks()
    open_notebook(page, lab, lab.write_notebook("soak.ipynb", *CELLS))
    run_all(page)
    page.get_by_role("button", name="Keep as new version").scroll_into_view_if_needed()
    return page


def move_to(page: Page, oil: str) -> None:
    box = page.locator(".sw-form").get_by_label("Oil layer", exact=True)
    box.fill(oil)
    box.press("Enter")


def keep(page: Page, note: str, number: int) -> None:
    page.get_by_role("textbox", name="Keep it as").fill(note)
    page.get_by_role("textbox", name="Keep it as").press("Tab")
    page.get_by_role("button", name="Keep as new version").click()
    expect(page.get_by_text(f"Kept as version {number} and saved in soak.toml")).to_be_visible()


def amount(page: Page, material: str) -> Locator:
    return page.locator(".sw-table").first.get_by_role("textbox", name=f"Amount of {material}", exact=True)


def head(page: Page) -> Locator:
    return page.locator(".sw-table").first


def test_two_versions_are_kept_and_the_amounts_come_home(soak: Page, lab: Lab) -> None:
    amount(soak, "Propanediol").fill("1,75")
    amount(soak, "Propanediol").press("Enter")
    expect(head(soak)).to_contain_text("version 1, changed since")
    move_to(soak, "70")
    expect(head(soak)).to_contain_text("oil layer moved from 60 % as typed to 70 %")
    keep(soak, "richer", 2)
    move_to(soak, "30")
    keep(soak, "lighter", 3)
    move_to(soak, "60")
    expect(amount(soak, "Tocopherol")).to_have_value("2.5")
    expect(amount(soak, "Propanediol")).to_have_value("1,75")
    soak.get_by_role("button", name="Save", exact=True).click()
    expect(soak.get_by_text("Saved soak.toml.")).to_be_visible()

    file = lab.folder / "soak.toml"
    found = read_formula(file)
    assert [(old.version, round(old.phase_total(0), 3)) for old in versions(found)] == [(1, 60), (2, 70), (3, 30)]
    assert [[line.entry for line in phase.lines] for phase in found.phases] == [
        ["57.5", "2.5"],
        ["q.s.", "1,75", "0.4"],
    ]
    assert "moved" not in Path(file).read_text(encoding="utf-8")

    run_all(soak)  # opens the file anew
    expect(soak.get_by_text("On disk in soak.toml: versions 1, 2 and 3.").locator("visible=true").first).to_be_visible()
    expect(head(soak)).to_contain_text("changed since")
    soak.get_by_role("combobox", name="Version").select_option("version 2")
    soak.get_by_role("button", name="Take in hand").click()
    expect(head(soak)).to_contain_text("version 2")
    expect(amount(soak, "Tocopherol")).to_have_value("2.917")
    assert_quiet(soak)
