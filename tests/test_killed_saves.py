"""Every kind of file that a maker keeps is old or new, never half, when its saver is killed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kit.errors import StoreError
from kit.file_lock import locked
from kit.product_folder import make_product_folder
from kit.saving import ABANDONED, FOLDER, save_text
from tests.widgets.hands import two_layers

ROOT = Path(__file__).resolve().parents[1]
#: How often a saver is killed, over all kinds of file.
KILLS = int(os.environ.get("SHAKEWELL_KILLS", "56"))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends processes in another way")
def test_no_file_is_half_when_its_saver_is_killed(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "killed_savers.py", tmp_path, str(KILLS)],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    found = json.loads(done.stdout)
    assert found["wrong"] == []
    assert found["kinds"] >= 14
    assert found["said"] > KILLS / 4, "the savers were at work when they were killed"


def test_what_killed_savers_left_is_cleared_away_and_what_others_are_at_is_not(tmp_path: Path) -> None:
    path, old = tmp_path / "card.toml", time.time() - ABANDONED - 60
    save_text(path, "one")
    save_text(path, "two")
    earlier = tmp_path / FOLDER / path.name
    litter = {
        tmp_path / ".card.toml.0123abcd.new": False, tmp_path / ".other.csv.0123abcd.new": True,
        tmp_path / ".third.csv.lock": True, earlier / ".00001_x.toml.0123abcd.new": False,
    }  # fmt: skip
    kept = {
        tmp_path / ".other.csv.ffffffff.new": False, tmp_path / ".other.csv.lock": False, tmp_path / ".profile": True,
        tmp_path / "notes.0123abcd.new": True, tmp_path / ".notes.new": True,
    }  # fmt: skip
    for file, is_old in {**litter, **kept}.items():
        file.write_text("half")
        if is_old:
            os.utime(file, (old, old))
    with locked(tmp_path / "held.csv"):
        os.utime(tmp_path / ".held.csv.lock", (old, old))
        save_text(path, "three")
        assert (tmp_path / ".held.csv.lock").exists(), "somebody is at it"
    assert [file.name for file in litter if file.exists()] == []
    assert all(file.exists() for file in kept)


def test_a_product_that_was_half_made_can_be_made(tmp_path: Path) -> None:
    (tmp_path / ".shake.part" / "papers").mkdir(parents=True)
    folder = make_product_folder(tmp_path, two_layers())
    assert [file.name for file in tmp_path.iterdir()] == ["shake"] == [folder.name]
    with pytest.raises(StoreError, match="is there already"):
        make_product_folder(tmp_path, two_layers())
