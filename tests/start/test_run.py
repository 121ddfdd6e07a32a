"""The test command counts right, also when a part breaks off."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from types import ModuleType

ROOT = Path(__file__).resolve().parent.parent.parent

SAMPLE = """
import pytest
def test_good(): pass
def test_bad(): assert 1 == 2
@pytest.fixture
def broken(): raise ValueError
def test_error(broken): pass
def test_skipped(): pytest.skip("why not")
def test_good_too(): pass
"""


@pytest.fixture(scope="module")
def run() -> ModuleType:
    spec = importlib.util.spec_from_file_location("run_under_test", ROOT / "tests" / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def _pytest(folder: Path, sample: str, *more: str) -> tuple[Path, int]:
    (folder / "test_sample.py").write_text(sample, encoding="utf-8")
    report = folder / "report.xml"
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:nbval",
        "test_sample.py",
    ]
    done = subprocess.run([*command, f"--junit-xml={report}", *more], cwd=folder, capture_output=True, check=False)
    return report, done.returncode


def test_it_counts_what_pytest_reports(run: ModuleType, tmp_path: Path) -> None:
    found = run.count(*_pytest(tmp_path, SAMPLE))
    assert found == run.Count(passed=2, failed=2, skipped=1)
    assert str(found) == "2 passed, 2 failed, 1 skipped"


def test_a_run_that_breaks_off_has_failed(run: ModuleType, tmp_path: Path) -> None:
    assert run.count(*_pytest(tmp_path, "import os; os._exit(3)")) == run.Count(failed=1)
    assert run.count(*_pytest(tmp_path, "raise SyntaxError")).failed == 1


def test_a_choice_may_leave_a_part_empty_but_a_part_may_not_be(run: ModuleType, tmp_path: Path) -> None:
    report, code = _pytest(tmp_path, SAMPLE, "-k", "nothing_like_it")
    assert run.count(report, code, may_be_empty=True) == run.Count()
    assert run.count(report, code).failed == 1


def test_what_follows_two_dashes_goes_to_pytest(run: ModuleType) -> None:
    assert run._split(["--only", "unit", "--", "-k", "ratio"]) == (["--only", "unit"], ["-k", "ratio"])
    assert run._split(["--only", "unit"]) == (["--only", "unit"], [])


def test_the_counts_add_up(run: ModuleType) -> None:
    assert run.Count(1, 2, 3) + run.Count(10, 20, 30) == run.Count(11, 22, 33)
