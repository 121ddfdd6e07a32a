"""``plan``: the plan of a stability study on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import add_paper, hand_out, new_parser
from kit.commands.logs import add_log, opened, study_in

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the plan of a stability study: places, days, what to look at and how, within which limits.",
        "stability_log.db --study 1",
    )
    add_log(made)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the plan."""
    from kit.papers.paper import Paper
    from kit.papers.stability_plan import stability_plan_html

    study = study_in(opened(options.log), options.study)
    return hand_out(Paper("stability_plan", stability_plan_html(study)), options, study.title)
