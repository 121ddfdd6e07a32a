"""From the hand to the painted picture, in a real JupyterLab: ``python tests/benchmarks/paint.py [presses]``.

Measures, for each press of an arrow key on the ratio's handle, the time until the bottle is drawn anew and one more
frame has passed; and how long the first panel takes from the moment its cell is run. Needs Chromium.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

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


def main(presses: int = 60) -> None:
    """Print the figures beside their bars."""
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import FLAGS, browser_path, started_lab
    from tests.browser.steps import open_notebook, watch

    with tempfile.TemporaryDirectory() as folder, started_lab(Path(folder)) as lab, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        watch(page)
        open_notebook(page, lab, lab.write_notebook("paint.ipynb", *CELLS))
        began = time.perf_counter()
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        page.locator('[data-grip="oil"]').wait_for()
        first = time.perf_counter() - began
        page.wait_for_timeout(1000)
        times = [page.evaluate(PRESS, "ArrowRight" if n % 2 else "ArrowLeft") for n in range(presses)]
        browser.close()
    ordered = sorted(times)
    print(f"first panel painted after its cell was run   {first:6.2f} s    bar 3 s")
    print(f"key to painted picture, median               {statistics.median(times):6.1f} ms   bar 150 ms")
    print(f"key to painted picture, 95th percentile      {ordered[int(0.95 * len(ordered))]:6.1f} ms")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
