"""A formula at every size of its layers: the base of every ratio."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.model import require_complete
from kit.formula.moved import NOTHING, Ratio, straight

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.model import Formula
    from kit.formula.moved import Straight
    from kit.library.ingredient import PhaseKind


@dataclass(frozen=True, slots=True)
class LayerMix:
    """Every line of a formula at every size of its layers.

    Attributes
    ----------
    formula
        Where it starts from.
    sizes
        Each layer as it is now: kind → size. [% w/w of the whole]
    lines
        Every line as a straight line of the size of its layer, from the amounts as typed.
    """

    formula: Formula
    sizes: Mapping[PhaseKind, float]
    lines: Straight

    @classmethod
    def of(cls, formula: Formula, moving: Sequence[PhaseKind]) -> LayerMix:
        """The mix of a complete formula of which the layers ``moving`` may change size; the others stay.

        Raises
        ------
        RangeError
            The formula is not complete, lacks one of these layers, or has one in which no line may change.
        """
        typed = require_complete(replace(formula, ratio=None), "moved to another ratio")
        lines = straight(formula.title, formula.phases, typed, moving)
        return cls(formula, lines.sizes_at(formula.ratio), lines)

    @property
    def fills(self) -> tuple[bool, ...]:
        """Which lines take the rest of their layer, and so could fall below zero."""
        return self.lines.fills

    def percents(self, sizes: Mapping[PhaseKind, float]) -> list[float]:
        """All lines when the layers have these sizes. [% w/w]"""
        return self.lines.percents(sizes)

    def at(self, sizes: Mapping[PhaseKind, float]) -> Formula:
        """The formula when its layers have these sizes; at those it was typed with, the very formula as typed.

        The typed amounts stay what they are; the ratio stands beside them. [% w/w of the whole]

        Raises
        ------
        RangeError
            A layer below 0 %, or layers that do not add to 100 %.
        """
        total = sum(sizes.values())
        if not abs(total - 100) <= TOTAL_TOLERANCE or min(sizes.values()) < -NOTHING:
            told = ", ".join(f"{kind} {size:.4g} %" for kind, size in sizes.items())
            msg = f"The layers must be 0 % or more each and 100 % together, not {told}."
            raise RangeError(msg)
        home = {kind: abs(size - self.lines.typed.get(kind, 0.0)) <= NOTHING for kind, size in sizes.items()}
        oil = self.lines.typed["oil"] if home["oil"] else max(sizes["oil"], 0.0)
        if home.get("other", True):
            return replace(self.formula, ratio=None if home["oil"] else Ratio(oil))
        return replace(self.formula, ratio=Ratio(oil, max(sizes["other"], 0.0)))
