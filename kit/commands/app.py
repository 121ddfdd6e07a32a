"""``app``: a notebook as an app, its panels without code."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands.common import new_parser
from kit.environment import clone_folder
from kit.ports import port_number
from kit.workspace import taken_in_hand

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Open a product's notebook, or the start notebook of a folder of yours, as an app: its panels without code.\n"
        "The address is printed; Ctrl+C ends it. Everything stays on this computer.",
        "rose_toner --theme dark",
    )
    made.add_argument("folder", nargs="?", type=Path, help="where to work, as without 'app'")
    made.add_argument("--theme", choices=("light", "dark"), default="light", help="its colours (default: %(default)s)")
    made.add_argument("--no-browser", action="store_true", help="only print the address")
    made.add_argument("--port", type=port_number, default=8866, help="the first port to try (default: %(default)s)")
    return made


def run(options: argparse.Namespace) -> int:
    """Open it, and stay until it is stopped."""
    folder, start, said = taken_in_hand(options.folder, clone_folder())
    print(said, flush=True)
    from kit.app import launch_app
    from kit.launcher import screen_is_there

    browser = not options.no_browser and screen_is_there()
    return launch_app(folder, browser=browser, port=options.port, start=start, theme=options.theme)
