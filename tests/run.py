"""The test command: ``python3 tests/run.py``. It needs nothing but Python 3.11 or later.

It makes the environment with everything the tests need (once), then runs three parts in order: ``unit`` (every
room, the rules of the notebooks, the examples in the docstrings), ``notebooks`` (each one is run anew and its
stored numbers compared) and ``browser`` (real JupyterLab in headless Chromium). The last line counts them all.
Tests marked ``slow`` wait for ``--all``: every lesson and front end in the browser, packing and installing, types,
and what takes thousands of random examples. ``.ci/run`` runs them all.

    python3 tests/run.py --all                   the slow ones too
    python3 tests/run.py --only unit             one part
    python3 tests/run.py --only unit -- -k ratio what follows -- goes to pytest, and leaves nothing out for slowness
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from kit.environment import SetUpError, prepare, run_again  # noqa: E402
from kit.workspace import lay  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

NOTHING_COLLECTED = 5  # pytest's exit code


@dataclass(frozen=True)
class Count:
    """How many tests came out how."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(self.passed + other.passed, self.failed + other.failed, self.skipped + other.skipped)

    def __str__(self) -> str:
        return f"{self.passed} passed, {self.failed} failed, {self.skipped} skipped"


def unit(scratch: Path) -> list[str]:
    """Every test but the browser's, and the examples in the docstrings."""
    return ["-p", "no:nbval", "-n", "2", "--ignore=tests/browser", "tests", "kit"]


def notebooks(scratch: Path) -> list[str]:
    """Every notebook, run in a folder laid as a maker's, so that nothing in the clone changes."""
    laid = lay(scratch / "workspace").folder
    return [
        "-n", "2", "--dist", "loadfile", "--nbval", "--nbval-current-env",
        "--rootdir", str(laid),  # so that a cell is named after its notebook, and notebooks are told apart
        "--nbval-sanitize-with", str(ROOT / "tests" / "notebooks" / "sanitize.cfg"),
        *map(str, sorted(laid.glob("*.ipynb"))),
    ]  # fmt: skip


def browser(scratch: Path) -> list[str]:
    """Real JupyterLab in a real browser, two of each side by side."""
    return ["-p", "no:nbval", "-n", "2", "--dist", "loadfile", "tests/browser"]


PARTS: dict[str, Callable[[Path], list[str]]] = {"unit": unit, "notebooks": notebooks, "browser": browser}


def main(arguments: Sequence[str]) -> int:
    """Run the parts; return 0 if every test passed."""
    own, passed_on = _split(arguments)
    parser = argparse.ArgumentParser(prog="tests/run.py", description="Run the kit's tests.")
    parser.add_argument("--only", choices=PARTS, help="run one part")
    parser.add_argument("--all", action="store_true", help="run the slow tests too")
    chosen = parser.parse_args(own)
    try:
        python = prepare(ROOT, ["test", "app", "notebook", "site"])
    except SetUpError as error:
        print(error, file=sys.stderr)
        return 1
    if Path(sys.prefix).resolve() != (ROOT / ".venv").resolve():
        return run_again(python, [__file__, *arguments])
    total = Count()
    left_out = [] if chosen.all or passed_on else ["-m", "not slow"]
    for name in [chosen.only] if chosen.only else PARTS:
        total += _run(name, [*left_out, *passed_on], may_be_empty=bool(passed_on))
    if total == Count():
        total = Count(failed=1)
        print("No test was run.", file=sys.stderr)
    if left_out:
        print("The slow tests were left out; with --all they run too.")
    print(total)
    return 1 if total.failed else 0


def _split(arguments: Sequence[str]) -> tuple[list[str], list[str]]:
    cut = list(arguments).index("--") if "--" in arguments else len(arguments)
    return list(arguments[:cut]), list(arguments[cut + 1 :])


def _run(name: str, passed_on: Sequence[str], *, may_be_empty: bool) -> Count:
    start = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="shakewell-tests-") as folder:
        scratch = Path(folder)
        report = scratch / "report.xml"
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-c",
            str(ROOT / "pyproject.toml"),
            f"--junit-xml={report}",
        ]
        code = subprocess.call([*command, *PARTS[name](scratch), *passed_on], cwd=ROOT, env=_surroundings(scratch))
        found = count(report, code, may_be_empty=may_be_empty)
    print(f"--- {name}: {found}, {time.monotonic() - start:.0f} s ---\n", flush=True)
    return found


def _surroundings(scratch: Path) -> dict[str, str]:
    """The tests see this clone, and none of the Jupyter settings of whoever runs them.

    They start some hundred interpreters: compiled files are kept, also where the settings of the machine forbid it.
    """
    own = {f"JUPYTER_{what}_DIR": str(scratch / "jupyter" / what.lower()) for what in ("CONFIG", "DATA", "RUNTIME")}
    own["IPYTHONDIR"] = str(scratch / "ipython")
    paths = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    own["PYTHONPATH"] = os.pathsep.join(paths)
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | own


def count(report: Path, code: int, *, may_be_empty: bool = False) -> Count:
    """Read pytest's report; a run that broke off counts as one failure more than it reported."""
    if code == NOTHING_COLLECTED and may_be_empty:
        return Count()
    found = Count()
    if report.is_file():
        for suite in ET.parse(report).getroot().iter("testsuite"):
            tests, skipped = int(suite.get("tests", 0)), int(suite.get("skipped", 0))
            failed = int(suite.get("failures", 0)) + int(suite.get("errors", 0))
            found += Count(max(tests - failed - skipped, 0), failed, skipped)
    if code != 0 and found.failed == 0:
        found += Count(failed=1)
    return found


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
