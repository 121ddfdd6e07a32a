"""Move the ratio of the oil layer to the water layer: what each line becomes.

Each line is affine in the oil layer's share r of the whole, x(r) = base + slope x r, so that two numbers a
line hold its whole story and every picture across all ratios needs only end points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import require_complete

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula, Line


@dataclass(frozen=True, slots=True)
class RatioPath:
    """Every line of a formula at every ratio.

    Attributes
    ----------
    formula
        Where the path starts from.
    start
        The oil layer now. [% w/w of the whole]
    most
        The oil layer when there is no water layer left. [% w/w of the whole]
    base, slope
        One per line, phases in order: percent = base + slope x oil.
    fills
        Which lines take the rest of their layer, and so could fall below zero.
    """

    formula: Formula
    start: float
    most: float
    base: tuple[float, ...]
    slope: tuple[float, ...]
    fills: tuple[bool, ...]

    @classmethod
    def of(cls, formula: Formula) -> RatioPath:
        """The path of a complete formula that has an oil layer and a water layer.

        Raises
        ------
        RangeError
            The formula is not complete, lacks one of the two layers, or has a layer in which no line may change.
        """
        percents = [x for phase in require_complete(formula, "moved to another ratio") for x in phase]
        lines = [(formula.phases[p].kind, line) for p, _, line, _ in formula.each_line()]
        totals = {
            kind: sum(x for x, (k, _) in zip(percents, lines, strict=True) if k == kind) for kind in ("water", "oil")
        }
        for kind, total in totals.items():
            if total <= 0:
                msg = (
                    f"{formula.title} has no {kind} layer, so there is no ratio to move. "
                    f"Set one phase to {kind} and give its lines amounts."
                )
                raise RangeError(msg)
        base, slope, fills = list(percents), [0.0] * len(percents), [False] * len(percents)
        most = totals["oil"] + totals["water"]
        for kind, constant, per_oil in (("oil", 0.0, 1.0), ("water", most, -1.0)):
            members = [n for n, (k, line) in enumerate(lines) if k == kind and not line.is_blank]
            held = _affine_in_layer(kind, [lines[n][1] for n in members], [percents[n] for n in members])
            for n, (fixed, per_layer, takes_rest) in zip(members, held, strict=True):
                base[n], slope[n], fills[n] = fixed + per_layer * constant, per_layer * per_oil, takes_rest
        return cls(formula, totals["oil"], most, tuple(base), tuple(slope), tuple(fills))

    def percents(self, oil: float) -> list[float]:
        """All lines when the oil layer is ``oil`` of the whole. [% w/w]"""
        return [b + s * oil for b, s in zip(self.base, self.slope, strict=True)]

    def at(self, oil: float) -> Formula:
        """The formula at another ratio.

        Raises
        ------
        RangeError
            ``oil`` is below 0 or leaves less than no water layer.
        """
        if not 0 <= oil <= self.most:
            msg = f"The oil layer can be 0 to {self.most:.4g} % of this formula, not {oil:.4g} %."
            raise RangeError(msg)
        flat = iter(self.percents(oil))
        return self.formula.with_percents(
            tuple(tuple(next(flat) for _ in phase.lines) for phase in self.formula.phases)
        )


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
