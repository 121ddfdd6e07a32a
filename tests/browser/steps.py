"""What a browser test does again and again, with the waits that make it dependable.

JupyterLab draws its page long before a click is sure to count: the idle light of the toolbar comes on too
early, so these steps ask the server and the status bar as well.
"""

from __future__ import annotations

import json
import re
import time
import urllib.request
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlsplit
from weakref import WeakKeyDictionary

from playwright.sync_api import expect

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

PATIENCE = 60_000  # [ms]
#: What anywidget says of a model that a busy machine answered too late; the test then misses what that model shows.
TOO_LATE = "Failed to initialize model"


#: Lets a page of JupyterLab lay its program open: its settings stand in the page, and are read once all of it is there.
EXPOSE = """
document.addEventListener("readystatechange", () => {
  const settings = document.getElementById("jupyter-config-data");
  if (!settings || document.readyState !== "interactive") return;
  settings.textContent = JSON.stringify({ ...JSON.parse(settings.textContent), exposeAppInBrowser: true });
});
"""
CLOSE_ALL = """
() => {
  if (!window.jupyterapp || document.querySelector(".jp-Dialog")) return false;
  try {
    for (const one of [...window.jupyterapp.shell.widgets("main")]) one.dispose();
  } catch {
    return false; // JupyterLab is still at work on it
  }
  return true;
}
"""
OPEN = """
(path) => Boolean(window.jupyterapp)
  && window.jupyterapp.commands.execute("docmanager:open", { path, factory: "Notebook" }).then(() => true)
"""


@dataclass(frozen=True)
class Lab:
    """A JupyterLab, or another front end, that was started as a maker starts it."""

    url: str  # http://127.0.0.1:port, and where the server begins below it
    token: str
    folder: Path
    address: str = ""  # of the page that opens first, with the key

    def sessions(self) -> list[dict[str, Any]]:
        """What the server says about the open notebooks and their kernels."""
        question = urllib.request.Request(f"{self.url}/api/sessions", headers={"Authorization": f"token {self.token}"})
        with urllib.request.urlopen(question, timeout=10) as answer:
            found: list[dict[str, Any]] = json.load(answer)
        return found

    def close_notebooks(self) -> None:
        """Shut down every kernel, so that the next notebook starts with a new one."""
        for session in self.sessions():
            question = urllib.request.Request(
                f"{self.url}/api/sessions/{session['id']}",
                method="DELETE",
                headers={"Authorization": f"token {self.token}"},
            )
            urllib.request.urlopen(question, timeout=30).close()

    def write_notebook(self, name: str, *cells: str) -> str:
        """Write a notebook of code cells into the folder and return its name."""
        content = {
            "nbformat": 4,
            "nbformat_minor": 5,
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
            "cells": [
                {
                    "cell_type": "code", "id": f"cell-{number}", "metadata": {}, "source": source,
                    "outputs": [], "execution_count": None,
                }
                for number, source in enumerate(cells, start=1)
            ],
        }  # fmt: skip
        (self.folder / name).write_text(json.dumps(content), encoding="utf-8")
        return name


@dataclass
class Seen:
    """What happened on a page that ought not to."""

    errors: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)


_SEEN: WeakKeyDictionary[Page, Seen] = WeakKeyDictionary()


def watch(page: Page) -> None:
    """Note errors, dialogs, and requests that leave this computer, from now on."""
    is_known, _SEEN[page] = page in _SEEN, Seen()
    if is_known:
        return

    def on_error(error: Any) -> None:
        if TOO_LATE not in str(error):
            _SEEN[page].errors.append(str(error))

    page.on("pageerror", on_error)

    def on_dialog(dialog: Any) -> None:
        _SEEN[page].dialogs.append(dialog.message)
        dialog.dismiss()

    def on_request(request: Any) -> None:
        address = urlsplit(request.url)
        if address.scheme in {"http", "https", "ws", "wss"} and address.hostname != "127.0.0.1":
            _SEEN[page].outside.append(request.url)

    page.on("dialog", on_dialog)
    page.on("request", on_request)
    page.on("websocket", on_request)


def assert_quiet(page: Page, known: str | None = None) -> None:
    """No error on the page but a known one, no dialog, nothing asked of another computer, since the page was opened."""
    seen = _SEEN[page]
    errors = [error for error in seen.errors if error != known]
    assert not errors, f"errors on the page: {errors}"
    assert not seen.dialogs, f"the browser asked: {seen.dialogs}"
    assert not seen.outside, f"requests to elsewhere: {seen.outside}"


def assert_stays_here(page: Page) -> None:
    """Nothing was asked of another computer since the page was opened."""
    outside = _SEEN[page].outside
    assert not outside, f"requests to elsewhere: {outside}"


def leave_empty(page: Page) -> bool:
    """Close what is open in a JupyterLab, unsaved and unasked; False where there is none, or a dialog is open."""
    return bool(page.evaluate(CLOSE_ALL))


def open_notebook(page: Page, lab: Lab, name: str) -> None:
    """Open a notebook, in the JupyterLab that the page shows if it can be, and wait until its kernel is idle."""
    if not page.url.startswith(f"{lab.url}/lab/") or not page.evaluate(OPEN, name):
        page.goto(f"{lab.url}/lab/tree/{quote(name)}?reset&token={lab.token}")
    wait_until_open(page, lab, name)


def wait_until_open(page: Page, lab: Lab, name: str) -> None:
    """Wait until a notebook is on the page, and its kernel connected and idle."""
    page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(state="attached", timeout=PATIENCE)
    wait_for_kernel(page, lab, name)
    expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=PATIENCE)


def run_all(page: Page, *, patience: int = 2 * PATIENCE) -> None:
    """Run every cell from the menu and wait until each code cell has its number."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    wait_until_run(page, patience=patience)


def wait_until_run(page: Page, *, patience: int = 2 * PATIENCE, folded: bool = False) -> None:
    """Wait until every code cell with something in it shows ``[n]:`` and the kernel is idle.

    Cells whose code is folded away show it beside what they put out.
    """
    where = ".jp-OutputArea-executeResult .jp-OutputPrompt" if folded else ".jp-CodeCell .jp-InputPrompt"
    deadline = time.monotonic() + patience / 1000
    prompts: list[str] = []
    while time.monotonic() < deadline:
        prompts = [text.strip() for text in page.locator(where).all_text_contents()]
        if prompts and all(re.fullmatch(r"\[\d+\]:", prompt) for prompt in prompts):
            expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=patience)
            return
        page.wait_for_timeout(100)
    counts: dict[str, int] = defaultdict(int)
    for prompt in prompts:
        counts[prompt] += 1
    raise AssertionError(f"the cells did not all run within {patience / 1000:g} s; prompts: {dict(counts)}")


def wait_for_kernel(page: Page, lab: Lab, name: str) -> None:
    deadline = time.monotonic() + PATIENCE / 1000
    kernels: list[dict[str, Any]] = []
    while time.monotonic() < deadline:
        kernels = [session["kernel"] for session in lab.sessions() if session["path"] == name]
        if any(kernel["execution_state"] == "idle" and kernel["connections"] >= 1 for kernel in kernels):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"the kernel of {name} was not idle and connected in time: {kernels}")
