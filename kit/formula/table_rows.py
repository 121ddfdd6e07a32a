"""A row of a maker's own table, and how rows come together in phases and layers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.findings import Finding
from kit.formula.amounts import read_amount
from kit.formula.layer_names import kind_named, kind_of_most
from kit.formula.model import HOLDS, Line
from kit.library.ingredient import PHASE_KINDS
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.formula.model import Hold
    from kit.library.ingredient import Material, PhaseKind

#: Where the rows name no phase, this one holds them.
ONLY_PHASE = "Phase 1"


@dataclass(frozen=True, slots=True)
class PastedRow:
    """One row as it was understood; ``phase`` is empty where the rows name none.

    Attributes
    ----------
    layer, hold, note
        Where the table has such columns.
    more
        What stands in columns that the kit does not read: (heading, cell).
    number
        The row as a spreadsheet counts it.
    """

    material: str
    entry: str
    phase: str = ""
    layer: str = ""
    hold: str = ""
    note: str = ""
    more: tuple[tuple[str, str], ...] = ()
    number: int = 0

    def line(self) -> Line:
        """The row as a line; one with q.s. fills its layer where nothing else is said."""
        usual: Hold = "fill" if read_amount(self.entry).kind == "rest" else "share"
        hold = self.hold if self.hold in HOLDS else usual
        return Line(self.material, self.entry, hold, self.note, self.more)


@dataclass(slots=True)
class Placed:
    """Rows of one phase; ``layer`` is as the table says it where it does, even where that is no layer."""

    name: str
    layer: str
    rows: list[PastedRow]


def clean(cell: str) -> str:
    """A cell with single blanks: spreadsheets put non-breaking ones before units and into names."""
    return " ".join(cell.split())


def placed(rows: Sequence[PastedRow], own: Iterable[Material] = ()) -> tuple[list[Placed], list[Finding]]:
    """The rows by phase and layer, and what is to be said where no name told the layer."""
    found: dict[tuple[str, str], Placed] = {}
    apart: dict[str, None] = {}
    before: Placed | None = None
    for row in rows:
        name = row.phase or ONLY_PHASE
        same = [layer for other, layer in found if other == name]
        layer = _layer_word(row.layer) or (same[-1] if same else kind_named(name) or "")
        here = found.setdefault((name, layer), Placed(name, layer, []))
        if here.rows and here is not before:
            apart[name] = None
        here.rows.append(row)
        before = here
    parts = list(found.values())
    told: list[Finding] = []
    if apart:
        sentence = (
            f"The lines of {listed(map(repr, apart))} stand apart in the table; those of one name were put together."
        )
        told.append(Finding("note", sentence))
    if all(each.layer for each in parts):
        return parts, told
    most = kind_of_most([[row.line() for row in each.rows] for each in parts], own)
    for each, said in zip(parts, most, strict=True):
        if each.layer:
            continue
        each.layer = said.kind or "water"
        if each.name == ONLY_PHASE and each.layer == "water" and not said.others:
            continue
        why = (
            f"most of what is known of it by mass belongs there ({', '.join(said.materials)})"
            if said.materials
            else "nothing is known of its materials either, and water is the usual one"
        )
        sentence = f"No name says the layer of {each.name}; it was put into the {each.layer} layer, because {why}."
        told.append(Finding("note", sentence))
    return parts, told


def _layer_word(cell: str) -> str:
    """A layer as the kit names it, where the cell says one in whatever words; else the cell."""
    word = clean(cell).casefold()
    return word if word in PHASE_KINDS else kind_named(cell) or cell


def kind_of(layer: str) -> PhaseKind:
    """The layer that a cell says, in whatever words; water where it says none."""
    return layer if layer in PHASE_KINDS else kind_named(layer) or "water"
