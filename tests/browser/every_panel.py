"""Every panel of the kit in one notebook, on a product of the tests' own; and what the browser can measure of them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.browser.steps import Lab, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

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
today = lambda: date(2026, 4, 8)
study = dict(today=today, study=1)"""
#: What a panel is called with where that is not the bench.
CALLS = {
    "NewProductPanel": "()",
    "OverviewPanel": "('walk_log.db', **study)",
    "PhPanel": "(bench, readings=[(0, 6.9), (0.5, 6.1), (1, 5.4), (1.5, 4.9)])",
    "ShelfLifePanel": "('walk_log.db', **study)",
    "StabilityPanel": "('walk_log.db', today=today)",
    "TrianglePanel": "(three)",
}
NAME = "every_panel.ipynb"


def panel_names() -> list[str]:
    """Every panel that the kit offers, by its own list."""
    return sorted(set(re.findall(r"as (\w+Panel)$", LISTED.read_text(encoding="utf-8"), re.MULTILINE)))


def show_every_panel(page: Page, lab: Lab, names: list[str] | None = None, *, before: str = "") -> list[str]:
    """Open a notebook that shows each panel in a cell of its own, and draw every cell."""
    names = names or panel_names()
    lab.close_notebooks()
    # One after the other: anywidget gives up a model that is not drawn within two seconds.
    cells = [
        f"import time; time.sleep(0.4)\nkit.{name}{CALLS.get(name, '(bench)')}.add_class('of-{name}')" for name in names
    ]
    open_notebook(page, lab, lab.write_notebook(NAME, f"{PRODUCT}\n{before}", *cells))
    run_all(page)
    draw_every_cell(page)
    for name in names:
        page.locator(f".of-{name}").wait_for(state="attached")
    return names


def fold_the_side_bar(page: Page) -> None:
    """Give the notebook the width of the window."""
    if page.locator("#jp-left-stack").is_visible():
        page.keyboard.press("Control+b")


def draw_every_cell(page: Page) -> None:
    """Scroll through the notebook: a cell is drawn only when it comes near the window."""
    for cell in page.locator(".jp-Notebook .jp-Cell").all():
        cell.scroll_into_view_if_needed()
        page.wait_for_timeout(80)
    page.wait_for_timeout(600)


def unfold(page: Page) -> None:
    """Open everything in a panel that is folded away."""
    page.evaluate("() => document.querySelectorAll('.shakewell-panel details').forEach((one) => { one.open = true; })")
    page.evaluate(
        "() => document.querySelectorAll('.shakewell-panel .jupyter-widget-Collapse-header')"
        ".forEach((one) => one.ariaExpanded === 'false' && one.click())"
    )
    page.wait_for_timeout(600)


def dress(page: Page, theme: str) -> None:
    """Choose JupyterLab's light or dark theme by its menu."""
    page.get_by_role("menuitem", name="Settings", exact=True).click()
    page.get_by_text("Theme", exact=True).first.hover()
    page.get_by_text(f"JupyterLab {theme}", exact=True).first.click()
    page.wait_for_function("(dark) => document.body.dataset.jpThemeLight === String(!dark)", arg=theme == "Dark")
    page.wait_for_timeout(500)


#: For one panel: what leaves it, what is wider than its own box, and whose words are cut.
MEASURE = r"""
(panel) => {
  const found = [];
  const edge = panel.getBoundingClientRect();
  const say = (what, e, more = "") => found.push(`${what}: <${e.tagName.toLowerCase()} ${e.getAttribute("class") ?? ""}> ${(e.ariaLabel || e.textContent || e.name || "").trim().slice(0, 60)} ${more}`);
  const scrolls = (e) => { const s = getComputedStyle(e); return /auto|scroll/.test(s.overflowX) && e.scrollWidth > e.clientWidth + 1; };
  const inside = (e) => { for (let at = e.parentElement; at && at !== panel; at = at.parentElement) if (scrolls(at)) return at; return null; };
  if (panel.scrollWidth > panel.clientWidth + 1) found.push(`the panel is ${panel.scrollWidth - panel.clientWidth} px wider than its box`);
  const cell = panel.closest(".jp-OutputArea-output");
  if (cell && cell.scrollWidth > cell.clientWidth + 1) found.push(`the cell is ${cell.scrollWidth - cell.clientWidth} px too narrow`);
  for (const e of panel.querySelectorAll("*")) {
    if (!e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || e.closest(".sw-live, option, datalist, .sw-names, .modebar, defs")) continue;
    if (e.ownerSVGElement && e.tagName !== "text") continue; // a shape may be clipped; words may not
    const box = e.getBoundingClientRect();
    if (box.width && !inside(e) && (box.right > edge.right + 1 || box.left < edge.left - 1)) say(`${Math.round(Math.max(box.right - edge.right, edge.left - box.left))} px outside`, e);
    if (scrolls(e) && !e.matches("[data-wide], input, textarea, select")) say("scrolls without a sign", e, `${e.scrollWidth - e.clientWidth}`);
    if (e.matches("button, label, summary, .sw-form-words, .widget-label, th, td, legend")) {
      if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") say("cut", e, `${e.scrollWidth} in ${e.clientWidth}`);
    }
  }
  return found;
}
"""


