"""Every panel of the kit in one notebook, on a product of the tests' own; and what the browser can measure of them."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.browser.steps import Lab, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

MEASURES = (Path(__file__).resolve().parent / "measure.js").read_text(encoding="utf-8").strip()
LISTED = Path(__file__).resolve().parents[2] / "kit" / "__init__.pyi"

#: Long names, much text, three layers for one bench and two for the other; nothing of a lesson's.
PRODUCT = """\
from datetime import date
from pathlib import Path
import kit
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.library.ingredient import Stock

for left in Path().glob("walk_log.db*"):
    left.unlink() if left.is_file() else None
water = Phase("Water layer of the evening care", "water", (
    Line("Aqua", "q.s.", "fill"), Line("Glycerin", "6.25"), Line("Propylene Glycol", "4.5"), Line("Lactic soft", "3.2"),
    Line("Sodium Benzoate", "0.35", "level"), Line("Potassium Sorbate", "0.12", "level"),
    Line("Hydroxyethylcellulose", "0.4"), Line("Sodium Chloride", "1.5")))
oil = Phase("Oil layer", "oil", (
    Line("Coco-Caprylate", "17.4"),
    Line("Prunus Armeniaca Kernel Oil", "8.05"), Line("Helianthus Annuus Seed Oil", "4.2"),
    Line("Tocopherol", "0.15"), Line("Parfum", "0.25", "level")))
soft = Stock("Lactic soft", {"Lactic Acid": 20.0, "Aqua": 80.0}, active="Lactic Acid")
bench = kit.Bench(Formula("Evening care for dry hands and elbows", (water, oil), materials=(soft,),
                          description=Description(product_kind="leave-on")))
bench.prices = kit.bench.demo_prices()
bench.keep("the first that was tried")
bench.move_oil(24.0)
bench.keep("a little less oil")
third = Phase("Third layer", "other", (Line("Propylene Glycol", "22", "fill"),))
three = kit.Bench(Formula("Three layers in a tall bottle", (
    Phase("Water layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Sodium Benzoate", "0.4", "level"))),
    Phase("Oil layer", "oil", (Line("Coco-Caprylate", "18", "fill"),)), third)))
log = kit.stability.demo_log("walk_log.db")
log.start_study("Evening care", "home-twelve-weeks", ["EC-01"], date(2026, 4, 6))
for place, grade in (("cupboard", "0"), ("warm_box", "1")):
    log.record(2, "EC-01", place, "start", "appearance", grade, date(2026, 4, 6))
log.close()
Path("walk_trials.csv").unlink(missing_ok=True)
trials = kit.in_use.TrialBook("walk_trials.csv")
for variant, times in (("without salt, as last year", (212, 198, 225)), ("salt 3 %", (101, 96, 110))):
    for parted in times:
        seen = tuple(kit.in_use.Reading(parted * part, 40 * part) for part in (0.1, 0.3, 0.5, 0.8))
        trials.keep(kit.in_use.Trial(variant, stood=7, mix="mixed", line="haze", readings=seen, parted=parted))
weighed = tuple(kit.in_use.Seen(float(n), 0.97 + 0.01 * (n % 3)) for n in (1, 5, 10, 20, 40, 60))
kit.in_use.save_doses([kit.in_use.WeighedDoses("bottle with the long tube", grams=weighed)], "walk_doses.csv")
kit.blends.save_trial(kit.blends.demo_trial(), "blend_trial.csv")
today = lambda: date(2026, 4, 8)
study = dict(today=today, study=1)"""
#: What a panel is called with where that is not the bench.
CALLS = {
    "DispensersPanel": "(bench, 'walk_doses.csv')",
    "ExercisesPanel": "('02', bench, name='Ada')",
    "NewProductPanel": "()",
    "OverviewPanel": "('walk_log.db', **study)",
    "PartingTrialsPanel": "(bench, 'walk_trials.csv')",
    "PhPanel": "(bench, readings=[(0, 6.9), (0.5, 6.1), (1, 5.4), (1.5, 4.9)])",
    "ShelfLifePanel": "('walk_log.db', **study)",
    "StabilityPanel": "('walk_log.db', today=today)",
    "TrianglePanel": "(three)",
}
NAME = "every_panel.ipynb"


def panel_names() -> list[str]:
    """Every panel that the kit offers, by its own list."""
    return sorted(set(re.findall(r"as (\w+Panel)$", LISTED.read_text(encoding="utf-8"), re.MULTILINE)))


def show_every_panel(page: Page, lab: Lab) -> None:
    """Open a notebook that shows each panel in a cell of its own, all of them laid out at once.

    JupyterLab lays out only what is near the window; scrolling to each panel anew would take minutes.
    """
    lab.close_notebooks()
    # One after the other: anywidget gives up a model that is not drawn within two seconds.
    cells = [
        f"import time; time.sleep(0.1)\nkit.{name}{CALLS.get(name, '(bench)')}.add_class('of-{name}')"
        for name in panel_names()
    ]
    open_notebook(page, lab, lab.write_notebook(NAME, PRODUCT, *cells, "# the last cell"))
    page.add_style_tag(content=".jp-Cell, .jp-Cell * { content-visibility: visible !important; }")
    run_all(page)
    for name in panel_names():
        page.locator(f".of-{name}").wait_for(state="attached")


def unfold(page: Page) -> None:
    """Open everything in a panel that is folded away."""
    page.evaluate("() => document.querySelectorAll('.shakewell-panel details').forEach((one) => { one.open = true; })")
    page.evaluate(
        "() => document.querySelectorAll('.shakewell-panel .jupyter-widget-Collapse-header')"
        ".forEach((one) => one.ariaExpanded === 'false' && one.click())"
    )
    page.wait_for_timeout(600)


def dress(page: Page, theme: str) -> None:
    """Choose JupyterLab's light or dark theme by its menu, unless it is worn already."""
    if page.locator("body").get_attribute("data-jp-theme-light") == str(theme == "Light").lower():
        return
    page.get_by_role("menuitem", name="Settings", exact=True).click()
    page.get_by_text("Theme", exact=True).first.hover()
    page.get_by_text(f"JupyterLab {theme}", exact=True).first.click()
    page.wait_for_function("(dark) => document.body.dataset.jpThemeLight === String(!dark)", arg=theme == "Dark")
    page.wait_for_timeout(500)


def asked(page: Page, *questions: str, patience: float = 8.0) -> dict[str, dict[str, list[str]]]:
    """What functions of ``measure.js`` find wrong, by their names and by panel.

    Charts take their time to follow a new width: what is found is asked again until it is gone, or patience is. [s]
    """
    script = f"""([names, questions]) => {{
        const ask = {MEASURES};
        const said = (one, name) => ask[one](document.querySelector(`.of-${{name}}`));
        const wrong = (one) => names.map((name) => [name, said(one, name)]).filter(([, found]) => found.length);
        return Object.fromEntries(questions.map((one) => [one, Object.fromEntries(wrong(one))]));
    }}"""
    deadline = time.monotonic() + patience
    while True:
        found: dict[str, dict[str, list[str]]] = page.evaluate(script, [panel_names(), list(questions)])
        if not any(found.values()) or time.monotonic() > deadline:
            return found
        page.wait_for_timeout(500)


def chart_colours(page: Page, name: str) -> Any:
    """What the chart of a panel is painted with."""
    return page.locator(f".of-{name}").evaluate(f"(panel) => ({MEASURES}).chartColours(panel)")
