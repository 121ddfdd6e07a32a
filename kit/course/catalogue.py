"""All exercises, by lesson and by key."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from kit.course.tasks import Exercise
from kit.errors import EntryError, UnknownNameError

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.course.draw import Draw
    from kit.course.tasks import Kind, Task

    Maker = Callable[[Draw], Task]

_LESSONS = ("00", "01", "02", "03", "04", "04b", "05", "06", "07", "08", "09", "09b", "10", "10b")
_KEPT: dict[str, Exercise] = {}


def exercise_of(lesson: str, kind: Kind) -> Callable[[Maker], Maker]:
    """Take a maker of tasks into the catalogue: its name is the key, its docstring the title.

    Parameters
    ----------
    lesson
        Its number, or a name of your own for a lesson of yours, such as "shampoo-1".

    Raises
    ------
    EntryError
        A lesson of the kit has an exercise of that name already.
    """

    def keep(make: Maker) -> Maker:
        key = f"{lesson}.{make.__name__}"
        if lesson in _LESSONS and not make.__module__.startswith("kit.course."):
            msg = f"{key}: lesson {lesson} is one of the kit. Give the lesson of your exercise another name."
            raise EntryError(msg)
        title = (make.__doc__ or make.__name__).strip().rstrip(".")
        _KEPT[key] = Exercise(key, lesson, kind, title, make)
        return make

    return keep


def lessons() -> tuple[str, ...]:
    """The lessons that have exercises, by their numbers; and your own that were taken in, in that order."""
    return tuple(dict.fromkeys((*_LESSONS, *(each.lesson for each in _KEPT.values()))))


def exercises_of(lesson: str) -> tuple[Exercise, ...]:
    """The exercises of a lesson, in the order of its text.

    Raises
    ------
    UnknownNameError
        There is no such lesson.
    """
    if lesson not in lessons():
        msg = f"There is no lesson {lesson!r}. There are {', '.join(lessons())}."
        raise UnknownNameError(msg)
    if lesson in _LESSONS:
        _load(lesson)
    return tuple(each for each in _KEPT.values() if each.lesson == lesson)


def exercise(key: str) -> Exercise:
    """The exercise of a key such as "01.stock_for_strength".

    Raises
    ------
    UnknownNameError
        There is none.
    """
    lesson = key.partition(".")[0]
    if lesson in _LESSONS:
        _load(lesson)
    if key not in _KEPT:
        msg = f"There is no exercise {key!r}."
        raise UnknownNameError(msg)
    return _KEPT[key]


def is_known(key: str) -> bool:
    """Whether there is an exercise of that key."""
    try:
        exercise(key)
    except UnknownNameError:
        return False
    return True


def short_number(key: str) -> str:
    """The number of an exercise as its lesson shows it: lesson and place, such as "01·3".

    Raises
    ------
    UnknownNameError
        There is none of that key.

    Examples
    --------
    >>> short_number("01.stock_for_strength")
    '01·1'
    """
    asked = exercise(key)
    return f"{asked.lesson}·{exercises_of(asked.lesson).index(asked) + 1}"


@cache
def _load(lesson: str) -> None:
    import_module(f"kit.course.lesson_{lesson}")
