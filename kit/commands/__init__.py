"""One-shot commands: ``python -m kit sheet FILE`` and its like. Each writes one paper or says one thing.

Nothing but the kit and the standard library is imported until a command runs, so that help is there at once, also in a
clone whose packages are not in place yet.
"""

from __future__ import annotations

import io
import sys
from contextlib import redirect_stderr, redirect_stdout
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Callable, Sequence

#: Commands with a file of their own: name → what the command does, in a few words. The others write one paper each.
OF_THEIR_OWN = {
    "app": "open a notebook as an app: its panels, without code",
    "new": "make the folder of a product of your own, with a notebook to work in",
    "check": "say what there is to say about a formula",
    "stock": "write labels for the stocks of a formula, or the sheets to make them by",
    "compare": "write formulas or versions side by side",
    "saves": "list what a file held before its last saves, and take one back",
    "verify": "check a stability log for damage, deleted and changed readings",
    "backup": "copy a stability log with its photos, while it is open too",
    "restore": "put a stability log back from a backup; the file in its place is kept",
    "assignment": "write a lesson's exercises for a school's own marking (nbgrader, Otter)",
    "exercises": "write a lesson's exercises on paper, or their answers",
    "mark": "mark what a class handed in, with a table and its common mistakes",
    "site": "build the first lessons as a site that runs in the browser, with nothing installed",
    "pages": "write the lessons as pages that need nothing but a browser",
    "pack": "collect all that an installation needs, for a room without the internet",
}

#: Commands that need packages besides the kit's usual ones: name → extras of ``pyproject.toml``.
EXTRAS = {"app": ("app",), "site": ("site",)}

#: Exit codes: nothing to stop for; a finding that says stop; it could not be done.
CLEAN, STOP, FAILED = 0, 1, 2


def commands() -> dict[str, str]:
    """Name of each command → what it does, in a few words."""
    from kit.commands.papers import paper_commands

    papers = {name: f"write the {spec.title.lower()}: {spec.subtitle}" for name, spec in paper_commands().items()}
    return dict(sorted((papers | OF_THEIR_OWN).items()))


def _parts(name: str) -> tuple[Callable[[str], ArgumentParser], Callable[[Namespace], int]]:
    """How a command's arguments are read, and how it is run."""
    if name in OF_THEIR_OWN:
        own = import_module(f"kit.commands.{name}")
        return own.parser, own.run
    from kit.commands import papers

    spec = papers.paper_commands()[name]
    return partial(papers.parser, spec), partial(papers.run, spec)


def is_understood(name: str, arguments: Sequence[str]) -> bool:
    """Whether a command can begin with these arguments, rather than say how it is used."""
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        try:
            _parts(name)[0](f"python -m kit {name}").parse_args(list(arguments))
        except SystemExit:
            return False
    return True


def run(name: str, arguments: Sequence[str]) -> int:
    """Run a command; return its exit code.

    Every error that is meant for a person becomes a sentence on standard error.
    """
    from kit.errors import KitError

    parser, work = _parts(name)
    try:
        options = parser(f"python -m kit {name}").parse_args(list(arguments))
    except SystemExit as end:  # help was asked for, or the arguments are wrong; argparse has said so
        return int(end.code or 0)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a screen that lacks a sign shows its number
    try:
        return int(work(options))
    except KitError as error:
        print(error, file=sys.stderr)
    except OSError as error:
        print(f"{error.filename or 'A file'} cannot be used: {error.strerror or error}.", file=sys.stderr)
    return FAILED


def help_text() -> str:
    """The commands with what each does, for the help of the whole."""
    rows = [f"  {name:<9} {words}" for name, words in commands().items()]
    return "\n".join(
        ["commands, each with a help of its own (python -m kit sheet --help):", *rows, "", _EXIT_CODES]
    )  # fmt: skip


_EXIT_CODES = (
    "A command ends with 0; with 1 if a finding says stop (the paper is written all the same, with the finding at\n"
    "its head); with 2 if it could not be done. Findings go to standard error, the names of files to standard output."
)
