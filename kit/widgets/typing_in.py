"""From what a hand did in the formula table to the formula that follows."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING, Literal

from kit.formula import editing
from kit.formula.amounts import read_amount
from kit.formula.model import HOLDS, Formula, Line, Phase
from kit.formula.paste import lines_of, read_column, read_table_text
from kit.library.ingredient import PHASE_KINDS

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.formula.own_table import OwnTable
    from kit.library.ingredient import PhaseKind
    from kit.widgets.formula_table.table import Edit


def apply_edit(formula: Formula, edit: Edit) -> Formula:
    """The formula after one edit; an edit of a place that is not there leaves it as it is."""
    if not _is_there(formula, edit):
        return formula
    return _DO[edit["kind"]](formula, edit)


def _is_there(formula: Formula, edit: Edit) -> bool:
    phases = len(formula.phases)
    if "phase" in edit and not 0 <= edit["phase"] < phases:
        return False
    if "to_phase" in edit and not 0 <= edit["to_phase"] < phases:
        return False
    lines = len(formula.phases[edit["phase"]].lines) if "phase" in edit else phases
    if "after" in edit and not -1 <= edit["after"] < lines:
        return False
    if edit["kind"] == "paste":  # an empty phase has no line yet, and rows can be pasted into it
        lines = max(lines, 1)
    return "line" not in edit or 0 <= edit["line"] < lines


def _set_entry(formula: Formula, edit: Edit) -> Formula:
    return _with_entry(formula, edit["phase"], edit["line"], edit["text"])


def _with_entry(formula: Formula, phase: int, at: int, text: str) -> Formula:
    """A line into which q.s. is written fills its layer from then on."""
    line = formula.phases[phase].lines[at]
    fills = read_amount(text).kind == "rest" and read_amount(line.entry).kind != "rest"
    return editing.set_line(formula, phase, at, entry=text, hold="fill" if fills else line.hold)


def _set_hold(formula: Formula, edit: Edit) -> Formula:
    if edit["value"] not in HOLDS:
        return formula
    return editing.set_line(formula, edit["phase"], edit["line"], hold=edit["value"])


def _set_phase_kind(formula: Formula, edit: Edit) -> Formula:
    if edit["value"] not in PHASE_KINDS:
        return formula
    return editing.set_phase(formula, edit["phase"], kind=edit["value"])


def _add_phase(formula: Formula, edit: Edit) -> Formula:
    kinds = [phase.kind for phase in formula.phases]
    kind: PhaseKind = next((kind for kind in PHASE_KINDS if kind not in kinds), "other")
    name = {"water": "Water layer", "oil": "Oil layer"}.get(kind, f"Phase {len(kinds) + 1}")
    return editing.add_phase(formula, edit["after"] + 1, Phase(name, kind, (Line(),)))


def is_table_beside_lines(formula: Formula, edit: Edit) -> OwnTable | None:
    """The pasted table, where it has several rows of names and amounts and the formula has lines already."""
    if edit["kind"] != "paste" or not _is_there(formula, edit) or read_column(edit["text"]) is not None:
        return None
    table = read_table_text(edit["text"])
    filled = [row for row in table.rows if row.material and row.entry]
    has_lines = any(not line.is_blank for *_, line, _ in formula.each_line())
    return table if has_lines and len(filled) > 1 else None


def paste_notes(formula: Formula, edit: Edit) -> list[str]:
    """What is to be said of how a pasted table was read."""
    if edit["kind"] != "paste" or (read_column(edit["text"]) is not None and edit["field"] in ("entry", "amount")):
        return []
    table = read_table_text(edit["text"])
    layers = table.placed(formula.materials)[1] if table.names_phases else []
    return [note.sentence for note in (*table.notes, *layers)]


def _paste(formula: Formula, edit: Edit) -> Formula:
    """Rows where they were pasted; ``how`` says whether they "replace" all lines or "add" layers, once that was asked.

    Into a formula without a line, a table that names its phases comes as it is.
    """
    column = read_column(edit["text"])
    if column is not None and edit["field"] in ("entry", "amount"):
        return _paste_column(formula, edit, column, "entry")
    table = read_table_text(edit["text"])
    if not table.rows:
        return _paste_column(formula, edit, column or [], "material")
    how = edit.get("how", "")
    is_empty = not any(line.entry or line.material or line.note for phase in formula.phases for line in phase.lines)
    if how == "replace" or (is_empty and table.names_phases):
        return _replaced(formula, table)
    if how == "add" and table.names_phases:
        return _added(formula, table)
    return _put_in(formula, edit, table)


def _replaced(formula: Formula, table: OwnTable) -> Formula:
    """The formula with the rows of a table in place of all its lines; a layer of the same name keeps its colour."""
    colours = {phase.name: phase.colour for phase in formula.phases}
    phases = [replace(phase, colour=colours.get(phase.name, "")) for phase in table.phases(formula.materials)]
    return replace(formula, phases=tuple(phases), ratio=None, written_for=table.written_for or formula.written_for)


def _added(formula: Formula, table: OwnTable) -> Formula:
    """The formula with the phases of a table behind its own, each under a name that is free."""
    for phase in table.phases(formula.materials):
        names = {each.name for each in formula.phases}
        free = (f"{phase.name} ({n})" for n in count(2))
        name = phase.name if phase.name not in names else next(name for name in free if name not in names)
        formula = editing.add_phase(formula, len(formula.phases), replace(phase, name=name))
    return formula


def _put_in(formula: Formula, edit: Edit, table: OwnTable) -> Formula:
    """The rows behind the line on which they were pasted, or in the phases that they name."""
    here = formula.phases[edit["phase"]]
    named = {phase.name: phase for phase in table.phases(formula.materials)}
    names = list(dict.fromkeys(row.phase for row in table.rows if row.phase))
    own = [row for row in table.rows if not row.phase or row.phase == here.name or (len(names) == 1 and not here.name)]
    at = edit["line"]
    if at < len(here.lines) and here.lines[at].is_blank and not here.lines[at].note:
        formula = editing.remove_line(formula, edit["phase"], at)
    elif at < len(here.lines):
        at += 1
    formula = editing.add_lines(formula, edit["phase"], at, lines_of(own))
    for name in names:
        more = lines_of([row for row in table.rows if row.phase == name and row not in own])
        if not more:
            continue
        place = next((p for p, phase in enumerate(formula.phases) if phase.name.casefold() == name.casefold()), None)
        if place is not None:
            formula = editing.add_lines(formula, place, len(formula.phases[place].lines), more)
        else:
            formula = editing.add_phase(formula, len(formula.phases), Phase(name, named[name].kind, more))
    return formula


def _paste_column(formula: Formula, edit: Edit, cells: list[str], field: Literal["material", "entry"]) -> Formula:
    """One column runs down from where it was pasted; new lines are added where the phase ends."""
    phase = edit["phase"]
    for n, cell in enumerate(cells, start=edit["line"]):
        if n >= len(formula.phases[phase].lines):
            formula = editing.add_lines(formula, phase, n, [Line()])
        if field == "material":
            formula = editing.set_line(formula, phase, n, material=cell)
        else:
            formula = _with_entry(formula, phase, n, cell)
    return formula


_DO: dict[str, Callable[[Formula, Edit], Formula]] = {
    "set_material": lambda f, e: editing.set_line(f, e["phase"], e["line"], material=e["text"].strip()),
    "set_entry": _set_entry,
    "set_hold": _set_hold,
    "set_phase_name": lambda f, e: editing.set_phase(f, e["phase"], name=e["text"].strip() or "Phase"),
    "set_phase_kind": _set_phase_kind,
    "add_line": lambda f, e: editing.add_lines(f, e["phase"], e["after"] + 1, [Line()]),
    "remove_line": lambda f, e: editing.remove_line(f, e["phase"], e["line"]),
    "move_line": lambda f, e: editing.move_line(f, e["phase"], e["line"], e["to_phase"], e["to_line"]),
    "add_phase": _add_phase,
    "remove_phase": lambda f, e: editing.remove_phase(f, e["phase"]),
    "move_phase": lambda f, e: editing.move_phase(f, e["phase"], e["to"]),
    "paste": _paste,
}
