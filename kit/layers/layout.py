"""100 g of a product at every ratio, by mass and volume: what a level in the water layer is counted in."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import require_complete
from kit.layers.density import LayerContents
from kit.layers.ratio import RatioPath

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.preservatives import Found
    from kit.library.ingredient import PhaseKind

#: Curves and ends stop where this little of the path's water layer is left. [share]
LEAST_WATER = 1e-3

#: (at no oil, for each % of oil)
Affine = tuple[float, float]

NO_OIL = "There is no oil layer: all of it is in the water."


@dataclass(frozen=True, slots=True)
class Layout:
    """100 g of product at every ratio: its lines, affine in the oil layer, and the volumes of its layers.

    Attributes
    ----------
    now
        The oil layer in hand. [% w/w of the whole]
    low, high
        The oil layers between which no line falls below zero and some water is left. [% w/w of the whole]
    base, slope
        Each line: percent = base + slope x oil.
    water_mass
        (at no oil, for each % of oil). [g]
    layers
        What its layers are made of.
    still
        Why the ratio cannot move; empty where it can.
    """

    now: float
    low: float
    high: float
    base: tuple[float, ...]
    slope: tuple[float, ...]
    water_mass: Affine
    layers: tuple[LayerContents, ...]
    still: str = ""
    _volumes: dict[float, dict[str, float]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, formula: Formula, materials: Materials, path: RatioPath | None = None) -> Layout:
        """The layout of a complete formula, along ``path`` if the hand is already moving on one.

        Densities follow :func:`kit.layers.density.layers_of`; lines without one count as the rest of their layer.

        Raises
        ------
        RangeError
            The formula is not complete, or has no water layer.
        """
        percents = [x for phase in require_complete(formula, "read for its preservatives") for x in phase]
        kinds = [formula.phases[p].kind for p, *_ in formula.each_line()]
        sizes = {kind: sum(x for x, k in zip(percents, kinds, strict=True) if k == kind) for kind in ("water", "oil")}
        if sizes["water"] <= 0:
            msg = f"{formula.title} has no water layer, so there is no level in water to estimate."
            raise RangeError(msg)
        base, slope, still = tuple(percents), (0.0,) * len(percents), NO_OIL
        low = high = sizes["oil"]
        if sizes["oil"] > 0:
            try:
                path = path or RatioPath.of(formula)
            except RangeError as error:
                still = str(error)
            else:
                base, slope, still = path.base, path.slope, ""
                low, high = _possible(path)
        at_none = sum(b for b, kind in zip(base, kinds, strict=True) if kind == "water")
        per_oil = sum(s for s, kind in zip(slope, kinds, strict=True) if kind == "water")
        layers = tuple(LayerContents.of(formula, materials))
        return cls(sizes["oil"], low, high, base, slope, (at_none, per_oil), layers, still)

    def mass_of(self, found: Found) -> Affine:
        """How much of a preservative there is. [g in 100 g, (at no oil, for each % of oil)]"""
        return (
            sum(part * b for part, b in zip(found.per_line, self.base, strict=True)),
            sum(part * s for part, s in zip(found.per_line, self.slope, strict=True)),
        )

    def volume(self, kind: PhaseKind, oil: float) -> float:
        """Of one layer when the oil layer is ``oil`` of the whole; 0 where there is none. [% w/w → mL in 100 g]"""
        if oil not in self._volumes:
            percents = [at((b, s), oil) for b, s in zip(self.base, self.slope, strict=True)]
            self._volumes[oil] = {layer.kind: layer.volume(percents) for layer in self.layers}
        return self._volumes[oil].get(kind, 0.0)

    def water_density(self, oil: float) -> float:
        """[g/mL]"""
        return at(self.water_mass, oil) / self.volume("water", oil)


def at(line: Affine, oil: float) -> float:
    """The value of a straight line at an oil layer."""
    return line[0] + line[1] * oil


def _possible(path: RatioPath) -> tuple[float, float]:
    low, high = 0.0, path.most * (1.0 - LEAST_WATER)
    for base, slope, fills in zip(path.base, path.slope, path.fills, strict=True):
        if fills and slope > 0:
            low = max(low, -base / slope)
        elif fills and slope < 0:
            high = min(high, -base / slope)
    return low, high
