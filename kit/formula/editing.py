"""Every change a hand can make to a formula. Each gives a new formula and leaves the old one as it was."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from kit.library.ingredient import Material


def set_line(formula: Formula, phase: int, line: int, **changes: Any) -> Formula:
    """Change fields of one line: ``material``, ``entry``, ``hold`` or ``note``."""
    lines = list(_phase(formula, phase).lines)
    place = _index(line, lines, "line")
    lines[place] = replace(lines[place], **changes)
    return _with_lines(formula, phase, lines)


def set_phase(formula: Formula, phase: int, **changes: Any) -> Formula:
    """Change the ``name`` or ``kind`` of one phase."""
    phases = list(formula.phases)
    phases[phase] = replace(_phase(formula, phase), **changes)
    return replace(formula, phases=tuple(phases))


def add_lines(formula: Formula, phase: int, at: int, lines: Sequence[Line]) -> Formula:
    """Put lines into a phase, the first of them at position ``at``."""
    old = _phase(formula, phase).lines
    return _with_lines(formula, phase, [*old[:at], *lines, *old[at:]])


def remove_line(formula: Formula, phase: int, line: int) -> Formula:
    """Take one line out."""
    lines = list(_phase(formula, phase).lines)
    del lines[_index(line, lines, "line")]
    return _with_lines(formula, phase, lines)


def move_line(formula: Formula, phase: int, line: int, to_phase: int, to_line: int) -> Formula:
    """Move one line so that it stands at ``to_line`` of ``to_phase`` afterwards."""
    moved = _phase(formula, phase).lines[_index(line, formula.phases[phase].lines, "line")]
    _phase(formula, to_phase)
    shorter = remove_line(formula, phase, line)
    place = max(0, min(to_line, len(shorter.phases[to_phase].lines)))
    return add_lines(shorter, to_phase, place, [moved])


def add_phase(formula: Formula, at: int, phase: Phase | None = None) -> Formula:
    """Put a phase at position ``at``: an empty one with one empty line, unless one is given."""
    new = phase or Phase(name=f"Phase {len(formula.phases) + 1}", kind="other", lines=(Line(),))
    phases = [*formula.phases[:at], new, *formula.phases[at:]]
    return replace(formula, phases=tuple(phases))


def remove_phase(formula: Formula, phase: int) -> Formula:
    """Take one phase out, with its lines."""
    phases = list(formula.phases)
    del phases[_index(phase, phases, "phase")]
    return replace(formula, phases=tuple(phases))


def move_phase(formula: Formula, phase: int, to: int) -> Formula:
    """Move one phase so that it stands at position ``to`` afterwards."""
    phases = list(formula.phases)
    moved = phases.pop(_index(phase, phases, "phase"))
    phases.insert(max(0, min(to, len(phases))), moved)
    return replace(formula, phases=tuple(phases))


def with_material(formula: Formula, material: Material) -> Formula:
    """Let a stock or an own material travel with the formula, in place of one of the same name."""
    kept = tuple(old for old in formula.materials if old.name.casefold() != material.name.casefold())
    return replace(formula, materials=(*kept, material))


def keep_version(formula: Formula, start: Formula, note: str = "") -> Formula:
    """Make ``formula`` the next version after ``start``, which joins its earlier versions."""
    past = replace(start, earlier=(), variants=())
    number = max([start.version, *(old.version for old in start.earlier)]) + 1
    return replace(formula, version=number, change_note=note, earlier=(*start.earlier, past))


def _phase(formula: Formula, phase: int) -> Phase:
    return formula.phases[_index(phase, formula.phases, "phase")]


def _with_lines(formula: Formula, phase: int, lines: Sequence[Line]) -> Formula:
    return set_phase(formula, phase, lines=tuple(lines))


def _index(number: int, items: Sequence[object], what: str) -> int:
    if not 0 <= number < len(items):
        msg = f"There is no {what} number {number + 1}; the formula has {len(items)} here."
        raise RangeError(msg)
    return number
