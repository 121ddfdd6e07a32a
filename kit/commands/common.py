"""What the commands share: their arguments, the desk they work at, and how they hand out a paper."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from kit.commands import CLEAN, FAILED, STOP

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Finding
    from kit.papers.batch_sheet import SheetDetails
    from kit.papers.desk import Desk
    from kit.papers.paper import Paper

Value = TypeVar("Value")


def new_parser(prog: str, description: str, example: str) -> argparse.ArgumentParser:
    """A parser whose help ends with an example."""
    return argparse.ArgumentParser(
        prog=prog,
        description=description,
        epilog=f"Example: {prog} {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def add_formula(parser: argparse.ArgumentParser) -> None:
    """The formula's file, and the maker's own ingredients."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the formula: a TOML, CSV or XLSX file")
    add_knowledge(parser)


def add_knowledge(parser: argparse.ArgumentParser) -> None:
    """What a formula is checked against: own ingredients, whose limits, the pH that was measured."""
    parser.add_argument(
        "--own",
        type=Path,
        metavar="CSV",
        help="your own ingredients (default: my_ingredients.csv, where there is one here)",
    )
    parser.add_argument("--jurisdiction", choices=("eu", "us"), default="eu", help="whose rules (%(default)s)")
    parser.add_argument("--measured-ph", metavar="PH", help="the pH measured in the water layer, for the findings")


def add_paper(parser: argparse.ArgumentParser) -> None:
    """Where the paper goes, how large it is, and whether as PDF too."""
    paper = parser.add_argument_group("the paper")
    paper.add_argument("--out", type=Path, metavar="F", help="where to write it (default: named after what it is)")
    paper.add_argument("--pdf", action="store_true", help="print it into a PDF too (needs Chromium, Chrome or Edge)")
    paper.add_argument("--paper", choices=("a4", "letter"), default="a4", help="its size (default: %(default)s)")


def percent(text: str) -> float:
    """A percent as an option gives it."""
    return _number(text, 0, 100)


def amount(text: str) -> float:
    """A number as an option gives it."""
    return _number(text)


def _number(text: str, low: float = float("-inf"), high: float = float("inf")) -> float:
    from kit.errors import KitError
    from kit.numbers import read_likely

    try:
        return read_likely(text, low, high)
    except KitError as error:
        raise argparse.ArgumentTypeError(str(error).replace("%", "%%")) from error


def add_batch(parser: argparse.ArgumentParser) -> None:
    """How much is made, and on which balance it is weighed."""
    batch = parser.add_argument_group("the batch")
    batch.add_argument("--batch", metavar="MASS", help='product to make, such as "250 g"')
    batch.add_argument("--bottles", type=int, metavar="N", help="make so many bottles instead")
    batch.add_argument("--fill", metavar="VOLUME", help='product in a bottle, such as "90 mL"')
    batch.add_argument("--bottle", metavar="NAME", help="the bottle, by the kit's name for it")
    batch.add_argument("--overage", type=percent, default=0.0, metavar="PERCENT", help="made beyond that on purpose")
    batch.add_argument("--loss", type=percent, default=0.0, metavar="PERCENT", help="stays in vessels")
    add_balance(batch)


def add_balance(parser: argparse.ArgumentParser | argparse._ArgumentGroup) -> None:
    """The balance and what a weighing may be off."""
    parser.add_argument("--balance", default="0.01", metavar="STEP", help="what the balance reads, g (0.01)")
    parser.add_argument("--capacity", default="", metavar="MASS", help="what it carries, g (500)")
    parser.add_argument("--tolerance", type=percent, default=1.0, metavar="PERCENT", help="a weighing may be off (1)")


def add_details(parser: argparse.ArgumentParser) -> None:
    """What the maker would otherwise write by hand."""
    details = parser.add_argument_group("printed instead of written by hand")
    details.add_argument("--lot", default="", help="the lot")
    details.add_argument("--made-by", default="", metavar="NAME", help="who makes it")
    details.add_argument("--made-on", default="", metavar="DATE", help="when")


def named_or_here(named: Path | None, usual: str | Path) -> Path | None:
    """The file that was named, there or not; else the one of the usual name, where there is one here."""
    return named or (Path(usual) if Path(usual).exists() else None)


def desk_of(options: argparse.Namespace) -> Desk:
    """The desk for the formula and whatever else was given."""
    from dataclasses import replace

    from kit.bench.balance import PLATE, Balance
    from kit.findings import Finding
    from kit.formula.files import read_formula
    from kit.inputs import read_all
    from kit.layers.bottle import bundled_bottles
    from kit.library.library import Library
    from kit.library.own import OWN_FILE, read_own
    from kit.numbers import read_likely
    from kit.papers.desk import Desk
    from kit.units import magnitude

    library, notes = Library.bundled(), list[Finding]()
    if own := named_or_here(options.own, OWN_FILE):
        library = Library(library.supplied, read_own(own, notes))
    ph = read_likely(options.measured_ph, 0, 14) if options.measured_ph else None
    desk = Desk(read_formula(options.file, notes), library, place=options.jurisdiction, ph=ph)
    say(notes)
    if hasattr(options, "balance"):
        plate = {"readability": options.balance, "capacity": options.capacity}
        balance = Balance(**read_all(PLATE, plate, beside_unit=True))
        desk = replace(desk, balance=balance, tolerance=options.tolerance)
    if hasattr(options, "batch"):
        if options.bottle:
            desk = replace(desk, bottle=_named(bundled_bottles(), options.bottle, "bottle"))
        if options.fill:
            desk = replace(desk, fill=magnitude(options.fill, "mL", name="fill"))
        order = replace(desk.order, overage=options.overage, loss=options.loss)
        if options.bottles is not None:
            order = replace(order, by="bottles", bottles=options.bottles, fill=desk.filled)
        elif options.batch:
            order = replace(order, grams=magnitude(options.batch, "g", name="batch"))
        desk = replace(desk, order=order)
    return desk


def _named(known: dict[str, Value], name: str, what: str) -> Value:
    from kit.errors import UnknownNameError

    if name not in known:
        msg = f"There is no {what} {name!r}. Write one of {', '.join(known)}."
        raise UnknownNameError(msg)
    return known[name]


def details_of(options: argparse.Namespace) -> SheetDetails:
    """What stands on the paper instead of being written by hand."""
    from kit.papers.batch_sheet import SheetDetails

    return SheetDetails(options.lot.strip(), options.made_by.strip(), options.made_on.strip())


def hand_out(paper: Paper, options: argparse.Namespace, *about: str) -> int:
    """Say the findings, write the paper, say where it is; return the exit code."""
    from kit.papers.writing import paper_name, write_paper

    say(paper.findings)
    wants_pdf = options.pdf or (options.out is not None and options.out.suffix.lower() == ".pdf")
    path = options.out or Path(f"{paper_name(paper.kind, *about)}.html")
    written, no_pdf = write_paper(paper.html, path, size=options.paper, pdf=wants_pdf)
    for file in written:
        print(file)
    if no_pdf:
        print(no_pdf, file=sys.stderr)
        return FAILED
    return STOP if paper.stops else CLEAN


def say(findings: Iterable[Finding]) -> None:
    """Findings as sentences on standard error, each on its own line."""
    from kit.visible_text import one_line

    for finding in findings:
        print(one_line(str(finding)), file=sys.stderr)
