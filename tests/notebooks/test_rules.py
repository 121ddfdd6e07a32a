"""The rules and nbval together catch what would make a stored notebook meaningless.

A small notebook, run for real and stored, passes; then one thing at a time is spoilt.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.notebooks.rules import PICTURE_TAG, faults

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent


def _code(number: int, source: str, **metadata: Any) -> dict[str, Any]:
    return {
        "cell_type": "code", "id": f"cell-{number}", "metadata": metadata, "source": source,
        "outputs": [], "execution_count": None,
    }  # fmt: skip


def _text(source: str) -> dict[str, Any]:
    return {"cell_type": "markdown", "id": "text", "metadata": {}, "source": source}


def _notebook(*cells: dict[str, Any]) -> dict[str, Any]:
    return {"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": list(cells)}


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A notebook as `refresh` stores it: numbers, a table, and a picture cell."""
    path = tmp_path_factory.mktemp("stored") / "small.ipynb"
    table = "import pandas as pd\npd.DataFrame({'grams': [12.5, 37.5]})"
    panel = "import ipywidgets\nslider = ipywidgets.IntSlider(value=3)\nslider"
    cells = [_code(1, "mass = 50\nprint(mass / 4)"), _code(2, table), _code(3, "mass * 2")]
    cells += [_code(4, panel, tags=[PICTURE_TAG]), _code(5, "slider.value + 5")]
    path.write_text(json.dumps(_notebook(*cells)), encoding="utf-8")
    command = [sys.executable, str(HERE / "refresh.py"), str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.strip() == "1 notebook was run and stored."
    return path


@pytest.fixture
def spoil(stored: Path, tmp_path: Path) -> Any:
    """Write a copy of the stored notebook with one thing changed, and return its path."""

    def write(change: Any) -> Path:
        notebook = json.loads(stored.read_text(encoding="utf-8"))
        change(notebook)
        path = tmp_path / "spoilt.ipynb"
        path.write_text(json.dumps(notebook), encoding="utf-8")
        return path

    return write


def _nbval(path: Path) -> subprocess.CompletedProcess[str]:
    command = [
        sys.executable, "-m", "pytest", "-c", str(ROOT / "pyproject.toml"), "-p", "no:cacheprovider", "-p", "no:xdist",
        "--nbval", "--nbval-current-env", "--nbval-sanitize-with", str(HERE / "sanitize.cfg"), str(path),
    ]  # fmt: skip
    surroundings = {**os.environ, "PYTEST_ADDOPTS": ""}
    return subprocess.run(
        command, cwd=path.parent, env=surroundings, capture_output=True, text=True, check=False, timeout=120
    )


@pytest.mark.slow
def test_a_notebook_as_stored_passes_both(stored: Path) -> None:
    assert faults(stored) == []
    done = _nbval(stored)
    assert done.returncode == 0, done.stdout
    assert "5 passed" in done.stdout


def test_what_is_stored_is_numbers_and_no_panel(stored: Path) -> None:
    notebook = json.loads(stored.read_text(encoding="utf-8"))
    outputs = [cell["outputs"] for cell in notebook["cells"]]
    assert [bool(output) for output in outputs] == [True, True, True, False, True]
    assert "12.5" in json.dumps(outputs[1])
    assert notebook["metadata"] == {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
    }


@pytest.mark.slow
def test_each_changed_number_fails_the_comparison(spoil: Any) -> None:
    def change(notebook: dict[str, Any]) -> None:
        for cell, old, new in ((0, "12.5", "12.6"), (1, "37.5", "37.4"), (2, "100", "101"), (4, "8", "9")):
            before = json.dumps(notebook["cells"][cell]["outputs"])
            after = before.replace(old, new)
            assert after != before
            notebook["cells"][cell]["outputs"] = json.loads(after)

    done = _nbval(spoil(change))
    assert done.returncode == 1, done.stdout
    assert "4 failed, 1 passed" in done.stdout


@pytest.mark.slow
def test_each_cleared_output_fails_the_comparison(spoil: Any) -> None:
    def clear(notebook: dict[str, Any]) -> None:
        for cell in (0, 2):
            notebook["cells"][cell]["outputs"] = []

    done = _nbval(spoil(clear))
    assert done.returncode == 1, done.stdout
    assert "2 failed, 3 passed" in done.stdout


@pytest.mark.slow
def test_a_cleared_notebook_passes_the_comparison_but_not_the_rules(spoil: Any) -> None:
    def clear(notebook: dict[str, Any]) -> None:
        for cell in notebook["cells"]:
            cell["outputs"], cell["execution_count"] = [], None

    path = spoil(clear)
    assert _nbval(path).returncode == 0
    found = faults(path)
    assert "spoilt.ipynb: code cell 1 was not run, so nothing of it is compared." in found[0]
    assert len(found) == 5
    assert any("code cell 4 was not run" in sentence for sentence in found)


def _set(index: int, **changes: Any) -> Any:
    return lambda notebook: notebook["cells"][index].update(changes)


def _stored_text(text: str) -> list[dict[str, Any]]:
    return [{"output_type": "stream", "name": "stdout", "text": text}]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (_set(1, execution_count=7), "code cell 2 was run as number 7. Run the notebook from the top"),
        (_set(0, outputs=_stored_text("/home/ada/x.toml")), "stores '/home/', which is true on one computer only"),
        (_set(0, outputs=_stored_text("<object at 0x7f3a91c0>")), "stores '0x7f3a91c0', which is true on one"),
        (_set(0, outputs=_stored_text("0" * 32)), "which is true on one computer only"),
        (
            _set(0, outputs=[{"output_type": "error", "ename": "E", "evalue": "", "traceback": []}]),
            "code cell 1 stores an error",
        ),
        (_set(0, outputs=[{"output_type": "stream", "name": "stderr", "text": "w"}]), "code cell 1 stores a warning"),
        (_set(3, outputs=_stored_text("x")), f"code cell 4 is tagged {PICTURE_TAG} and yet stores an output"),
        (
            _set(
                2,
                outputs=[
                    {
                        "output_type": "execute_result", "execution_count": 3, "metadata": {},
                        "data": {"text/plain": "FigureWidget({})"},
                    }
                ],
            ),
            "code cell 3 stores a panel or a picture",
        ),
        (_set(0, source="def f():\n    return 1\nprint(f())"), "code cell 1 defines a function or class"),
        (_set(0, source="%time x"), "code cell 1 is not plain Python (line 1: invalid syntax)"),
        (_set(0, source="print(1)\n" * 13), "code cell 1 has 13 lines; 12 is the most"),
        (lambda notebook: notebook["metadata"].update(widgets={}), "it stores the state of its widgets"),
        (lambda notebook: notebook["metadata"].pop("kernelspec"), "its kernel is None; it must be 'python3'"),
        (lambda notebook: notebook.update(cells=[]), "it has no code cell"),
        (lambda notebook: notebook["cells"].append(_text("# Nothing follows")), "cell 6 is a heading without text"),
        (
            lambda notebook: notebook["cells"].extend([_text("One and the same sentence.")] * 2),
            "cell 7 says what cell 6 said: 'One and the same sentence.'",
        ),
        (_set(0, source=f"print({'1' * 110})"), "code cell 1 has a line of 117 signs, which is wider than the page"),
        (
            lambda notebook: notebook["cells"].append(_text("## Exercises\n\n1. Look into the bottle panel.")),
            "an exercise asks for the bottle panel, which the lesson does not show",
        ),
        (
            lambda notebook: notebook["cells"].append(_text("## Exercises\n\n1. Try `kit.show(mine, mass)`.")),
            "an exercise names 'mine', which no cell makes",
        ),
        (_set(4, source="slider.value = 8"), "code cell 5 changes 'slider', which an earlier cell shows"),
        (lambda notebook: notebook["metadata"].update(note="x" * 200_000), "larger than 200 kB"),
        (
            lambda notebook: [_set(index, source="print(1)\n" * 11)(notebook) for index in range(3)],
            "3 code cells have more than 10 lines; at most 2 may",
        ),
    ],
)  # fmt: skip
def test_each_rule_says_what_is_wrong(spoil: Any, change: Any, sentence: str) -> None:
    found = faults(spoil(change))
    assert any(sentence in fault for fault in found), found
