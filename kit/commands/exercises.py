"""``exercises``: the exercises of a lesson on paper, or their answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import Output, hand_out, new_parser, own_option, take_own
from kit.commands.options import from_options, options_of
from kit.papers.exercise_sheet import SheetOptions
from kit.papers.registry import make_paper

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the exercises of a lesson for a class on paper, with the numbers of a learner or the same for\n"
        "everybody; with --answers the way to each, and what the usual mistakes lead to.",
        "01 --name Ada --pdf",
    )
    made.add_argument("lesson", metavar="LESSON", help="its number, such as 01 or 04b")
    options_of(made, SheetOptions)
    options_of(made, Output, "the paper")
    own_option(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the sheet."""
    take_own(options)
    paper = make_paper("exercise_sheet", options.lesson, from_options(options, SheetOptions))
    return hand_out(paper, from_options(options, Output), f"lesson {options.lesson}")
