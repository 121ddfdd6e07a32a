"""``report``: the stability report of a study."""

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
        "Write the stability report of a study: what was planned, read, corrected, missed and computed.",
        "stability_log.db --study 1 --pdf",
    )
    add_log(made)
    add_today(made)
    made.add_argument("--written-by", default="", metavar="NAME", help="who answers for the report")
    made.add_argument(
        "--order",
        choices=("zero", "first"),
        default="zero",
        help="trends as straight lines (zero, the default), or straight in the logarithm (first)",
    )
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the report."""
    from kit.papers.paper import Paper
    from kit.papers.stability_report import stability_report_html

    log = opened(options.log)
    study = study_in(log, options.study)
    rows, faults = log.observations(study.id), log.unsound()
    html = stability_report_html(
        study,
        rows,
        today=day_of(options),
        written_by=options.written_by,
        order=options.order,
        anchor=log.anchor,
        faults=faults,
    )
    return hand_out(Paper("stability_report", html, tuple(faults)), options, study.title)
