"""The exercises panel without a browser: a learner tries, is told which mistake, asks for hints, and comes back."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from kit.course import Task, marks, read_hand_in, read_progress
from kit.widgets.exercises_panel import FILE, ExercisesPanel
from tests.widgets.hands import words

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


def plain(task: Task, number: object) -> str:
    return f"{number:.9f}" if isinstance(number, float) else str(number)


def panel(lesson: str = "01", **more: str) -> ExercisesPanel:
    return ExercisesPanel(lesson, clock=lambda: "2026-04-06T10:00:00Z", **{"name": "Ada", **more})


def test_a_mistake_is_named_hints_come_in_steps_and_the_way_only_after_a_try() -> None:
    shown = panel()
    task = shown.task
    assert "solution" in shown.form.disabled
    assert task.solution not in shown.said.value
    shown.form.press("hint")
    assert "Hint 1" in words(shown.said)
    assert "Hint 2" not in words(shown.said)
    shown.form.type(answer="some")
    shown.form.press("check")
    assert not Path(FILE).exists()
    shown.form.type(answer=plain(task, task.mistakes[0].answer))
    shown.form.press("check")
    assert task.mistakes[0].words in words(shown.message)
    shown.form.press("solution")
    assert "The way to it" in words(shown.said)
    shown.form.type(answer=f"{plain(task, task.answer)} {task.unit}")
    shown.form.press("check")
    assert "Right." in words(shown.message)
    assert "1 of 12 right" in words(shown.list)
    assert [one.hints for one in read_progress(FILE).tries] == [1, 1]


def test_she_comes_back_and_goes_on_and_another_name_has_other_numbers() -> None:
    first = panel()
    text = first.task.text
    first.form.type(answer=plain(first.task, first.task.answer))
    first.form.press("check")
    again = ExercisesPanel("01")
    assert again.choose["name"] == "Ada"
    assert again.task.text == text
    assert "1 of 12 right" in words(again.list)
    again.choose.press("next")
    assert again.exercise.key == "01.volume_basis_to_mass_basis"
    again.choose.press("fresh")
    before = again.task.text
    again.choose.type(name="Bea")
    assert again.task.text != before
    again.form.type(answer="1")
    again.form.press("check")
    assert "holds the exercises of 'Ada'" in words(again.list)
    assert len(read_progress(FILE).tries) == 1


def test_a_condition_is_looked_up_on_the_bench(bench: Bench) -> None:
    shown = ExercisesPanel("00", bench, name="Ada")
    shown.choose.set(which="00.move_the_ratio")
    shown._show()
    shown.form.press("check")
    assert "The oil layer is" in words(shown.message)
    goal = shown.task.goal
    assert goal is not None
    bench.formula = goal.reach(bench.formula)
    shown.form.press("check")
    assert "Right." in words(shown.message)
    assert [(one.right, one.doubts) for one in marks(read_progress(FILE))] == [(True, 0)]


def test_every_exercise_of_every_lesson_is_shown_and_takes_its_answer() -> None:
    for lesson in ("02", "04", "06", "08"):
        shown = panel(lesson, file=f"{lesson}.json")
        for one in shown.exercises:
            shown.choose.set(which=one.key)
            shown._show()
            task = shown.task
            if isinstance(task.answer, str) and task.goal is None:
                shown.form.type(answer=task.answer)
                shown.form.press("check")
                assert "Right." in words(shown.message), one.key
            assert task.text.split()[0] in words(shown.asked)


def test_a_damaged_file_is_told_of_and_the_exercises_still_work() -> None:
    Path(FILE).write_text("{")
    shown = panel()
    assert "Your tries are not kept" in words(shown.list)
    shown.form.type(answer=plain(shown.task, shown.task.answer))
    shown.form.press("check")
    assert "Right." in words(shown.message)
    assert Path(FILE).read_text() == "{"


def test_what_is_handed_in_holds_her_tries_and_her_formula(bench: Bench) -> None:
    shown = ExercisesPanel("01", bench, clock=lambda: "2026-04-06T10:00:00Z")
    shown.choose.press("hand_in")
    assert "Type your name" in shown.choose.said["sentence"]
    shown.choose.type(name="Ada Ö.")
    shown.form.type(answer=plain(shown.task, shown.task.answer))
    shown.form.press("check")
    shown.choose.press("hand_in")
    assert "Written to hand_in_ada_ö.json" in shown.choose.said["sentence"]
    given = read_hand_in(Path("hand_in_ada_ö.json").read_bytes())
    assert [one.result for one in given.progress.tries] == ["right"]
    (text,) = given.formulas.values()
    assert bench.formula.title in text


def test_pictures_go_with_it_and_with_the_next_one() -> None:
    written = io.BytesIO()
    Image.new("RGB", (40, 30), "olive").save(written, "PNG")
    shown = ExercisesPanel("01", clock=lambda: "2026-04-06T10:00:00Z")
    shown.choose.press("picture", "bottle.png", b"no picture")
    assert "neither a JPEG nor a PNG" in shown.choose.said["sentence"]
    for name in ("bottle.png", "chart.png", "bottle.png"):
        shown.choose.press("picture", name, written.getvalue())
    assert "To be handed in: chart.png and bottle.png." in shown.choose.said["sentence"]
    shown.choose.type(name="Ada")
    shown.form.type(answer="1")
    shown.form.press("check")
    shown.choose.press("hand_in")
    assert "and 2 pictures. Give that file away." in shown.choose.said["sentence"]
    given = read_hand_in(Path("hand_in_ada.json").read_bytes())
    assert [one.name for one in given.pictures] == ["chart.png", "bottle.png"]
    again = panel("02")
    assert again.pictures == given.pictures
    again.choose.press("no_pictures")
    again.choose.press("hand_in")
    assert not read_hand_in(Path("hand_in_ada.json").read_bytes()).pictures
    assert not panel("03", name="Bea").pictures
