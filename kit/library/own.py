"""A maker's own ingredients, kept in a CSV file that she can also edit with a spreadsheet or text editor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.library.columns import COLUMNS, split_list
from kit.library.rows import read_ingredient, write_row
from kit.library.sources import OWN
from kit.library.table import ingredients
from kit.saving import save_unless_same
from kit.tables import Schema, as_csv, read_file, read_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from kit.findings import Finding
    from kit.library.ingredient import Ingredient
    from kit.saving import Seen

#: What a maker's own file is called unless she says otherwise; it lies beside her notebooks.
OWN_FILE = "my_ingredients.csv"
#: The columns that hold numbers; in the first ones both readings of 1,250 can be meant.
UNBOUNDED = ("molar_mass_g_mol", "viscosity_mpa_s", "price", "pack_amount")
NUMBERS = (*UNBOUNDED, "density_g_ml", "usual_low_percent", "usual_high_percent", "log_p", "pka", "composition")
TABLE = Schema(
    "this file",
    COLUMNS,
    needed=("inci",),
    numbers=NUMBERS,
    days=("bought_on", "keep_until"),
    unbounded=UNBOUNDED,
    number_texts=lambda cell: [part.removesuffix("%").rstrip().rpartition(" ")[2] for part in split_list(cell)],
    unique=("inci",),
)


def read_own(path: Path, notes: list[Finding] | None = None) -> tuple[Ingredient, ...]:
    """The ingredients of a maker's own file.

    Comma or semicolon between the cells, decimal point or comma, with or without the byte mark that
    spreadsheets put in front. Only the column ``inci`` is needed. A figure without a source counts as the
    maker's own. Where an ingredient has the INCI name of one of the kit's, an empty cell means "as in the kit": so a
    row with a name and a price is enough, and figures that a later version of the kit mends are mended here too.
    Which mark is the decimal one, the file's own numbers show; where that settles a number that can be read two ways,
    ``notes`` gets a sentence on it, or it is a warning.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row (counted as a spreadsheet does) and column.
    """
    return own_of(read_file(path), path.name, notes)


def own_of(data: bytes, name: str, notes: list[Finding] | None = None) -> tuple[Ingredient, ...]:
    """The ingredients that these bytes of a maker's own file hold; see :func:`read_own`."""
    table = read_table(data, name, TABLE)
    supplied = _supplied()
    found: list[Ingredient] = []
    for number, row in table.rows:
        base = supplied.get(plain_letters(row["inci"]))
        ingredient, wrong = read_ingredient(
            row, f"row {number}", default_source=OWN, decimal_mark=table.decimal_mark, own=True, base=base
        )
        table.faults += wrong
        if ingredient is not None:
            found.append(ingredient)
    table.finish(notes)
    return tuple(found)


def save_own(path: Path, own: Iterable[Ingredient], *, seen: Seen | None = None) -> None:
    """Write a maker's own ingredients; what it held goes to its earlier saves.

    Of an ingredient that the kit has too, only what differs is written. Text that a spreadsheet would run as a
    formula gets an apostrophe in front, which reading takes away again. A file that says the same already keeps every
    byte.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    known = _supplied()
    rows = [write_row(each, known.get(plain_letters(each.inci))) for each in own]
    data = as_csv([COLUMNS, *([row[column] for column in COLUMNS] for row in rows)]).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: own_of(there, path.name, []), seen=seen)


def _supplied() -> dict[str, Ingredient]:
    return {plain_letters(each.inci): each for each in ingredients()}
