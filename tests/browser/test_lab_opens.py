"""JupyterLab opens as the kit starts it: quietly, on this computer only, with the right kernel."""

from __future__ import annotations

import json
import sys
import urllib.error
import urllib.request
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.steps import Lab, assert_quiet, open_notebook, run_all

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_a_notebook_opens_and_runs_without_a_question(page: Page, lab: Lab) -> None:
    name = lab.write_notebook("quiet.ipynb", "import sys, kit", "print(sys.executable)", "6 * 7")
    open_notebook(page, lab, name)
    run_all(page)

    outputs = page.locator(".jp-CodeCell .jp-OutputArea-output")
    expect(outputs.nth(0)).to_have_text(sys.executable)
    expect(outputs.nth(1)).to_have_text("42")
    page.wait_for_timeout(1500)  # news and build questions come a moment after the page
    assert page.locator(".jp-Dialog").count() == 0
    assert page.locator(".Toastify__toast").count() == 0
    assert page.locator("#jp-main-statusbar").inner_text().count("Idle") == 1
    assert_quiet(page)


def test_the_kernel_talks_through_files_not_through_a_port(lab: Lab) -> None:
    if sys.platform != "linux":
        pytest.skip("socket files are used on Linux only")
    connections = sorted((lab.folder / ".jupyter" / "runtime").glob("kernel-*.json"))
    assert connections
    assert {json.loads(file.read_text())["transport"] for file in connections} == {"ipc"}


def test_without_the_key_the_door_stays_shut(lab: Lab) -> None:
    with pytest.raises(urllib.error.HTTPError, match="403") as refused:
        urllib.request.urlopen(f"{lab.url}/api/contents", timeout=10)
    refused.value.close()


def test_there_is_no_terminal(lab: Lab) -> None:
    question = urllib.request.Request(
        f"{lab.url}/api/terminals", method="POST", headers={"Authorization": f"token {lab.token}"}
    )
    with pytest.raises(urllib.error.HTTPError, match="404") as refused:
        urllib.request.urlopen(question, timeout=10)
    refused.value.close()
