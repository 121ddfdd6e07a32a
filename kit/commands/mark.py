"""``mark``: the hand-ins of a class as a table, with the mistakes to speak about next week."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN
from kit.commands.common import new_parser, own_option, take_own
from kit.commands.options import from_options, options_of
from kit.course.class_table import as_class_csv, as_class_xlsx
from kit.course.enclosed import FOLDER
from kit.course.marking import mark_folder
from kit.errors import EntryError
from kit.inputs import FileName, asked
from kit.iso_dates import today
from kit.papers.class_table import ClassOptions
from kit.papers.registry import make_paper
from kit.papers.writing import write_paper
from kit.saving import save_bytes, save_text
from kit.visible_text import one_line

if TYPE_CHECKING:
    import argparse

    from kit.course.marking import ClassMarks


@dataclass(frozen=True, slots=True)
class MarkOptions:
    """What the table is called, and where it goes."""

    course: str = asked("What the course is called")
    out: Path | None = asked("A folder for the tables", FileName(""), None, help="Default: 'marked' in FOLDER.")


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Mark the files that a class handed in. Nothing of them is run: each answer is checked anew. Written are\n"
        "class_table.html (to read and print), class_table.xlsx and class_table.csv, and beside them what came with\n"
        "the tries: formulas and pictures, looked at again.",
        "hand_ins --course 'Autumn, week 3'",
    )
    made.add_argument("folder", type=Path, metavar="FOLDER", help="with the hand_in_….json files of the class")
    options_of(made, MarkOptions)
    own_option(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Mark, write the tables, say where they are and what does not count."""
    given = from_options(options, MarkOptions)
    take_own(options)
    marked = mark_folder(options.folder)
    for why in marked.told:
        print(one_line(why), file=sys.stderr)
    if not marked.learners:
        msg = f"No file in {options.folder.name!r} can be marked."
        raise EntryError(msg)
    folder = given.out or options.folder / "marked"
    folder.mkdir(parents=True, exist_ok=True)
    table = folder / "class_table.html"
    paper = make_paper("class_table", marked, ClassOptions(given.course, today()))
    write_paper(paper.html, table)
    save_bytes(table.with_suffix(".xlsx"), as_class_xlsx(marked))
    save_text(table.with_suffix(".csv"), as_class_csv(marked))
    put_beside(marked, folder)
    for ending in (".html", ".xlsx", ".csv"):
        print(table.with_suffix(ending))
    return CLEAN


def put_beside(marked: ClassMarks, folder: Path) -> None:
    """Put the formulas and pictures of a class where the links of its table find them."""
    parts = [part for learner in marked.learners for part in learner.enclosed if part.file]
    if parts:
        (folder / FOLDER).mkdir(exist_ok=True)
    for part in parts:
        (folder / FOLDER / part.file).write_bytes(part.content)
