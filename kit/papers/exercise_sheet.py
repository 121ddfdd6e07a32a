"""The exercises of a lesson on paper, with a learner's own numbers; or their answers, for whoever marks by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.course.catalogue import exercises_of, short_number
from kit.course.checking import LETTERS
from kit.inputs import Tick, asked
from kit.papers.paper import PaperSpec

if TYPE_CHECKING:
    from kit.course.tasks import Exercise, Task

#: Whose numbers are drawn where no name is given: those of everybody in the room.
EVERYBODY = "everybody"


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """Whose numbers, and whether the way to each answer is printed."""

    name: str = asked("Whose numbers", help="A learner's name; without one, the same numbers for everybody.")
    answers: bool = asked("With the answers", Tick(), default=False, help="For whoever marks by hand.")


def context(lesson: str, options: SheetOptions) -> dict[str, Any]:
    """What the paper prints.

    Raises
    ------
    UnknownNameError
        There is no such lesson.
    """
    name = options.name.strip() or EVERYBODY
    return {
        "lesson": lesson,
        "name": options.name.strip(),
        "answers": options.answers,
        "exercises": [_exercise(one, one.task(name)) for one in exercises_of(lesson)],
    }


def _exercise(one: Exercise, task: Task) -> dict[str, Any]:
    at_the_screen = task.goal is not None
    return {
        "number": short_number(one.key),
        "title": one.title,
        "text": task.text,
        "sheet": task.sheet,
        "options": [] if task.sheet else list(zip(LETTERS, task.options, strict=False)),
        "unit": task.unit,
        "room": isinstance(task.answer, float),
        "at_the_screen": at_the_screen,
        "answer": _answer(task),
        "solution": task.solution,
        "mistakes": [(_given(task, each.answer), each.words) for each in task.mistakes],
    }


def _answer(task: Task) -> str:
    return "" if task.goal is not None else _given(task, task.answer)


def _given(task: Task, answer: float | str | tuple[str, ...]) -> str:
    """An answer as a learner would write it, in as many digits as the task asks for."""
    if isinstance(answer, tuple):
        return " ".join(LETTERS[task.options.index(item)] for item in answer)
    if isinstance(answer, str):
        return answer if task.sheet else f"{LETTERS[task.options.index(answer)]} {answer}"
    enough = next((digits for digits in range(4, 12) if task.is_near(float(f"{answer:.{digits}g}"), answer)), 12)
    return f"{answer:.{enough}g} {task.unit}".strip()


SPEC = PaperSpec(
    "exercise_sheet",
    "Exercise sheet",
    "the exercises of a lesson on paper, or their answers",
    "lesson",
    SheetOptions,
    context,
    ("lesson", "name", "answers", "exercises"),
    lambda lesson, options: (lesson, options.name, "answers" if options.answers else ""),
)