def measure(page: Page, name: str) -> list[str]:
    """What sticks out of a panel or is cut in it, in words."""
    panel = page.locator(f".of-{name}")
    panel.scroll_into_view_if_needed()
    page.wait_for_timeout(150)
    found: list[str] = panel.evaluate(MEASURE)
    return [f"{name}: {one}" for one in found]


#: The size on the screen of every text of a panel that is smaller than it should be. [px]
SMALL_TEXTS = r"""
(panel) => {
  const found = [];
  const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const e = node.parentElement;
    if (!node.data.trim() || e.closest("option, style, .sw-voice, .sw-live, title, .modebar, datalist") || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue;
    const zoom = e.ownerSVGElement ? Math.abs(e.getScreenCTM()?.d ?? 1) || Math.abs(e.getScreenCTM().b) : 1;
    const size = parseFloat(getComputedStyle(e).fontSize) * zoom;
    if (size < 17.95) found.push(`${size.toFixed(1)} px: <${e.tagName} ${e.getAttribute("class") ?? ""}> ${node.data.trim().slice(0, 50)}`);
  }
  for (const e of panel.querySelectorAll("input, select, textarea, button")) {
    const size = parseFloat(getComputedStyle(e).fontSize);
    if (e.checkVisibility() && !e.closest('.modebar') && !/range|checkbox|radio|color|file/.test(e.type) && size < 17.95) found.push(`${size} px: <${e.tagName} ${e.name}>`);
  }
  return found;
}
"""


#: Every example in an empty box that is longer than the box.
CUT_EXAMPLES = r"""
(panel) => [...panel.querySelectorAll("input[placeholder]:not([placeholder=''])")].flatMap((box) => {
  if (!box.checkVisibility() || box.value) return [];
  const style = getComputedStyle(box, "::placeholder");
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontStyle} ${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  const needs = pen.measureText(box.placeholder).width, own = getComputedStyle(box);
  const room = box.clientWidth - parseFloat(own.paddingLeft) - parseFloat(own.paddingRight);
  return needs > room + 0.5 ? [`“${box.placeholder}” needs ${Math.ceil(needs)} of ${Math.floor(room)} px`] : [];
})
"""


#: Every control whose focus cannot be seen, each focused as by the Tab key.
UNSEEN_FOCUS = r"""
(panel) => {
  const found = [];
  const look = (e) => {
    const part = e.matches(".sw-grip") ? e.querySelector("circle") : e, s = getComputedStyle(part);
    return [s.outlineStyle, s.outlineWidth, s.outlineColor, s.fill].join();
  };
  for (const e of panel.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")) {
    if (!e.checkVisibility({ visibilityProperty: true }) || e.disabled || e.tabIndex < 0 || e.type === "hidden" || e.closest(".modebar, iframe")) continue;
    document.activeElement?.blur();
    const before = look(e);
    e.focus({ focusVisible: true, preventScroll: true });
    if (document.activeElement !== e) continue;
    const s = getComputedStyle(e);
    const isOutlined = s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 && s.outlineColor !== s.backgroundColor;
    if (look(e) === before || !(isOutlined || e.matches(".sw-grip"))) found.push(e.outerHTML.slice(0, 120));
  }
  document.activeElement?.blur();
  return found;
}
"""


#: Every word that begins on one line and ends on the next; a hyphen or a slash may end a line.
BROKEN_WORDS = r"""
(panel) => {
  const found = [], range = document.createRange();
  const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const e = node.parentElement;
    if (e.closest("option, style, textarea, .sw-voice, .sw-live, svg, title") || !e.checkVisibility()) continue;
    for (const { 0: word, index } of node.data.matchAll(/[^\s\-\u2013\/,;·_.]{3,}/g)) {
      range.setStart(node, index);
      range.setEnd(node, index + word.length);
      const tops = [...range.getClientRects()].map(({ top }) => top);
      if (Math.max(...tops) - Math.min(...tops) > 4) found.push(word);
    }
  }
  return found;
}
"""

#: What a chart is painted with, as the browser computed it.
CHART_COLOURS = r"""
(panel) => {
  const chart = panel.querySelector(".js-plotly-plot"), of = (e, name) => e && getComputedStyle(e)[name];
  const marks = [...chart.querySelectorAll(".scatterlayer .lines path, .scatterlayer .points path")]
    .flatMap((e) => [of(e, "stroke"), of(e, "fill")]).filter((colour) => /^rgb\(/.test(colour));
  return {
    paper: of(panel, "backgroundColor"),
    ground: of(chart.querySelector(".main-svg"), "backgroundColor"),
    inks: [...new Set([...chart.querySelectorAll(".main-svg text")].map((e) => of(e, "fill")))],
    grids: [...new Set([...chart.querySelectorAll(".gridlayer path, .grid path")].map((e) => of(e, "stroke")))],
    marks: [...new Set(marks)],
  };
}
"""


def evaluated(page: Page, name: str, script: str) -> Any:
    """What a script says about one panel."""
    panel = page.locator(f".of-{name}")
    panel.scroll_into_view_if_needed()
    page.wait_for_timeout(100)
    return panel.evaluate(script)
