"""A real JupyterLab and a real browser. Tests take ``lab`` and ``page``; the steps are in ``steps.py``."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest

from kit.workspace import lay
from tests.browser.steps import EXPOSE, Lab, leave_empty, watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page, Playwright

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
FAILED = pytest.StashKey[bool]()
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


def browser_path() -> str | None:
    """The browser that is named in SHAKEWELL_CHROMIUM, or the one on the path; None where there is none."""
    return os.environ.get("SHAKEWELL_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)


@contextmanager
def started(folder: Path, *arguments: str) -> Iterator[Lab]:
    """What the kit's own command opens with these arguments, which name the folder too; stopped at the end."""
    with _opened(folder, "-m", "kit", *arguments, "--no-browser", "--port", "8765") as lab:
        yield lab


@contextmanager
def started_by(code: str, folder: Path) -> Iterator[Lab]:
    """What a few lines of Python open."""
    with _opened(folder, "-c", code) as lab:
        yield lab


@contextmanager
def _opened(folder: Path, *arguments: str) -> Iterator[Lab]:
    process = subprocess.Popen(
        [sys.executable, *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    said: list[str] = []
    limit = threading.Timer(90, process.kill)
    limit.start()
    try:
        assert process.stdout is not None
        for line in process.stdout:
            said.append(line)
            if found := re.search(r"((http://127\.0\.0\.1:\d+(?:/user/\w+)?)/\S*token=(\w+))", line):
                limit.cancel()
                yield Lab(url=found[2], token=found[3], folder=folder, address=found[1])
                break
        else:
            pytest.fail(f"Nothing was opened: {''.join(said)}")
    finally:
        limit.cancel()
        process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


@contextmanager
def started_lab(folder: Path) -> Iterator[Lab]:
    """JupyterLab on a freshly laid folder."""
    lay(folder)
    with started(folder, str(folder)) as lab:
        yield lab


@pytest.fixture(scope="session")
def browser_program() -> str:
    found = browser_path()
    if found is None:
        sentence = f"No browser: install Chromium ({', '.join(NAMES)}) or name one in SHAKEWELL_CHROMIUM."
        if os.environ.get("SHAKEWELL_BROWSER_REQUIRED") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    return found


@pytest.fixture(scope="session")
def lab(browser_program: str) -> Iterator[Lab]:
    # A short path: where it is too long for a socket file, the launcher falls back to ports.
    with TemporaryDirectory(prefix="lab-", ignore_cleanup_errors=True) as folder, started_lab(Path(folder)) as lab:
        yield lab


@pytest.fixture(scope="session")
def driver() -> Iterator[Playwright]:
    """What drives browsers, of whatever kind; a process can have but one."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(browser_program: str, driver: Playwright) -> Iterator[Browser]:
    started = driver.chromium.launch(executable_path=browser_program, args=FLAGS)
    yield started
    started.close()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    if call.excinfo is not None:
        item.stash[FAILED] = True
    return (yield)


@pytest.fixture(scope="session")
def kept(browser: Browser) -> Iterator[list[Page]]:
    """The window that tests use in turn, since JupyterLab takes longer to load than most of them to run."""
    kept: list[Page] = []
    yield kept
    for page in kept:
        page.context.close()


@pytest.fixture
def page(browser: Browser, kept: list[Page], request: pytest.FixtureRequest) -> Iterator[Page]:
    """A window, 1280 × 900, on which errors, dialogs and outside requests are noted.

    On the JupyterLab of most tests it is the last test's window with everything closed in it, or a fresh one where
    that test failed. Elsewhere each test has its own: what was opened there may not let the window go.
    """
    if "lab" not in request.fixturenames:
        own = browser.new_context(viewport={"width": 1280, "height": 900})
        yield _watched(own.new_page())
        own.close()
        return
    if not kept:
        context = browser.new_context()
        context.add_init_script(EXPOSE)
        kept.append(context.new_page())
    page = kept[0]
    page.set_viewport_size({"width": 1280, "height": 900})
    yield _watched(page)
    if request.node.stash.get(FAILED, False) or not leave_empty(page):
        kept.clear()
        page.context.close()


@pytest.fixture(scope="module")
def one_page(browser: Browser) -> Iterator[Page]:
    """A window, 1280 × 900, for all tests of a file that work at one open notebook."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    yield _watched(context.new_page())
    context.close()


def _watched(page: Page) -> Page:
    watch(page)
    return page
