"""What each line of a formula becomes when its layers change size: the base of every ratio.

A layer of size F holds lines that are affine in F, x = fixed + per layer x F: `level` lines keep their percent
of the whole, `share` lines their share of the layer, the `fill` line takes the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import require_complete

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.model import Formula, Line
    from kit.library.ingredient import PhaseKind

#: Nothing smaller than this is told from nothing. [% w/w]
NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class LayerMix:
    """Every line of a formula at every size of its layers.

    Attributes
    ----------
    formula
        Where it starts from.
    sizes
        Each layer as it is now: kind → size. [% w/w of the whole]
    kinds
        The layer of each line, phases in order.
    fixed, per_layer
        One per line: percent = fixed + per layer x size of its layer. [% w/w, -]
    fills
        Which lines take the rest of their layer, and so could fall below zero.
    """

    formula: Formula
    sizes: Mapping[PhaseKind, float]
    kinds: tuple[PhaseKind, ...]
    fixed: tuple[float, ...]
    per_layer: tuple[float, ...]
    fills: tuple[bool, ...]

    @classmethod
    def of(cls, formula: Formula, moving: Sequence[PhaseKind]) -> LayerMix:
        """The mix of a complete formula of which the layers ``moving`` may change size; the others stay.

        Raises
        ------
        RangeError
            The formula is not complete, lacks one of these layers, or has one in which no line may change.
        """
        percents = [x for phase in require_complete(formula, "moved to another ratio") for x in phase]
        lines = [line for _, _, line, _ in formula.each_line()]
        kinds = tuple(formula.phases[p].kind for p, *_ in formula.each_line())
        sizes = {
            kind: sum(x for x, k in zip(percents, kinds, strict=True) if k == kind) for kind in dict.fromkeys(kinds)
        }
        fixed, per_layer, fills = list(percents), [0.0] * len(percents), [False] * len(percents)
        for kind in moving:
            if sizes.get(kind, 0.0) <= 0:
                msg = (
                    f"{formula.title} has no {kind} layer, so there is no ratio to move. "
                    f"Set one phase to {kind} and give its lines amounts."
                )
                raise RangeError(msg)
            members = [n for n, k in enumerate(kinds) if k == kind and not lines[n].is_blank]
            held = _affine_in_layer(kind, [lines[n] for n in members], [percents[n] for n in members])
            for n, (constant, slope, takes_rest) in zip(members, held, strict=True):
                fixed[n], per_layer[n], fills[n] = constant, slope, takes_rest
        return cls(formula, sizes, kinds, tuple(fixed), tuple(per_layer), tuple(fills))

    def percents(self, sizes: Mapping[PhaseKind, float]) -> list[float]:
        """All lines when the layers have these sizes. [% w/w]"""
        return [
            constant + slope * sizes.get(kind, 0.0)
            for constant, slope, kind in zip(self.fixed, self.per_layer, self.kinds, strict=True)
        ]

    def at(self, sizes: Mapping[PhaseKind, float]) -> Formula:
        """The formula when its layers have these sizes. [% w/w of the whole]

        Raises
        ------
        RangeError
            A layer below 0 %, or layers that do not add to 100 %.
        """
        total = sum(sizes.values())
        if abs(total - 100) > NOTHING or min(sizes.values()) < -NOTHING:
            told = ", ".join(f"{kind} {size:.4g} %" for kind, size in sizes.items())
            msg = f"The layers must be 0 % or more each and 100 % together, not {told}."
            raise RangeError(msg)
        return written(self.formula, self.percents(sizes))


def written(formula: Formula, percents: Sequence[float]) -> Formula:
    """The formula with these percents, phases in order; what is next to nothing becomes nothing. [% w/w]"""
    flat = iter([0.0 if abs(x) < NOTHING else x for x in percents])
    return formula.with_percents(tuple(tuple(next(flat) for _ in phase.lines) for phase in formula.phases))


def _affine_in_layer(kind: str, lines: Sequence[Line], percents: Sequence[float]) -> list[tuple[float, float, bool]]:
    """For each line of one layer of size F: (fixed, per F, takes the rest), so that x = fixed + per F x F."""
    total = sum(percents)
    filler = next((n for n, line in enumerate(lines) if line.hold == "fill"), None)
    levels = sum(x for line, x in zip(lines, percents, strict=True) if line.hold == "level")
    shares = [n for n, line in enumerate(lines) if line.hold != "level" and n != filler]
    if filler is not None:
        moved = {n: (0.0, percents[n] / total, False) for n in shares}
        moved[filler] = (-levels, 1.0 - sum(percents[n] for n in shares) / total, True)
    else:
        sharing = sum(percents[n] for n in shares)
        if sharing <= 0:
            msg = (
                f"Every line of the {kind} layer keeps its level, so the layer cannot grow or shrink. "
                "Let one of its lines fill the layer."
            )
            raise RangeError(msg)
        moved = {n: (-levels * percents[n] / sharing, percents[n] / sharing, True) for n in shares}
    return [moved.get(n, (percents[n], 0.0, False)) for n in range(len(lines))]
