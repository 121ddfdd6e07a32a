"""A lesson opened and run in a real JupyterLab: ``python tests/benchmarks/lessons.py [lesson ...]``.

For each lesson: seconds from Run All Cells until every panel is painted (the page is scrolled through once, as
JupyterLab draws a cell when it comes near the window), and what its kernel then holds: resident, and the part of it
that no other process shares. Needs Chromium, and Linux for the memory.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playwright.sync_api import Page

    from tests.browser.steps import Lab

#: All panels painted [s]; memory of the kernel [MB].
READY_BAR, MEMORY_BAR = 6.0, 130.0

#: Whether every cell that was sent to the kernel has its answer.
RUN = """
() => {
  const cells = [...window.jupyterapp.shell.currentWidget.content.model.cells].filter((one) => one.type === "code");
  window.wasRunning ||= cells.some((one) => one.executionState === "running");
  return window.wasRunning && cells.every((one) => one.executionState !== "running");
}
"""
#: Goes through the cells and waits at each that shows a panel until it is painted. Gives how many there are.
PAINTED = """
async () => {
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const end = performance.now() + 60000;
  let painted = 0;
  for (const cell of document.querySelectorAll(".jp-CodeCell")) {
    cell.scrollIntoView();
    await frame();
    const panels = () => [...cell.querySelectorAll(".shakewell-panel")];
    while (cell.querySelector(".sw-still") && !panels().some((one) => one.clientHeight > 40)) {
      if (performance.now() > end) throw new Error("a panel is not painted: " + cell.innerText.slice(0, 80));
      await frame();
    }
    painted += panels().length;
  }
  await frame();
  return painted;
}
"""


def measured(page: Page, lab: Lab, name: str) -> tuple[float, int, float, float]:
    """Seconds until all panels are painted, how many, and the kernel's memory: resident and its own. [MB]"""
    from tests.browser.steps import leave_empty, open_notebook

    leave_empty(page)
    lab.close_notebooks()
    open_notebook(page, lab, name)
    page.evaluate("window.wasRunning = false")
    began = time.perf_counter()
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function(RUN, timeout=120_000)
    panels = page.evaluate(PAINTED)
    seconds = time.perf_counter() - began
    return seconds, panels, *memory_of(lab.sessions()[0]["kernel"]["id"])


def memory_of(kernel: str) -> tuple[float, float]:
    """What the process of a kernel holds: resident, and the part that no other process shares. [MB]"""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if kernel.encode() in (process / "cmdline").read_bytes():
                told = (process / "smaps_rollup").read_text(encoding="ascii").split("\n")[1:]
                kept = {line.split(":")[0]: int(line.split()[1]) / 1024 for line in told if line}
                return kept["Rss"], kept["Private_Clean"] + kept["Private_Dirty"]
        except (OSError, IndexError, ValueError):
            continue
    return float("nan"), float("nan")


def main(names: Sequence[str] = ()) -> None:
    """Print a row for each lesson beside the bars."""
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import FLAGS, browser_path, started_lab
    from tests.browser.steps import EXPOSE, watch
    from tests.pace import on_this_machine

    lessons = names or sorted(path.stem for path in (ROOT / "notebooks").glob("[0-9]*.ipynb"))
    print(f"{'lesson':<32}{'panels':>8}{'ready, s':>10}{'resident, MB':>14}{'its own, MB':>13}")
    with tempfile.TemporaryDirectory() as folder, started_lab(Path(folder)) as lab, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.add_init_script(EXPOSE)
        watch(page)
        for name in lessons:
            seconds, panels, resident, own = measured(page, lab, f"{name}.ipynb")
            print(f"{name:<32}{panels:>8}{seconds:>10.1f}{resident:>14.0f}{own:>13.0f}", flush=True)
        browser.close()
    print(f"{'bar':<40}{READY_BAR:>10.1f}{MEMORY_BAR:>14.0f}")
    print(f"plain work took {on_this_machine(1.0):.1f} times as long as on a quiet machine of two cores")


if __name__ == "__main__":
    main(sys.argv[1:])
