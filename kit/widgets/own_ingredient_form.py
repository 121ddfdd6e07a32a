"""The form for an ingredient of the maker's own: its figures, its composition, and the pack she bought."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, FileFaultsError
from kit.inputs import Input
from kit.library.columns import ASKED, COLUMNS, GROUPS, SOURCE_COLUMNS
from kit.library.rows import read_ingredient, write_row
from kit.library.sources import own_source
from kit.money import read_money
from kit.rounding import all_digits
from kit.units import COMMON_UNITS
from kit.visible_text import plain_letters
from kit.widgets.form import Form

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.library.ingredient import Ingredient
    from kit.library.library import Library
    from kit.widgets.form import Button

ORIGIN = Input("origin", "Figures from", default="", example="data sheet of March")
#: What is long to read.
WIDE = ("inci", "plain_name", "other_names", "roles", "composition", "note", "origin")


class OwnIngredientForm(Form):
    """Boxes for every column of the maker's own file, filled from an ingredient and read back as one."""

    def __init__(self, buttons: Iterable[Button]) -> None:
        super().__init__((*ASKED, ORIGIN), buttons, fold="An ingredient of your own, and what you paid", wide=WIDE)
        self._filled: dict[str, str] = {}

    def fill(self, ingredient: Ingredient) -> None:
        """Show an ingredient as it is now, to be changed."""
        self._filled = write_row(ingredient)
        self.set(**{one.name: self._filled[one.name] for one in ASKED})

    def empty(self) -> None:
        """Empty every box."""
        self._filled = {}
        self.clear()

    def ingredient(self, library: Library) -> Ingredient:
        """The ingredient of the boxes.

        What was left as the kit has it stays the kit's, with its source; what was changed counts as the maker's own.

        Raises
        ------
        FileFaultsError
            Every fault in the boxes at once; each is marked at its box, too.
        """
        for marked in tuple(self.faults):
            self.mark(marked, "")
        key = plain_letters(self["inci"])
        base = next((each for each in library.supplied if plain_letters(each.inci) == key), None)
        row = self._typed() if base is None else _without_known(self._typed(), write_row(base))
        made, faults = read_ingredient(row, "the form", default_source=own_source(self["origin"]), own=True, base=base)
        if made is None:
            name = "The form"
            raise FileFaultsError(name, [self._marked(fault) for fault in faults])
        return made

    def _marked(self, fault: Fault) -> Fault:
        """The fault by the words of its box, "Density, g/mL" for "the form, column density_g_ml"; marked there, too."""
        box = self.inputs.get(fault.where.rpartition("column ")[2])
        if box is None:
            return Fault("Your pack" if fault.where.endswith(", purchase") else "The form", fault.problem)
        self.mark(box.name, fault.problem)
        return Fault(", ".join(filter(None, (box.words, box.unit))), fault.problem)

    def _typed(self) -> dict[str, str]:
        """The boxes as a row; a figure that was not changed keeps its source."""
        row = dict.fromkeys(COLUMNS, "") | {one.name: self.texts[one.name].strip() for one in ASKED}
        row |= _pack_and_price(row)
        row["molecular_formula"] = self._filled.get("molecular_formula", "")
        for source in set(SOURCE_COLUMNS.values()):
            columns = [column for column, its in SOURCE_COLUMNS.items() if its == source]
            if self._filled and all(row[column] == self._filled[column] for column in columns):
                row[source] = self._filled[source]
        return row


def _pack_and_price(row: dict[str, str]) -> dict[str, str]:
    """The boxes of the pack, also where "14,50 EUR" or "50 ml" was typed into one of them."""
    price, currency, amount, unit = (row[name] for name in ("price", "currency", "pack_amount", "pack_unit"))
    try:
        money, beside = read_money(price) if price and not currency else (0.0, "")
    except EntryError:
        beside = ""  # the reader of the row tells what is wrong with it
    if beside:
        price, currency = all_digits(money), {"€": "EUR", "£": "GBP"}.get(beside, beside)
    packed = re.fullmatch(r"([\d.,]+)\s*([^\W\d]+)", amount)
    if packed and not unit:
        amount, unit = packed[1], packed[2]
    known = next((each for each in COMMON_UNITS if each.casefold() == unit.casefold()), unit)
    return {"price": price, "currency": currency, "pack_amount": amount, "pack_unit": known}


def _without_known(row: dict[str, str], known: dict[str, str]) -> dict[str, str]:
    """The row without the groups that stand in it as the kit has them."""
    for columns, _ in GROUPS.values():
        if all(row[column] in ("", known[column]) for column in columns):
            row |= dict.fromkeys(columns, "")
    return row
