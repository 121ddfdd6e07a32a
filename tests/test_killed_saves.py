"""Every kind of file that a maker keeps is old or new, never half, when its saver is killed."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kit.bench.stock_book import StockBook
from kit.course.progress import Progress, Try, read_progress, save_progress
from kit.errors import StoreError
from kit.file_lock import locked
from kit.in_use.parting_trial import Trial
from kit.in_use.trial_book import TrialBook
from kit.product_folder import make_product_folder
from kit.saving import ABANDONED, FOLDER, save_text
from tests.killed_savers import KINDS, Kind
from tests.rows import each_of
from tests.widgets.hands import two_layers

if TYPE_CHECKING:
    from collections.abc import Callable

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


@each_of("kind", KINDS, ids=lambda kind: kind.name)
def test_a_full_disk_and_one_that_can_only_be_read_leave_every_file_as_it_was(
    kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / kind.name
    kind.save(path, 1)
    before = path.read_bytes(), names(tmp_path)
    for call, number, words in (("fsync", errno.ENOSPC, "the disk is full"), ("open", errno.EROFS, "can only be read")):
        with monkeypatch.context() as patched:
            patched.setattr(os, call, failing(number, tmp_path if call == "open" else None))
            with pytest.raises(StoreError) as told:
                kind.save(path, 2)
        assert words in str(told.value)
        assert "What was there before is untouched." in str(told.value)
        assert (path.read_bytes(), names(tmp_path)) == before


def names(folder: Path) -> list[str]:
    return sorted(str(file.relative_to(folder)) for file in folder.rglob("*") if not file.is_dir())


def failing(number: int, folder: Path | None) -> Callable[..., int]:
    """A call of the system that fails, within a folder if one is given."""
    opens = os.open

    def fails(what: Any, *more: Any, **named: Any) -> int:
        if folder is not None and folder not in Path(what).parents:
            return opens(what, *more, **named)
        raise OSError(number, os.strerror(number))

    return fails


def test_two_who_add_to_one_file_at_once_lose_nothing(tmp_path: Path) -> None:
    stocks, trials, progress = (tmp_path / name for name in ("stocks.csv", "trials.csv", "progress.json"))

    def adds(who: str) -> None:
        for number in range(8):
            StockBook(stocks).made("Stock", "1 g", on="2026-01-12", note=who)
            TrialBook(trials).keep(Trial(who, shakes=10, parted=60.0, day="2026-03-14"))
            save_progress(progress, Progress("Ada", (Try(who, number, "1", "wrong"),)))

    with ThreadPoolExecutor(2) as hands:
        assert list(hands.map(adds, ["one", "two"])) == [None, None]
    assert StockBook(stocks).on_hand("Stock") == 16
    assert sorted(row.number for row in TrialBook(trials).rows()) == list(range(1, 17))
    assert len(read_progress(progress).tries) == 16


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
