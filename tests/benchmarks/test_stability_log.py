"""The measurements of the log run and measure what they say; the times themselves a person judges."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parent / "stability_log.py"


@pytest.mark.slow
def test_it_prints_every_row() -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "--rows", "10000", "--rounds", "2"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    filled, head, *rows = done.stdout.splitlines()
    assert filled.startswith("10,000 readings in a file, filled in ")
    assert head.split() == ["what", "median", "ms", "p95", "ms", "bar"]
    assert [re.split(r"  +", row)[0] for row in rows] == [
        "bare commit of SQLite into one file, DELETE, EXTRA",
        "one reading saved",
        "the one as a multiple of the other (times 1)",
        "bare commit with a second file, WAL, FULL",
        "what is due in one of many studies, a file",
        "one series, a file",
        "all readings of that study, a file",
    ]
    assert rows[2].endswith("below 3")
    assert rows[4].endswith("at most 300 ms")
