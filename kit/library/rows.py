"""Turn a row of text into an Ingredient and back: one reader for the bundled table and a maker's own file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, KitError
from kit.library.ingredient import PHASE_KINDS, Figure, Ingredient, PhaseKind
from kit.units import read_number

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Columns of a maker's own file, in order. The bundled table has two more: density_note, molecular_formula.
COLUMNS = (
    "inci",
    "plain_name",
    "other_names",
    "roles",
    "phase",
    "charge",
    "density_g_ml",
    "density_source",
    "usual_low_percent",
    "usual_high_percent",
    "usual_source",
    "molar_mass_g_mol",
    "molar_mass_source",
    "composition",
    "composition_source",
    "facts_source",
    "note",
)


def split_list(text: str) -> tuple[str, ...]:
    """The parts of a cell that holds a list: "solvent; humectant"."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def read_composition(text: str) -> dict[str, float]:
    """Read "Phenoxyethanol 90; Ethylhexylglycerin 10". [% w/w]

    Examples
    --------
    >>> read_composition("Undecane 65 %; Tridecane 35")
    {'Undecane': 65.0, 'Tridecane': 35.0}
    """
    parts: dict[str, float] = {}
    for part in split_list(text):
        name, _, number = part.removesuffix("%").rstrip().rpartition(" ")
        try:
            percent = read_number(number)
        except EntryError:
            name = ""
        if not name.strip():
            msg = f"{part!r} is not a name and a percent. Write it like 'Aqua 50; Sodium PCA 50'."
            raise EntryError(msg)
        if name.strip() in parts:
            msg = f"{name.strip()} is in the composition twice. Write it once, with its whole percent."
            raise EntryError(msg)
        parts[name.strip()] = percent
    return parts


def _write_composition(parts: Mapping[str, float]) -> str:
    return "; ".join(f"{name} {percent!r}" for name, percent in parts.items())


class RowReader:
    """Reads the cells of one row and gathers what is wrong with them, each with its column."""

    def __init__(self, row: Mapping[str, str], where: str, default_source: str) -> None:
        self.row = row
        self.where = where
        self.default_source = default_source
        self.faults: list[Fault] = []

    def text(self, column: str) -> str:
        """A cell without the spaces around it; empty where the column is missing."""
        return (self.row.get(column) or "").strip()

    def fault(self, column: str, problem: str) -> None:
        """Note one thing wrong with a cell."""
        self.faults.append(Fault(f"{self.where}, column {column}", problem))

    def source(self, column: str) -> str:
        """The source key of a cell, or the default of the file."""
        return self.text(column) or self.default_source

    def figure(self, column: str, source_column: str, *, low: float = 0, high: float = float("inf")) -> Figure | None:
        """A number between two bounds with its source, or None where the cell is empty."""
        text = self.text(column)
        if not text:
            return None
        try:
            number = read_number(text.removesuffix("%").rstrip())
        except EntryError as error:
            self.fault(column, str(error))
            return None
        if not low <= number <= high:
            top = f" and not above {high:g}" if high < float("inf") else ""
            self.fault(column, f"{number:g} is not possible here: it must not be below {low:g}{top}.")
            return None
        return Figure(number, self.source(source_column))

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
            return read_composition(self.text("composition"))
        except EntryError as error:
            self.fault("composition", str(error))
            return {}


def read_ingredient(
    row: Mapping[str, str], where: str, *, default_source: str, own: bool = False
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
    own
        Whether the maker added it herself.
    """
    cells = RowReader(row, where, default_source)
    if not cells.text("inci"):
        cells.fault("inci", "the name is missing. Write the INCI name as printed on the bag, bottle or data sheet.")
    composition = cells.composition()
    low = cells.figure("usual_low_percent", "usual_source", high=100)
    high = cells.figure("usual_high_percent", "usual_source", high=100)
    if low is not None and high is not None and low.value > high.value:
        cells.fault("usual_low_percent", f"{low.value:g} % is above the usual high of {high.value:g} %. Swap the two.")
    values = {
        "inci": cells.text("inci"),
        "plain_name": cells.text("plain_name"),
        "other_names": split_list(cells.text("other_names")),
        "roles": split_list(cells.text("roles")),
        "charge": cells.text("charge"),
        "note": _joined_note(cells),
    }
    phase = cells.phase()
    density = cells.figure("density_g_ml", "density_source")
    molar_mass = cells.figure("molar_mass_g_mol", "molar_mass_source", low=1)
    if cells.faults:
        return None, cells.faults
    try:
        ingredient = Ingredient(
            **values,  # type: ignore[arg-type]
            phase=phase,
            density=density,
            usual_low=low,
            usual_high=high,
            molar_mass=molar_mass,
            composition=composition,
            composition_source=cells.source("composition_source") if composition else "",
            facts_source=cells.source("facts_source"),
            own=own,
        )
    except KitError as error:
        return None, [Fault(where, str(error))]
    return ingredient, []


def _joined_note(cells: RowReader) -> str:
    density_note, note = cells.text("density_note"), cells.text("note")
    return " ".join(part for part in (note, f"Density: {density_note}." if density_note else "") if part)


def write_row(ingredient: Ingredient) -> dict[str, str]:
    """The row of text from which :func:`read_ingredient` makes the same ingredient again."""

    def number(figure: Figure | None) -> str:
        return "" if figure is None else repr(figure.value)

    def source(*figures: Figure | None) -> str:
        return next((figure.source for figure in figures if figure is not None), "")

    return {
        "inci": ingredient.inci,
        "plain_name": ingredient.plain_name,
        "other_names": "; ".join(ingredient.other_names),
        "roles": "; ".join(ingredient.roles),
        "phase": ingredient.phase,
        "charge": ingredient.charge,
        "density_g_ml": number(ingredient.density),
        "density_source": source(ingredient.density),
        "usual_low_percent": number(ingredient.usual_low),
        "usual_high_percent": number(ingredient.usual_high),
        "usual_source": source(ingredient.usual_low, ingredient.usual_high),
        "molar_mass_g_mol": number(ingredient.molar_mass),
        "molar_mass_source": source(ingredient.molar_mass),
        "composition": _write_composition(ingredient.composition),
        "composition_source": ingredient.composition_source,
        "facts_source": ingredient.facts_source,
        "note": ingredient.note,
    }
