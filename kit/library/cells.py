"""Read the cells of one row of an ingredient table, and gather what is wrong with them."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, KitError
from kit.library.columns import PURCHASE_COLUMNS, read_composition, split_list
from kit.library.ingredient import PHASE_KINDS, Figure, PhaseKind, Solubility, SolubleIn
from kit.library.purchase import Purchase
from kit.numbers import beyond, read_likely

if TYPE_CHECKING:
    from collections.abc import Mapping

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
        texts["currency"] = texts["currency"].upper()
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
