"""``cost``: what a batch and a bottle cost."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands.common import (
    add_batch,
    add_details,
    add_formula,
    add_paper,
    amount,
    desk_of,
    details_of,
    hand_out,
    named_or_here,
    new_parser,
    percent,
    say,
)

if TYPE_CHECKING:
    import argparse

    from kit.findings import Finding


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write what a batch, a bottle and 100 g cost, line by line, and what would have to be bought.",
        'my_body_shake.toml --prices prices.csv --bottles 6 --fill "90 mL"',
    )
    add_formula(made)
    made.add_argument(
        "--prices",
        type=Path,
        metavar="CSV",
        help="your price list (default: prices.csv, where there is one here, else the invented one of the examples)",
    )
    made.add_argument("--waste", type=percent, default=0.0, metavar="PERCENT", help="of what is taken from the packs")
    made.add_argument("--labour", type=amount, default=0.0, metavar="AMOUNT", help="added once for the batch")
    add_batch(made)
    add_details(made)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the cost sheet."""
    from dataclasses import replace

    from kit.bench.price_list import demo_prices, read_prices

    desk = desk_of(options)
    listed = named_or_here(options.prices, "prices.csv")
    notes: list[Finding] = []
    desk = replace(desk, prices=read_prices(listed, notes) if listed else demo_prices())
    say(notes)
    paper = desk.cost_sheet(details_of(options), waste_percent=options.waste, labour=options.labour)
    return hand_out(paper, options, desk.formula.title, options.lot)
