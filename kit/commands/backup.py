"""``backup``: copy a stability log whole, with its photos, while it is open too."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN, STOP
from kit.commands.common import new_parser, say

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Copy a stability log with its photos, while it is open too, and look through the copy.\n"
        "Nothing is overwritten.",
        "stability_log.db /media/stick",
    )
    made.add_argument("log", metavar="LOG", help="the log: a file")
    made.add_argument(
        "to", metavar="TO", nargs="?", type=Path, help="a folder, or a new name (default: beside the log)"
    )
    return made


def run(options: argparse.Namespace) -> int:
    """Write the backup, and say what it holds."""
    from datetime import datetime

    from kit.commands.logs import file_of
    from kit.stability.log.backup import back_up

    to = options.to.absolute() if options.to else None
    written, found = back_up(file_of(options.log), to, datetime.now())
    print(written)
    say(found.findings)
    print(found.sentence)
    if found.anchor:
        print(f"To note: {found.anchor}")
    return STOP if any(finding.severity == "stop" for finding in found.findings) else CLEAN
