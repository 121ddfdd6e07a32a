"""Run a notebook whose code is folded away: its cells show no number, so the kernel's state is watched."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.steps import PATIENCE

if TYPE_CHECKING:
    from playwright.sync_api import Page

#: So long the kernel has nothing to do before all is taken to have run; between two cells it is idle for a moment. [s]
QUIET = 1.5


def run_all_folded(page: Page) -> None:
    """Run every cell from the menu and wait until the kernel has been idle for a while."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    wait_until_idle(page)


def wait_until_idle(page: Page) -> None:
    """Wait until the kernel has begun, and then has had nothing to do for a while."""
    status = page.locator("#jp-main-statusbar")
    expect(status).to_contain_text("| Busy", timeout=PATIENCE)
    deadline, since = time.monotonic() + 2 * PATIENCE / 1000, None
    while time.monotonic() < deadline:
        now = time.monotonic()
        since = (since or now) if "| Idle" in status.inner_text() else None
        if since is not None and now - since >= QUIET:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"the kernel was not idle within {2 * PATIENCE / 1000:g} s: {status.inner_text()!r}")
