"""One-shot commands: ``python -m kit sheet FILE`` and its like. Each writes one paper or says one thing.

A module of this room imports the standard library only until its command runs, so that help is there at once,
also in a clone whose packages are not in place yet.
"""

from __future__ import annotations

import io
import sys
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Name of the command → what it does, in a few words. Its module bears the same name.
COMMANDS = {
    "check": "say what there is to say about a formula",
    "sheet": "write the batch sheet of a formula",
    "card": "write the formula card: percents, grams for three batches, the ratios that are allowed",
    "label": "write the label text of a formula, with its reasons and what is missing",
    "stock": "write labels for the stocks of a formula",
    "cost": "write what a batch and a bottle cost",
    "compare": "write formulas or versions side by side",
    "plan": "write a stability plan as a calendar to hang up",
    "record": "write sheets to note stability readings on",
    "report": "write the stability report of a study",
    "saves": "list what a file held before its last saves, and take one back",
    "verify": "check a stability log for damage, deleted and changed readings",
    "backup": "copy a stability log with its photos, while it is open too",
    "restore": "put a stability log back from a backup; the file in its place is kept",
}

#: Exit codes: nothing to stop for; a finding that says stop; it could not be done.
CLEAN, STOP, FAILED = 0, 1, 2


def run(name: str, arguments: Sequence[str]) -> int:
    """Run a command; return its exit code.

    Every error that is meant for a person becomes a sentence on standard error.
    """
    from kit.errors import KitError

    command = import_module(f"kit.commands.{name}")
    try:
        options = command.parser(f"python -m kit {name}").parse_args(list(arguments))
    except SystemExit as end:  # help was asked for, or the arguments are wrong; argparse has said so
        return int(end.code or 0)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a screen that lacks a sign shows its number
    try:
        return int(command.run(options))
    except KitError as error:
        print(error, file=sys.stderr)
    except OSError as error:
        print(f"{error.filename or 'A file'} cannot be used: {error.strerror or error}.", file=sys.stderr)
    return FAILED


def help_text() -> str:
    """The commands with what each does, for the help of the whole."""
    rows = [f"  {name:<9}{words}" for name, words in COMMANDS.items()]
    return "\n".join(
        ["commands, each with a help of its own (python -m kit sheet --help):", *rows, "", _EXIT_CODES]
    )  # fmt: skip


_EXIT_CODES = (
    "A command ends with 0; with 1 if a finding says stop (the paper is written all the same, with the finding at\n"
    "its head); with 2 if it could not be done. Findings go to standard error, the names of files to standard output."
)
