"""Find and read the tables and notebooks that travel with the kit.

In a clone they lie at the top level (``data/``, ``notebooks/``); in an installed wheel they lie inside the
package. One loader finds them in both. Each table has a folder of its own: ``table.csv`` beside a
``source.toml`` that says where its figures come from.
"""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from kit.errors import StoreError

PACKAGE = Path(__file__).resolve().parent


def resource_folder(name: str) -> Path:
    """The folder ``data`` or ``notebooks``, inside the package or beside it."""
    for folder in (PACKAGE / name, PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    msg = f"The folder {name!r} that belongs to the kit is missing. Install the kit again."
    raise StoreError(msg)


@dataclass(frozen=True)
class Table:
    """A table of figures and the note on where they come from."""

    name: str
    rows: tuple[dict[str, str], ...]

    @cached_property
    def about(self) -> dict[str, Any]:
        """What its ``source.toml`` says."""
        return tomllib.loads((resource_folder("data") / self.name / "source.toml").read_text(encoding="utf-8"))


@cache
def load_table(name: str) -> Table:
    """The table ``data/<name>/table.csv``."""
    folder = resource_folder("data") / name
    with (folder / "table.csv").open(encoding="utf-8", newline="") as file:
        lines = csv.reader(file)
        head = next(lines)
        rows = tuple(dict(zip(head, cells, strict=True)) for cells in lines if cells)
    return Table(name, rows)
