"""``sheet``: the batch sheet of a formula."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import (
    add_batch,
    add_details,
    add_formula,
    add_paper,
    desk_of,
    details_of,
    hand_out,
    new_parser,
    percent,
)

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the batch sheet of a formula: what to weigh, in which order, with room for what was done.",
        'my_body_shake.toml --batch "250 g" --lot TL-07 --ph "4.5 to 4.8" --pdf',
    )
    add_formula(made)
    add_batch(made)
    add_details(made)
    made.add_argument("--ph", default="", metavar="TEXT", help='the pH wanted, such as "4.5 to 4.8"')
    made.add_argument(
        "--material-lot", action="append", default=[], metavar="MATERIAL=LOT", help="the lot of a material; repeatable"
    )
    made.add_argument("--yield-within", type=percent, default=5.0, metavar="PERCENT", help="limits of the yield (5)")
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the sheet."""
    from kit.papers.lots import read_lots

    desk = desk_of(options)
    lots = read_lots(options.material_lot)
    paper = desk.batch_sheet(details_of(options), ph=options.ph, lots=lots, yield_within=options.yield_within)
    return hand_out(paper, options, desk.formula.title, options.lot)
