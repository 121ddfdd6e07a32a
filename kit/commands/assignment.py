"""``assignment``: the exercises of a lesson for a school's own marking."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from kit.commands import CLEAN
from kit.commands.common import new_parser
from kit.commands.options import from_options, options_of
from kit.course.school import CONVENTIONS, assignment
from kit.inputs import Choice, FileName, asked
from kit.saving import save_text

if TYPE_CHECKING:
    import argparse

    from kit.course.school import Convention


@dataclass(frozen=True, slots=True)
class AssignmentOptions:
    """For which marking, and where to."""

    convention: str = asked("The school marks with", Choice(CONVENTIONS), "nbgrader")
    out: Path | None = asked("Where to write it", FileName(".ipynb"), None, help="Default: exercises_LESSON.ipynb.")


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the exercises of a lesson as a notebook for nbgrader or Otter. Where the school marks, this kit must\n"
        "be installed. For nbgrader it is the teacher's copy: its solutions are taken out when it is released.",
        "01 --convention otter",
    )
    made.add_argument("lesson", metavar="LESSON", help="its number, such as 01 or 04b")
    options_of(made, AssignmentOptions)
    return made


def run(options: argparse.Namespace) -> int:
    """Write it and say where it is."""
    given = from_options(options, AssignmentOptions)
    file = given.out or Path(f"exercises_{options.lesson}.ipynb")
    text = assignment(options.lesson, cast("Convention", given.convention), file.name)
    save_text(file, text)
    print(file)
    return CLEAN
