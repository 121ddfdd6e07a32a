"""Run tests with branch coverage, and remember which test reaches which line: run by ``run.py``, once for a room.

``python -m tests.mutants.reaching TOOLS DATA ARGUMENTS OF PYTEST`` writes a file of coverage's and, beside it, the
seconds of each test.
"""

from __future__ import annotations

import importlib
import json
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Generator


class Contexts:
    """Tells coverage which test runs, and keeps how long each takes."""

    def __init__(self, measured: Any) -> None:
        self.measured = measured
        self.seconds: dict[str, float] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        """One test, from its fixtures to their end."""
        self.measured.switch_context(item.nodeid)
        start = time.perf_counter()
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.perf_counter() - start
            self.measured.switch_context("")


def main(tools: str, data: str, *arguments: str) -> int:
    """Run them; the answer is pytest's."""
    sys.path.append(tools)  # last, so that nothing of the kit's own environment is replaced
    coverage = importlib.import_module("coverage")
    measured = coverage.Coverage(data_file=data, branch=True, source=["kit"], config_file=False, messages=False)
    contexts = Contexts(measured)
    measured.start()
    code = pytest.main(["-p", "no:nbval", "-p", "no:cacheprovider", "-q", "-n", "0", *arguments], plugins=[contexts])
    measured.stop()
    measured.save()
    Path(data + ".seconds").write_text(json.dumps(contexts.seconds), "utf-8")
    return int(code)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
