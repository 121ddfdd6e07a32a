"""A school's own marking: cells as nbgrader wants them, tests as Otter does, and answers that are checked by the kit.

What the two conventions ask for was taken from their documentation, and notebooks of this kind were marked by
nbgrader 0.9.6 and otter-grader 7.0.0: half of the answers right gave half of the points.
"""

from __future__ import annotations

import doctest
import json
from typing import TYPE_CHECKING, Any

import nbformat
import pytest

import kit
from kit.commands import CLEAN, FAILED, run
from kit.course import ask, assignment, exercises_of, lessons, must_be_right, right_answer
from kit.errors import EntryError

if TYPE_CHECKING:
    from pathlib import Path

BOTH = pytest.mark.parametrize("convention", ["nbgrader", "otter"])


def cells(lesson: str, convention: Any) -> list[dict[str, Any]]:
    text = assignment(lesson, convention)
    nbformat.validate(nbformat.reads(text, as_version=4))  # type: ignore[no-untyped-call]
    made: list[dict[str, Any]] = json.loads(text)["cells"]
    return made


def worked(source: str, there: dict[str, Any]) -> None:
    exec(compile(source, "cell", "exec"), there)


@BOTH
def test_every_lesson_can_be_given_out_and_no_answer_stands_in_it(convention: str) -> None:
    for lesson in lessons():
        text = json.dumps(cells(lesson, convention), ensure_ascii=False)
        for one in exercises_of(lesson):
            assert (one.key in text) == (one.kind != "draw"), one.key
            assert one.task("The teacher").solution not in text


def test_nbgraders_cells_say_what_they_are_and_the_teachers_copy_gets_all_points() -> None:
    there: dict[str, Any] = {}
    ids, points = [], 0
    for cell in cells("01", "nbgrader"):
        if cell["cell_type"] != "code":
            continue
        about = cell["metadata"]["nbgrader"]
        ids.append(about["grade_id"])
        # schema 3: a graded cell has points, one that holds the solution is not locked
        assert {"schema_version", "grade", "solution", "locked", "task", "grade_id"} <= set(about)
        assert about["schema_version"] == 3
        assert ("points" in about) == about["grade"]
        assert about["solution"] != about["locked"]
        assert ("### BEGIN SOLUTION" in cell["source"]) == about["solution"]
        points += about.get("points", 0)
        worked(cell["source"], there)
    assert len(set(ids)) == len(ids)
    assert points == 12


def test_otters_tests_pass_where_the_answer_is_right_and_only_there() -> None:
    book = json.loads(assignment("01", "otter", "week_1.ipynb"))
    assert any('otter.Notebook("week_1.ipynb")' in c["source"].replace("'", '"') for c in book["cells"])
    about = book["metadata"]["otter"]
    asked = [one for one in exercises_of("01") if one.kind != "draw"]
    assert about["OK_FORMAT"] is True
    assert len(about["tests"]) == len(asked) == 12
    for at, (one, test) in enumerate(zip(asked, about["tests"].values(), strict=True), start=1):
        assert test["name"] == one.key.replace(".", "_")
        ((case,),) = (suite["cases"] for suite in test["suites"])
        for answer, failures in ((right_answer(one.key, "Ada"), 0), ("98765", 1)):
            there = {"kit": kit, "name": "Ada", f"answer_{at}": answer}
            found = doctest.DocTestParser().get_doctest(case["code"], there, one.key, None, 0)
            assert doctest.DocTestRunner(verbose=False).run(found, out=lambda _: None).failed == failures


def test_a_wrong_answer_is_told_its_mistake_and_a_letter_counts_for_what_it_stands_before() -> None:
    for one in exercises_of("01"):
        task = one.task("Ada")
        if one.kind == "number":
            with pytest.raises(AssertionError, match="Not yet: "):
                must_be_right(one.key, "Ada", task.mistakes[0].answer)
        if one.kind == "choice":
            must_be_right(one.key, " ada ", "abcdefg"[task.options.index(str(task.answer))])
    with pytest.raises(EntryError, match="Type your name"):
        ask("01.stock_for_strength", "")


def test_what_is_asked_stands_there_with_its_sheet_its_options_and_its_unit(capsys: pytest.CaptureFixture[str]) -> None:
    for one in exercises_of("01"):
        task = one.task("Ada")
        ask(one.key, "Ada")
        said = " ".join(capsys.readouterr().out.split())
        for words in (task.text, *map(" | ".join, task.sheet), *task.options, task.unit):
            assert " ".join(words.split()) in said


def test_the_command_writes_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("assignment", ["04b", "--convention", "otter"]) == CLEAN
    text = (tmp_path / "exercises_04b.ipynb").read_text(encoding="utf-8")
    assert text == assignment("04b", "otter", "exercises_04b.ipynb")
    assert run("assignment", ["99"]) == FAILED
