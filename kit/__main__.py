"""``python -m kit``: lay the notebooks into a folder and open them in JupyterLab, or run a one-shot command."""

from __future__ import annotations

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - said plainly before newer syntax is read
    sys.exit(f"The kit needs Python 3.11 or later; this is Python {sys.version.split()[0]}.")

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import commands, help_text, run
from kit.environment import AGAIN, SetUpError, clone_folder, missing_packages, prepare, run_again
from kit.errors import KitError
from kit.workspace import NOTEBOOK, START, default_folder, is_product_folder, lay

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command with ``arguments`` (those of the process by default); return its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    try:
        if given and given[0] in commands():
            return _command(given)
        return _open(_parser().parse_args(given), given)
    except KitError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. The same command goes on from here.", file=sys.stderr)
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m kit",
        description="Lay the notebooks into a folder of yours and open them in JupyterLab.\n"
        "Files that are there already are never overwritten.\n"
        "With the name of a command in place of the folder, write one paper instead.",
        epilog=help_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", nargs="?", type=Path, help="where to work (made if it does not exist)")
    parser.add_argument("--no-open", action="store_true", help="lay the files and stop there")
    parser.add_argument("--no-browser", action="store_true", help="start JupyterLab and only print its address")
    parser.add_argument("--port", type=int, default=8888, help="the first port to try (default: %(default)s)")
    return parser


def _command(given: Sequence[str]) -> int:
    """Run a one-shot command; its help needs no packages."""
    name, *arguments = given
    if not {"-h", "--help"}.intersection(arguments):
        clone = clone_folder()
        if clone is not None and (missing := missing_packages(clone)):
            return _elsewhere(clone, missing, given)
    return run(name, arguments)


def _elsewhere(clone: Path, missing: Sequence[str], given: Sequence[str]) -> int:
    """Run the same again in the clone's own environment, which is made where it is not there."""
    if os.environ.get(AGAIN):
        msg = (
            f"The environment {clone / '.venv'} lacks {', '.join(missing)}. "
            "Delete that folder and run the same command again."
        )
        raise SetUpError(msg)
    return run_again(prepare(clone), ["-m", "kit", *given])


def _open(options: argparse.Namespace, given: Sequence[str]) -> int:
    clone = clone_folder()
    if not options.no_open and clone is not None and (missing := missing_packages(clone)):
        return _elsewhere(clone, missing, given)
    if options.folder is not None and is_product_folder(options.folder):
        folder, start = options.folder.resolve(), NOTEBOOK
        print(f"{folder} holds a product of yours.")
    else:
        laid = lay(options.folder or default_folder(clone))
        print(laid)
        folder, start = laid.folder, START
    if options.no_open:
        return 0
    from kit.launcher import launch, screen_is_there

    browser = not options.no_browser and screen_is_there()
    return launch(folder, browser=browser, port=options.port, start=start)


if __name__ == "__main__":
    sys.exit(main())
