"""A learner's file: kept whole, read back as it was, told of where it is damaged."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from kit.course import Progress, check, exercise, read_progress, save_progress
from kit.errors import StoreError

if TYPE_CHECKING:
    from pathlib import Path


def tried(name: str = "Ada") -> Progress:
    task = exercise("01.stock_for_strength").task(name)
    progress = Progress(name)
    for text in (str(task.mistakes[0].answer), str(task.answer)):
        progress = progress.with_try("01.stock_for_strength", 0, text, check(task, text), 1, "2026-04-06T10:00:00Z")
    return progress


def test_what_is_kept_comes_back_and_holds_no_right_answer_that_was_not_typed(tmp_path: Path) -> None:
    path = tmp_path / "exercises.json"
    assert read_progress(path) == Progress()
    save_progress(path, tried())
    assert read_progress(path) == tried()
    assert tried().right == {"01.stock_for_strength"}
    assert tried().tried["01.stock_for_strength"] == 2
    assert sum(tried().mistakes.values()) == 1
    first = Progress("Ada", tried().tries[:1])
    save_progress(tmp_path / "first.json", first)
    assert f"{exercise('01.stock_for_strength').task('Ada').answer:.2f}" not in (tmp_path / "first.json").read_text()


def test_two_windows_lose_nothing_and_two_learners_do_not_mix(tmp_path: Path) -> None:
    path = tmp_path / "exercises.json"
    one, other = Progress("Ada", tried().tries[:1]), Progress("ada ", tried().tries[1:])
    save_progress(path, one)
    save_progress(path, other)
    assert read_progress(path).tries == tried().tries
    with pytest.raises(StoreError, match=r"holds the exercises of 'ada '"):
        save_progress(path, tried("Bea"))


@pytest.mark.parametrize("change", ["cut", "no list", "wrong kind", "another format", "no file of ours"])
def test_a_damaged_file_is_told_of_and_left_alone(tmp_path: Path, change: str) -> None:
    path = tmp_path / "exercises.json"
    save_progress(path, tried())
    kept = json.loads(path.read_text())
    spoilt = {
        "cut": path.read_text()[:-40],
        "no list": json.dumps({**kept, "tries": 3}),
        "wrong kind": json.dumps({**kept, "tries": [{**kept["tries"][0], "again": "x"}]}),
        "another format": json.dumps({**kept, "format": 99}),
        "no file of ours": "[1, 2]",
    }[change]
    path.write_text(spoilt)
    with pytest.raises(StoreError, match="cannot be read as a file of exercises"):
        read_progress(path)
    with pytest.raises(StoreError, match="It was not touched"):
        save_progress(path, tried())
    assert path.read_text() == spoilt
