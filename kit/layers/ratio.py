"""Move the ratio of the oil layer to the water layer: what each line becomes.

Each line is affine in the oil layer's share r of the whole, x(r) = base + slope x r, so that two numbers a
line hold its whole story and every picture across all ratios needs only end points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.moved import NOTHING, Ratio
from kit.layers.mix import LayerMix

if TYPE_CHECKING:
    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class RatioPath:
    """Every line of a formula at every ratio.

    Attributes
    ----------
    formula
        Where the path starts from.
    start
        The oil layer now. [% w/w of the whole]
    typed
        The oil layer as its amounts were typed. [% w/w of the whole]
    most
        The oil layer when there is no water layer left. [% w/w of the whole]
    base, slope
        One per line, phases in order: percent = base + slope x oil.
    fills
        Which lines take the rest of their layer, and so could fall below zero.
    """

    formula: Formula
    start: float
    typed: float
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
        mix = LayerMix.of(formula, formula.ratio.moving if formula.ratio else ("oil", "water"))
        most = mix.sizes["oil"] + mix.sizes["water"]
        still = mix.sizes.get("other", 0.0)
        base, slope = [], []
        for kind, fixed, per_layer in zip(mix.lines.kinds, mix.lines.fixed, mix.lines.per_layer, strict=True):
            at_no_oil, per_oil = {"oil": (0.0, 1.0), "water": (most, -1.0)}.get(kind, (still, 0.0))
            base.append(fixed + per_layer * at_no_oil)
            slope.append(per_layer * per_oil + 0.0)
        return cls(formula, mix.sizes["oil"], mix.lines.typed["oil"], most, tuple(base), tuple(slope), mix.fills)

    def percents(self, oil: float) -> list[float]:
        """All lines when the oil layer is ``oil`` of the whole. [% w/w]"""
        return [b + s * oil for b, s in zip(self.base, self.slope, strict=True)]

    def at(self, oil: float) -> Formula:
        """The formula at another ratio; at the one it was typed with, the very formula as typed.

        The typed amounts stay what they are; the ratio stands beside them.

        Raises
        ------
        RangeError
            ``oil`` is below 0 or leaves less than no water layer.
        """
        if not 0 <= oil <= self.most:
            msg = f"The oil layer can be 0 to {self.most:.4g} % of this formula, not {oil:.4g} %."
            raise RangeError(msg)
        other = self.formula.ratio.other if self.formula.ratio else None
        if abs(oil - self.typed) <= NOTHING:
            return replace(self.formula, ratio=None if other is None else Ratio(self.typed, other))
        return replace(self.formula, ratio=Ratio(oil, other))
