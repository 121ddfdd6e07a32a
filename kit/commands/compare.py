"""``compare``: versions of a formula, or several formulas, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands.common import add_knowledge, add_paper, desk_of, hand_out, new_parser, say

if TYPE_CHECKING:
    import argparse

    from kit.findings import Finding
    from kit.formula.model import Formula


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write formulas side by side, the oldest first: what changed, and what that did to findings, cost and label.\n"
        "With one file, its own versions are compared.",
        "autumn.toml spring.toml",
    )
    made.add_argument("files", type=Path, nargs="+", metavar="FILE", help="formulas: TOML, CSV or XLSX files")
    add_knowledge(made)
    made.add_argument("--prices", type=Path, metavar="CSV", help="a price list, for the cost of 100 g")
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the comparison."""
    from dataclasses import replace

    from kit.bench.price_list import read_prices
    from kit.formula.files import read_formula

    *before, options.file = options.files
    desk = desk_of(options)
    notes: list[Finding] = []
    if options.prices:
        desk = replace(desk, prices=read_prices(options.prices, notes))
    others: dict[str, Formula] = {}
    for path in before:
        name = path.stem if path.stem not in others else f"{path.stem} ({len(others) + 1})"
        others[name] = read_formula(path, notes)
    say(notes)
    paper = desk.comparison(others or None, name=options.file.stem if others else "")
    return hand_out(paper, options, desk.formula.title)
