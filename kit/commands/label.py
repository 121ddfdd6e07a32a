"""``label``: the label text of a formula."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands.common import add_formula, add_paper, desk_of, hand_out, named_or_here, new_parser

if TYPE_CHECKING:
    import argparse

#: What a label may say besides what is computed: option → what it asks for.
TYPED = {
    "product_name": "the name, where it is not the formula's title",
    "function": 'what it is and does, such as "body oil"',
    "batch_code": "by which the batch is found again",
    "period_after_opening": "such as 12M",
    "best_before": "such as 11/2027",
    "storage": "how to keep it",
    "responsible_person": "name and address",
    "country_of_origin": "of an imported product",
    "directions": "how it is used",
    "warnings": "more warnings",
    "contact": "where unwanted effects are reported, for the United States",
}


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write the label text of a formula: the list of ingredients with its reasons, and what is still missing.",
        'my_body_shake.toml --jurisdiction eu --content "85 mL" --function "body oil"',
    )
    add_formula(made)
    made.add_argument("--content", default="", metavar="AMOUNT", help='what one pack holds, such as "85 mL" or "80 g"')
    made.add_argument(
        "--particulars",
        type=Path,
        metavar="CSV",
        help="what the label panel kept (default: the formula's ..._label.csv, where there is one here)",
    )
    made.add_argument(
        "--allergens",
        type=Path,
        metavar="CSV",
        help="what certificates say about allergens in scents (default: allergen_statements.csv, where there is one)",
    )
    typed = made.add_argument_group("printed on the label")
    for name, words in TYPED.items():
        typed.add_argument(f"--{name.replace('_', '-')}", default="", metavar="TEXT", help=words)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the label text."""
    from kit.inputs import read_group
    from kit.label.declaration import Choices
    from kit.label.particulars import Particulars, particulars_file, read_particulars
    from kit.label.statements import read_statements

    desk = desk_of(options)
    kept = named_or_here(options.particulars, particulars_file(desk.formula.title))
    said = read_particulars(kept) if kept else {}
    said |= {name: getattr(options, name) for name in ("content", *TYPED) if getattr(options, name)}
    certificates = named_or_here(options.allergens, "allergen_statements.csv")
    choices = Choices(statements=read_statements(certificates)) if certificates else None
    paper = desk.label_text(read_group(Particulars, said), choices=choices)
    return hand_out(paper, options, desk.formula.title, options.jurisdiction)
