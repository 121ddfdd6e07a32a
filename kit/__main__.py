"""``python -m kit``: lay the notebooks into a folder and open them in JupyterLab, or run a one-shot command."""

from __future__ import annotations

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - said plainly before newer syntax is read
    sys.exit(f"The kit needs Python 3.11 or later; this is Python {sys.version.split()[0]}.")

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import EXTRAS, commands, help_text, is_understood, run
from kit.environment import (
    AGAIN,
    SetUpError,
    ask_for_extra,
    clone_folder,
    missing_packages,
    prepare,
    run_again,
)
from kit.errors import KitError
from kit.ports import port_number
from kit.workspace import taken_in_hand

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
    except OSError as error:  # a folder that may not be entered, a name that is too long
        what = error.filename or "A file"
        print(f"{what} cannot be used: {error.strerror or error}. Name another folder.", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. The same command goes on from here.", file=sys.stderr)
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m kit",
        description="Lay the notebooks into a folder of yours and open them in JupyterLab.\n"
        "Files that are there already are never overwritten.\n"
        "With the name of a command in place of the folder, do one thing instead: write one paper, say.",
        epilog=help_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", nargs="?", type=Path, help="where to work (made if it does not exist)")
    parser.add_argument("--no-open", action="store_true", help="lay the files and stop there")
    parser.add_argument("--no-browser", action="store_true", help="start JupyterLab and only print its address")
    parser.add_argument(
        "--front",
        choices=("lab", "notebook"),
        default="lab",
        help="what shows notebooks: JupyterLab, or Jupyter Notebook, one document to a page (default: %(default)s)",
    )
    parser.add_argument("--port", type=port_number, default=8888, help="the first port to try (default: %(default)s)")
    return parser


def _command(given: Sequence[str]) -> int:
    """Run a one-shot command; to say how it is used needs no packages."""
    name, *arguments = given
    if is_understood(name, arguments) and _elsewhere_first(EXTRAS.get(name, ())):
        return _elsewhere(given, EXTRAS.get(name, ()))
    return run(name, arguments)


def _elsewhere_first(extras: Sequence[str]) -> bool:
    """Whether packages are missing that a clone's own environment has, or can be given.

    Raises
    ------
    SetUpError
        They are missing where there is no clone; the sentence says what to type.
    """
    clone = clone_folder()
    if clone is not None:
        return bool(missing_packages(clone, extras))
    for extra in extras:
        ask_for_extra(extra)
    return False


def _elsewhere(given: Sequence[str], extras: Sequence[str]) -> int:
    """Run the same again in the clone's own environment, which is made where it is not there."""
    clone = clone_folder()
    assert clone is not None
    if os.environ.get(AGAIN):
        missing = missing_packages(clone, extras)
        msg = (
            f"The environment {clone / '.venv'} lacks {', '.join(missing)}. "
            "Delete that folder and run the same command again."
        )
        raise SetUpError(msg)
    return run_again(prepare(clone, extras), ["-m", "kit", *given])


def _open(options: argparse.Namespace, given: Sequence[str]) -> int:
    extras = () if options.front == "lab" else (options.front,)
    if not options.no_open and _elsewhere_first(extras):
        return _elsewhere(given, extras)
    folder, start, said = taken_in_hand(options.folder, clone_folder())
    print(said)
    if options.no_open:
        return 0
    from kit.launcher import launch, screen_is_there

    browser = not options.no_browser and screen_is_there()
    return launch(folder, browser=browser, port=options.port, start=start, front=options.front)


if __name__ == "__main__":
    sys.exit(main())
