"""What the commands share: their help, where a paper goes, and how they hand it out."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN, FAILED, STOP
from kit.course.own_exercises import take_own_exercises
from kit.inputs import Choice, FileName, Tick, asked
from kit.made_for import OwnPlace, own_place
from kit.papers.layout import PAPER_SIZES
from kit.papers.writing import write_paper
from kit.visible_text import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Finding
    from kit.papers.layout import PaperSize
    from kit.papers.paper import Paper


@dataclass(frozen=True, slots=True)
class Output:
    """Where a paper goes, how large it is, and whether as PDF too."""

    out: Path | None = asked("Where to write it", FileName(""), None, help="Default: named after what it is.")
    pdf: bool = asked("Print it into a PDF too", Tick(), default=False, help="Needs Chromium, Chrome or Edge.")
    paper: PaperSize = asked("Its size", Choice({key: name for key, (name, *_) in PAPER_SIZES.items()}), "a4")


def new_parser(prog: str, description: str, example: str) -> argparse.ArgumentParser:
    """A parser whose help ends with an example."""
    return argparse.ArgumentParser(
        prog=prog,
        description=description,
        epilog=f"Example: {prog} {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def own_option(parser: argparse.ArgumentParser) -> None:
    """Let a lecturer name the file of her own exercises; :func:`take_own` takes them."""
    words = "a Python file of yours with exercises (README, 'Exercises of your own'); it is run"
    parser.add_argument("--own", type=Path, metavar="FILE", help=words)


def take_own(options: argparse.Namespace) -> None:
    """Take the exercises of the file that was named, if one was."""
    if options.own is not None:
        take_own_exercises(options.own)


def hand_out(paper: Paper, output: Output, owner: str) -> int:
    """Say the findings, write the paper of a product or study of this title, say where it is; return the exit code."""
    say(paper.findings)
    wants_pdf = output.pdf or (output.out is not None and output.out.suffix.lower() == ".pdf")
    place = OwnPlace(output.out) if output.out else own_place(owner, Path(f"{paper.name}.html"))
    if place.others:
        print(f"{place.words}.", file=sys.stderr)
    written, no_pdf = write_paper(paper.html, place.path, size=output.paper, pdf=wants_pdf)
    for file in written:
        print(file)
    if no_pdf:
        print(no_pdf, file=sys.stderr)
        return FAILED
    return STOP if paper.stops else CLEAN


def say(findings: Iterable[Finding]) -> None:
    """Findings as sentences on standard error, each on its own line."""
    for finding in findings:
        print(one_line(str(finding)), file=sys.stderr)
