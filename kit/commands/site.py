"""``site``: the first lessons as a folder of still files that run in a browser, with nothing installed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN
from kit.commands.common import new_parser

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Build a site in which the first lessons run in the browser, with nothing installed and nothing fetched from\n"
        "elsewhere: a folder of files for any server. A page in it, about.html, says how to put it there.",
        "course_site",
    )
    made.add_argument("folder", metavar="FOLDER", type=Path, help="where to build it; new, empty, or an earlier site")
    made.add_argument(
        "--pyodide",
        type=Path,
        metavar="PATH",
        help="Python for browsers: its npm package (pyodide-….tgz) or a folder of it (default: fetched once, and kept)",
    )
    made.add_argument("--wheel", type=Path, metavar="FILE", help="the kit's own wheel (default: built from the clone)")
    return made


def run(options: argparse.Namespace) -> int:
    """Build it, and say where it lies."""
    from kit.site.building import build

    print("Building the site; this takes half a minute.", flush=True)
    print(build(options.folder.resolve(), pyodide=options.pyodide, own=options.wheel).sentence)
    return CLEAN
