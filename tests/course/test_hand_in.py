"""What is handed in is read without running anything, checked anew, and told of where it is damaged or forged."""

from __future__ import annotations

import io
import json
import time
from dataclasses import replace

import pytest
from PIL import Image

from kit.course import (
    HandIn,
    Picture,
    Progress,
    check,
    check_formula,
    exercise,
    exercises_of,
    formula_answer,
    hand_in_text,
    marks,
    picture_to_hand_in,
    read_hand_in,
    small_picture,
)
from kit.course.checking import MOST_ANSWER
from kit.course.hand_in import _seal
from kit.course.pictures import MOST_PICTURE_BYTES, MOST_PICTURES, MOST_SIDE
from kit.demos import demo
from kit.errors import EntryError, StoreError
from kit.formula.model import Formula, Line, Phase
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


def photo(size: tuple[int, int] = (400, 300), kind: str = "JPEG", *, noise: bool = False) -> bytes:
    """A picture that says where it was taken, where it is a JPEG."""
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (52.0, 12.0, 0.0)}
    image = Image.effect_noise(size, 120).convert("RGB") if noise else Image.new("RGB", size, "olive")
    written = io.BytesIO()
    image.save(written, kind, **({"exif": exif} if kind == "JPEG" else {}))
    return written.getvalue()


def sealed(body: dict[str, object]) -> bytes:
    """A file whose seal fits, whatever it holds: what a forger writes."""
    return json.dumps({**body, "seal": _seal(body)}).encode()


def test_what_is_handed_in_comes_back_and_is_marked_by_a_check_of_its_own() -> None:
    pictures = (picture_to_hand_in("bottle.jpg", photo()), picture_to_hand_in("chart.png", photo(kind="PNG")))
    given = HandIn(learner("Ada"), {"shake.toml": 'title = "Night shake"'}, pictures)
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


def test_a_picture_is_handed_in_small_without_its_place_and_looked_at_again() -> None:
    given = photo()
    assert b"GPS" in given or Image.open(io.BytesIO(given)).getexif().get_ifd(0x8825)
    for name, content in (("a.jpg", given), ("b.png", photo(kind="PNG")), ("c.jpg", photo((1400, 900), noise=True))):
        made = picture_to_hand_in(name, content)
        opened = Image.open(io.BytesIO(made.content))
        assert len(made.content) <= MOST_PICTURE_BYTES
        assert max(opened.size) <= MOST_SIDE
        assert not opened.getexif().get_ifd(0x8825)
        assert max(Image.open(io.BytesIO(small_picture(made))).size) <= 200
    assert made.name == "c.jpg"
    for content, words in ((b"GIF89a", "neither a JPEG nor a PNG"), (given[:-300], "damaged or cut short")):
        with pytest.raises(EntryError, match=words):
            picture_to_hand_in("x.jpg", content)
    for content, words in (
        (given, "holds the place where it was taken"),
        (photo((2000, 100), "PNG"), "2000 x 100 pixels"),
        (photo(noise=True, kind="PNG")[:-5000] + photo(kind="PNG")[-12:], "is damaged"),
        (b"<svg onload='x()'>", "neither a JPEG nor a PNG"),
    ):
        with pytest.raises(EntryError, match=words):
            small_picture(Picture("forged.jpg", content))


def test_what_was_set_on_the_bench_is_looked_at_again() -> None:
    for key in ("00.move_the_ratio", "02.reach_a_level_in_the_water"):
        task = exercise(key).task("Ada")
        assert task.goal is not None
        before, reached = demo(), task.goal.reach(demo())
        progress = Progress("Ada")
        for formula in (before, reached):
            progress = progress.with_try(key, 0, formula_answer(formula), check_formula(task, formula))
        (mark,) = marks(progress)
        assert (mark.right, mark.tries, mark.doubts) == (True, 2, 0)
        far = Formula("Far", (Phase("W", "water", (Line("Aqua", "99"),)), Phase("O", "oil", (Line("Squalane", "1"),))))
        for forged in (
            formula_answer(before),
            formula_answer(far),
            "After-swim body shake",
            "{}",
            "[" * MOST_ANSWER * 2,
        ):
            (mark,) = marks(Progress("Ada", (replace(progress.tries[1], answer=forged),)))
            assert (mark.right, mark.doubts) == (False, 1), forged[:60]


def test_a_file_of_the_first_version_opens_and_what_it_does_not_hold_is_in_doubt() -> None:
    right = {"key": "00.move_the_ratio", "again": 0, "answer": "After-swim body shake", "result": "right"}
    tries = [{**right, "mistakes": [], "hints": 0, "at": "2026-04-06T10:00:00Z"}]
    old = sealed({"kind": "exercises handed in", "format": 1, "name": "Ada", "tries": tries, "formulas": {}})
    given = read_hand_in(old, "old.json")
    assert (given.version, given.pictures) == (1, ())
    (mark,) = marks(given.progress, version=given.version)
    assert (mark.right, mark.doubts) == (True, 1)


def test_a_damaged_changed_or_foreign_file_is_told_of() -> None:
    text = hand_in_text(HandIn(learner("Ada")))
    whole = {key: value for key, value in json.loads(text).items() if key != "seal"}
    for spoilt, words in (
        (text.replace('"Ada"', '"Bea"'), "its seal does not fit"),
        (text[:-60], "cannot be read"),
        ("[]", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
        (json.dumps({"kind": "x", "format": 1, "seal": ""}), "of another kind"),
        (" " * 5_000_001, "larger than 5 MB"),
        (sealed({**whole, "pictures": [{"name": "a", "data": "%%"}]}).decode(), "lacks something"),
        (sealed({**whole, "pictures": [{"name": "a", "data": ""}] * (MOST_PICTURES + 1)}).decode(), "lacks something"),
        (sealed({**whole, "pictures": 7}).decode(), "lacks something"),
    ):
        with pytest.raises(StoreError, match=words):
            read_hand_in(spoilt.encode(), "ada.json")


def test_two_hundred_are_read_and_marked_within_five_seconds() -> None:
    files = [hand_in_text(HandIn(learner(f"learner {at}"))).encode() for at in range(200)]
    begun = time.perf_counter()
    assert sum(mark.right for data in files for mark in marks(read_hand_in(data).progress)) == 200 * 9
    assert time.perf_counter() - begun < on_this_machine(5.0)


def test_a_picture_that_is_one_pixel_high_can_be_shown() -> None:
    """A narrow strip handed in was told to be damaged: its small size came to no pixel at all."""
    written = io.BytesIO()
    Image.new("RGB", (20_000, 3)).save(written, "PNG")
    small = small_picture(picture_to_hand_in("strip.png", written.getvalue()))
    assert Image.open(io.BytesIO(small)).size == (200, 1)
