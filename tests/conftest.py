"""What every room's tests share."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

import kit.iso_dates

if TYPE_CHECKING:
    from collections.abc import Callable

#: Rules are looked up for this day where a test names none: what is in force changes from year to year.
kit.iso_dates.today = lambda: "2026-12-01"

ROOT = Path(__file__).resolve().parent.parent

# No deadline: two busy cores make times meaningless. The same examples each time in a fixed run.
settings.register_profile(
    "kit",
    deadline=None,
    derandomize=bool(os.environ.get("CI")),
    print_blob=True,
    max_examples=int(os.environ.get("SHAKEWELL_EXAMPLES", "30")),
)
settings.load_profile("kit")


@pytest.fixture(scope="session")
def fresh_python() -> Callable[..., str]:
    """Run code in an interpreter of its own and return what it printed; its errors fail the test."""

    def run(code: str, *, folder: Path = ROOT) -> str:
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=folder,
            env=surroundings,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    return run
