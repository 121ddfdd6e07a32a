"""A lecturer's own exercises: taken from the file that she names, drawn by name, marked and printed like the kit's."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kit.commands import CLEAN, FAILED, run
from kit.course import catalogue, check, exercises_of, hand_in_text, lessons, mark_folder
from kit.course.hand_in import HandIn
from kit.course.own_exercises import take_own_exercises
from kit.course.progress import Progress
from kit.errors import EntryError
from kit.widgets.exercises_panel import ExercisesPanel

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file of the README, in a catalogue that forgets it afterwards."""
    for lesson in lessons():
        exercises_of(lesson)
    monkeypatch.setattr(catalogue, "_KEPT", dict(catalogue._KEPT))
    (found,) = re.findall(r"```python\n(from kit.course.catalogue.*?)```", README, re.DOTALL)
    file = tmp_path / "my_exercises.py"
    file.write_text(found, encoding="utf-8")
    return file


def test_own_exercises_are_drawn_marked_and_printed(
    own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    class_folder = tmp_path / "class"
    class_folder.mkdir()
    assert take_own_exercises(own) == ("shampoo-1",)
    (one,) = exercises_of("shampoo-1")
    given = {}
    for name in ("Ada", "Bea"):
        task = one.task(name)
        solution, strength = map(float, re.findall(r"(\d+) %", task.text))
        given[name] = solution * strength / 100  # a part of a part, worked out from the words
        assert check(task, f"{given[name]:g}").result == "right"
        slip = f"{solution:g}" if name == "Bea" else f"{given[name]:g}"
        progress = Progress(name).with_try(one.key, 0, slip, check(task, slip))
        (class_folder / f"{name}.json").write_text(hand_in_text(HandIn(progress)), encoding="utf-8")
    panel = ExercisesPanel("shampoo-1", name="Ada", file=tmp_path / "tries.json")
    assert one.task("Ada").text in panel.asked.value
    monkeypatch.setattr(catalogue, "_KEPT", {key: it for key, it in catalogue._KEPT.items() if key != one.key})
    assert len(mark_folder(class_folder).left_out) == 2  # what the kit does not have is told
    assert "--own" in mark_folder(class_folder).told[0]
    assert run("mark", [str(class_folder), "--course", "x", "--own", str(own)]) == CLEAN
    marked = mark_folder(class_folder)
    assert [(each.name, each.right) for each in marked.learners] == [("Ada", 1), ("Bea", 0)]
    assert [each.words for each in marked.mistakes] == ["you gave the solution, not what is active in it"]
    sheet = tmp_path / "sheet.html"
    assert run("exercises", ["shampoo-1", "--name", "Ada", "--answers", "--out", str(sheet)]) == CLEAN
    assert f"{given['Ada']:.4g} %" in sheet.read_text(encoding="utf-8")
    capsys.readouterr()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1 / 0", "cannot be run: ZeroDivisionError"),
        ("x = 1", "brings no lesson"),
        (
            "from kit.course.catalogue import exercise_of\n@exercise_of('04', 'number')\ndef scale_a_line(draw): ...",
            "lesson 04 is one of the kit",
        ),
    ],
)
def test_what_is_no_file_of_exercises_is_told(own: Path, text: str, said: str) -> None:
    own.write_text(text, encoding="utf-8")
    with pytest.raises(EntryError, match=said):
        take_own_exercises(own)
    assert exercises_of("04")[0].make.__module__ == "kit.course.lesson_04"


def test_a_file_that_is_not_there_is_told(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("exercises", ["x", "--own", str(own.with_name("none.py"))]) == FAILED
    assert "There is no Python file (.py)" in capsys.readouterr().err
