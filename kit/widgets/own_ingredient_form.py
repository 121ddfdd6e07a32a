"""The form for an ingredient of the maker's own: its figures, its composition, and the pack she bought."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, Fault, FileFaultsError
from kit.library.columns import COLUMNS, GROUPS, SOURCE_COLUMNS
from kit.library.ingredient import PHASE_KINDS
from kit.library.rows import read_ingredient, write_row
from kit.library.sources import own_source
from kit.money import read_money
from kit.rounding import all_digits
from kit.units import COMMON_UNITS
from kit.visible_text import plain_letters
from kit.widgets.panel import controls

if TYPE_CHECKING:
    from kit.library.ingredient import Ingredient
    from kit.library.library import Library

#: Column → (words before the box, words inside it while it is empty).
BOXES = {
    "inci": ("INCI name", "as printed on the pack"),
    "plain_name": ("Plain name", ""),
    "other_names": ("Other names", "separated by semicolons"),
    "roles": ("Roles", "emollient; scent"),
    "phase": ("Belongs in", ""),
    "charge": ("Charge", "nonionic, anionic, cationic …"),
    "density_g_ml": ("Density, g/mL", ""),
    "viscosity_mpa_s": ("Viscosity, mPa·s", ""),
    "usual_low_percent": ("Usual range from, %", ""),
    "usual_high_percent": ("to, %", ""),
    "molar_mass_g_mol": ("Molar mass, g/mol", ""),
    "log_p": ("log P", ""),
    "pka": ("pKa", "3.13; 4.76"),
    "soluble_in_water": ("In water", "freely soluble"),
    "soluble_in_oil": ("In oil", "insoluble"),
    "soluble_in_alcohol": ("In alcohol", ""),
    "composition": ("Made of", "Squalane 70; Tocopherol 30"),
    "note": ("Note", ""),
    "price": ("Price of the pack", "12.50"),
    "currency": ("Currency", "EUR"),
    "pack_amount": ("The pack holds", "250"),
    "pack_unit": ("Unit", "g, kg, mL or L"),
    "lot": ("Lot", "as printed on the pack"),
    "bought_on": ("Bought on", "2026-05-31"),
    "keep_until": ("Keep until", "2028-05-31"),
}
ROWS = (
    ("What it is", ("inci", "plain_name", "other_names", "roles", "phase", "charge")),
    ("Its figures", ("density_g_ml", "viscosity_mpa_s", "molar_mass_g_mol")),
    ("", ("usual_low_percent", "usual_high_percent", "log_p", "pka")),
    ("", ("soluble_in_water", "soluble_in_oil", "soluble_in_alcohol")),
    ("A bought blend, and a note", ("composition", "note")),
    ("Your pack", ("price", "currency", "pack_amount", "pack_unit")),
    ("", ("lot", "bought_on", "keep_until")),
)


class OwnIngredientBoxes(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Boxes for every column of the maker's own file, filled from an ingredient and read back as one."""

    def __init__(self) -> None:
        style = {"style": {"description_width": "initial"}}
        self.boxes: dict[str, ipw.Text | ipw.Dropdown] = {
            column: ipw.Dropdown(options=list(PHASE_KINDS), description=words, **style)
            if column == "phase"
            else ipw.Text(description=words, placeholder=inside, **style)
            for column, (words, inside) in BOXES.items()
        }
        self.origin = ipw.Text(description="Where these figures are from", placeholder="data sheet of March", **style)
        for wide in ("composition", "note", "other_names"):
            self.boxes[wide].layout.width = "420px"
        for short in ("usual_high_percent", "currency", "log_p"):
            self.boxes[short].layout.width = "150px"
        for paired in ("price", "pack_amount", "pack_unit", "usual_low_percent"):
            self.boxes[paired].layout.width = "210px"
        self.origin.layout.width = "480px"
        self._filled: dict[str, str] = {}
        rows: list[ipw.Widget] = []
        for words, columns in ROWS:
            rows += [ipw.HTML(f'<div class="sw-subtitle">{words}</div>')] if words else []
            rows.append(controls(*(self.boxes[column] for column in columns)))
        super().__init__([*rows, controls(self.origin)])

    def fill(self, ingredient: Ingredient) -> None:
        """Show an ingredient as it is now, to be changed."""
        self._filled = write_row(ingredient)
        for column, box in self.boxes.items():
            box.value = self._filled[column]

    def empty(self) -> None:
        """Empty every box."""
        self._filled = {}
        for column, box in self.boxes.items():
            box.value = "water" if column == "phase" else ""
        self.origin.value = ""

    def read(self, library: Library) -> Ingredient:
        """The ingredient of the boxes.

        What was left as the kit has it stays the kit's, with its source; what was changed counts as the maker's own.

        Raises
        ------
        FileFaultsError
            Every fault in the boxes at once.
        """
        key = plain_letters(self.boxes["inci"].value)
        base = next((each for each in library.supplied if plain_letters(each.inci) == key), None)
        row = self._typed() if base is None else _without_known(self._typed(), write_row(base))
        made, faults = read_ingredient(
            row, "the form", default_source=own_source(self.origin.value), own=True, base=base
        )
        if made is None:
            name = "The form"
            raise FileFaultsError(name, [Fault(_box_of(fault.where), fault.problem) for fault in faults])
        return made

    def _typed(self) -> dict[str, str]:
        """The boxes as a row; a figure that was not changed keeps its source."""
        row = dict.fromkeys(COLUMNS, "") | {column: box.value.strip() for column, box in self.boxes.items()}
        row |= _pack_and_price(row)
        row["molecular_formula"] = self._filled.get("molecular_formula", "")
        for source in set(SOURCE_COLUMNS.values()):
            columns = [column for column, its in SOURCE_COLUMNS.items() if its == source]
            if self._filled and all(row[column] == self._filled[column] for column in columns):
                row[source] = self._filled[source]
        return row


def _box_of(where: str) -> str:
    """The words beside the box that a fault is in: "Density, g/mL" for "the form, column density_g_ml"."""
    column = where.rpartition("column ")[2]
    if where.endswith(", purchase"):
        return "Your pack"
    return "Usual range to, %" if column == "usual_high_percent" else BOXES.get(column, ("The form",))[0]


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
