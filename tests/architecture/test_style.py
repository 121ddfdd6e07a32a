"""Style and types are part of the tests, so that no one has to remember to ask for them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(["ruff", "check", "--no-cache"], id="rules"),
        pytest.param(["ruff", "format", "--check", "--no-cache"], id="layout"),
        pytest.param(["mypy", "--no-error-summary"], id="types", marks=pytest.mark.slow),
    ],
)
def test_nothing_is_found(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
