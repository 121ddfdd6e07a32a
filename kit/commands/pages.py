"""``pages``: the lessons as pages that need nothing but a browser."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN
from kit.commands.common import new_parser
from kit.commands.options import from_options, options_of
from kit.inputs import FileName, asked

if TYPE_CHECKING:
    import argparse


@dataclass(frozen=True, slots=True)
class PagesOptions:
    """Which notebooks the pages are made of."""

    notebooks: Path | None = asked(
        "A folder with lessons of yours",
        FileName(""),
        None,
        help="They are taken as they were saved; nothing of them is run. Default: the kit's own, run now.",
    )


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write every lesson, the glossary and the lecturer's guide as pages for any browser, to be opened from the\n"
        "folder or put on any server: no network is needed, and none is used. Panels stand in them as their last\n"
        "picture. The key p shows a page by its sections, for a projector. Running the lessons takes about a minute.",
        "our_course",
    )
    made.add_argument("folder", type=Path, metavar="FOLDER", help="where the pages go; made where it does not exist")
    options_of(made, PagesOptions)
    return made


def run(options: argparse.Namespace) -> int:
    """Take or run the notebooks, write the pages, say where the first one is."""
    from kit.pages.running import not_run, own_notebooks, saved_notebooks
    from kit.pages.writing import write_pages

    named = from_options(options, PagesOptions).notebooks
    if named is None:
        print("Running the lessons; this takes about a minute.", file=sys.stderr, flush=True)
        notebooks = own_notebooks(lambda name: print(f"  {name}", file=sys.stderr, flush=True))
    else:
        notebooks = saved_notebooks(named)
        for name, notebook in notebooks.items():
            if count := not_run(notebook):
                what = "a panel" if count == 1 else f"{count} panels"
                print(f"{name} was saved without {what} having run. Run all of it, and save it.", file=sys.stderr)
    index, *rest = write_pages(notebooks, options.folder)
    print(index)
    print(f"{len(rest)} pages; open the first one in a browser.", file=sys.stderr)
    return CLEAN
