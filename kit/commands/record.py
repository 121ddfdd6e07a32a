"""``record``: sheets on which the readings of a pull are noted by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import add_paper, hand_out, new_parser
from kit.commands.logs import add_log, add_today, day_of, opened, study_in

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write sheets on which the readings of a pull are noted by hand, with the limits and what was read before.",
        'stability_log.db --pull "4 weeks" --pdf',
    )
    add_log(made)
    made.add_argument("--pull", metavar="NAME", help="the pull, by its name in the plan (default: the next one due)")
    made.add_argument("--batch", metavar="NAME", help="only this batch")
    made.add_argument("--condition", metavar="NAME", help="only this condition")
    add_today(made)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the sheets."""
    from kit.papers.paper import Paper
    from kit.papers.record_sheet import record_sheet_html
    from kit.stability.study import current

    log = opened(options.log)
    study = study_in(log, options.study)
    today = day_of(options)
    points = study.plan.time_points
    due = next((point for point in points if study.due_on(point) >= today), points[-1])
    pull = options.pull or due.label
    rows = current(log.observations(study.id))
    html = record_sheet_html(study, pull, rows, batch=options.batch, condition=options.condition)
    return hand_out(Paper("record_sheet", html), options, study.title, pull)
