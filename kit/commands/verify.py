"""``verify``: look a stability log over for damage, deleted and changed readings; nothing in it is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands import CLEAN, STOP
from kit.commands.common import new_parser, say

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Look a stability log and its photos over for damage, and for readings that were deleted or changed.\n"
        "Nothing is changed. The anchor it prints can be noted: given back later, it proves that all up\n"
        "to there is as it was.",
        'stability_log.db --anchor "128 · 7f3a-91c2-05de-b733"',
    )
    made.add_argument("log", metavar="LOG", help="the log: a file, or postgresql://user@host/database")
    made.add_argument("--anchor", metavar="TEXT", help="an anchor noted earlier, or printed on a report")
    return made


def run(options: argparse.Namespace) -> int:
    """Say what is found."""
    from kit.commands.logs import looked_for
    from kit.stability.log.network import warning
    from kit.stability.log.verify import verify
    from kit.visible_text import one_line

    found = verify(looked_for(options.log), anchor=options.anchor)
    say(found.findings)
    stops = any(finding.severity == "stop" for finding in found.findings)
    print(one_line(f"{options.log}: {'damaged or changed, see above' if stops else 'no damage found'}."))
    if found.network:
        print(warning(found.network))
    if found.anchor and not stops:
        if options.anchor:
            print("The anchor is of this log: everything up to it is as it was when it was noted.")
        if found.chained_from:
            print(f"The chain over the rows was made on {found.chained_from}: what was changed before cannot be told.")
        print(f"To note: {found.anchor}")
    return STOP if stops else CLEAN
