"""The ratio by what is seen: from the visible height of the oil layer to the mass that gives it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.layers.density import layers_of, material_density

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.layers.bottle import Bottle
    from kit.layers.ratio import RatioPath

#: Bisection steps: 100 % / 2⁵⁰ is far below any balance.
STEPS = 50


@dataclass(frozen=True, slots=True)
class HeightScale:
    """How high the oil layer stands at each ratio, in one bottle filled to one volume.

    The volume of each layer is affine in the oil layer's share, as its lines are.

    Attributes
    ----------
    volumes
        Layer kind → (at no oil, per % of oil), for 100 g of product. [mL]
    oil_is_below
        Whether the oil layer is the denser one.
    """

    bottle: Bottle
    fill: float
    most: float
    volumes: dict[str, tuple[float, float]]
    oil_is_below: bool

    @classmethod
    def of(cls, path: RatioPath, materials: Materials, bottle: Bottle, fill: float) -> HeightScale:
        """The scale of a path; lines without a density count as the rest of their layer does."""
        layers = {layer.kind: layer for layer in layers_of(path.formula, materials)}
        volumes: dict[str, tuple[float, float]] = {}
        for (p, _, line, _), base, slope in zip(path.formula.each_line(), path.base, path.slope, strict=True):
            kind = path.formula.phases[p].kind
            if kind not in layers:
                continue
            density = material_density(line.material, materials) or layers[kind].density
            fixed, per_oil = volumes.get(kind, (0.0, 0.0))
            volumes[kind] = (fixed + base / density, per_oil + slope / density)
        return cls(bottle, fill, path.most, volumes, layers["oil"].density > layers["water"].density)

    def height_share(self, oil: float) -> float:
        """The oil layer's part of the visible height when it is ``oil`` % of the whole by mass. [%]"""
        now = {kind: max(fixed + per_oil * oil, 0.0) for kind, (fixed, per_oil) in self.volumes.items()}
        scale = self.fill / sum(now.values())
        oil_volume = now["oil"] * scale
        surface = self.bottle.level(self.fill)
        if self.oil_is_below:
            height = self.bottle.level(oil_volume)
        else:
            height = surface - self.bottle.level(max(self.fill - oil_volume, 0.0))
        return 100.0 * height / surface

    def oil_for(self, share: float) -> float:
        """The oil layer by mass that stands at ``share`` % of the visible height. [% w/w of the whole]

        The height grows with the mass, so bisection finds it; outside the scale the nearest end is given.
        """
        low, high = 0.0, self.most
        for _ in range(STEPS):
            middle = (low + high) / 2
            if self.height_share(middle) < share:
                low = middle
            else:
                high = middle
        return (low + high) / 2
