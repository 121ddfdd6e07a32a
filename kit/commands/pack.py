"""``pack``: everything that an installation needs, in one folder, for a room without the internet."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from kit.commands import CLEAN
from kit.commands.common import new_parser
from kit.pack import PLATFORMS, Target, pack


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Collect the kit and every package that it needs into a folder, to be carried to computers without the\n"
        "internet. A text in the folder says how to install from it.",
        "for_the_classroom --platform windows --python 3.12",
    )
    made.add_argument("folder", metavar="FOLDER", type=Path, help="where to collect it; new, or empty")
    made.add_argument(
        "--platform", choices=tuple(PLATFORMS), default="", help="the computers that it is for (default: like this one)"
    )
    made.add_argument("--python", type=_version, metavar="3.12", help="their Python (default: this one)")
    made.add_argument(
        "--with",
        dest="extras",
        action="append",
        choices=("app", "notebook", "shared-log"),
        default=[],
        help="what else goes in: the app, Jupyter Notebook, PostgreSQL; may be given several times",
    )
    made.add_argument("--wheel", type=Path, metavar="FILE", help="the kit's own wheel (default: built from the clone)")
    return made


def run(options: argparse.Namespace) -> int:
    """Collect it, and say where it lies."""
    print("Collecting the packages; this takes a minute or two.", flush=True)
    target = Target(options.platform, options.python or "")
    print(pack(options.folder.resolve(), target, options.extras, options.wheel).sentence)
    return CLEAN


def _version(text: str) -> str:
    if not re.fullmatch(r"3\.(1[1-9]|[2-9]\d)", text):
        msg = f"{text!r} is no Python that the kit runs on: type it as 3.12, 3.11 or later"
        raise argparse.ArgumentTypeError(msg)
    return text
