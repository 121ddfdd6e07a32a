"""Turn a row of text into an Ingredient and back: one reader for the bundled table and a maker's own file."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from types import MappingProxyType
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, KitError
from kit.library.columns import (
    GROUPS,
    PURCHASE_COLUMNS,
    SOURCE_COLUMNS,
    read_composition,
    split_list,
    write_composition,
)
from kit.library.ingredient import (
    DENSITIES,
    PHASE_KINDS,
    Figure,
    Ingredient,
    PhaseKind,
    Purchase,
    Solubility,
    SolubleIn,
)
from kit.numbers import beyond, read_likely
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any


Bounds = tuple[float, float]


class RowReader:
    """Reads the cells of one row and gathers what is wrong with them, each with its column."""

    def __init__(self, row: Mapping[str, str], where: str, default_source: str, decimal_mark: str = "") -> None:
        self._filled = {column: text for column, cell in row.items() if cell and (text := cell.strip())}
        self.where = where
        self.default_source = default_source
        self.decimal_mark = decimal_mark
        self.faults: list[Fault] = []

    def text(self, column: str) -> str:
        """A cell without the spaces around it; empty where the column is missing."""
        return self._filled.get(column, "")

    def fault(self, column: str, problem: str) -> None:
        """Note one thing wrong with a cell."""
        self.faults.append(Fault(f"{self.where}, column {column}", problem))

    def source(self, column: str) -> str:
        """The source key of a cell, or the default of the file."""
        return self.text(column) or self.default_source

    def figure(
        self, column: str, source_column: str, *, low: float = 0, high: float = inf, likely: Bounds | None = None
    ) -> Figure | None:
        """A number between two bounds with its source, or None where the cell is empty.

        A number that can be read two ways is the one that is ``likely``, if only one is.
        """
        number = self._number(column, self.text(column), low, high, likely)
        return None if number is None else Figure(number, self.source(source_column))

    def figures(self, column: str, source_column: str, *, low: float, high: float) -> tuple[Figure, ...]:
        """Several numbers in one cell, separated by semicolons, with their source."""
        numbers = [self._number(column, part, low, high) for part in split_list(self.text(column))]
        return tuple(Figure(number, self.source(source_column)) for number in numbers if number is not None)

    def _number(
        self, column: str, text: str, low: float = 0, high: float = inf, likely: Bounds | None = None
    ) -> float | None:
        if not text:
            return None
        bare = text.removesuffix("%").rstrip() if "percent" in column else text
        try:
            number = read_likely(bare, *(likely or (low, high)), self.decimal_mark)
        except KitError as error:
            self.fault(column, str(error))
            return None
        if not low <= number <= high:
            self.fault(column, beyond(number, low, high))
            return None
        return number

    def solubility(self) -> Solubility:
        """In water, oil and alcohol, in the words of the cells."""

        def words(column: str) -> SolubleIn | None:
            text = self.text(column)
            return SolubleIn(text, self.source("solubility_source")) if text else None

        return Solubility(words("soluble_in_water"), words("soluble_in_oil"), words("soluble_in_alcohol"))

    def purchase(self) -> Purchase | None:
        """What was paid and what stands on the pack; None where every such cell is empty."""
        if self._filled.keys().isdisjoint(PURCHASE_COLUMNS):
            return None
        texts = {
            name: self.text(column)
            for name, column in (
                ("currency", "currency"),
                ("unit", "pack_unit"),
                ("lot", "lot"),
                ("bought_on", "bought_on"),
                ("keep_until", "keep_until"),
            )
        }
        if len(texts["currency"]) == 3 and texts["currency"].isalpha():
            texts["currency"] = texts["currency"].upper()  # a code; symbols and short names stay as they are written
        before = len(self.faults)
        price = self._number("price", self.text("price"))
        amount = self._number("pack_amount", self.text("pack_amount"))
        if len(self.faults) > before:
            return None
        try:
            return Purchase(price=price, amount=amount, **texts)
        except KitError as error:
            self.faults.append(Fault(f"{self.where}, purchase", str(error)))
            return None

    def phase(self) -> PhaseKind:
        """The layer; water where the cell is empty."""
        text = self.text("phase").casefold() or "water"
        for kind in PHASE_KINDS:
            if text == kind:
                return kind
        self.fault("phase", f"{self.text('phase')!r} is not a layer. Write water, oil or other.")
        return "other"

    def composition(self) -> dict[str, float]:
        """The parts of a blend; empty for a single substance."""
        try:
            return read_composition(self.text("composition"), self.decimal_mark)
        except EntryError as error:
            self.fault("composition", str(error))
            return {}


def read_ingredient(
    row: Mapping[str, str],
    where: str,
    *,
    default_source: str,
    decimal_mark: str = "",
    own: bool = False,
    base: Ingredient | None = None,
    known: Mapping[str, Any] = MappingProxyType({}),
) -> tuple[Ingredient | None, list[Fault]]:
    """The ingredient of one row, or every fault in it.

    Parameters
    ----------
    row
        Column name → text.
    where
        How a person finds the row, such as "row 4".
    default_source
        The source key of a figure whose source cell is empty.
    decimal_mark
        "." or "," where the file has shown which of the two is its decimal mark.
    own
        Whether the maker added it herself.
    base
        What the kit knows of the same ingredient; it stands where the row says nothing (see :data:`GROUPS`).
    known
        Attributes that come from elsewhere and stand in place of the row's.
    """
    cells = RowReader(row, where, default_source, decimal_mark)
    if not cells.text("inci"):
        cells.fault("inci", "the name is missing. Write the INCI name as printed on the bag, bottle or data sheet.")
    values = _values(cells)
    if cells.faults:
        return None, cells.faults
    if base is not None:
        values |= {"inci": base.inci} | {
            name: getattr(base, name)
            for columns, names in GROUPS.values()
            if not any(cells.text(column) for column in columns)
            for name in names
        }
    try:
        return Ingredient(**{**values, **known}, own=own), []
    except KitError as error:
        return None, [Fault(where, str(error))]


def _values(cells: RowReader) -> dict[str, Any]:
    """Every attribute of an ingredient as its row has it."""
    composition = cells.composition()
    low = cells.figure("usual_low_percent", "usual_source", high=100)
    high = cells.figure("usual_high_percent", "usual_source", high=100)
    if low is not None and high is not None and low.value > high.value:
        cells.fault("usual_low_percent", f"{low.value:g} % is above the usual high of {high.value:g} %. Swap the two.")
    return {
        "inci": cells.text("inci"),
        "plain_name": cells.text("plain_name"),
        "other_names": split_list(cells.text("other_names")),
        "cas": split_list(cells.text("cas")),
        "roles": split_list(cells.text("roles")),
        "charge": cells.text("charge"),
        "note": cells.text("note"),
        "phase": cells.phase(),
        "density": _density(cells),
        "usual_low": low,
        "usual_high": high,
        "molar_mass": cells.figure("molar_mass_g_mol", "molar_mass_source", low=1),
        "molecular_formula": cells.text("molecular_formula"),
        "viscosity": cells.figure("viscosity_mpa_s", "viscosity_source"),
        "log_p": cells.figure("log_p", "log_p_source", low=-20, high=40),
        "pka": cells.figures("pka", "pka_source", low=-20, high=40),
        "solubility": cells.solubility(),
        "composition": composition,
        "composition_source": cells.source("composition_source") if composition else "",
        "facts_source": cells.source("facts_source"),
        "purchase": cells.purchase(),
    }


def _density(cells: RowReader) -> Figure | None:
    """With the note on what it holds for, which the bundled table has."""
    found = cells.figure("density_g_ml", "density_source", likely=DENSITIES)
    note = cells.text("density_note")
    return replace(found, note=note) if found is not None and note else found


def write_row(ingredient: Ingredient, base: Ingredient | None = None) -> dict[str, str]:
    """The row of text from which :func:`read_ingredient` makes the same ingredient again.

    What is as in ``base``, which the kit has, is left empty: there an update of the kit counts.
    """
    row = _row(ingredient)
    if base is None:
        return row
    for columns, names in GROUPS.values():
        if all(getattr(ingredient, name) == getattr(base, name) for name in names):
            row |= dict.fromkeys((*columns, *_sources_of(columns)), "")
    return row


def _sources_of(columns: tuple[str, ...]) -> tuple[str, ...]:
    """The columns that say where these come from."""
    return tuple({SOURCE_COLUMNS[column] for column in columns if column in SOURCE_COLUMNS})


def _row(ingredient: Ingredient) -> dict[str, str]:
    soluble = (ingredient.solubility.water, ingredient.solubility.oil, ingredient.solubility.alcohol)
    pack = ingredient.purchase or Purchase()
    return {
        "inci": ingredient.inci,
        "plain_name": ingredient.plain_name,
        "other_names": "; ".join(ingredient.other_names),
        "cas": "; ".join(ingredient.cas),
        "roles": "; ".join(ingredient.roles),
        "phase": ingredient.phase,
        "charge": ingredient.charge,
        "density_g_ml": _number(ingredient.density),
        "density_source": _source(ingredient.density),
        "usual_low_percent": _number(ingredient.usual_low),
        "usual_high_percent": _number(ingredient.usual_high),
        "usual_source": _source(ingredient.usual_low, ingredient.usual_high),
        "molar_mass_g_mol": _number(ingredient.molar_mass),
        "molar_mass_source": _source(ingredient.molar_mass),
        "molecular_formula": ingredient.molecular_formula,
        "viscosity_mpa_s": _number(ingredient.viscosity),
        "viscosity_source": _source(ingredient.viscosity),
        "log_p": _number(ingredient.log_p),
        "log_p_source": _source(ingredient.log_p),
        "pka": "; ".join(_number(figure) for figure in ingredient.pka),
        "pka_source": _source(*ingredient.pka),
        "soluble_in_water": soluble[0].words if soluble[0] else "",
        "soluble_in_oil": soluble[1].words if soluble[1] else "",
        "soluble_in_alcohol": soluble[2].words if soluble[2] else "",
        "solubility_source": next((one.source for one in soluble if one), ""),
        "composition": write_composition(ingredient.composition),
        "composition_source": ingredient.composition_source,
        "facts_source": ingredient.facts_source,
        "price": "" if pack.price is None else all_digits(pack.price),
        "currency": pack.currency,
        "pack_amount": "" if pack.amount is None else all_digits(pack.amount),
        "pack_unit": pack.unit,
        "lot": pack.lot,
        "bought_on": pack.bought_on,
        "keep_until": pack.keep_until,
        "note": ingredient.note,
    }


def _number(figure: Figure | None) -> str:
    return "" if figure is None else all_digits(figure.value)


def _source(*figures: Figure | None) -> str:
    return next((figure.source for figure in figures if figure is not None), "")
