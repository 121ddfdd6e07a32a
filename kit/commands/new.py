"""``new``: the folder of a product of one's own, begun empty, from a starting point, a file, or a copy."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN
from kit.commands.common import new_parser, say
from kit.commands.options import options_of, values_of
from kit.commands.product import DESCRIPTION
from kit.formula.files import read_formula
from kit.library.description import NOTHING_SAID
from kit.product.beginning import begin_from, blank, starting_names, starting_point
from kit.product_folder import make_product_folder
from kit.workspace import FORMULA, NOTEBOOK, is_product_folder

if TYPE_CHECKING:
    import argparse

    from kit.findings import Finding
    from kit.formula.model import Formula


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(prog, "Make the folder of a product of your own, with a notebook to work in.", '"Rose toner"')
    made.add_argument("title", metavar="NAME", help="what the product is called; its folder is named after it")
    made.add_argument(
        "--from",
        dest="source",
        metavar="SOURCE",
        default="",
        help="begin with the lines of a starting point of the kit, of a formula's file (TOML, CSV, XLSX), or of a "
        f"product's folder. Starting points: {', '.join(starting_names())}. Default: begin empty.",
    )
    made.add_argument("--in", dest="parent", type=Path, default=Path(), metavar="FOLDER", help="where (here)")
    options_of(made, DESCRIPTION, "what the product is")
    return made


def run(options: argparse.Namespace) -> int:
    """Make the folder, and say how to open it."""
    notes: list[Finding] = []
    said = {name: value for name, value in values_of(options, DESCRIPTION).items() if value is not None}
    if options.source:
        source = _source(options.source, notes)
        formula = begin_from(source, options.title, replace(source.description, **said))
    else:
        formula = blank(options.title, replace(NOTHING_SAID, **said))
    folder = make_product_folder(options.parent, formula)
    say([*notes, *formula.description.contradictions])
    print(f"{folder} holds {FORMULA} and {NOTEBOOK}. To work in it: python3 -m kit {folder}")
    return CLEAN


def _source(name: str, notes: list[Finding]) -> Formula:
    path = Path(name)
    if is_product_folder(path):
        path = path / FORMULA
    return read_formula(path, notes) if path.is_file() else starting_point(name)
