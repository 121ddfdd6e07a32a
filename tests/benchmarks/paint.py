"""From the hand to the painted picture, in a real JupyterLab: ``python tests/benchmarks/paint.py [presses]``.

Measures, for each press of an arrow key on the ratio's handle, the time until the bottle is drawn anew and one more
frame has passed: with that panel alone on the page, and in the notebook of a product with all its panels. Needs
Chromium.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from playwright.sync_api import expect, sync_playwright  # noqa: E402

from kit.demos import demo  # noqa: E402
from kit.product_folder import make_product_folder  # noqa: E402
from kit.workspace import NOTEBOOK  # noqa: E402
from tests.browser.conftest import FLAGS, browser_path, started_lab  # noqa: E402
from tests.browser.steps import open_notebook, watch  # noqa: E402

if TYPE_CHECKING:
    from playwright.sync_api import Page

PRESS = """
(key) => new Promise((resolve) => {
  const grip = document.querySelector('[data-grip="oil"]');
  grip.focus();
  const bottle = () => document.querySelector(".sw-bottle .sw-layer").getAttribute("points");
  const before = bottle(), began = performance.now();
  grip.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  const look = () => (bottle() === before
    ? requestAnimationFrame(look)
    : requestAnimationFrame(() => resolve(performance.now() - began)));
  requestAnimationFrame(look);
})
"""

CELLS = ("import kit", "bench = kit.open_bench()\nkit.RatioPanel(bench)")


def pressed(page: Page, presses: int) -> list[float]:
    """Run the notebook that is open, and press keys on its handle. [ms from each key to the painted picture]"""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.locator('[data-grip="oil"]').wait_for(timeout=60_000)
    page.locator('[data-grip="oil"]').scroll_into_view_if_needed()
    expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=120_000)
    page.wait_for_timeout(3000)
    return sorted(page.evaluate(PRESS, "ArrowRight" if n % 2 else "ArrowLeft") for n in range(presses))


def main(presses: int = 60) -> None:
    """Print the figures beside their bars."""
    with tempfile.TemporaryDirectory() as folder, started_lab(Path(folder)) as lab, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=FLAGS)
        product = make_product_folder(Path(folder), demo())
        found = []
        for name in (lab.write_notebook("paint.ipynb", *CELLS), f"{product.name}/{NOTEBOOK}"):
            lab.close_notebooks()
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            watch(page)
            open_notebook(page, lab, name)
            found.append(pressed(page, presses))
            page.close()
        browser.close()
    for where, times in zip(("its panel alone", "all panels of a product"), found, strict=True):
        high = times[int(0.95 * len(times))]
        print(f"key to painted picture, {where:<24} median {statistics.median(times):6.1f} ms, p95 {high:6.1f} ms")
    print("bar: median 150 ms")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
