"""The exercises of a lesson as an assignment for a school's own marking: nbgrader's cells, or Otter's tests.

Both conventions are open, and both run a learner's notebook where the school marks; so the cells call this kit, which
checks with the numbers of the learner's name. Exercises that ask for something to be set on a bench are left out.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Literal

from kit.course.catalogue import exercise, exercises_of, short_number
from kit.course.checking import LETTERS, check
from kit.course.reading import tell
from kit.errors import EntryError

if TYPE_CHECKING:
    from kit.course.tasks import Exercise

Convention = Literal["nbgrader", "otter"]
CONVENTIONS = {"nbgrader": "nbgrader: cells with grades", "otter": "Otter: tests in the notebook"}
#: The version of nbgrader's cell metadata. nbgrader, "The nbgrader metadata schema", version 3.
SCHEMA = 3
HEAD = (
    "# Exercises of lesson {lesson}\n\nType your name first: the numbers are drawn from it. Run each question, and "
    "write your answer between the quotation marks: a number with its unit or without, an answer as it is printed, or "
    "letters in order."
)
NAME = 'name = ""'


def ask(key: str, name: str) -> None:
    """Print an exercise with the numbers of a learner.

    Raises
    ------
    EntryError
        There is no name yet.
    UnknownNameError
        There is no such exercise.
    """
    task = exercise(key).task(_named(name))
    tell(task.text)
    for row in task.sheet:
        tell("  " + " | ".join(row))
    for letter, option in zip(LETTERS, () if task.sheet else task.options, strict=False):
        tell(f"  {letter}  {option}")
    if task.unit:
        tell(f"In {task.unit}.")


def must_be_right(key: str, name: str, answer: object) -> None:
    """Pass where an answer is right.

    Raises
    ------
    AssertionError
        It is not; the sentence names the usual mistake that leads to it. (So it is what both conventions wait for.)
    EntryError
        There is no name yet.
    """
    task = exercise(key).task(_named(name))
    text = str(answer).strip()
    if task.options and not isinstance(task.answer, tuple) and len(text) == 1 and not task.sheet:
        text = dict(zip(LETTERS, task.options, strict=False)).get(text.upper(), text)
    verdict = check(task, text)
    if verdict.result != "right":
        raise AssertionError(verdict.sentence)


def right_answer(key: str, name: str) -> str:
    """The answer to an exercise as a learner would type it, for the teacher's own copy."""
    task = exercise(key).task(_named(name))
    if isinstance(task.answer, tuple):
        return " ".join(LETTERS[task.options.index(item)] for item in task.answer)
    return task.answer if isinstance(task.answer, str) else f"{task.answer:.9g}"


def assignment(lesson: str, convention: Convention, file: str = "exercises.ipynb") -> str:
    """The exercises of a lesson as a notebook (nbformat 4.5) for a school's marking.

    Parameters
    ----------
    convention
        "nbgrader": a teacher's copy, whose solutions nbgrader takes out; "otter": a learner's copy.
    file
        Its name, which Otter's first cell holds.

    Raises
    ------
    UnknownNameError
        There is no such lesson.
    EntryError
        There is no such convention.

    References
    ----------
    .. [1] nbgrader, "The nbgrader metadata schema", version 3; "Autograded answer cells"; "Autograder tests cells".
    .. [2] Otter-Grader, "Notebook metadata tests": ``metadata.otter.tests`` in the format of OK.
    """
    if convention not in CONVENTIONS:
        msg = f"There is no convention {convention!r}. Write one of {', '.join(CONVENTIONS)}."
        raise EntryError(msg)
    asked = [one for one in exercises_of(lesson) if one.kind != "draw"]
    made = _for_nbgrader(lesson, asked) if convention == "nbgrader" else _for_otter(lesson, asked, file)
    cells, more = made
    book = {
        "cells": [{"id": f"cell-{at}", **cell} for at, cell in enumerate(cells)],
        "metadata": {
            "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
            "language_info": {"name": "python"},
            **more,
        },
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    return json.dumps(book, ensure_ascii=False, indent=1) + "\n"


Cells = tuple[list[dict[str, Any]], dict[str, Any]]


def _for_nbgrader(lesson: str, asked: list[Exercise]) -> Cells:
    cells = [_text(HEAD.format(lesson=lesson)), _code("import kit", grade_id="begin", locked=True)]
    hers = f"{NAME}\n### BEGIN SOLUTION\nname = 'The teacher'\n### END SOLUTION"
    cells.append(_code(hers, grade_id="name", solution=True))
    for at, one in enumerate(asked, start=1):
        called = one.key.partition(".")[2]
        solution = f'answer_{at} = ""\n### BEGIN SOLUTION\nanswer_{at} = kit.course.right_answer({one.key!r}, name)'
        cells += [
            _heading(one),
            _code(f"kit.course.ask({one.key!r}, name)", grade_id=f"ask_{called}", locked=True),
            _code(f"{solution}\n### END SOLUTION", grade_id=f"answer_{called}", solution=True),
            _code(_proof(one, at), grade_id=f"test_{called}", grade=True, locked=True, points=1),
        ]
    return cells, {}


def _for_otter(lesson: str, asked: list[Exercise], file: str) -> Cells:
    begin = f"import kit\nimport otter\n\ngrader = otter.Notebook({file!r})"
    cells, tests = [_text(HEAD.format(lesson=lesson)), _code(begin), _code(NAME)], {}
    for at, one in enumerate(asked, start=1):
        called = one.key.replace(".", "_")
        case = {"code": f">>> {_proof(one, at)}", "hidden": False, "locked": False}
        suite = {"cases": [case], "scored": True, "setup": "", "teardown": "", "type": "doctest"}
        tests[called] = {"name": called, "points": 1, "suites": [suite]}
        cells += [
            _heading(one),
            _code(f"kit.course.ask({one.key!r}, name)"),
            _code(f'answer_{at} = ""'),
            _code(f"grader.check({called!r})"),
        ]
    return [*cells, _code("grader.check_all()")], {"otter": {"OK_FORMAT": True, "tests": tests}}


def _heading(one: Exercise) -> dict[str, Any]:
    return _text(f"## {short_number(one.key)} {one.title}")


def _proof(one: Exercise, at: int) -> str:
    return f"kit.course.must_be_right({one.key!r}, name, answer_{at})"


def _text(source: str) -> dict[str, Any]:
    return {"cell_type": "markdown", "metadata": {}, "source": source}


def _code(source: str, grade_id: str = "", **about: Any) -> dict[str, Any]:
    """A code cell; with an id, one of nbgrader's."""
    mine = {"grade": False, "solution": False, "locked": False, "task": False} | about
    school = {"nbgrader": {"schema_version": SCHEMA, "grade_id": grade_id, **mine}} if grade_id else {}
    return {"cell_type": "code", "metadata": school, "source": source, "outputs": [], "execution_count": None}


def _named(name: str) -> str:
    if not name.strip():
        msg = 'Type your name between the quotation marks of the cell name = "" and run it; the numbers follow from it.'
        raise EntryError(msg)
    return name
