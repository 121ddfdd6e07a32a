"""``verify``: look a stability log over for damage; nothing in it is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands import CLEAN, STOP
from kit.commands.common import new_parser, say

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog, "Look a stability log and its photos over for damage. Nothing is changed.", "stability_log.db"
    )
    made.add_argument("log", metavar="LOG", help="the log: a file, or postgresql://user@host/database")
    return made


def run(options: argparse.Namespace) -> int:
    """Say what is found."""
    from kit.commands.logs import looked_for
    from kit.stability.verify import verify
    from kit.visible_text import one_line

    found = verify(looked_for(options.log))
    say(found)
    stops = any(finding.severity == "stop" for finding in found)
    print(one_line(f"{options.log}: {'damaged, see above' if stops else 'no damage found'}."))
    return STOP if stops else CLEAN
