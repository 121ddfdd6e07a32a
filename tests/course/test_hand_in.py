"""What is handed in is read without running anything, checked anew, and told of where it is damaged or forged."""

from __future__ import annotations

import json
import time
from dataclasses import replace

import pytest

from kit.course import HandIn, Progress, check, exercises_of, hand_in_text, marks, read_hand_in
from kit.errors import StoreError
from tests.pace import on_this_machine


def learner(name: str, lesson: str = "01") -> Progress:
    """One mistake and then the right answer for every exercise of a lesson that asks for a number."""
    progress = Progress(name)
    for one in exercises_of(lesson):
        task = one.task(name)
        if isinstance(task.answer, float):
            for value in (task.mistakes[0].answer, task.answer):
                text = f"{value:.9f}"
                progress = progress.with_try(one.key, 0, text, check(task, text), 1, "2026-04-06T10:00:00Z")
    return progress


def test_what_is_handed_in_comes_back_and_is_marked_by_a_check_of_its_own() -> None:
    given = HandIn(learner("Ada"), {"shake.toml": 'title = "Night shake"'})
    assert read_hand_in(hand_in_text(given).encode()) == given
    found = marks(given.progress)
    assert len(found) == 9
    assert all(mark.right and mark.tries == 2 and len(mark.mistakes) == 1 and not mark.doubts for mark in found)


def test_a_result_that_its_answer_does_not_give_is_in_doubt_and_not_right() -> None:
    first = learner("Ada").tries[0]
    forged = Progress("Ada", (replace(first, result="right", mistakes=()),))
    (mark,) = marks(read_hand_in(hand_in_text(HandIn(forged)).encode()).progress)
    assert (mark.right, mark.doubts) == (False, 1)
    # another's answers under one's own name meet other numbers
    taken = marks(replace(learner("Ada"), name="Bea"))
    assert sum(mark.doubts > 0 for mark in taken) >= 7


def test_a_damaged_changed_or_foreign_file_is_told_of() -> None:
    text = hand_in_text(HandIn(learner("Ada")))
    for spoilt, words in (
        (text.replace('"Ada"', '"Bea"'), "its seal does not fit"),
        (text[:-60], "cannot be read"),
        ("[]", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
        (json.dumps({"kind": "x", "format": 1, "seal": ""}), "of another kind"),
        (" " * 5_000_001, "larger than 5 MB"),
    ):
        with pytest.raises(StoreError, match=words):
            read_hand_in(spoilt.encode(), "ada.json")


def test_two_hundred_are_read_and_marked_within_five_seconds() -> None:
    files = [hand_in_text(HandIn(learner(f"learner {at}"))).encode() for at in range(200)]
    begun = time.perf_counter()
    assert sum(mark.right for data in files for mark in marks(read_hand_in(data).progress)) == 200 * 9
    assert time.perf_counter() - begun < on_this_machine(5.0)
