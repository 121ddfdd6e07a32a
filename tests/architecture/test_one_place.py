"""What is said once: a new input is one field, and stands in the form, the option, the file and on the paper."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
FIELD = '    recycling: str = asked("Empty bottle", printed="Empty bottle", example="glass, to the bank")\n'


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the kit in which the particulars of a label have one field more."""
    folder = tmp_path_factory.mktemp("copy")
    for name in ("kit", "data"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    file = folder / "kit/label/particulars.py"
    text = file.read_text(encoding="utf-8")
    before = "    directions: str = asked("
    assert text.count(before) == 1
    file.write_text(text.replace(before, FIELD + before), encoding="utf-8")
    return folder


def run(folder: Path, *arguments: str) -> str:
    """What a Python of its own says with the copy."""
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_new_input_is_written_in_one_place(copy: Path) -> None:
    code = """
from pathlib import Path
import kit
from kit.label.particulars import read_particulars
panel = kit.LabelPanel(kit.demo())
panel.form.type(recycling="glass, to the bank")
panel.files.press("save")
print("form:", [field["words"] for field in panel.form.fields if field["name"] == "recycling"])
print("file:", read_particulars(Path("after_swim_body_shake_label.csv")))
print("paper:", [line for line in panel.result.text.splitlines() if "bottle" in line])
"""
    said = run(copy, "-c", code)
    assert "form: ['Empty bottle']" in said
    assert "file: {'recycling': 'glass, to the bank'}" in said
    assert "paper: ['Empty bottle: glass, to the bank']" in said


def test_the_same_input_is_an_option_of_the_command(copy: Path) -> None:
    assert "--recycling" in run(copy, "-m", "kit", "label", "--help")
    formula = "from kit.demos import demo; from kit import save_formula; save_formula(demo(), 'shake.toml')"
    run(copy, "-c", formula)
    run(copy, "-m", "kit", "label", "shake.toml", "--recycling", "glass", "--out", "label.html")
    assert "Empty bottle: glass" in (copy / "label.html").read_text(encoding="utf-8")
