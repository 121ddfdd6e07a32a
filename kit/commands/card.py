"""``card``: the formula card."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import add_balance, add_formula, add_paper, desk_of, hand_out, new_parser

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the formula card: percents, grams for several batches, and how the formula bears another ratio.",
        'my_body_shake.toml --for "100 g" "250 g" "1 kg"',
    )
    add_formula(made)
    made.add_argument(
        "--for", dest="batches", nargs="+", default=["100 g", "250 g", "1 kg"], metavar="MASS", help="the batches"
    )
    made.add_argument("--keeping", default="", metavar="TEXT", help="how it is kept, in your words")
    add_balance(made)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the card."""
    from kit.units import magnitude

    desk = desk_of(options)
    batches = [magnitude(text, "g", name="batch") for text in options.batches]
    return hand_out(desk.formula_card(batches, keeping=options.keeping), options, desk.formula.title)
