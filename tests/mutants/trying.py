"""Try mutants one after the other in a copy of the clone: run by ``run.py``.

The process imports the libraries once and forks for each mutant, so a mutant costs its tests and not NumPy's start.
A line of JSON comes in for each: the file, its damaged text, the tests in their order, the seconds that are allowed.
A line goes out: "killed" with the test that failed, "survived", "too long", or "no test".
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import sys
import tempfile
import time
from pathlib import Path

import pytest

LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.stats", "scipy.interpolate", "scipy.integrate", "pandas", "pint", "hypothesis",
    "openpyxl", "sqlalchemy", "PIL.Image", "jsonschema", "_pytest.doctest",
)  # fmt: skip

#: Pytest's exit codes; a file that cannot be imported any more is noticed too.
OUTCOMES = {0: "survived", 1: "killed", 2: "killed", 5: "no test"}
BROKEN = 99


class Chosen:
    """Only these tests, in this order."""

    def __init__(self, tests: list[str]) -> None:
        self.rank = {name: at for at, name in enumerate(tests)}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Put the rest away."""
        items[:] = sorted((i for i in items if i.nodeid in self.rank), key=lambda i: self.rank[i.nodeid])


def run(tests: list[str]) -> int:
    """Pytest's answer, to the first failure."""
    files = list(dict.fromkeys(name.partition("::")[0] for name in tests))
    plain = ["-p", "no:nbval", "-p", "no:cacheprovider", "-q", "-n", "0", "-x", "--tb=line", "--no-header"]
    plain += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # Hypothesis was imported before
    return int(pytest.main([*plain, *files], plugins=[Chosen(tests)]))


def outcome(tests: list[str], allowed: float) -> tuple[str, str]:
    """Run the tests in a fork of this process."""
    if not tests:
        return "no test", ""
    with tempfile.TemporaryFile() as told:
        child = os.fork()
        if child == 0:
            os.setsid()
            os.dup2(told.fileno(), 1)
            os.dup2(told.fileno(), 2)
            try:
                os._exit(run(tests))
            except BaseException as error:
                os.write(2, repr(error).encode())
                os._exit(BROKEN)
        until = time.monotonic() + allowed
        while True:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                break
            if time.monotonic() > until:
                os.killpg(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return "too long", ""
            time.sleep(0.02)
        told.seek(0)
        words = told.read().decode("utf-8", "replace").strip().splitlines()
    code = os.waitstatus_to_exitcode(status)
    failed = [line for line in words if line.startswith(("FAILED ", "ERROR "))]
    last = failed[0] if failed else words[-1] if words else ""
    return OUTCOMES.get(code, f"broken ({code})"), last


def main() -> None:
    """Read what to try, tell what came of it."""
    sys.dont_write_bytecode = True
    for name in LIBRARIES:
        importlib.import_module(name)
    for line in sys.stdin:
        asked = json.loads(line)
        path = Path(asked["file"])
        whole = path.read_bytes()
        stat = path.stat()
        start = time.monotonic()
        try:
            path.write_text(asked["source"], "utf-8")
            how, words = outcome(asked["tests"], asked["allowed"])
        finally:
            path.write_bytes(whole)
            os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
        print(json.dumps({"how": how, "words": words, "seconds": time.monotonic() - start}), flush=True)


if __name__ == "__main__":
    main()
