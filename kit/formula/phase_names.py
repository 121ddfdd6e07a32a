"""Which phase of one version is which of another, where they do not have the same name."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.formula.model import Formula, Phase

#: Two phases of the same kind are one where at least so much of their materials is the same, of all that they hold.
ENOUGH = 0.34


def renamed_phases(before: Formula, after: Formula) -> dict[str, str]:
    """Phases that have another name: old name → new name.

    Those whose name only the one or the other version has are matched: by kind and materials, then by materials alone
    where most are the same, then by kind and place, then where only one of a kind is left on each side.
    """
    old = _only(before, {phase.name for phase in after.phases})
    new = _only(after, {phase.name for phase in before.phases})
    found: dict[str, str] = {}

    def pair(a: Phase, b: Phase) -> None:
        found[a.name] = b.name
        old.pop(a.name)
        new.pop(b.name)

    scored = [(_likeness(a, b), a.kind == b.kind, a, b) for _, a in old.values() for _, b in new.values()]
    for likeness, same_kind, a, b in sorted(scored, key=lambda each: (each[0], each[1]), reverse=True):
        if a.name in old and b.name in new and likeness >= (ENOUGH if same_kind else 2 * ENOUGH):
            pair(a, b)
    for place, a in list(old.values()):
        there = next((b for at, b in new.values() if at == place and b.kind == a.kind), None)
        if there is not None:
            pair(a, there)
    for _, a in list(old.values()):
        mine = [each for _, each in old.values() if each.kind == a.kind]
        theirs = [each for _, each in new.values() if each.kind == a.kind]
        if len(mine) == len(theirs) == 1:
            pair(a, theirs[0])
    return {a: found[a] for a in (phase.name for phase in before.phases) if a in found}


def _only(formula: Formula, others: set[str]) -> dict[str, tuple[int, Phase]]:
    """The phases with a name that the other version does not have, each with its place; of one name the first."""
    found: dict[str, tuple[int, Phase]] = {}
    for place, phase in enumerate(formula.phases):
        if phase.name not in others:
            found.setdefault(phase.name, (place, phase))
    return found


def _likeness(a: Phase, b: Phase) -> float:
    """How many of the materials of two phases are in both, as a share of all that either holds. [0 to 1]"""
    mine, theirs = ({line.material.strip().casefold() for line in phase.lines} - {""} for phase in (a, b))
    return len(mine & theirs) / len(mine | theirs) if mine | theirs else 0.0
