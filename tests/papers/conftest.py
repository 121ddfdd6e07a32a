"""What the tests of the papers share."""

from __future__ import annotations

import os

import pytest

from kit.papers.pdf import find_browser


@pytest.fixture(scope="session")
def printer() -> str:
    """The browser that prints; skips with a sentence where there is none, unless one is required."""
    found = find_browser()
    if found is None:
        sentence = "No browser prints a PDF here: install Chromium or name one in SHAKEWELL_CHROMIUM."
        if os.environ.get("SHAKEWELL_BROWSER_REQUIRED") == "1":
            pytest.fail(sentence)
        pytest.skip(sentence)
    return found
