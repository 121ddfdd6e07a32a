"""The class table: what each learner has right, and which mistakes to speak about next week."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from kit.course.catalogue import exercise, short_number
from kit.course.enclosed import FOLDER
from kit.figures.mistakes import mistakes_figure
from kit.inputs import Day, asked
from kit.papers.paper import PaperSpec

if TYPE_CHECKING:
    from kit.course.enclosed import Enclosed
    from kit.course.hand_in import Mark
    from kit.course.marking import ClassMarks, CommonMistake, Learner

#: So many mistakes are drawn, and so many exercises stand side by side.
MOST_DRAWN, MOST_ACROSS = 10, 12


@dataclass(frozen=True, slots=True)
class ClassOptions:
    """What stands at the head of the table."""

    course: str = asked("Course")
    marked_on: str = asked("Marked on", Day())


def context(marked: ClassMarks, options: ClassOptions) -> dict[str, Any]:
    """What the paper prints."""
    keys = marked.keys
    blocks = [keys[at : at + MOST_ACROSS] for at in range(0, len(keys), MOST_ACROSS)]
    drawn = marked.mistakes[:MOST_DRAWN]
    return {
        "course": options.course,
        "marked_on": options.marked_on,
        "count": len(marked.learners),
        "figure": mistakes_figure([(_where(one), one.learners) for one in drawn], len(marked.learners))
        if drawn
        else "",
        "more_mistakes": len(marked.mistakes) - len(drawn),
        "learners": [
            {
                "name": _name(one),
                "right": one.right,
                "tried": len(one.marks),
                "tries": one.tries,
                "minutes": f"{one.minutes:.0f}",
                "doubts": one.doubts or "",
                "formulas": one.formulas or "",
                "pictures": one.pictures or "",
            }
            for one in marked.learners
        ],
        "blocks": [
            {
                "keys": [short_number(key) for key in block],
                "rows": [
                    {
                        "name": _name(one),
                        "cells": [_cell({mark.key: mark for mark in one.marks}.get(key)) for key in block],
                    }
                    for one in marked.learners
                ],
            }
            for block in blocks
        ],
        "exercises": [
            {
                "number": short_number(one.key),
                "title": one.title,
                "kind": "set on the bench" if exercise(one.key).kind == "draw" else "",
                "tried": one.tried,
                "right": one.right,
                "at_once": one.at_once,
                "mistakes": "; ".join(f"{words} ({count})" for words, count in one.mistakes[:2]),
            }
            for one in marked.difficulties
        ],
        "enclosed": [
            {"name": _name(one), "parts": [_part(part) for part in one.enclosed]}
            for one in marked.learners
            if one.enclosed
        ],
        "not_yet": [
            {"name": _name(one), "what": [_not_yet(mark) for mark in one.marks if not mark.right]}
            for one in marked.learners
            if one.right < len(one.marks)
        ],
        "left_out": marked.told,
    }


def _name(learner: Learner) -> str:
    """A learner as the page calls her: where she typed no name, by her file."""
    return learner.name or f"without a name: {learner.file}"


def _not_yet(mark: Mark) -> str:
    """An exercise that is not right yet, and the usual mistakes that were made in it."""
    made = "; ".join(dict.fromkeys(mark.mistakes)) or "no usual mistake: ask how she went about it"
    return f"{short_number(mark.key)} {exercise(mark.key).title}: {made}"


def _where(made: CommonMistake) -> str:
    """A mistake and where it was made."""
    return f"{made.words} ({', '.join(map(short_number, made.exercises))})"


def _cell(mark: Mark | None) -> str:
    """A learner at an exercise: a sign, and how many tries it took where that was more than one."""
    if mark is None:
        return ""
    return f"{'✓' if mark.right else '✗'}{mark.tries if mark.tries > 1 else ''}{' ?' if mark.doubts else ''}"


def _part(part: Enclosed) -> dict[str, str]:
    """What came with a learner's tries, as the page shows it."""
    small = f"data:image/jpeg;base64,{b64encode(part.small).decode()}" if part.small else ""
    address = f"{FOLDER}/{quote(part.file)}" if part.file else ""
    return {"kind": part.kind, "name": part.name, "address": address, "small": small, "fault": part.fault}


SPEC = PaperSpec(
    "class_table",
    "Class table",
    "what each learner has right, and the common mistakes",
    "class",
    ClassOptions,
    context,
    (
        "course", "marked_on", "count", "figure", "more_mistakes", "learners", "blocks", "exercises", "not_yet",
        "enclosed", "left_out",
    ),
    lambda _, options: (options.course,),
)  # fmt: skip
