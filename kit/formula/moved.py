"""The ratio that layers were moved to, and what each line becomes there: a thing of its own beside typed amounts.

A layer of size F holds lines that are affine in F, x = fixed + per layer x F: `level` lines keep their percent
of the whole, `share` lines their share of the layer, the `fill` line takes the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.model import Line, Phase
    from kit.library.ingredient import PhaseKind

#: Nothing smaller than this is told from nothing. [% w/w]
NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class Ratio:
    """Where the layers stand now; the water layer takes what these leave.

    Attributes
    ----------
    oil
        The oil layer. [% w/w of the whole]
    other
        The other layer; None where it stays as typed. [% w/w of the whole]
    """

    oil: float
    other: float | None = None

    def __post_init__(self) -> None:
        if not (0 <= self.oil <= 100 and 0 <= (self.other or 0.0) <= 100):
            msg = (
                f"A layer can be 0 to 100 % of the whole, not {self.oil:.4g} % oil and {self.other or 0.0:.4g} % other."
            )
            raise RangeError(msg)

    @property
    def moving(self) -> tuple[PhaseKind, ...]:
        """The layers that change size."""
        return ("oil", "water") if self.other is None else ("oil", "water", "other")


@dataclass(frozen=True, slots=True)
class Straight:
    """Every line as a straight line of the size of its layer.

    Attributes
    ----------
    typed
        Each layer as its amounts were typed: kind → size. [% w/w of the whole]
    kinds
        The layer of each line, phases in order.
    fixed, per_layer
        One per line: percent = fixed + per layer x size of its layer. [% w/w, -]
    fills
        Which lines take the rest of their layer, and so could fall below zero.
    """

    typed: Mapping[PhaseKind, float]
    kinds: tuple[PhaseKind, ...]
    fixed: tuple[float, ...]
    per_layer: tuple[float, ...]
    fills: tuple[bool, ...]

    def percents(self, sizes: Mapping[PhaseKind, float]) -> list[float]:
        """All lines when the layers have these sizes. [% w/w]"""
        return [
            constant + slope * sizes.get(kind, 0.0)
            for constant, slope, kind in zip(self.fixed, self.per_layer, self.kinds, strict=True)
        ]

    def sizes_at(self, ratio: Ratio | None) -> dict[PhaseKind, float]:
        """Each layer at a ratio; as typed where there is none. [% w/w of the whole]

        Raises
        ------
        RangeError
            The ratio leaves less than no water layer.
        """
        if ratio is None:
            return dict(self.typed)
        other = self.typed.get("other", 0.0)
        room = self.typed["oil"] + self.typed["water"]
        if ratio.other is not None:
            room += other - ratio.other
            other = ratio.other
        if ratio.oil > room + NOTHING:
            msg = f"The oil layer can be 0 to {room:.4g} % of this formula, not {ratio.oil:.4g} %."
            raise RangeError(msg)
        now: dict[PhaseKind, float] = {"oil": ratio.oil, "water": max(room - ratio.oil, 0.0), "other": other}
        return {kind: now[kind] for kind in self.typed}


def straight(
    title: str, phases: Sequence[Phase], percents: Sequence[Sequence[float]], moving: Sequence[PhaseKind]
) -> Straight:
    """The lines of a complete formula of which the layers ``moving`` may change size; the others stay.

    Raises
    ------
    RangeError
        It lacks one of these layers, or has one in which no line may change.
    """
    lines = [line for phase in phases for line in phase.lines]
    kinds = tuple(phase.kind for phase in phases for _ in phase.lines)
    flat = [x for phase in percents for x in phase]
    sizes = {kind: sum(x for x, k in zip(flat, kinds, strict=True) if k == kind) for kind in dict.fromkeys(kinds)}
    fixed, per_layer, fills = list(flat), [0.0] * len(flat), [False] * len(flat)
    for kind in moving:
        if sizes.get(kind, 0.0) <= 0:
            msg = (
                f"{title} has no {kind} layer, so there is no ratio to move. "
                f"Set one phase to {kind} and give its lines amounts."
            )
            raise RangeError(msg)
        members = [n for n, k in enumerate(kinds) if k == kind and not lines[n].is_blank]
        held = _affine_in_layer(kind, [lines[n] for n in members], [flat[n] for n in members])
        for n, (constant, slope, takes_rest) in zip(members, held, strict=True):
            fixed[n], per_layer[n], fills[n] = constant, slope, takes_rest
    return Straight(sizes, kinds, tuple(fixed), tuple(per_layer), tuple(fills))


def percents_at(
    title: str, phases: Sequence[Phase], percents: Sequence[Sequence[float]], ratio: Ratio
) -> tuple[tuple[float, ...], ...]:
    """Every line of a complete formula at a ratio; what is next to nothing is nothing. [% w/w]

    Raises
    ------
    RangeError
        There is no ratio to move, or this one leaves less than no water layer.
    """
    lines = straight(title, phases, percents, ratio.moving)
    flat = iter([0.0 if abs(x) < NOTHING else x for x in lines.percents(lines.sizes_at(ratio))])
    return tuple(tuple(next(flat) for _ in phase.lines) for phase in phases)


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
                f"Every line of the {kind} layer keeps its % of the whole, so the layer cannot grow or shrink. "
                "Let one of its lines fill the layer."
            )
            raise RangeError(msg)
        moved = {n: (-levels * percents[n] / sharing, percents[n] / sharing, True) for n in shares}
    return [moved.get(n, (percents[n], 0.0, False)) for n in range(len(lines))]
