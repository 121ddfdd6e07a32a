"""The course as a site: built by the kit, served as still files, used with everything else of the network cut off."""

from __future__ import annotations

import functools
import http.server
import json
import os
import re
import subprocess
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from kit.course import exercises_of, marks, read_hand_in
from kit.environment import missing_packages
from tests.browser.conftest import ROOT
from tests.browser.steps import PATIENCE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Locator, Page, Route

pytestmark = pytest.mark.slow

#: Runs the cells of lessons one after the other with the site's own Python and packages; Deno lets it read, and
#: neither write nor ask any network.
CELLS = """
const [folder, ...lessons] = Deno.args;
const { loadPyodide } = await import(`${folder}/static/pyodide/pyodide.mjs`);
const at = `${folder.slice("file://".length)}/static/pyodide/`;
const { packages } = JSON.parse(Deno.readTextFileSync(`${at}pyodide-lock.json`));
const quiet = () => {};
const python = await loadPyodide({ indexURL: at, packages: Object.keys(packages), stdout: quiet, stderr: quiet });
python.runPython(`
import pyodide_kernel
shell, kernel = pyodide_kernel.ipython_shell, pyodide_kernel.kernel_instance
shell.send_comm = lambda *_: None
kernel._parent_header = {}
said = []
for stream in (pyodide_kernel.stdout_stream, pyodide_kernel.stderr_stream):
    stream.publish_stream_callback = lambda _, text: said.append(text)
`);
for (const lesson of lessons) {
  for (const cell of JSON.parse(Deno.readTextFileSync(`${at}../../files/${lesson}`)).cells) {
    if (cell.cell_type !== "code") continue;
    python.globals.set("code", [cell.source].flat().join(""));
    const found = await python.runPythonAsync(`
import json
said.clear()
outcome = await kernel.run(code)
json.dumps([outcome["status"], "".join(said), str(outcome.get("evalue"))])
`);
    console.log(JSON.stringify([lesson, cell.source, ...JSON.parse(found)]));
  }
}
Deno.exit(0);
"""
#: What needs an array or the log of readings, and says so.
TOLD = {"02_two_layer_products.ipynb": ["numpy"]}


class Quiet(http.server.SimpleHTTPRequestHandler):
    """A server of still files, as Python brings it."""

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a site, built once."""
    if missing := missing_packages(ROOT, ["site"]):
        sentence = f"No site can be built: {', '.join(missing)} are not installed; tests/run.py installs them."
        if os.environ.get("SHAKEWELL_BROWSER_REQUIRED") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    from kit.site.building import build

    folder = tmp_path_factory.mktemp("course") / "site"
    built = build(folder)
    assert built.size < 60e6
    assert not [*folder.rglob("*.map")]
    return folder


@pytest.fixture(scope="module")
def address(site: Path) -> Iterator[str]:
    """Where it is served, below no address of its own and by a server that knows nothing of it."""
    handler = functools.partial(Quiet, directory=str(site))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()


def test_a_lesson_is_worked_and_handed_in_with_no_other_computer(browser: Browser, address: str) -> None:
    asked: list[str] = []

    def only_the_site(route: Route) -> None:
        if route.request.url.startswith((address, "data:", "blob:")):
            route.continue_()
        else:
            asked.append(route.request.url)
            route.abort()

    context = browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    context.route("**/*", only_the_site)
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(address)
    page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached")
    expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=2 * PATIENCE)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.get_by_label("What it is called", exact=True).wait_for(timeout=2 * PATIENCE)  # the last cell, where it scrolls

    table = shown(page, "kit.FormulaPanel(bench)").locator(".sw-table").first
    amount = page.get_by_role("textbox", name="Amount of Glycerin", exact=True).first
    amount.fill("6,5")
    amount.press("Enter")
    expect(table.locator("tr.sw-line").filter(has=amount)).to_contain_text("16.25", timeout=PATIENCE)  # g in 250 g

    task = exercises_of("00")[0].task("Ada")
    exercises = shown(page, "kit.ExercisesPanel(")
    exercises.get_by_label("Your name", exact=True).fill("Ada")
    exercises.get_by_label("Your name", exact=True).press("Enter")
    expect(exercises).to_contain_text(task.text, timeout=PATIENCE)
    for answer, words in ((task.mistakes[0].answer, task.mistakes[0].words), (task.answer, "Right.")):
        exercises.get_by_label("Your answer", exact=True).fill(f"{answer:g}")
        exercises.get_by_role("button", name="Check", exact=True).click()
        expect(exercises).to_contain_text(words, timeout=PATIENCE)
    exercises.get_by_role("button", name="Hand in", exact=True).click()
    expect(exercises).to_contain_text("Written to hand_in_ada.json", timeout=PATIENCE)
    with page.expect_download() as taken:
        page.locator(".jp-DirListing-item").filter(has_text="hand_in_ada.json").click(button="right")
        page.get_by_role("menuitem", name="Download", exact=True).click()
    given = read_hand_in(Path(taken.value.path()).read_bytes())
    (mark,) = marks(given.progress)
    assert (given.progress.name, mark.right, mark.tries, mark.doubts) == ("Ada", True, 2, 0)
    assert "6,5" in given.formulas["after_swim_body_shake.toml"]

    errors = page.locator(".jp-Notebook [data-mime-type='application/vnd.jupyter.error']").all_inner_texts()
    context.close()
    assert errors == []
    assert asked == [], "nothing was asked of another computer"


def shown(page: Page, code: str) -> Locator:
    """The panel of a cell, brought into sight and drawn."""
    cell = page.locator(".jp-Notebook .jp-CodeCell").filter(has_text=code).first
    cell.scroll_into_view_if_needed()
    panel = cell.locator(".shakewell-panel").first
    panel.wait_for()
    return panel


def test_every_cell_of_the_other_lessons_runs_or_says_what_it_lacks(site: Path, tmp_path: Path) -> None:
    from deno import find_deno_bin

    (tmp_path / "cells.mjs").write_text(CELLS, encoding="utf-8")
    lessons = sorted(path.name for path in (site / "files").glob("*.ipynb") if not path.name.startswith("00"))
    assert len(lessons) == 4
    command = [find_deno_bin(), "run", "--quiet", "--no-config", "--allow-read", "cells.mjs", site.as_uri(), *lessons]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=300)
    rows = [json.loads(line) for line in done.stdout.splitlines() if line.startswith("[")]
    assert len({lesson for lesson, *_ in rows}) == 4, done.stderr
    assert [row for row in rows if row[2] != "ok"] == []
    told: dict[str, list[str]] = {}
    for lesson, _, _, said, _ in rows:
        for name in re.findall(r"This part needs [^,]*\((\w+)\)", said):
            told.setdefault(lesson, []).append(name)
    assert told == TOLD
