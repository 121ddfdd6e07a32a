"""``restore``: put a stability log back from a backup."""

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
        "Put a stability log back from a backup, with its photos. The file that lies in its place is kept under\n"
        "another name; a panel that has it open notices at its next entry, and refuses it.",
        "stability_log.backup-20260309-183000.db stability_log.db",
    )
    made.add_argument("backup", metavar="BACKUP", help="the backup: a file")
    made.add_argument(
        "log", metavar="LOG", nargs="?", type=Path, help="the log (default: the name in the backup's own, here)"
    )
    return made


def run(options: argparse.Namespace) -> int:
    """Put the log back, and say where the other is."""
    from datetime import datetime

    from kit.commands.logs import file_of
    from kit.errors import StoreError
    from kit.stability.log.backup import restore, usual_log

    backup = file_of(options.backup)
    log = options.log or usual_log(backup)
    if log is None:
        msg = f"{backup.name} does not say which log it is of. Name the log too: restore {backup.name} stability_log.db"
        raise StoreError(msg)
    place = Path(log).absolute()
    kept = restore(backup, place, datetime.now())
    print(place)
    if kept:
        print(f"What lay there is kept as {kept.name}. Choose “Read the log again” in a panel that has it open.")
    return CLEAN
