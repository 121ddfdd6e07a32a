"""``compare``: versions of a formula, or several formulas, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from kit.bench.price_list import read_prices
from kit.commands.common import Output, hand_out, new_parser, say
from kit.commands.options import from_options, options_of
from kit.commands.product import add_product, product_of
from kit.formula.files import read_formula
from kit.inputs import FileName, asked
from kit.papers.comparison import ComparisonOptions, beside
from kit.papers.registry import make_paper

if TYPE_CHECKING:
    import argparse

    from kit.findings import Finding
    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class Prices:
    """What the materials cost."""

    prices: Path | None = asked("A price list, for the cost of 100 g", FileName(".csv"), None)


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write formulas side by side, the oldest first: what changed, and what that did to findings, cost and label.\n"
        "With one file, its own versions are compared.",
        "autumn.toml spring.toml",
    )
    made.add_argument("files", type=Path, nargs="+", metavar="FILE", help="formulas: TOML, CSV or XLSX files")
    add_product(made)
    options_of(made, Prices)
    options_of(made, Output, "the paper")
    return made


def run(options: argparse.Namespace) -> int:
    """Write the comparison."""
    notes: list[Finding] = []
    *before, options.file = options.files
    product = product_of(options)
    if named := from_options(options, Prices).prices:
        product = replace(product, prices=read_prices(named, notes))
    others: dict[str, Formula] = {}
    for path in before:
        name = path.stem if path.stem not in others else f"{path.stem} ({len(others) + 1})"
        others[name] = read_formula(path, notes)
    say(notes)
    versions = beside(others, options.file.stem, product.formula) if others else None
    paper = make_paper("comparison", product, ComparisonOptions(versions))
    return hand_out(paper, from_options(options, Output), product.formula.title)
