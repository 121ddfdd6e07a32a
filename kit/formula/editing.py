"""Every change a hand can make to a formula. Each gives a new formula and leaves the old one as it was."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.formula.moved import NOTHING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

    from kit.library.ingredient import Material


def settled(formula: Formula) -> Formula:
    """The same percents without a ratio beside them: where it was moved, the moved amounts are the typed ones now."""
    if formula.ratio is None:
        return formula
    if formula.resolution.not_moved:
        return replace(formula, ratio=None)
    pairs = zip(formula.percents, formula.typed.percents, strict=True)
    return formula.with_percents(tuple(tuple(map(_without_noise, now, typed)) for now, typed in pairs))


def _without_noise(percent: float | None, typed: float | None) -> float:
    """A percent that was moved to 14 digits, 8.4 in place of 8.399999999999999; one that was not, as it is."""
    return percent or 0.0 if percent == typed or percent is None else float(f"{percent:.14g}")


def edited(formula: Formula, do: Callable[[Formula], Formula]) -> Formula:
    """Do something to a formula so that every number means what stands on the screen, also while the ratio is moved.

    The typed amounts of the other lines stay, and the ratio beside them, wherever that gives the same percents;
    where it does not (an amount is typed into a line that moves with its layer), the formula is settled first.
    """
    if formula.ratio is None or formula.resolution.not_moved:
        return do(replace(formula, ratio=None))
    moved, plain = do(formula), do(settled(formula))
    return moved if _alike(moved, plain) else plain


def _alike(moved: Formula, plain: Formula) -> bool:
    pairs = zip(moved.percents, plain.percents, strict=True)
    return not moved.resolution.not_moved and all(
        a is b if a is None or b is None else abs(a - b) <= NOTHING
        for row, other in pairs
        for a, b in zip(row, other, strict=True)
    )


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


def _phase(formula: Formula, phase: int) -> Phase:
    return formula.phases[_index(phase, formula.phases, "phase")]


def _with_lines(formula: Formula, phase: int, lines: Sequence[Line]) -> Formula:
    return set_phase(formula, phase, lines=tuple(lines))


def _index(number: int, items: Sequence[object], what: str) -> int:
    if not 0 <= number < len(items):
        msg = f"There is no {what} number {number + 1}; the formula has {len(items)} here."
        raise RangeError(msg)
    return number
